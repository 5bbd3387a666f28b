"""The shop's dates: a month and a week, dated anew, on one's own device, and what needs whom today."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from jobs.actions.notices import sweep
from jobs.models import CalendarLink, Stage
from tests.browser.floor.doing import nothing_called, refused, row_of, shot, shut, write
from tests.factories import make_design, make_order, make_wrench, piece_at, strength_test
from tests.production.test_quality import raised

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_manager_dates_a_pour_anew_and_the_crew_sees_it_by_month_and_week(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.FORMED)
    planned = f"/pieces/{piece.pk}/planned/"
    manager, crew, engineer = at_work("manager"), at_work("crew"), at_work("engineer")
    manager.goto("/schedule/")
    row_of(manager, "set a day").get_by_role("link", name="set a day").click()
    manager.get_by_label("Day of the pour").fill("2027-03-04")
    write(manager, "Save the day", "The day is saved.")
    crew.goto("/schedule/?from=2027-03-31")
    expect(crew.get_by_role("heading", name="March 2027")).to_be_visible()
    expect(row_of(crew, f"Pour {piece}")).to_contain_text("Thu 4 Mar")
    shot(crew, "schedule")
    crew.get_by_role("link", name="By week").click()
    expect(crew.get_by_role("heading", name="Week from 1 March 2027")).to_be_visible()
    expect(row_of(crew, f"Pour {piece}")).to_be_visible()
    crew.get_by_role("link", name="Later").click()
    expect(crew.get_by_role("heading", name="Week from 8 March 2027")).to_be_visible()
    expect(row_of(crew, f"Pour {piece}")).to_have_count(0)

    manager.get_by_role("link", name="4 Mar 2027").click()
    manager.get_by_label("Day of the pour").fill("2027-03-11")
    write(manager, "Save the day", "The day is saved.")
    crew.reload()
    row_of(crew, f"Pour {piece}").get_by_role("link").click()
    expect(crew.get_by_role("heading", level=1)).to_contain_text(str(piece))
    for page in (crew, engineer):
        page.goto("/schedule/")
        nothing_called(page, "set a day", "11 Mar 2027")
        shut(page, planned)
        refused(page, planned, on="2027-03-12")
    piece.refresh_from_db()
    assert piece.pour_planned == date(2027, 3, 11)


def test_the_secret_address_works_without_signing_in_until_it_is_taken_back(
    at_work: Callable[..., Page], device: Callable[..., Page]
) -> None:
    day = timezone.localdate() + timedelta(days=5)
    make_design(make_order(number="O-77", due_date=day))
    crew, outside = at_work("crew"), device()
    crew.goto("/schedule/")
    crew.get_by_role("link", name="Calendar on my own device").click()
    crew.get_by_role("button", name="Make my address").click()
    address = crew.locator("code").inner_text()
    shot(crew, "calendar")
    assert re.fullmatch(r"http://.+/calendar/[\w-]{40,}\.ics", address)
    answer = outside.request.get(address)
    assert (answer.status, answer.headers["content-type"]) == (200, "text/calendar; charset=utf-8")
    lines = answer.text().split("\r\n")
    assert (lines[0], lines[-2]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert f"DTSTART;VALUE=DATE:{day:%Y%m%d}" in lines
    assert any(line.startswith("SUMMARY:Due: O-77") for line in lines)
    assert outside.request.get(address.replace("/calendar/", "/calendar/x")).status == 404
    crew.goto("/calendar/")
    expect(crew.locator("code")).to_have_count(0)  # shown once
    crew.get_by_role("button", name="Take it back").click()
    expect(crew.locator(".messages")).to_contain_text("no longer works")
    assert outside.request.get(address).status == 404
    assert not CalendarLink.objects.exists()
    outside.goto("/calendar/")
    expect(outside.get_by_label("Sign-in name")).to_be_visible()


def test_today_tells_each_role_what_needs_it_and_no_other(at_work: Callable[..., Page]) -> None:
    late = make_order(due_date=timezone.localdate() - timedelta(days=2))
    late_piece = make_design(late).pieces.get()
    wrong = raised(piece_at(Stage.POURED))
    strong = piece_at(Stage.CURING)
    strength_test(strong)
    make_wrench(name="Wrench 9", days=5)
    make_design(verdict="review")
    sweep()
    told = {
        "strength": f"{strong} has reached the strength to be stripped.",
        "fault": f"{wrong.piece}: non-conformance {wrong.pk} waits for a decision.",
        "late": f"{late_piece} of order {late.number} was due",
        "wrench": "Calibration of Wrench 9: good until",
        "review": "waits for an engineer's review.",
    }
    theirs = {
        "crew": {"strength"},
        "engineer": {"fault", "review"},
        "manager": {"fault", "late", "wrench"},
        "viewer": set[str](),
    }
    for role, names in theirs.items():
        page = at_work(role)
        page.goto("/board/")
        page.get_by_role("navigation", name="Main").get_by_role("link", name="Today").click()
        needs = page.locator("section").filter(has=page.get_by_role("heading", name="Needs you now"))
        for name, words in told.items():
            expect(needs.get_by_text(words)).to_have_count(int(name in names))
        shot(page, f"today-{role}")
        if role == "crew":
            needs.get_by_role("link", name=told["strength"]).click()
            write(page, "Mark stripped", "is now stripped")
    sweep()
    crew = at_work("crew")
    crew.goto("/today/")
    expect(crew.get_by_text(told["strength"])).to_have_count(0)  # over, and so not told any more
