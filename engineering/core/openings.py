"""No design passes: the smallest change of depth, mix strength or support places that lets one of the nearest through.

Each change is tried in even steps on the designs that came nearest, through the whole check run, by halving: the step
found passes and the one before it does not, for these designs.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from engineering.core.checks.finding import Verdict
from engineering.core.contract import SpecificationRefused, parse
from engineering.core.contract.units import SI, format_length, format_quantity
from engineering.core.drafts import Document, deeper, stronger, supports_in
from engineering.core.finder import Record
from engineering.core.rod_space import Design, Space, as_batch
from engineering.core.variants import judge

MOST_TRIED = 6


@dataclass(frozen=True)
class Change:
    """A kind of change in equal steps. words: of a step's size."""

    name: str
    steps: tuple[float, ...]
    apply: Callable[[Document, float], Document]
    words: Callable[[float], str]


def changes(document: Document) -> tuple[Change, ...]:
    """Depth to 2 in more, strength to 1.6 times, supports to a twelfth of the length in or out."""
    piece = parse(document)
    units, strength = piece.units, piece.concrete.strength_psi
    inch = 5 / 25.4 if units == SI else 0.125
    reach = int(piece.length_in / 12 / (2 * inch))

    def length(value: float) -> str:
        return format_length(value, units)

    return (
        Change("depth", tuple(k * inch for k in range(1, 17)), deeper, lambda d: f"make the piece {length(d)} deeper"),
        Change(
            "mix strength",
            tuple(1 + 0.05 * k for k in range(1, 13)),
            stronger,
            lambda f: (
                f"a mix of {format_quantity(f * strength, 'stress', units)} instead of "
                f"{format_quantity(strength, 'stress', units)}, bending strengths and moduli up with its root"
            ),
        ),
        Change(
            "supports inwards",
            tuple(2 * k * inch for k in range(1, reach + 1)),
            supports_in,
            lambda x: f"move both end supports {length(x)} towards the middle",
        ),
        Change(
            "supports outwards",
            tuple(2 * k * inch for k in range(1, reach + 1)),
            lambda doc, x: supports_in(doc, -x),
            lambda x: f"move both end supports {length(x)} towards the ends",
        ),
    )


def openings(document: Document, space: Space, misses: Sequence[Record]) -> list[dict[str, Any]]:
    """For each kind of change the smallest step that opens the way: words, size [engine's units], and the design that
    then holds; `size` None where no step did."""
    tried = [design_of(record) for record in misses[:MOST_TRIED]]
    found = []
    for change in changes(document):
        if not change.steps:
            continue
        size, design = _smallest(document, space, change, tried)
        most = f"{change.name}: not even this opens the way: {change.words(change.steps[-1])}"
        found.append(
            {
                "change": change.name,
                "size": size,
                "words": most if size is None else change.words(size),
                "design": None if design is None else misses[tried.index(design)],
            }
        )
    return found


def design_of(record: Record) -> Design:
    """The design a record tells of."""
    return Design(
        int(record["index"]),
        record["thread"],
        record["grade"],
        tuple(record["across"]),
        record["height"],
        record["jacking"],
        tuple(record["restress"]),
    )


def _smallest(
    document: Document, space: Space, change: Change, tried: Sequence[Design]
) -> tuple[float | None, Design | None]:
    """The first step at which a design does not fail; steps in between are found by halving."""
    low, high = -1, len(change.steps) - 1
    best = _holds(document, space, change, high, tried) if tried else None
    if best is None:
        return None, None
    while high - low > 1:
        middle = (low + high) // 2
        design = _holds(document, space, change, middle, tried)
        if design is None:
            low = middle
        else:
            high, best = middle, design
    return change.steps[high], best


def _holds(document: Document, space: Space, change: Change, step: int, tried: Sequence[Design]) -> Design | None:
    """The first of the designs that does not fail with this step of the change."""
    try:
        other = change.apply(document, change.steps[step])
        piece = parse(other)
    except SpecificationRefused:
        return None
    for design in tried:
        made = as_batch(other, piece, space, [design])
        if made is not None and int(judge(*made).piece_verdict[0]) != int(Verdict.FAIL):
            return design
    return None
