"""What the piece stands on and what it carries: supports and loads."""

from typing import Any

from engineering.core.contract.piece import Load, Support
from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import shown
from engineering.core.contract.units import format_quantity
from engineering.core.contract.values import ANY, SIZE, known, read_number

MOST_SUPPORTS, MOST_LOADS = 40, 120
_NEAREST_SUPPORTS_IN = 0.01
_QUANTITY = {"area": "area load", "line": "line load", "point": "force"}


def read_supports(document: Keys, length: float | None) -> tuple[Support, ...] | None:
    given = document.objects("supports", "supports", 2, MOST_SUPPORTS)
    if given is None:
        return None
    supports: list[Support | None] = []
    seen: list[float] = []
    for keys in given:
        if keys is None:
            supports.append(None)
            continue
        at = keys.number("at", "length")
        bearing = keys.number("bearing", "length", default=1.5, within=SIZE)
        hold_down = keys.flag("hold_down", False)
        keys.close()
        refuse_off_piece(keys, "at", at, length)
        if at is not None:
            if any(abs(at - other) < _NEAREST_SUPPORTS_IN for other in seen):
                keys.fault(
                    "at", f"{format_quantity(at, 'length', keys.units)} should not be the place of another support"
                )
            seen.append(at)
        supports.append(
            Support(at, bearing, hold_down) if known(at, bearing, hold_down) and hold_down is not None else None
        )
    found = [support for support in supports if support]
    return tuple(sorted(found, key=lambda s: s.at_in)) if len(found) == len(given) else None


def refuse_off_piece(keys: Keys, key: str, x: float | None, length: float | None) -> bool:
    """Whether x was refused for lying off the piece."""
    if x is None or length is None or -1e-9 <= x <= length * (1 + 1e-9):
        return False
    keys.fault(
        key,
        f"{format_quantity(x, 'length', keys.units)} lies off the piece; it should be "
        f"0 to {format_quantity(length, 'length', keys.units)}",
    )
    return True


def read_loads(document: Keys, length: float | None) -> tuple[Load, ...] | None:
    given = document.objects("loads", "loads", 0, MOST_LOADS, default=[])
    if given is None:
        return None
    loads = [_load(keys, length) if keys else None for keys in given]
    found = [load for load in loads if load]
    return tuple(found) if len(found) == len(loads) else None


def _load(keys: Keys, length: float | None) -> Load | None:
    label = keys.text("label", default="")
    case = keys.choice("case", ("dead", "live"))
    kind = keys.choice("type", tuple(_QUANTITY))
    if kind is None:
        for key in ("value", "from", "to", "at", "across", "footprint", "alone"):
            keys.raw(key, "", default=None)
        keys.close()
        return None
    value = keys.number("value", _QUANTITY[kind])
    start, end = _stretch(keys, kind, length)
    at, anywhere = _at(keys, kind, length)
    across = keys.number("across", "length", default=None)
    footprint = keys.number("footprint", "length", default=4.0, within=SIZE)
    alone = keys.flag("alone", False)
    keys.close()
    if kind != "point" and keys.has("footprint"):
        keys.fault("footprint", "only a point load has a footprint")
    if alone and case == "dead":
        keys.fault("alone", "only a live load acts without the others")
    if keys.has("across") and across is None:
        return None
    placed = known(start, end) and (kind != "point" or anywhere or at is not None)
    if not placed or not known(label, case, value, footprint, alone):
        return None
    values: tuple[Any, ...] = (label, case, kind, value, start, end, at, anywhere, across, footprint, alone)
    return Load(*values)


def _stretch(keys: Keys, kind: str, length: float | None) -> tuple[float | None, float | None]:
    start = keys.number("from", "length", default=0.0)
    end = keys.number("to", "length", default=length)
    if kind == "point":
        for key in ("from", "to"):
            if keys.has(key):
                keys.fault(key, "a point load has no stretch; it should be given by `at`")
        return 0.0, length
    off = [refuse_off_piece(keys, key, x, length) for key, x in (("from", start), ("to", end))]
    if start is not None and end is not None and not any(off) and end - start < 1e-6:
        keys.fault(
            "to" if keys.has("to") else "from",
            f"the load runs from {format_quantity(start, 'length', keys.units)} to "
            f"{format_quantity(end, 'length', keys.units)}; it should end to the right of where it begins",
        )
        return None, None
    return start, end


def _at(keys: Keys, kind: str, length: float | None) -> tuple[float | None, bool]:
    """(x, anywhere) of a point load; (None, False) of the others."""
    what = 'a length, or "anywhere"'
    there, value = keys.raw("at", what, default=None)
    if kind != "point":
        if there:
            keys.fault("at", "only a point load has a place; an area or line load has `from` and `to`")
        return None, False
    if not there:
        keys.fault("at", f"missing; it should be {what}")
        return None, False
    if value == "anywhere" and isinstance(value, str):
        return None, True
    if isinstance(value, str) and not any(c.isdigit() for c in value):
        keys.fault("at", f"{shown(value)} should be {what}")
        return None, False
    x = read_number(value, keys.place("at"), "length", ANY, keys.units, keys.faults)
    refuse_off_piece(keys, "at", x, length)
    return x, False
