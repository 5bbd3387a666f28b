"""The answer of a search as a document: the best few of each wish, the trade-off, and what stands in the way."""

from collections.abc import Mapping
from typing import Any

from engineering.core.contract import parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.drafts import Document, written
from engineering.core.finder import OBJECTIVES, Found, Record
from engineering.core.openings import design_of, openings
from engineering.core.rod_space import Space, draft_of

SHOWN = 5
FORMAT = "rod-search/1"
WISHES = {
    "steel": "least steel",
    "force": "least force",
    "margin": "most margin",
    "crown": "least change of crown in service",
}
QUANTITY = {
    "height": "length",
    "jacking": "force",
    "steel": "force",
    "force": "force",
    "margin": "number",
    "crown": "length",
    "crown_transfer": "length",
    "force_left": "force",
    "over": "number",
}


def report(document: Document, space: Space, found: Found) -> dict[str, Any]:
    """Numbers in the document's units. With a passing design only passing ones are shown; without any, those an
    engineer would have to judge; without those, the nearest misses and what would open the way."""
    piece = parse(document)
    units, word = piece.units, "pass" if found.passing else "review"

    def shown(records: tuple[Record, ...], most: int = 10_000) -> list[dict[str, Any]]:
        return [in_units(one, units) for one in records if one["verdict"] == word][:most]

    none = not found.passing and not found.for_review
    return {
        "format": FORMAT,
        "specification": piece.specification_hash,
        "units": units,
        "unit": {name: QUANTITIES[quantity].unit(units) for name, quantity in QUANTITY.items()},
        "space": space.to_json(),
        "looked_at": found.looked_at,
        "passing": found.passing,
        "for_review": found.for_review,
        "wishes": [
            {"name": name, "words": WISHES[name], "designs": shown(found.best[name], SHOWN)} for name in OBJECTIVES
        ],
        "fronts": {name: shown(records) for name, records in found.fronts.items()},
        "in_the_way": [
            {"check": name, "designs": count, "alone": alone}
            for name, (count, alone) in sorted(found.blocked.items(), key=lambda b: (-b[1][1], -b[1][0], b[0]))
        ],
        "nearest": [in_units(one, units) for one in found.misses[:SHOWN]] if none else [],
        "openings": _openings(document, space, found, units) if none else [],
    }


def _openings(document: Document, space: Space, found: Found, units: str) -> list[dict[str, Any]]:
    return [
        {**one, "design": one["design"] and in_units(one["design"], units)}
        for one in openings(document, space, found.misses)
    ]


def in_units(record: Record, units: str) -> dict[str, Any]:
    """A record for a reader; the engine's own numbers stay beside it under `us`, for `draft`."""
    found = {
        name: written(value, QUANTITY[name], units) if name in QUANTITY else value for name, value in record.items()
    }
    found["across"] = [written(z, "length", units) for z in record["across"]]
    found["number"] = len(record["across"])
    found["us"] = {name: record[name] for name in ("across", "height", "jacking")}
    return found


def draft(document: Document, settings: Mapping[str, Any], shown: Mapping[str, Any]) -> Document:
    """The specification of a design of a report, ready to become a revision."""
    space = Space.from_json(settings)
    return draft_of(document, parse(document), space, design_of({**shown, **shown["us"]}))
