"""The designs of the demo shop: the starting pieces with their own marks, one that fails and one for the engineer."""

from __future__ import annotations

from typing import Any

from jobs import starters


def counter(mark: str, title: str) -> dict[str, Any]:
    return starters.document("foam-core-counter") | {"mark": mark, "title": title}


def shelf() -> dict[str, Any]:
    return starters.document("three-support-shelf") | {"mark": "S-201", "title": "Map shelf, north wall"}


def bar() -> dict[str, Any]:
    return starters.document("bar-top") | {"mark": "T-31", "title": "Bar top at the hatch"}


def apron() -> dict[str, Any]:
    return starters.document("apron-sink-front") | {"mark": "A-12", "title": "Wash-up sink front"}


def bench() -> dict[str, Any]:
    return starters.document("bench") | {"mark": "B-07", "title": "Waiting-hall bench"}


def tread() -> dict[str, Any]:
    return starters.document("stair-tread-si") | {"mark": "M-5", "title": "Tread of the garden stair"}


def soft_rod_bench() -> dict[str, Any]:
    """Low-carbon rod, lightly tightened, in a mix that shrinks much: the stretch is eaten within months. Fails."""
    piece = starters.document("bench") | {"mark": "B-08", "title": "Bench with low-carbon rod"}
    piece["rods"][0] |= {"grade": "F1554-36", "jacking_force": 2400}
    piece["concrete"] = piece["concrete"] | {"shrinkage": 0.001, "creep": 2.6}
    return piece


def unlifted_counter() -> dict[str, Any]:
    """Nobody has said yet how it is lifted out of the form: an engineer has to judge that. Review."""
    piece = counter("R-3", "Entrance counter")
    del piece["handling"]
    return piece
