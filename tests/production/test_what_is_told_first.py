"""What each role is told: the most urgent first, its own whatever others are told, how many, and every one once."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from jobs import open_notices
from jobs.actions import notices
from jobs.models import Notice, Order, Piece, Role, Stage
from jobs.notices import URGENCY
from jobs.views.production import notice_words
from jobs.views.production import plan as plan_view
from tests.factories import make_design, make_order, make_wrench, person, piece_at, strength_test
from tests.page_reading import as_read
from tests.production.test_quality import raised

pytestmark = pytest.mark.django_db


def signed_in(role: Role) -> Client:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    return client


def late_order(days: int = 2, count: int = 3) -> list[Piece]:
    order = make_order(due_date=timezone.localdate() - timedelta(days=days))
    return list(make_design(order, pieces=count).pieces.order_by("serial"))


def test_every_kind_that_is_told_has_a_place_in_the_order_and_words() -> None:
    assert set(URGENCY) == set(notice_words.KINDS)
    assert len(set(URGENCY)) == len(URGENCY)


def test_the_most_urgent_comes_first_whoever_came_later_and_of_one_kind_the_longest_waiting() -> None:
    late_order()
    make_wrench(days=5)
    notices.sweep()
    raised(piece_at(Stage.POURED))
    notices.sweep()
    kinds = [row.kind for row in open_notices.for_role(Role.MANAGER)]
    assert kinds == ["non-conformance", "piece-late", "piece-late", "piece-late", "calibration-due"]
    late = [row.made_at for row in open_notices.for_role(Role.MANAGER) if row.kind == "piece-late"]
    assert late == sorted(late)


def test_each_role_finds_its_own_though_hundreds_are_told_to_others() -> None:
    """A list of the newest of all roles would have shown the crew nothing."""
    piece = piece_at(Stage.CURING)
    strength_test(piece)
    notices.sweep()
    kept = Notice.objects.get()
    Notice.objects.bulk_create(
        Notice(key=f"late-{n}", kind="piece-late", text="late", roles=["manager"], for_manager=True, urgency=8)
        for n in range(300)
    )
    assert [row.pk for row in open_notices.for_role(Role.CREW)] == [kept.pk]
    rows, total = open_notices.first_for(Role.MANAGER, 25)
    assert (len(rows), total) == (25, 300)
    assert open_notices.first_for(Role.ENGINEER, 25) == ([], 0)
    assert open_notices.first_for(Role.VIEWER, 25) == ([], 0)
    assert "has reached the strength" in as_read(signed_in(Role.CREW).get(reverse("today")))


def test_the_columns_of_a_notice_are_its_roles_and_it_leaves_the_list_when_it_is_over() -> None:
    late_order()
    make_design(verdict="review")
    raised(piece_at(Stage.POURED))
    notices.sweep()
    assert Notice.objects.count() >= 5
    for row in Notice.objects.all():
        told = {role for role, column in open_notices.COLUMN.items() if getattr(row, column)}
        assert told == set(row.roles)
        assert URGENCY[row.urgency] == row.kind
    Order.objects.update(due_date=None)
    notices.sweep()
    assert not open_notices.for_role(Role.MANAGER).filter(kind="piece-late").exists()
    assert Notice.objects.filter(kind="piece-late").count() == 3


def test_today_says_how_many_more_and_the_list_has_each_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan_view, "SHOWN_TODAY", 4)
    monkeypatch.setattr(plan_view, "ON_A_PAGE", 5)
    late_order(count=11)
    raised(piece_at(Stage.POURED))
    notices.sweep()
    client = signed_in(Role.MANAGER)
    text = as_read(client.get(reverse("today")))
    assert "The 4 most urgent of 12." in text
    assert reverse("needs_you") in client.get(reverse("today")).content.decode()
    seen: list[str] = []
    for page in (1, 2, 3):
        answer = client.get(reverse("needs_you"), {"page": page})
        (table,) = answer.context["tables"]
        seen += [row[0].text for row in table.rows]
        assert "Needs you now: 12" in as_read(answer)
        assert bool(re.search(rf"page={page + 1}\b", answer.content.decode())) == (page < 3)
    assert seen == [notice_words.notice_text(row) for row in open_notices.for_role(Role.MANAGER)]
    assert len(set(seen)) == 12
    assert "non-conformance" in seen[0]


def test_where_all_fit_nothing_is_said_of_more() -> None:
    late_order(count=2)
    notices.sweep()
    text = as_read(signed_in(Role.MANAGER).get(reverse("today")))
    assert "most urgent of" not in text
    assert text.count("was due on") == 2
