"""The kinds of study: how each is cut into parts, how a part is worked, how parts become the answer.

A part is worked by any worker, for itself, from the document and the settings alone; the answer is the same whatever
the cut. `tick` is told how much of the part is done, in the part's own measure, and raises `Stopped` when the study is
to stop.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from engineering.core import (
    advice,
    finder,
    finder_report,
    region,
    retightening_report,
    rod_space,
    standard,
    studies,
    study_report,
)
from engineering.core.contract import parse

Document = dict[str, Any]
Settings = dict[str, Any]
Tick = Callable[[int], None]
PART_DESIGNS, PART_SAMPLES, PART_POINTS = 2_000, 2 * studies.CHUNK, 25
MOST_SAMPLES = 20_000


@dataclass(frozen=True)
class Cut:
    """Part start to stop of a study, and how much there is to do in it."""

    start: int
    stop: int
    total: int


@dataclass(frozen=True)
class Kind:
    """settings_of: the whole settings from what was asked, ValueError with a plain sentence where that cannot be."""

    name: str
    settings_of: Callable[[Document, Settings], Settings]
    cut: Callable[[Document, Settings], list[Cut]]
    work: Callable[[Document, Settings, Cut, Tick], dict[str, Any]]
    join: Callable[[Document, Settings, Sequence[dict[str, Any]]], dict[str, Any]]


def _rod_settings(document: Document, asked: Settings) -> Settings:
    """The usual space of the piece, with what was asked in its place."""
    usual = rod_space.usual_space(parse(document)).to_json()
    unknown = sorted(set(asked) - set(usual))
    if unknown:
        raise ValueError(f"a search for rods has no {', '.join(unknown)}")
    space = rod_space.Space.from_json({**usual, **asked})
    rod_space.layouts(parse(document), space)
    return space.to_json()


def _rod_cut(document: Document, settings: Settings) -> list[Cut]:
    space, cuts = rod_space.Space.from_json(settings), list[Cut]()
    todo = rod_space.layouts(parse(document), space)
    per_grade = len(space.heights_in) * len(space.spreads) * len(space.shares)
    for number, layout in enumerate(todo):
        size = len(layout.grades) * per_grade
        if cuts and cuts[-1].total + size <= PART_DESIGNS:
            cuts[-1] = Cut(cuts[-1].start, number + 1, cuts[-1].total + size)
        else:
            cuts.append(Cut(number, number + 1, size))
    return cuts


def _rod_work(document: Document, settings: Settings, cut: Cut, tick: Tick) -> dict[str, Any]:
    space = rod_space.Space.from_json(settings)
    return finder.search(document, space, (cut.start, cut.stop), progress=tick).to_json()


def _rod_join(document: Document, settings: Settings, parts: Sequence[dict[str, Any]]) -> dict[str, Any]:
    found = finder.merged([finder.Found.from_json(part) for part in parts])
    return finder_report.report(document, rod_space.Space.from_json(settings), found)


def _sample_settings(document: Document, asked: Settings) -> Settings:
    samples, seed = asked.get("samples", 2_000), asked.get("seed", 1)
    if set(asked) - {"samples", "seed"} or not all(isinstance(n, int) and n > 0 for n in (samples, seed)):
        raise ValueError("a tolerance study takes samples and seed, whole numbers above 0")
    if samples > MOST_SAMPLES:
        raise ValueError(f"a tolerance study of {samples} samples; it should be {MOST_SAMPLES} at most")
    return {"samples": samples, "seed": seed}


def _sample_cut(_: Document, settings: Settings) -> list[Cut]:
    size = settings["samples"]
    bounds = [*range(0, size, PART_SAMPLES), size]
    return [Cut(a, b, b - a) for a, b in itertools.pairwise(bounds)]


def _sample_work(document: Document, settings: Settings, cut: Cut, tick: Tick) -> dict[str, Any]:
    size, seed = settings["samples"], settings["seed"]
    return studies.run_part(parse(document), size, seed, cut.start, cut.stop, progress=tick).to_json()


def _sample_join(document: Document, settings: Settings, parts: Sequence[dict[str, Any]]) -> dict[str, Any]:
    read = [studies.StudyPart.from_json(part) for part in parts]
    return study_report.summary(parse(document), settings["samples"], settings["seed"], read)


def _standard_settings(document: Document, asked: Settings) -> Settings:
    """Limits and steps of a standard piece; its template must lie within them."""
    if set(asked) != {"limits", "steps"} or not isinstance(asked["steps"], int):
        raise ValueError("a standard piece takes limits, and a whole number of steps")
    limits = [standard.Limit.from_json(one) for one in asked["limits"]]
    standard.points(limits, asked["steps"])
    piece = parse(document)
    for one, value in standard.outside(limits, {name: m.of(piece) for name, m in standard.MEASURES.items()}):
        words = standard.MEASURES[one.measure].words
        raise ValueError(f"the {words} of the template, {value:g}, lies outside its limits")
    return {"limits": [one.to_json() for one in limits], "steps": asked["steps"]}


def _standard_cut(_: Document, settings: Settings) -> list[Cut]:
    count = len(_standard_points(settings))
    bounds = [*range(0, count, PART_POINTS), count]
    return [Cut(a, b, b - a) for a, b in itertools.pairwise(bounds)]


def _standard_points(settings: Settings) -> list[dict[str, float]]:
    return standard.points([standard.Limit.from_json(one) for one in settings["limits"]], settings["steps"])


def _standard_work(document: Document, settings: Settings, cut: Cut, tick: Tick) -> dict[str, Any]:
    rows = []
    for number, values in enumerate(_standard_points(settings)[cut.start : cut.stop], start=1):
        rows.append(standard.checked(document, values))
        tick(number)
    return {"rows": rows}


def _standard_join(document: Document, settings: Settings, parts: Sequence[dict[str, Any]]) -> dict[str, Any]:
    limits = [standard.Limit.from_json(one) for one in settings["limits"]]
    return standard.report(document, limits, [row for part in parts for row in part["rows"]])


def _in_one(name: str, work: Callable[[Document], dict[str, Any]]) -> Kind:
    """A study of one part that takes no settings."""

    def settings_of(document: Document, asked: Settings) -> Settings:
        if asked:
            raise ValueError(f"the study {name} takes no settings")
        if name in ("region", "re-tightening") and not parse(document).rods:
            raise ValueError("this piece has no rods; find some first")
        return {}

    def whole(document: Document, _settings: Settings, _cut: Cut, tick: Tick) -> dict[str, Any]:
        tick(0)
        return work(document)

    return Kind(name, settings_of, lambda _d, _s: [Cut(0, 1, 1)], whole, lambda _d, _s, parts: parts[0])


KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("find-rods", _rod_settings, _rod_cut, _rod_work, _rod_join),
        Kind("tolerance", _sample_settings, _sample_cut, _sample_work, _sample_join),
        Kind("standard", _standard_settings, _standard_cut, _standard_work, _standard_join),
        _in_one("region", lambda document: region.report(parse(document))),
        _in_one("re-tightening", retightening_report.report),
        _in_one("advice", advice.advise),
    )
}
