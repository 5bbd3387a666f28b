"""Find rods: thousands of designs through the checks, the best few of each wish, what stands in the way of the rest.

Two passes, no shortcut in a formula: first the nominal variant of every design, which throws out only what would fail
its check run anyway; then the whole check run of those that pass so, and of those for an engineer's review only where
no design of the layout passes. A layout is worked whole, so any split over workers gives
the same answer; parts are put together by `merged`, in any order.
"""

import itertools
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from engineering.core.checks import CHECKS
from engineering.core.checks.finding import Verdict
from engineering.core.contract import Piece, parse
from engineering.core.drafts import Document
from engineering.core.rod_space import Design, Layout, Space, as_batch, designs_of, layouts
from engineering.core.tables.threads import THREADS
from engineering.core.variants import Judged, Whole, judge

KEPT = 12  # of each wish, and of the nearest misses
STEEL_LBF_IN3 = 490.0 / 1728.0  # weight of steel, 490 lb/ft3
PITCH_CYLINDER = 0.64951905  # a thread's pitch diameter is D - this × pitch (ASME B1.1): steel and air are even there
OBJECTIVES = ("steel", "force", "margin", "crown")
OF_PLACE = ("cover", "spacing", "plate edge")  # kept or not by where a rod lies: no part of the margin
_LONGEST_FIRST = sorted((name for name, _ in CHECKS), key=len, reverse=True)
Record = dict[str, Any]


@dataclass(frozen=True)
class Found:
    """What one part of a search found; put together with `merged`. Numbers in the engine's units.

    best : for each wish the best designs that do not fail, passing ones first. misses : the designs nearest to passing.
    fronts : for steel and for force, the designs that none beats in both that and the margin. blocked : how many
    designs each check fails, and how many it fails alone.
    """

    looked_at: int = 0
    refused: int = 0
    passing: int = 0
    for_review: int = 0
    best: Mapping[str, tuple[Record, ...]] = field(default_factory=lambda: dict.fromkeys(OBJECTIVES, ()))
    misses: tuple[Record, ...] = ()
    fronts: Mapping[str, tuple[Record, ...]] = field(default_factory=lambda: {"steel": (), "force": ()})
    blocked: Mapping[str, tuple[int, int]] = field(default_factory=dict)

    def to_json(self) -> dict[str, Any]:
        return {
            **{name: getattr(self, name) for name in ("looked_at", "refused", "passing", "for_review")},
            "best": {name: list(records) for name, records in self.best.items()},
            "misses": list(self.misses),
            "fronts": {name: list(records) for name, records in self.fronts.items()},
            "blocked": {name: list(counts) for name, counts in self.blocked.items()},
        }

    @classmethod
    def from_json(cls, document: Mapping[str, Any]) -> "Found":
        return cls(
            looked_at=int(document["looked_at"]),
            refused=int(document["refused"]),
            passing=int(document["passing"]),
            for_review=int(document["for_review"]),
            best={name: tuple(records) for name, records in document["best"].items()},
            misses=tuple(document["misses"]),
            fronts={name: tuple(records) for name, records in document["fronts"].items()},
            blocked={name: (int(counts[0]), int(counts[1])) for name, counts in document["blocked"].items()},
        )


class Stopped(Exception):
    """Somebody wished the search to stop."""


def search(
    document: Document,
    space: Space,
    part: tuple[int, int] | None = None,
    progress: Callable[[int], None] | None = None,
    stop_wanted: Callable[[], bool] | None = None,
) -> Found:
    """Layouts part[0] to part[1] of a space (all of them where None). progress: told how many designs are done, after
    every pass through the engine. Raises Stopped between layouts; ValueError for a space that cannot be."""
    piece = parse(document)
    todo = layouts(piece, space)
    start, stop = part or (0, len(todo))
    found = Found()
    for layout in todo[start:stop]:
        if stop_wanted is not None and stop_wanted():
            raise Stopped
        before = found.looked_at
        counted = [0]

        def tick(designs: int, before: int = before, counted: list[int] = counted) -> None:
            counted[0] += designs
            if progress is not None:
                progress(before + counted[0])

        found = merged([found, _layout(document, piece, space, layout, tick)])
        tick(found.looked_at - before - counted[0])
    return found


def _layout(document: Document, piece: Piece, space: Space, layout: Layout, tick: Callable[[int], None]) -> Found:
    """tick: told after every pass through the engine how many more designs have been looked at, 0 in the second."""
    designs = designs_of(document, piece, space, layout)
    made = as_batch(document, piece, space, designs) if designs else None
    if made is None:
        return Found(looked_at=len(designs), refused=len(designs))
    base, numbers = made
    first = judge(base, numbers, scattered=False, tick=tick)
    found = []
    for verdict in (Verdict.FAIL, Verdict.PASS, Verdict.REVIEW):
        which = np.flatnonzero(first.piece_verdict == int(verdict))
        if verdict is Verdict.FAIL:
            found.append(_failing(designs, which, first, which))
        elif any(part.passing for part in found):
            found.append(Found(looked_at=len(which), for_review=len(which)))
        elif which.size:
            found += _checked(designs, which, judge(base, numbers.chosen(which), tick=lambda _: tick(0)))
    return merged(found)


def _checked(designs: Sequence[Design], which: Whole, judged: Judged) -> list[Found]:
    """Designs `which` after their whole check run."""
    fails = judged.piece_verdict == int(Verdict.FAIL)
    rows = np.arange(len(which))
    return [
        _failing(designs, which[fails], judged, rows[fails]),
        _standing(designs, which[~fails], judged, rows[~fails]),
    ]


