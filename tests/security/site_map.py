"""Every address of the site, read from its URL patterns, on rows that exist.

Nothing is listed by hand but the kinds of row: a new address turns up here by itself, and the tests that use this map
fail until it is in their tables.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver, reverse

from engineering.study_actions import start_study
from jobs.actions import quality, standards, tablets
from jobs.models import ApiToken, Stage
from tests.factories import make_attachment, make_mix, make_wrench, person, piece_at, start, token
from tests.reports.issuing import issued, shared_link

OF_THE_API = "api/"
Rows = dict[str, object]


@dataclass(frozen=True)
class Place:
    """One URL pattern outside the API: its name, its path as written, the names of what stands in it."""

    name: str
    path: str
    blanks: tuple[str, ...]

    def address(self, rows: Rows) -> str:
        """On rows that exist; KeyError for an address of a kind that `rows_of_a_shop` does not know yet."""
        first = self.path.partition("/<")[0]
        return reverse(self.name, kwargs={blank: rows[f"{first}/<{blank}>"] for blank in self.blanks})


def places() -> list[Place]:
    """Every page, entry, file and part of the site; the API has a map of its own, the OpenAPI document."""
    return [place for place in _walk(get_resolver()) if not place.path.startswith(OF_THE_API)]


def _walk(resolver: URLResolver, before: str = "") -> Iterator[Place]:
    for entry in resolver.url_patterns:
        path = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _walk(entry, path)
        elif isinstance(entry, URLPattern):
            yield Place(str(entry.name), path, tuple(entry.pattern.converters))


def rows_of_a_shop() -> Rows:
    """One row of each kind by the beginning of its address: a piece in the middle of stressing, a record, a key."""
    piece = piece_at(Stage.STRIPPED)
    stressing = start(piece)
    owner = person()
    token(owner)
    record = issued()
    other = piece_at(Stage.FORMED)
    wrong = quality.raise_non_conformance(other, by=person(), what="a chipped edge")
    standard = standards.make(
        piece.revision, by=person(), name="Counter", limits=[{"measure": "depth", "low": 3, "high": 3.5}]
    )
    study = start_study(other.revision.specification, "region")
    return {
        "board/<stage>": Stage.CURING.value,
        "orders/<pk>": piece.design.order_id,
        "designs/<pk>": piece.design_id,
        "pieces/<pk>": piece.pk,
        "pieces/<to_stage>": Stage.STRESSED.value,
        "revisions/<pk>": piece.revision_id,
        "stressings/<pk>": stressing.pk,
        "people/<pk>": person().pk,
        "keys/<pk>": ApiToken.objects.get(person=owner).pk,
        "shop/mixes/<pk>": make_mix().pk,
        "shop/wrenches/<pk>": make_wrench().pk,
        "records/<number>": record.number,
        "records/<pk>": 1,
        "verify/<number>": record.number,
        "sharing/<pk>": shared_link(record).pk,
        "shared/pieces/<pk>": piece.pk,
        "shared/records/<number>": record.number,
        "tablet/<pk>": tablets.make_tablet(by=owner, name="Tablet at the bed").pk,
        "guide/<name>": "tightening-rods",
        "non-conformances/<pk>": wrong.pk,
        "photos/<pk>": 1,
        "files/<pk>": make_attachment(piece.design.order).pk,
        "pieces/<kind>": "incident",
        "pieces/<version_pk>": 1,
        "designs/<kind>": "advice",
        "designs/<study_pk>": 1,
        "designs/<index>": 0,
        "shop/lots/<pk>": 1,
        "standard-pieces/<pk>": standard.pk,
        "compared/studies/<left>": study.pk,
        "compared/studies/<right>": study.pk,
        "compared/revisions/<left>": piece.revision_id,
        "compared/revisions/<right>": other.revision_id,
        "calendar/<key>": "nobody-has-this",
        "lists/<name>": "pieces",
        "lists/<kind>": "csv",
    }
