"""Crown at stressing, deflection under live load, and what finishes and joints feel in the long run."""

import numpy as np

from engineering.core.checks.finding import Finding, Kind
from engineering.core.checks.pen import Pen, ratio_line
from engineering.core.checks.reading import Reading
from engineering.core.checks.rod_stress import NO_RODS

TABLE = "ACI 318-19 Table 24.2.2 (basis k)"


def crown(reading: Reading) -> list[Finding]:
    """Elastic crown just after stressing, up, against L/`crown` of the longest span."""
    name, clause = "crown at stressing", "bowing tolerance of PCI panels (basis p)"
    if not reading.has_rods:
        return [Finding(name, clause, Kind.FAILS, "length", setting=True, not_applicable=NO_RODS)]
    deflections, span, over = reading.analysis.deflections, reading.longest_span_in, reading.piece.criteria.crown
    demand = deflections.crown_transfer

    def working(v: int, pen: Pen) -> list[str]:
        return [
            f"crown just after stressing, self weight acting, up = {pen(demand[v], 'length')} "
            f"{pen.at(deflections.crown_transfer_at[v])}",
            _limit(span, over, "length", pen),
            ratio_line(demand[v], span / over, pen, "length"),
        ]

    return [
        Finding(
            name,
            clause,
            Kind.FAILS,
            "length",
            demand,
            np.full(demand.shape, span / over),
            deflections.crown_transfer_at,
            setting=True,
            working=working,
        )
    ]


def _limit(span: float, over: float, quantity: str, pen: Pen) -> str:
    return f"limit = L/{pen.number(over)} = {pen(span, quantity)} / {pen.number(over)} = {pen(span / over, quantity)}"


def live(reading: Reading) -> list[Finding]:
    """Worst pattern of live load: the longest span against L/`live_deflection`, a tip against twice its overhang
    over the same."""
    piece, deflections, over = reading.piece, reading.analysis.deflections, reading.piece.criteria.live_deflection
    left, right = piece.supports[0].at_in, piece.length_in - piece.supports[-1].at_in
    places = [("longest span", np.abs(deflections.live), reading.longest_span_in, deflections.live_at)]
    for words, tip, overhang, x in (
        ("left tip", deflections.tip_left, left, 0.0),
        ("right tip", deflections.tip_right, right, piece.length_in),
    ):
        if overhang > 0 and not np.isnan(tip).any():
            places.append((words, np.abs(tip), 2.0 * overhang, np.full(reading.variants, x)))
    ratios = np.array([value / (span / over) for _, value, span, _ in places])
    case, rows = ratios.argmax(axis=0), np.arange(reading.variants)
    demand = np.array([value for _, value, _, _ in places])[case, rows]
    capacity = np.array([span / over for _, _, span, _ in places])[case]
    at = np.array([where for _, _, _, where in places])[case, rows]

    def working(v: int, pen: Pen) -> list[str]:
        words, value, span, where = places[int(case[v])]
        length = "" if words == "longest span" else ", L = twice the overhang"
        return [
            f"{words}{length}: deflection under live load alone, worst pattern = {pen(value[v], 'length')} "
            f"{pen.at(where[v])}",
            _limit(span, over, "length", pen),
            ratio_line(value[v], span / over, pen, "length"),
        ]

    return [Finding("live-load deflection", TABLE, Kind.FAILS, "length", demand, capacity, at, working=working)]


def long_term(reading: Reading) -> list[Finding]:
    """crown.installed - crown.final + live load not yet counted, against L/`long_deflection`."""
    deflections, span, over = (
        reading.analysis.deflections,
        reading.longest_span_in,
        reading.piece.criteria.long_deflection,
    )
    demand = np.abs(deflections.long)

    def working(v: int, pen: Pen) -> list[str]:
        installed, final, total = deflections.crown_installed[v], deflections.crown_final[v], deflections.long[v]
        return [
            f"crown when installed {pen(installed, 'length')}, at end of life {pen(final, 'length')} (each where it "
            f"is greatest)",
            f"movement of the longest span after installation with the rest of the live load = {pen(total, 'length')}",
            _limit(span, over, "length", pen),
            ratio_line(demand[v], span / over, pen, "length"),
        ]

    return [
        Finding(
            "long-term deflection",
            TABLE,
            Kind.FAILS,
            "length",
            demand,
            np.full(demand.shape, span / over),
            working=working,
        )
    ]
