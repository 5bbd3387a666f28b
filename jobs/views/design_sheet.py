"""What the page of a design shows, read once: the chosen revision, its checks sorted for reading,
whether it still counts.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun, JobStatus
from engineering.queries import latest_run
from jobs import queries
from jobs.models import Design, Event, Piece, Release, Revision

READING_ORDER = {"fail": 0, "review": 1, "caution": 2, "pass": 3, "not applicable": 4}


@dataclass
class SameCheck:
    """One check made rod by rod: the rod nearest its limit speaks for all with its verdict."""

    worst: dict[str, Any]
    others: list[dict[str, Any]] = field(default_factory=list)

    @property
    def other_rods(self) -> list[str]:
        return [check["name"].rpartition(" ")[2] for check in self.others]


@dataclass
class DesignSheet:
    revisions: list[Revision]
    shown: Revision | None
    run: CheckRun | None
    release: Release | None
    pieces: list[Piece]
    history: list[Event] = field(default_factory=list)

    @classmethod
    def of(cls, design: Design, chosen: str = "") -> DesignSheet:
        """`chosen`: a revision's letter or number; the newest where it is empty or none of them."""
        page = queries.design_page(design)
        revisions = list(page.revisions)
        shown = next(
            (row for row in revisions if chosen and chosen.upper() in (row.letter, str(row.number))),
            max(revisions, key=lambda row: row.number, default=None),
        )
        run = latest_run(shown.specification) if shown else None
        release = Release.objects.select_related("accepted_by").filter(revision=shown).first() if shown else None
        return cls(revisions, shown, run, release, list(page.pieces), list(page.events))

    @property
    def newest(self) -> Revision | None:
        return max(self.revisions, key=lambda row: row.number, default=None)

    @property
    def is_newest(self) -> bool:
        return self.shown is not None and self.shown == self.newest

    @property
    def under_way(self) -> bool:
        return self.run is not None and self.run.status in (JobStatus.WAITING, JobStatus.RUNNING)

    @property
    def broken(self) -> bool:
        return self.run is not None and self.run.status == JobStatus.BROKEN

    @property
    def by_old_engine(self) -> bool:
        return self.run is not None and self.run.engine_version != ENGINE_VERSION

    @property
    def engine_now(self) -> str:
        return ENGINE_VERSION

    @property
    def is_current(self) -> bool:
        """The verdict on the page is that of the newest revision, by the engine that runs now."""
        return self.is_newest and self.run is not None and self.run.is_current

    @property
    def result(self) -> dict[str, Any] | None:
        return self.run.result if self.run and self.run.status == JobStatus.DONE else None

    @property
    def checks(self) -> list[SameCheck]:
        """Those that need eyes first, within a verdict in report order; what is checked rod by rod stands together."""
        checks = (self.result or {}).get("checks", [])
        document = self.shown.specification.document if self.shown else {}
        rods = {rod.get("mark", "") for rod in document.get("rods", [])}
        same: dict[tuple[str, str], list[dict[str, Any]]] = {}
        for check in sorted(checks, key=lambda check: READING_ORDER.get(check.get("verdict", ""), 1)):
            name, _, mark = check["name"].rpartition(" ")
            key = name if name and mark in rods else check["name"]
            same.setdefault((check.get("verdict", ""), key), []).append(check)
        return [_nearest_first(found) for found in same.values()]

    @property
    def tally(self) -> list[tuple[str, int]]:
        counted = Counter(check.get("verdict", "") for check in (self.result or {}).get("checks", []))
        return sorted(counted.items(), key=lambda item: READING_ORDER.get(item[0], 1))

    @property
    def figures(self) -> list[tuple[str, dict[str, Any]]]:
        return list((self.result or {}).get("figures", {}).items())


def _nearest_first(checks: list[dict[str, Any]]) -> SameCheck:
    worst = max(checks, key=lambda check: check.get("ratio") or 0.0)
    return SameCheck(worst, [check for check in checks if check is not worst])
