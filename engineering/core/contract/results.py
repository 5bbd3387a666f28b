"""The result of a check run as frozen values in US units, and the document it becomes.

Whoever fills a Result names the *quantity* of each figure (a key of `units.QUANTITIES`) and gives the value in that
quantity's `us` unit: length in, force lbf, stress psi, moment lbf·in, torque lbf·ft, area in2, section modulus in3,
inertia in4, volume ft3, area load psf, line load lbf/ft, age days, curvature 1/in, number. Places (`at_in`) are x in
inches. `to_json` turns all of it into the units of the document. Texts (`working`, `caution`, `why`) are written in
the document's units already, by `units.format_quantity`.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from engineering.core.contract.piece import Piece
from engineering.core.contract.units import QUANTITIES, Quantity
from engineering.core.version import ENGINE_VERSION

FORMAT = "check-result/1"
VERDICTS = ("pass", "fail", "review")
CHECK_VERDICTS = ("pass", "fail", "review", "caution", "not applicable")
VARIANTS = ("nominal", "high", "low", "front_high", "back_high")


class Figure(NamedTuple):
    """One named figure. A value of None must say why; a text stands where the figure is a word (`load_test.mode`)."""

    value: float | str | None
    quantity: str = "number"
    at_in: float | None = None
    why: str = ""


class Series(NamedTuple):
    """A curve. x may stand still where y jumps. x is a length unless said otherwise (`age`, `number`)."""

    x: Sequence[float]
    y: Sequence[float]
    quantity: str
    x_quantity: str = "length"


class CheckResult(NamedTuple):
    """One line of the report. `ratio` None must say why; `why` also says why a check is `not applicable`."""

    name: str
    clause: str
    verdict: str
    demand: float | None = None
    capacity: float | None = None
    quantity: str = "number"
    ratio: float | None = None
    at_in: float | None = None
    working: tuple[str, ...] = ()
    caution: str = ""
    variant: str = ""
    why: str = ""
    setting: bool = False  # the capacity has no published source: the shop's setting, an engineer may change it
    kind: str = ""  # V, R or C: what a ratio over 1 means


@dataclass(frozen=True)
class Result:
    mark: str
    units: str
    specification: str  # sha256:… of the accepted document
    basis: tuple[str, ...]
    verdict: str
    checks: tuple[CheckResult, ...]
    figures: Mapping[str, Figure]
    series: Mapping[str, Series] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


def result_of(
    piece: Piece,
    *,
    basis: tuple[str, ...],
    verdict: str,
    checks: tuple[CheckResult, ...],
    figures: Mapping[str, Figure],
    series: Mapping[str, Series],
    cautions: tuple[str, ...],
) -> Result:
    """A Result that carries the piece's own mark, units and hash."""
    return Result(piece.mark, piece.units, piece.specification_hash, basis, verdict, checks, figures, series, cautions)


def to_json(result: Result) -> dict[str, Any]:
    """The result document, in the units of the specification.

    Raises ValueError, naming the figure or check, for a number that is not finite, a None without a why, or a word that
    is no verdict: a result is whole or there is none.
    """
    if result.verdict not in VERDICTS:
        raise ValueError(f"verdict: {result.verdict!r}")
    return {
        "format": FORMAT,
        "mark": result.mark,
        "units": result.units,
        "engine": ENGINE_VERSION,
        "specification": result.specification,
        "basis": list(result.basis),
        "verdict": result.verdict,
        "checks": [_check(check, result.units) for check in result.checks],
        "figures": {name: _figure(name, figure, result.units) for name, figure in result.figures.items()},
        "series": {name: _series(name, series, result.units) for name, series in result.series.items()},
        "cautions": list(result.cautions),
    }


def _check(check: CheckResult, units: str) -> dict[str, Any]:
    if check.verdict not in CHECK_VERDICTS:
        raise ValueError(f"{check.name}: verdict {check.verdict!r}")
    if check.ratio is None and not check.why:
        raise ValueError(f"{check.name}: no ratio and no why")
    kind = QUANTITIES[check.quantity]
    return {
        "name": check.name,
        "clause": check.clause,
        "verdict": check.verdict,
        "demand": _number(check.name, check.demand, kind, units),
        "capacity": _number(check.name, check.capacity, kind, units),
        "unit": kind.unit(units),
        "ratio": _number(check.name, check.ratio, QUANTITIES["number"], units),
        "at": _number(check.name, check.at_in, QUANTITIES["length"], units),
        "variant": check.variant,
        "working": list(check.working),
        "caution": check.caution,
        "why": check.why,
        "setting": check.setting,
        "kind": check.kind,
    }


def _figure(name: str, figure: Figure, units: str) -> dict[str, Any]:
    if figure.value is None and not figure.why:
        raise ValueError(f"{name}: no value and no why")
    kind = QUANTITIES[figure.quantity]
    value = figure.value if isinstance(figure.value, str) else _number(name, figure.value, kind, units)
    return {
        "value": value,
        "unit": kind.unit(units),
        "at": _number(name, figure.at_in, QUANTITIES["length"], units),
        "why": figure.why,
    }


def _series(name: str, series: Series, units: str) -> dict[str, Any]:
    if len(series.x) != len(series.y):
        raise ValueError(f"{name}: {len(series.x)} places and {len(series.y)} values")
    across, kind = QUANTITIES[series.x_quantity], QUANTITIES[series.quantity]
    return {
        "x": [_number(name, x, across, units) for x in series.x],
        "y": [_number(name, y, kind, units) for y in series.y],
        "unit": kind.unit(units),
        "x_unit": across.unit(units),
    }


def _number(name: str, value: float | None, kind: Quantity, units: str) -> float | None:
    """A plain Python float in the document's unit; numpy scalars and -0.0 do not get into a document."""
    if value is None:
        return None
    number = kind.from_us(float(value), units)
    if not math.isfinite(number):
        raise ValueError(f"{name}: {number} is not finite")
    return number + 0.0
