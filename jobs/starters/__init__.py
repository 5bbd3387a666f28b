"""Starting points for a new design: complete specifications of invented pieces, as JSON beside this file."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ABOUT = {
    "foam-core-counter": "Two foam cores between solid ends, two supports, three straight rods tightened from one end.",
    "apron-sink-front": "A slab with one down-turned leg in front and rails beside the sink opening.",
    "bench": "A thick solid seat on two supports, with an overhang at either end.",
    "bar-top": "A bar that runs past its last support; rods draped up over that support.",
    "three-support-shelf": "A long shelf on three supports, stressed from both ends.",
    "stair-tread-si": "A tread in millimetres and newtons, metric rods, anchored on its end faces.",
}


@dataclass(frozen=True)
class Starter:
    name: str
    title: str
    about: str


def starters() -> list[Starter]:
    return [Starter(name, str(document(name)["title"]), about) for name, about in ABOUT.items()]


def document(name: str) -> dict[str, Any]:
    """The starting document. KeyError for a name that is none of ours."""
    if name not in ABOUT:
        raise KeyError(name)
    loaded: dict[str, Any] = json.loads((HERE / f"{name}.json").read_text(encoding="utf-8"))
    return loaded


def empty() -> dict[str, Any]:
    """A sheet with nothing filled in but the rows every piece has."""
    return {"units": "us", "zones": [{"shape": {"type": "solid"}}], "supports": [{}, {}]}
