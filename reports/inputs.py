"""The inputs of a record: everything the engine was given, in the units of the document, defaults filled in."""

from collections.abc import Sequence
from dataclasses import dataclass

from engineering.core.contract.piece import Piece, Rod
from reports.words import number_text, quantity_text

SHOPS_SETTING = "the shop's setting"
DEFLECTION_TABLE = "ACI 318-19 Table 24.2.2"


@dataclass(frozen=True)
class Row:
    name: str
    value: str
    source: str = ""


@dataclass(frozen=True)
class Block:
    """A small table of inputs under a heading."""

    title: str
    rows: tuple[Row, ...]


def blocks(piece: Piece) -> list[Block]:
    """Concrete, stressing, surroundings, handling and criteria; zones, loads and rods have tables of their own."""
    found = [_concrete(piece), _stressing(piece), _surroundings(piece), _handling(piece), _criteria(piece)]
    return [block for block in found if block is not None]


def _concrete(piece: Piece) -> Block:
    c, units = piece.concrete, piece.units
    by_rule = "from strength and density, ACI 318-19 19.2.2.1(a)" if c.modulus_defaulted else "given"
    scaled = "scaled from the 28-day value" if c.flexural_yield_at_stressing_defaulted else "given"
    return Block(
        "Concrete" + (f": {c.label}" if c.label else ""),
        (
            Row("density", quantity_text(c.density_pcf, "density", units)),
            Row("foam core density", quantity_text(piece.core_density_pcf, "density", units)),
            Row("strength, cylinders", quantity_text(c.strength_psi, "stress", units)),
            Row("strength at stressing", quantity_text(c.strength_at_stressing_psi, "stress", units)),
            Row("modulus", quantity_text(c.modulus_psi, "modulus", units), by_rule),
            Row("modulus at stressing", quantity_text(c.modulus_at_stressing_psi, "modulus", units), by_rule),
            Row("flexural yield (limit of proportionality)", quantity_text(c.flexural_yield_psi, "stress", units)),
            Row("flexural ultimate (modulus of rupture)", quantity_text(c.flexural_ultimate_psi, "stress", units)),
            Row(
                "flexural yield at stressing", quantity_text(c.flexural_yield_at_stressing_psi, "stress", units), scaled
            ),
            Row(
                "variation of yield, of ultimate",
                f"{number_text(c.variation_yield)}, {number_text(c.variation_ultimate)}",
            ),
            Row("tension left across a crack", quantity_text(c.residual_tension_psi, "stress", units)),
            Row("shrinkage, ultimate", number_text(c.shrinkage)),
            Row("creep, ultimate", number_text(c.creep)),
            Row("end of moist cure", quantity_text(c.cure_age_days, "age", units)),
        ),
    )


def _stressing(piece: Piece) -> Block | None:
    s = piece.stressing
    if s is None:
        return None
    restress = ", ".join(quantity_text(day, "age", piece.units) for day in s.restress_days) or "none"
    return Block(
        "Stressing",
        (
            Row("age", quantity_text(s.age_days, "age", piece.units)),
            Row("method", s.method),
            Row("nut factor K", number_text(s.nut_factor)),
            Row("scatter of the force", f"± {number_text(s.scatter)}"),
            Row("seating slip", quantity_text(s.seating_in, "length", piece.units)),
            Row("stressed again at", restress),
        ),
    )


def _surroundings(piece: Piece) -> Block:
    e = piece.environment
    return Block(
        "Installation and surroundings",
        (
            Row("age at installation", quantity_text(piece.installation_age_days, "age", piece.units)),
            Row("sustained part of the live load", number_text(piece.sustained_live)),
            Row("humidity", f"{number_text(e.humidity_percent)} %"),
            Row("exposure", e.exposure),
            Row("drying difference, bottom less top", number_text(e.drying_difference)),
        ),
    )


def _handling(piece: Piece) -> Block:
    h = piece.handling
    if h is None:
        return Block("Handling", (Row("lifting and stripping", "not given, not checked"),))
    points = " and ".join(quantity_text(at, "length", piece.units) for at in h.lift_points_in)
    scaled = "scaled from the 28-day value" if h.flexural_yield_defaulted else "given"
    return Block(
        "Handling",
        (
            Row("lift points, from the left end", points),
            Row(
                "age and strength then",
                f"{quantity_text(h.age_days, 'age', piece.units)}, "
                f"{quantity_text(h.strength_psi, 'stress', piece.units)}",
            ),
            Row("flexural yield then", quantity_text(h.flexural_yield_psi, "stress", piece.units), scaled),
            Row("multiplier on self weight", number_text(h.multiplier)),
            Row("rods tight already", "yes" if h.stressed else "no"),
        ),
    )


