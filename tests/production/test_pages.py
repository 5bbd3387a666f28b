"""Every further page of production × every role, by the rules of the house; and what they write."""

from __future__ import annotations

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from jobs import production_urls
from jobs.actions import quality
from jobs.models import NonConformance, Role, Stage
from jobs.photos import read_picture
from tests.factories import make_attachment, make_mix, person, piece_at, plan_load_test
from tests.page_reading import as_read, objections
from tests.production.test_mix_and_cure import version
from tests.production.test_quality import picture_file, raised
from tests.production.test_stock import make_lot

ALL, OFFICE, DRAWING, FLOOR = (
    {"manager", "crew", "engineer", "viewer"},
    {"manager"},
    {"manager", "engineer"},
    {"manager", "crew"},
)
HANDS = {"manager", "crew", "engineer"}

# name: (who may look, which row its address takes: piece at a stage, or another kind)
PAGES: dict[str, tuple[set[str], str]] = {
    "non_conformances": (ALL, ""),
    "non_conformance": (ALL, "non_conformance"),
    "non_conformance_new": (HANDS, "poured"),
    "photo_new": (HANDS, "poured"),
    "order_files": (ALL, "order"),
    "piece_files": (ALL, "formed"),
    "attachment_take_off": (OFFICE, "attachment"),  # whoever kept it too: test_attachments.py
    "gate_pass": (DRAWING, "gate"),
    "lift_off": (FLOOR, "stressed"),
    "restressing": (FLOOR, "stressed"),
    "finishing": (FLOOR, "stressed"),
    "incident": (FLOOR, "incident"),
    "bed": (FLOOR, "formed"),
    "load_test_plan": (HANDS, "stressed"),
    "load_test_run": (HANDS, "planned"),
    "load_test_conclude": (FLOOR, "planned"),
    "today": (ALL, ""),
    "needs_you": (ALL, ""),
    "schedule": (ALL, ""),
    "schedule_beds": (ALL, ""),
    "calendar": (ALL, ""),
    "pour_planned": (OFFICE, "formed"),
    "lots": (ALL, ""),
    "lot_new": (OFFICE, ""),
    "lot": (OFFICE, "lot"),
    "learned": (ALL, ""),
    "piece_lots": (ALL, "formed"),
    "export_lists": (ALL, ""),
    "list_import": (OFFICE, "order"),
    "order_copy": (OFFICE, "order"),
    "design_copy": (DRAWING, "design"),
    "mix_version": (OFFICE, "mix"),
    "tickets": (FLOOR, "formed"),
    "ticket": (FLOOR, "ticket"),
    "cure": (ALL, "poured"),
    "temperatures": (FLOOR, "poured"),
    "coupons": (FLOOR, "poured"),
    "washout": (FLOOR, "poured"),
}
FILES = {"photo", "attachment", "calendar_feed", "export"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def signed_in() -> Callable[..., Client]:
    def sign_in(role: str) -> Client:
        client = Client()
        client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
        return client

    return sign_in


@pytest.fixture
def addresses(settings: object, tmp_path: object) -> dict[str, str]:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's settings
    found = {}
    pieces = {stage: piece_at(stage) for stage in {kind for _, kind in PAGES.values()} & set(Stage.values)}
    for name, (_, kind) in PAGES.items():
        if kind in pieces:
            found[name] = reverse(name, args=[pieces[kind].pk])
        elif kind == "gate":
            found[name] = reverse(name, args=[piece_at(Stage.FORMED).pk, "poured"])
        elif kind == "planned":
            found[name] = reverse(name, args=[plan_load_test(piece_at(Stage.STRESSED)).piece_id])
        elif kind in ("order", "design"):
            design = pieces["formed"].design
            found[name] = reverse(name, args=[design.order_id if kind == "order" else design.pk])
        elif kind == "attachment":
            found[name] = reverse(name, args=[make_attachment(pieces["formed"].design.order).pk])
        elif kind == "lot":
            found[name] = reverse(name, args=[make_lot().pk])
        elif kind == "mix":
            found[name] = reverse(name, args=[make_mix().pk])
        elif kind == "ticket":
            found[name] = reverse(name, args=[pieces["formed"].pk, version().pk])
        elif kind == "incident":
            found[name] = reverse(name, args=[piece_at(Stage.STRESSED).pk, "broken-rod"])
        elif kind == "non_conformance":
            found[name] = reverse(name, args=[raised(piece_at(Stage.POURED)).pk])
        else:
            found[name] = reverse(name)
    return found


def test_every_address_is_in_one_of_the_lists() -> None:
    assert {pattern.name for pattern in production_urls.urlpatterns} == set(PAGES) | FILES


@pytest.mark.parametrize("role", sorted(ALL))
def test_who_gets_in_and_the_rules_of_the_house(
    role: str, addresses: dict[str, str], signed_in: Callable[..., Client]
) -> None:
    client = signed_in(role)
    for name, address in addresses.items():
        answer = client.get(address)
        assert answer.status_code == (200 if role in PAGES[name][0] else 403), f"{role} {name}"
        assert objections(answer.content.decode()) == [], f"{role} {name}"


def test_nobody_gets_in_without_signing_in(addresses: dict[str, str]) -> None:
    for address in addresses.values():
        answer = Client().get(address)
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("login"))


