"""`like`: a rod takes over from another what it does not say itself, from that one's own `like` too."""

from dataclasses import dataclass
from typing import Any

from engineering.core.contract.reading import Keys
from engineering.core.contract.refusal import child, shown
from engineering.core.contract.values import read_text

JACKING = ("jacking_force", "jacking_stress", "torque")
_OWN_KEYS = ("mark", "like")


@dataclass(frozen=True)
class Merged:
    """A rod with all its keys, each with the path where it stands. Not `founded`: a `like` on the way was refused."""

    keys: Keys
    founded: bool


def with_like(given: list[Keys | None]) -> list[Merged | None]:
    by_mark: dict[str, int] = {}
    for index, keys in enumerate(given):
        if keys and isinstance(keys.values.get("mark"), str):
            by_mark.setdefault(keys.values["mark"], index)
    return [_merge(index, keys, given, by_mark) if keys else None for index, keys in enumerate(given)]


def _merge(index: int, keys: Keys, given: list[Keys | None], by_mark: dict[str, int]) -> Merged:
    if "like" not in keys.values:
        return Merged(keys, founded=True)
    chain, current, founded = [index], keys, True
    values: dict[Any, Any] = {}
    places: dict[str, str] = {}
    _take_over(current, values, places)
    while "like" in current.values:
        source = _source(current, by_mark)
        following = given[source] if source is not None else None
        if source == index:
            keys.fault("like", "goes round in a circle back to this rod; one rod of it should be given in full")
        if source is None or following is None or source in chain:
            founded = False
            break
        chain.append(source)
        current = following
        _take_over(current, values, places)
    own = {key: value for key, value in keys.values.items() if not isinstance(key, str) or key in _OWN_KEYS}
    return Merged(Keys({**values, **own}, keys.path, keys.units, keys.faults, places, current.path), founded)


def _take_over(source: Keys, values: dict[Any, Any], places: dict[str, str]) -> None:
    """Add the keys that nearer rods were silent on; a jacking key nearer by silences the other kinds further off."""
    jacked = any(key in values for key in JACKING)
    for key, value in source.values.items():
        if isinstance(key, str) and key not in values and key not in _OWN_KEYS and not (jacked and key in JACKING):
            values[key] = value
            places[key] = child(source.path, key)


def _source(keys: Keys, by_mark: dict[str, int]) -> int | None:
    name = read_text(keys.values["like"], keys.place("like"), keys.faults)
    if name is not None and name not in by_mark:
        keys.fault("like", f"{shown(name)} should be the mark of another rod")
    return by_mark.get(name) if name is not None else None
