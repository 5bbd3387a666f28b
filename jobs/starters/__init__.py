"""Specifications to start from: one of each kind the shop casts most, as plain documents in this folder."""

import json
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent


def names() -> list[str]:
    """The starters' names, in order."""
    return sorted(path.stem for path in FOLDER.glob("*.json"))


def document(name: str) -> dict[str, Any]:
    """A fresh copy of the starter's document. Raises KeyError for a name that is none."""
    if name not in names():
        raise KeyError(f"There is no starting piece called {name}.")
    loaded: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return loaded
