"""A verdict counts only for the newest revision and the engine of today, and the page never lets an
old one look current.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from engineering.models import CheckRun
from jobs.models import Release
from tests.factories import finished_checks, make_design, newest, person, release, revise
from tests.page_reading import as_read

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


def page(client: Client, design: object, query: str = "") -> str:
    return as_read(client.get(reverse("design", args=[design.pk]) + query))  # type: ignore[attr-defined]  # a Design


def test_a_current_verdict_is_shown_large_with_every_check(signed_in: SignIn) -> None:
    html = page(signed_in("viewer"), make_design(verdict="pass"))
    assert 'class="verdict verdict-pass big"' in html
    assert "crown at stressing" in html
    assert "0.10 / 0.45 = 0.22" in html
    assert 'id="stale"' not in html


def test_while_the_checks_of_a_change_run_no_verdict_is_shown(signed_in: SignIn) -> None:
    design = make_design(verdict="pass")
    revise(design, verdict=None)
    client = signed_in("manager")
    html = page(client, design)
    assert "The checks of revision B are waiting for their turn" in html
    assert "verdict-pass big" not in html
    assert "are not finished" in html  # the release says what it waits for
    part = client.get(reverse("design_checks", args=[design.pk]), headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert b"hx-get" in part.content
    finished_checks(newest(design))
    part = client.get(reverse("design_checks", args=[design.pk]), headers={"HX-Request": "true"})
    assert (part.status_code, part["HX-Refresh"]) == (204, "true")


def test_an_older_revision_says_that_it_is_superseded_and_strikes_its_verdict(signed_in: SignIn) -> None:
    design = make_design(verdict="pass")
    revise(design)
    html = page(signed_in("manager"), design, "?revision=A")
    assert "Superseded: this is revision A, the newest is B" in html
    assert "was the verdict of revision A" in html
    assert "verdict-pass big" not in html
    assert reverse("design_release", args=[design.pk]) not in html


def test_a_verdict_by_an_older_engine_is_no_verdict(signed_in: SignIn) -> None:
    design = make_design(verdict="pass")
    CheckRun.objects.update(engine_version="0.1.0")
    html = page(signed_in("manager"), design)
    assert "by an older engine (0.1.0)" in html
    assert "verdict-pass big" not in html
    assert "Run the checks of revision A again" in html
    client = signed_in("manager")
    order = as_read(client.get(reverse("order", args=[design.order_id])))
    assert "check again" in order
    assert "verdict-pass" not in order
    answer = client.post(reverse("design_rerun", args=[design.pk]), {"revision": "1"})
    assert answer.status_code == 302
    assert "are waiting for their turn" in page(client, design)


def test_checks_that_broke_off_say_why_and_can_be_asked_again(signed_in: SignIn) -> None:
    design = make_design(verdict=None)
    CheckRun.objects.update(status="broken", problem="The engine stopped on this piece.")
    html = page(signed_in("engineer"), design)
    assert "The engine stopped on this piece." in html
    assert reverse("design_rerun", args=[design.pk]) in html
    assert reverse("design_rerun", args=[design.pk]) not in page(signed_in("viewer"), design)


@pytest.mark.parametrize(
    ("role", "verdict", "words"),
    [
        ("manager", "review", "an engineer has to accept it"),
        ("engineer", "fail", "nobody can release it"),
        ("crew", "pass", "Releasing is for the shop manager or an engineer"),
    ],
)
def test_what_is_in_the_way_of_a_release_is_shown_and_the_form_is_not(
    role: str, verdict: str, words: str, signed_in: SignIn
) -> None:
    design = make_design(verdict=verdict)
    html = page(signed_in(role), design)
    assert words in html
    assert 'data-draft="release-' not in html
    answer = signed_in(role).post(reverse("design_release", args=[design.pk]), {"revision": "1"})
    assert answer.status_code in (403, 409)
    assert not Release.objects.exists()


def test_an_engineer_without_a_licence_is_told_what_is_missing(signed_in: SignIn) -> None:
    html = page(signed_in(person("engineer", licence_number="")), make_design(verdict="review"))
    assert "licence number and jurisdiction must be on record" in html


def test_a_release_stands_with_name_and_licence(signed_in: SignIn) -> None:
    design = make_design(verdict="review")
    client = signed_in("engineer")
    assert "Release revision A" in page(client, design)
    client.post(reverse("design_release", args=[design.pk]), {"revision": "1", "note": "Span looked at."})
    html = page(client, design)
    assert Release.objects.get().accepted_by == client.person  # type: ignore[attr-defined]  # set by signed_in
    assert client.person.licence_number in html  # type: ignore[attr-defined]  # as above
    assert "Span looked at." in html


def test_a_superseded_revision_cannot_be_released_from_a_page_left_open(signed_in: SignIn) -> None:
    design = make_design(verdict="pass")
    revise(design)
    answer = signed_in("manager").post(reverse("design_release", args=[design.pk]), {"revision": "1"})
    assert answer.status_code == 409
    assert "has taken its place" in as_read(answer)


def test_a_released_revision_offers_no_second_release(signed_in: SignIn) -> None:
    design = make_design(verdict="pass")
    release(design)
    assert 'data-draft="release-' not in page(signed_in("manager"), design)
