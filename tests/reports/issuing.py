"""Records made for tests by the worker's own way."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django.utils import timezone

from jobs.models import Revision, Role
from reports import actions, building, sharing
from reports.design_record import Acceptance, RecordFacts
from reports.models import IssuedRecord, SharingLink
from tests.factories import make_design, newest, person, release
from tests.reports.documents import example, made_result

SITE = "https://book.example"


def facts(document: dict[str, Any] | None = None, result: dict[str, Any] | None = None, **changes: Any) -> RecordFacts:
    document = document or example("01-counter-cored")
    values: dict[str, Any] = {
        "number": "DR-000123",
        "shop": "Slate & Lime Castings",
        "shop_address": "14 Quarry Lane, Milton",
        "revision": "C",
        "revision_note": "deeper core",
        "order": "2026-014 Hollis & Daughters",
        "site": "Map room",
        "issued": datetime(2026, 11, 25, 15, 4, tzinfo=UTC),
        "issued_by": "Ana Brandt",
        "check_run": 17,
        "document": document,
        "result": result or made_result(document),
        "verify_address": f"{SITE}/verify/DR-000123/",
        "acceptance": Acceptance("Ruth Okafor", "engineer", "E-77", "Vermont", "review", "2026-11-25"),
        "paper": "letter",
    }
    return RecordFacts(**(values | changes))


def issued(revision: Revision | None = None) -> IssuedRecord:
    """A signed record of a released design with one piece."""
    if revision is None:
        design = make_design()
        release(design)
        revision = newest(design)
    record = actions.request_record(revision, by=person(Role.MANAGER), site_address=SITE)
    claimed = building.claim(record.pk)
    assert claimed is not None
    assert building.build(claimed)
    return IssuedRecord.objects.get(pk=record.pk)


def shared_link(record: IssuedRecord) -> SharingLink:
    """A link for somebody to that record alone."""
    link, _ = sharing.share(
        record.revision.design.order,
        by=person(Role.MANAGER),
        label="the client",
        expires_at=timezone.now() + timedelta(days=30),
        records=[record],
    )
    return link
