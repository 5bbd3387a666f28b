"""Every page × every role: who gets in, and that no page breaks the rules of the house.

No inline style or script, one h1, headings in order, every field labelled.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import URLPattern, reverse

from jobs import urls
from jobs.models import Stage
from tests.factories import make_design, make_mix, make_wrench, person, piece_at, revise, start
from tests.page_reading import as_read, objections

ALL, OFFICE, DRAWING, FLOOR = (
    {"manager", "crew", "engineer", "viewer"},
    {"manager"},
    {"manager", "engineer"},
    {"manager", "crew"},
)
# Every address that is a page, and who may see it. The rest only take entries, or send one on to a page.
PAGES: dict[str, set[str]] = {
    "password_change": ALL,
    "tokens": ALL,
    "board": ALL,
    "board_stage": ALL,
    "order_list": ALL,
    "order": ALL,
    "design": ALL,
    "piece": ALL,
    "guide": ALL,
    "guide_page": ALL,
    "people": OFFICE,
    "person_new": OFFICE,
    "person": OFFICE,
    "shop": OFFICE,
    "operations": OFFICE,
    "keeping": OFFICE,
    "person_erase": OFFICE,
    "mix_new": OFFICE,
    "mix": OFFICE,
    "wrench_new": OFFICE,
    "wrench": OFFICE,
    "order_new": OFFICE,
    "order_edit": OFFICE,
    "design_new": DRAWING,
    "design_edit": DRAWING,
    "design_import": DRAWING,
    "form_check": FLOOR,
    "pour": FLOOR,
    "strength": FLOOR,
    "load_test": FLOOR,
    "install": FLOOR,
    "stressing": FLOOR,
}
SEND_ON = {"home", "token_page", "login", "first_account"}
FILES = {"specification_file", "result_file"}
PARTS = {"design_checks", "own_numbers"}
ENTRIES = {
    "logout",
    "theme",
    "token_revoke",
    "order_archive",
    "design_rerun",
    "design_release",
    "design_pieces",
    "piece_move",
    "piece_hold",
    "piece_resume",
    "piece_reject",
    "piece_remake",
    "reading",
    "reading_take_back",
    "stressing_finish",
    "stressing_stop",
}

pytestmark = pytest.mark.django_db


@pytest.fixture
def addresses(db: None) -> dict[str, str]:
    """An address for each page, on rows that exist."""
    piece = piece_at(Stage.POURED)
    rows = {
        "order": piece.design.order_id,
        "design": piece.design_id,
        "person": person().pk,
        "mix": make_mix().pk,
        "wrench": make_wrench().pk,
    }
    of = {
        "order": "order",
        "order_edit": "order",
        "design_new": "order",
        "design": "design",
        "design_edit": "design",
        "design_import": "design",
        "person": "person",
        "person_erase": "person",
        "mix": "mix",
        "wrench": "wrench",
    }
    found = {}
    for name in PAGES:
        if name == "guide_page":
            found[name] = reverse(name, args=["tightening-rods"])
        elif name == "board_stage":
            found[name] = reverse(name, args=[Stage.FORMED])
        elif name in of:
            found[name] = reverse(name, args=[rows[of[name]]])
        elif name in ("piece", "form_check", "pour", "strength", "load_test", "install", "stressing"):
            found[name] = reverse(name, args=[piece.pk])
        else:
            found[name] = reverse(name)
    return found


def test_every_address_is_in_one_of_the_lists() -> None:
    names = {pattern.name for pattern in urls.urlpatterns if isinstance(pattern, URLPattern)}
    assert names == set(PAGES) | SEND_ON | FILES | PARTS | ENTRIES


@pytest.mark.parametrize("role", sorted(ALL))
def test_who_gets_in_and_the_rules_of_the_house(
    role: str, addresses: dict[str, str], signed_in: Callable[..., Client]
) -> None:
    client = signed_in(role)
    for name, address in addresses.items():
        answer = client.get(address)
        assert answer.status_code == (200 if role in PAGES[name] else 403), f"{role} {name}"
        assert objections(answer.content.decode()) == [], f"{role} {name}"


@pytest.mark.parametrize("name", sorted(PAGES))
def test_nobody_gets_in_without_signing_in(name: str, addresses: dict[str, str]) -> None:
    answer = Client().get(addresses[name])
    if name in ("guide", "guide_page"):
        assert answer.status_code == 200
    else:
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize("role", ["crew", "engineer", "viewer"])
def test_entries_ask_for_the_permission_too(role: str, signed_in: Callable[..., Client]) -> None:
    piece = piece_at(Stage.FORMED)
    client = signed_in(role)
    barred = {
        "viewer": ["piece_hold", "piece_move", "piece_reject", "reading"],
        "crew": ["piece_reject", "piece_resume", "piece_remake"],
        "engineer": ["piece_remake", "reading", "stressing_stop"],
    }[role]
    for name in barred:
        sent = {"reason": "because", "to_stage": Stage.POURED, "from_stage": Stage.FORMED}
        answer = client.post(reverse(name, args=[piece.pk]), sent)
        assert answer.status_code == 403, name
    piece.refresh_from_db()
    assert piece.stage == Stage.FORMED


@pytest.mark.parametrize("stage", list(Stage)[:-2])
def test_the_piece_and_its_pages_at_every_stage(stage: str, signed_in: Callable[..., Client]) -> None:
    piece = piece_at(stage, load_test_required=True)
    for role in sorted(ALL):
        client = signed_in(role)
        for name in ("piece", "design", "board"):
            args = [] if name == "board" else [piece.pk if name == "piece" else piece.design_id]
            answer = client.get(reverse(name, args=args))
            assert answer.status_code == 200
            assert objections(answer.content.decode()) == [], f"{role} {name} {stage}"


def test_the_pages_of_a_stressing_under_way_and_of_a_held_piece(signed_in: Callable[..., Client]) -> None:
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    client = signed_in("crew")
    assert objections(client.get(reverse("stressing", args=[piece.pk])).content.decode()) == []
    other = piece_at(Stage.FORMED)
    client.post(reverse("piece_hold", args=[other.pk]), {"reason": "warped form"})
    page = as_read(client.get(reverse("piece", args=[other.pk])))
    assert "warped form" in page
    assert objections(page) == []


@pytest.mark.parametrize("verdict", ["pass", "review", "fail", None])
def test_the_design_page_with_each_verdict_and_with_two_revisions(
    verdict: str | None, signed_in: Callable[..., Client]
) -> None:
    design = make_design(verdict=verdict)
    if verdict:
        revise(design, verdict=None)
    for query in ("", "?revision=A"):
        answer = signed_in("engineer").get(reverse("design", args=[design.pk]) + query)
        assert objections(answer.content.decode()) == []