def _criteria(piece: Piece) -> Block:
    c, units = piece.criteria, piece.units

    def stress(value: float | None, rule: str) -> str:
        return rule if value is None else quantity_text(value, "stress", units)

    return Block(
        "Criteria",
        (
            Row("live-load deflection", f"L/{number_text(c.live_deflection)}", DEFLECTION_TABLE),
            Row("long-term deflection", f"L/{number_text(c.long_deflection)}", DEFLECTION_TABLE),
            Row("life", quantity_text(c.life_years, "life", units)),
            Row("holding-down factor", number_text(c.uplift_factor), SHOPS_SETTING),
            Row("least cover of a sleeve", quantity_text(c.cover_in, "length", units), SHOPS_SETTING),
            Row("least share of rod force left", number_text(c.remaining), SHOPS_SETTING),
            Row("crown at stressing", f"L/{number_text(c.crown)}", SHOPS_SETTING),
            Row(
                "tension at transfer",
                stress(c.transfer_tension_psi, "0.5 LOP at stressing, characteristic"),
                SHOPS_SETTING,
            ),
            Row("tension, sustained load", stress(c.sustained_tension_psi, "0.25 LOP, characteristic"), SHOPS_SETTING),
            Row("tension, full load", stress(c.service_tension_psi, "0.5 LOP, characteristic"), SHOPS_SETTING),
            Row("bursting", stress(c.bursting_psi, "0.4 LOP at stressing, characteristic"), SHOPS_SETTING),
            Row("pressure on the supports", stress(c.support_pressure_psi, "none given")),
            Row("a support off level by", quantity_text(c.support_tolerance_in, "length", units)),
        ),
    )


def zone_rows(piece: Piece) -> list[tuple[str, ...]]:
    """(number, from, to, shape, width, depth)"""

    def text(value_in: float) -> str:
        return quantity_text(value_in, "length", piece.units)

    return [
        (str(n), text(z.start_in), text(z.end_in), z.kind, text(z.width_in), text(z.depth_in))
        for n, z in enumerate(piece.zones, 1)
    ]


def support_rows(piece: Piece) -> list[tuple[str, ...]]:
    return [
        (
            f"S{n}",
            quantity_text(s.at_in, "length", piece.units),
            quantity_text(s.bearing_in, "length", piece.units),
            "holds down" if s.hold_down else "",
        )
        for n, s in enumerate(piece.supports, 1)
    ]


def load_rows(piece: Piece) -> list[tuple[str, str, str, str, str]]:
    """(label, case, value, where, remarks)"""
    rows = []
    for load in piece.loads:
        kind = {"area": "area load", "line": "line load", "point": "force"}[load.kind]
        if load.kind == "point":
            where = "anywhere" if load.at_in is None else f"at {quantity_text(load.at_in, 'length', piece.units)}"
        else:
            ends = (quantity_text(end, "length", piece.units) for end in (load.from_in, load.to_in))
            where = " to ".join(ends)
        across = "" if load.across_in is None else f"across {quantity_text(load.across_in, 'length', piece.units)}"
        remarks = ", ".join(word for word in ("alone" if load.alone else "", across) if word)
        rows.append((load.label, load.case, quantity_text(load.value, kind, piece.units), where, remarks))
    return rows


def rod_rows(piece: Piece) -> list[Block]:
    """One block for each set of rods that differ in mark and place across alone."""
    groups: dict[object, list[Rod]] = {}
    for rod in piece.rods:
        groups.setdefault(
            (
                rod.thread,
                rod.grade,
                rod.area_in2,
                rod.profile,
                rod.curve,
                rod.sleeve,
                rod.stressed_from,
                rod.anchor,
                rod.pocket,
                rod.coating,
                rod.jacking_force_lbf,
                rod.tail_in,
            ),
            [],
        ).append(rod)
    return [_rod_block(piece, rods) for rods in groups.values()]


def _rod_block(piece: Piece, rods: Sequence[Rod]) -> Block:
    rod, units = rods[0], piece.units

    def length(value_in: float) -> str:
        return quantity_text(value_in, "length", units)

    def stress(value_psi: float) -> str:
        return quantity_text(value_psi, "stress", units)

    profile = "; ".join(f"{length(y)} up at {length(x)}" for x, y in rod.profile)
    pocket = (
        f"{length(rod.pocket.width_in)} × {length(rod.pocket.height_in)}" if rod.pocket else "none, on the end face"
    )
    return Block(
        f"Rods {', '.join(r.mark for r in rods)}" if len(rods) > 1 else f"Rod {rod.mark}",
        (
            Row(
                "thread, grade", f"{rod.thread.name}, {rod.grade.name}", "" if rod.grade.standard else "grade as given"
            ),
            Row(
                "yield, ultimate",
                f"{stress(rod.grade.yield_psi)}, {stress(rod.grade.ultimate_psi)}",
                "yield by custom, the standard gives none" if rod.grade.yield_by_custom else "",
            ),
            Row("place across, from the front", ", ".join(f"{r.mark} {length(r.across_in)}" for r in rods)),
            Row(f"axis, {rod.curve}", profile),
            Row(
                "sleeve outside, friction, wobble",
                f"{length(rod.sleeve.outside_in)}, {number_text(rod.sleeve.friction)} per radian, "
                f"{quantity_text(rod.sleeve.wobble_per_ft, 'wobble', units)}",
            ),
            Row(
                "plate, hole",
                f"{length(rod.anchor.width_in)} × {length(rod.anchor.height_in)} × {length(rod.anchor.thickness_in)}, "
                f"hole {length(rod.anchor.hole_in)}, yield {stress(rod.anchor.yield_psi)}",
            ),
            Row("pocket", pocket),
            Row("coating", rod.coating),
            Row(
                "jacking force",
                quantity_text(rod.jacking_force_lbf, "force", units),
                f"given as {rod.jacking_given_as.replace('_', ' ')}",
            ),
            Row("stressed from", f"{rod.stressed_from}, {length(rod.tail_in)} tail past the nut"),
        ),
    )