def test_a_non_conformance_from_the_page_to_the_decision(
    signed_in: Callable[..., Client], settings: object, tmp_path: object
) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's own fixture
    piece, crew, engineer = piece_at(Stage.POURED), signed_in("crew"), signed_in("engineer")
    photo = SimpleUploadedFile("tablet.png", picture_file().read(), "image/png")
    sent = {"what": "Void at the left end", "place": "left end", "photo": photo, "request_id": str(uuid4())}
    answer = crew.post(reverse("non_conformance_new", args=[piece.pk]), sent)
    row = NonConformance.objects.get()
    page = reverse("non_conformance", args=[row.pk])
    assert (answer.status_code, answer["Location"]) == (302, page)
    shown = as_read(engineer.get(page))
    assert "Void at the left end" in shown
    assert objections(shown) == []
    picture = engineer.get(reverse("photo", args=[row.photos.get().pk]))
    assert picture["Content-Type"] == "image/jpeg"
    assert "private" in picture["Cache-Control"]
    assert crew.post(page, {"decision": "use-as-is", "note": "Fine."}).status_code == 403
    assert engineer.post(page, {"decision": "use-as-is", "note": "Covered by the end plate."}).status_code == 302
    row.refresh_from_db()
    assert row.is_settled


def test_a_photo_is_shown_to_nobody_who_is_not_signed_in(settings: object, tmp_path: object) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]  # pytest-django's own fixture
    made = quality.add_photo(
        piece_at(Stage.POURED), by=person(Role.CREW), picture=read_picture(picture_file(), size=10)
    )
    assert Client().get(reverse("photo", args=[made.pk])).status_code == 302


def test_a_file_that_is_no_photo_is_refused_with_words(signed_in: Callable[..., Client]) -> None:
    piece = piece_at(Stage.POURED)
    sent = {"what": "Void", "photo": SimpleUploadedFile("x.png", b"not a picture", "image/png")}
    answer = signed_in("crew").post(reverse("non_conformance_new", args=[piece.pk]), sent)
    assert answer.status_code == 422
    assert "not a photo" in as_read(answer)
    assert not NonConformance.objects.exists()


def test_the_piece_page_says_what_is_open_and_offers_the_pass(signed_in: Callable[..., Client]) -> None:
    piece = piece_at(Stage.FORMED)
    raised(piece, what="Bent end plate")
    page = as_read(signed_in("manager").get(reverse("piece", args=[piece.pk])))
    assert "Bent end plate" in page
    assert reverse("gate_pass", args=[piece.pk, "poured"]) in page
    assert reverse("gate_pass", args=[piece.pk, "poured"]) not in (
        as_read(signed_in("crew").get(reverse("piece", args=[piece.pk])))
    )


def test_where_a_load_test_is_asked_for_its_page_says_so_and_offers_no_pass_around_it(
    signed_in: Callable[..., Client],
) -> None:
    piece, manager = piece_at(Stage.STRESSED, load_test_required=True), signed_in("manager")
    page = as_read(manager.get(reverse("piece", args=[piece.pk])))
    assert "A load test is asked for, and none is recorded." in page
    assert reverse("gate_pass", args=[piece.pk, "finished"]) not in page
    over = as_read(manager.get(reverse("gate_pass", args=[piece.pk, "finished"])))
    assert "A load test is asked for; it comes before finished." in over
    assert "Why it may go on all the same" not in over