def _standing(designs: Sequence[Design], which: Whole, judged: Judged, rows: Whole) -> Found:
    records = [record(designs[d], judged, int(r)) for d, r in zip(which.tolist(), rows.tolist(), strict=True)]
    passing = sum(one["verdict"] == "pass" for one in records)
    return Found(
        looked_at=len(records),
        passing=passing,
        for_review=len(records) - passing,
        best={name: _first(records, name) for name in OBJECTIVES},
        fronts={name: _front(records, name) for name in ("steel", "force")},
    )


def _failing(designs: Sequence[Design], which: Whole, judged: Judged, rows: Whole) -> Found:
    """How far the designs that fail are from passing, and by which checks."""
    if not len(rows):
        return Found()
    names = [plain_name(name) for name in judged.names]
    kinds = sorted(set(names))
    columns = np.array([[name == kind for name in names] for kind in kinds])
    failed = (judged.verdicts[rows] == int(Verdict.FAIL)).astype(int) @ columns.T > 0  # (designs, kinds)
    alone = failed & (failed.sum(axis=1) == 1)[:, None]
    ratio = np.where(np.isnan(judged.ratios[rows]), 1e6, judged.ratios[rows])
    over = np.max(np.where(judged.verdicts[rows] == int(Verdict.FAIL), ratio, 0.0), axis=1)
    order = sorted(range(len(rows)), key=lambda k: (_even(over[k]), designs[int(which[k])].index))[:KEPT]
    misses = [
        {**record(designs[int(which[k])], judged, int(rows[k])), "over": _even(over[k]),
         "failed": [kind for kind, hit in zip(kinds, failed[k], strict=True) if hit]}
        for k in order
    ]  # fmt: skip
    blocked = {
        kind: (int(failed[:, k].sum()), int(alone[:, k].sum())) for k, kind in enumerate(kinds) if failed[:, k].any()
    }
    return Found(looked_at=len(rows), misses=tuple(misses), blocked=blocked)


def plain_name(name: str) -> str:
    """A check's name without the mark or number of what it is about: every limit once."""
    return next(check for check in _LONGEST_FIRST if name.startswith(check))


def record(design: Design, judged: Judged, row: int) -> Record:
    """A design with what a table shows of it."""
    thread = THREADS[design.thread]
    loaded = judged.counting & ~np.array([name.startswith(OF_PLACE) for name in judged.names])
    counting = np.where(loaded, np.nan_to_num(judged.ratios[row], nan=0.0), 0.0)
    area = np.pi / 4 * (thread.diameter_in - PITCH_CYLINDER * thread.pitch_in) ** 2
    crown = judged.crown_in[row]
    return {
        "index": design.index,
        "thread": design.thread,
        "grade": design.grade,
        "across": list(design.across_in),
        "height": design.height_in,
        "jacking": design.jacking_lbf,
        "restress": list(design.restress_days),
        "verdict": Verdict(int(judged.piece_verdict[row])).word,
        "steel": _even(STEEL_LBF_IN3 * area * float(np.sum(judged.rod_length_in[row]))),
        "force": _even(design.jacking_lbf * len(design.across_in)),
        "margin": _even(counting.max()),
        "governing": judged.names[int(np.argmax(counting))],
        "crown": _even(abs(crown[2] - crown[1])),
        "crown_transfer": _even(crown[0]),
        "force_left": _even(float(np.sum(judged.force_left_lbf[row]))),
    }


def _even(value: float) -> float:
    """To nine digits: a hair of rounding decides no order."""
    return float(f"{float(value):.9g}")


def _rank(one: Record, name: str) -> tuple[bool, float, float, int]:
    return one["verdict"] != "pass", one[name], one["margin"], one["index"]


def _first(records: Iterable[Record], name: str) -> tuple[Record, ...]:
    """The best design of each thread, grade, number and plan of re-stressing; the best of these."""
    kinds: dict[tuple[Any, ...], Record] = {}
    for one in sorted(records, key=lambda one: _rank(one, name)):
        kinds.setdefault((one["thread"], one["grade"], len(one["across"]), tuple(one["restress"])), one)
    return tuple(list(kinds.values())[:KEPT])


def _front(records: Sequence[Record], name: str) -> tuple[Record, ...]:
    """Designs that none beats in both `name` and margin, by rising `name`; passing ones only where there are any."""
    left: list[Record] = []
    for one in sorted(records, key=lambda one: (one[name], one["margin"], one["index"])):
        rivals = [other for other in left if other["verdict"] == one["verdict"]]
        if not rivals or one["margin"] < min(other["margin"] for other in rivals):
            left.append(one)
    return tuple(left)


def merged(parts: Sequence[Found]) -> Found:
    """Parts of one search put together; the same whatever the split and the order."""
    blocked: dict[str, tuple[int, int]] = {}
    for part in parts:
        for name, (count, alone) in part.blocked.items():
            before = blocked.get(name, (0, 0))
            blocked[name] = (before[0] + count, before[1] + alone)
    misses = sorted((one for part in parts for one in part.misses), key=lambda one: (one["over"], one["index"]))
    return Found(
        looked_at=sum(part.looked_at for part in parts),
        refused=sum(part.refused for part in parts),
        passing=sum(part.passing for part in parts),
        for_review=sum(part.for_review for part in parts),
        best={name: _first([one for part in parts for one in part.best[name]], name) for name in OBJECTIVES},
        misses=tuple(misses[:KEPT]),
        fronts={
            name: _front([one for part in parts for one in part.fronts[name]], name) for name in ("steel", "force")
        },
        blocked=dict(sorted(blocked.items())),
    )


def split(count: int, workers: int) -> list[tuple[int, int]]:
    """Layouts 0 to count in so many even parts."""
    bounds = [round(k * count / workers) for k in range(workers + 1)]
    return [(a, b) for a, b in itertools.pairwise(bounds) if b > a]
