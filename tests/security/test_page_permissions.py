"""Every address outside the API × looking and posting × every role and nobody.

The table is written by hand and the addresses come from the URL patterns: a page that is added without a row here
fails.
"""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Event, Role
from tests.factories import person
from tests.security.site_map import Place, Rows, places, rows_of_a_shop

pytestmark = pytest.mark.django_db

PUBLIC = {"manager", "crew", "engineer", "viewer", "nobody"}
ALL = {"manager", "crew", "engineer", "viewer"}
HANDS = {"manager", "crew", "engineer"}
OFFICE, FLOOR, DRAWING, NONE = {"manager"}, {"manager", "crew"}, {"manager", "engineer"}, set[str]()

# name: (who may look, who may post). NONE: the address takes nothing of the kind and says 405.
# Looking at an address that only takes entries leads on to its page, whoever asks.
TABLE: dict[str, tuple[set[str], set[str]]] = {
    "health": (PUBLIC, NONE),
    "metrics": (OFFICE, NONE),  # and for a program with the key: site/test_metrics.py
    "operations": (OFFICE, NONE),
    "keeping": (OFFICE, OFFICE),
    "everything": (ALL, OFFICE),
    "person_erase": (OFFICE, OFFICE),
    "login": (PUBLIC, PUBLIC),
    "logout": (NONE, ALL),
    "first_account": (PUBLIC, PUBLIC),
    "theme": (NONE, PUBLIC),
    "guide": (PUBLIC, NONE),
    "guide_page": (PUBLIC, NONE),
    "verify": (PUBLIC, PUBLIC),
    "service_worker": (PUBLIC, NONE),
    "manifest": (PUBLIC, NONE),
    "offline": (PUBLIC, NONE),
    "trust": (PUBLIC, NONE),
    "authority_file": (PUBLIC, NONE),
    "tablet": (ALL, OFFICE),
    "tablet_pages": (ALL, NONE),
    "refusal_dismiss": (ALL, ALL),
    "tablet_of_shop": (ALL, NONE),
    "tablet_retire": (ALL, OFFICE),
    "change_over": (ALL, ALL),  # it opens only on a tablet of the shop: jobs_pages/test_tablet_pages.py
    "pin": (ALL, ALL),
    "pin_of": (ALL, OFFICE),
    "language": (NONE, ALL),
    "verify_record": (PUBLIC, PUBLIC),
    "home": (ALL, NONE),
    "board": (ALL, NONE),
    "board_stage": (ALL, NONE),
    "password_change": (ALL, ALL),
    "tokens": (ALL, ALL),
    "token_page": (ALL, NONE),
    "token_revoke": (ALL, OFFICE),  # the key of somebody else: to others it is not there
    "people": (OFFICE, NONE),
    "person_new": (OFFICE, OFFICE),
    "person": (OFFICE, OFFICE),
    "shop": (OFFICE, OFFICE),
    "mix_new": (OFFICE, OFFICE),
    "mix": (OFFICE, OFFICE),
    "wrench_new": (OFFICE, OFFICE),
    "wrench": (OFFICE, OFFICE),
    "order_list": (ALL, NONE),
    "order_new": (OFFICE, OFFICE),
    "order": (ALL, NONE),
    "order_edit": (OFFICE, OFFICE),
    "order_archive": (ALL, OFFICE),
    "design_new": (DRAWING, DRAWING),
    "design": (ALL, NONE),
    "design_edit": (DRAWING, DRAWING),
    "design_import": (DRAWING, DRAWING),
    "design_checks": (ALL, NONE),
    "own_numbers": (NONE, DRAWING),
    "design_rerun": (ALL, DRAWING),
    "design_release": (ALL, DRAWING),
    "design_pieces": (ALL, OFFICE),
    "specification_file": (ALL, NONE),
    "result_file": (ALL, NONE),
    "piece": (ALL, NONE),
    "piece_move": (ALL, HANDS),
    "piece_hold": (ALL, HANDS),
    "piece_resume": (ALL, DRAWING),
    "piece_reject": (ALL, DRAWING),
    "piece_remake": (ALL, OFFICE),
    "form_check": (FLOOR, FLOOR),
    "pour": (FLOOR, FLOOR),
    "strength": (FLOOR, FLOOR),
    "load_test": (FLOOR, FLOOR),
    "install": (FLOOR, FLOOR),
    "stressing": (FLOOR, FLOOR),
    "reading": (ALL, FLOOR),
    "reading_take_back": (ALL, FLOOR),
    "stressing_finish": (ALL, FLOOR),
    "stressing_stop": (ALL, FLOOR),
    "non_conformances": (ALL, NONE),
    "non_conformance": (ALL, {"engineer"}),  # undecided: the decision is the engineer's
    "non_conformance_new": (HANDS, HANDS),
    "photo": (ALL, NONE),
    "photo_new": (HANDS, HANDS),
    "order_files": (ALL, HANDS),
    "piece_files": (ALL, HANDS),
    "attachment": (ALL, NONE),
    "attachment_take_off": (OFFICE, OFFICE),  # whoever kept it too: production/test_attachments.py
    "gate_pass": (DRAWING, DRAWING),
    "lift_off": (FLOOR, FLOOR),
    "restressing": (FLOOR, FLOOR),
    "incident": (FLOOR, FLOOR),
    "finishing": (FLOOR, FLOOR),
    "mix_version": (OFFICE, OFFICE),
    "tickets": (FLOOR, NONE),
    "ticket": (FLOOR, FLOOR),
    "cure": (ALL, FLOOR),
    "temperatures": (FLOOR, FLOOR),
    "coupons": (FLOOR, FLOOR),
    "washout": (FLOOR, FLOOR),
    "bed": (FLOOR, FLOOR),
    "load_test_plan": (HANDS, HANDS),
    "load_test_run": (HANDS, FLOOR),
    "load_test_conclude": (FLOOR, FLOOR),
    "today": (ALL, NONE),
    "needs_you": (ALL, NONE),
    "schedule": (ALL, NONE),
    "schedule_beds": (ALL, NONE),
    "pour_planned": (OFFICE, OFFICE),
    "calendar": (ALL, ALL),
    "calendar_feed": (PUBLIC, NONE),  # for whoever has the secret in it
    "lots": (ALL, NONE),
    "lot_new": (OFFICE, OFFICE),
    "lot": (OFFICE, OFFICE),
    "learned": (ALL, NONE),
    "piece_lots": (ALL, FLOOR),
    "export_lists": (ALL, NONE),
    "export": (ALL, NONE),
    "list_import": (OFFICE, OFFICE),
    "order_copy": (OFFICE, OFFICE),
    "design_copy": (DRAWING, DRAWING),
    "design_help": (ALL, NONE),
    "rod_space": (DRAWING, DRAWING),
    "field_help": (ALL, NONE),
    "design_help_visits": (DRAWING, DRAWING),
    "standard_pieces": (ALL, NONE),
    "standard_piece": (ALL, DRAWING),
    "standard_approve": (ALL, {"engineer"}),
    "standard_retire": (ALL, DRAWING),
    "standard_under_way": (ALL, NONE),
    "standard_make": (DRAWING, DRAWING),
    "what_if": (ALL, NONE),
    "what_if_studies": (ALL, NONE),
    "compared_revisions": (ALL, NONE),
    "compared_studies": (ALL, NONE),
    "design_help_start": (ALL, DRAWING),
    "design_help_stop": (ALL, DRAWING),
    "design_help_part": (ALL, NONE),
    "design_help_draft": (DRAWING, DRAWING),
    "design_preview": (NONE, ALL),
    "revision_drawing": (ALL, NONE),
    "revision_plots": (ALL, NONE),
    "revision_dxf": (ALL, NONE),
    "stressing_plots": (ALL, NONE),
    "piece_plots": (ALL, NONE),
    "drawing_preview": (NONE, ALL),
    "shop_certificates": (PUBLIC, NONE),
    "revision_records": (ALL, NONE),
    "request_record": (ALL, DRAWING),
    "piece_records": (ALL, NONE),
    "request_piece_record": (ALL, FLOOR),
    "record": (ALL, NONE),
    "record_file": (ALL, NONE),
    "upload_signed": (ALL, DRAWING),
    "signed_file": (ALL, NONE),
    "order_sharing": (OFFICE, OFFICE),
    "sharing_link": (OFFICE, NONE),
    "sharing_revoke": (ALL, OFFICE),
    "search": (ALL, NONE),
    "shared": (PUBLIC, PUBLIC),  # for whoever has the code; without one there is nothing to see
    "shared_piece": (PUBLIC, NONE),
    "shared_record": (PUBLIC, NONE),
}
SENT = {"request_piece_record": b"kind=pour"}  # where who may ask hangs on what is asked for
LEFT_OUT = {"logout"}  # signs the caller out: asked last, on a client of its own


@pytest.fixture
def rows() -> Rows:
    return rows_of_a_shop()


def caller(who: str) -> Client:
    client = Client()
    if who in Role.values:
        client.force_login(person(who), backend="django.contrib.auth.backends.ModelBackend")
    return client


def turned_away(client: Client, method: str, place: Place, address: str) -> bool:
    """To the sign-in, 403, or 404 where the row is not even theirs to see."""
    sent = SENT.get(place.name, b"") if method == "POST" else b""
    answer = client.generic(method, address, sent, content_type="application/x-www-form-urlencoded")
    assert answer.status_code < 500 or place.name == "health", (method, address, answer.status_code)
    if answer.status_code == 302 and answer["Location"].startswith(reverse("login")):
        return place.name not in ("logout", "first_account")
    return answer.status_code in (401, 403) or (place.name == "token_revoke" and answer.status_code == 404)


def test_every_address_is_in_the_table_and_no_other() -> None:
    assert {place.name for place in places()} == set(TABLE)


@pytest.mark.parametrize("who", sorted(PUBLIC))
def test_who_may_look_and_who_may_post(who: str, rows: Rows) -> None:
    client, wrong = caller(who), []
    for place in places():
        for method, allowed in zip(("GET", "POST"), TABLE[place.name], strict=True):
            if not allowed or place.name in LEFT_OUT:
                continue
            before = Event.objects.count()
            away = turned_away(client, method, place, place.address(rows))
            if away is (who in allowed):
                wrong.append(f"{who} {method} {place.name}: {'turned away' if away else 'let in'}")
            if away and Event.objects.count() != before:
                wrong.append(f"{who} {method} {place.name}: turned away, and yet something was written")
    assert wrong == []


def test_what_an_address_does_not_take_is_405_with_words(rows: Rows) -> None:
    client, wrong = caller("manager"), []
    for place in places():
        looks, posts = TABLE[place.name]
        refused = ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "BREW"]
        refused += ["GET"] * (not looks) + ["POST"] * (not posts)
        for method in refused:
            answer = client.generic(method, place.address(rows), b"")
            if answer.status_code != 405 or b"Nothing was changed" not in answer.content or not answer["Allow"]:
                wrong.append(f"{method} {place.name}: {answer.status_code}")
    assert wrong == []


def test_signing_out_is_a_post_of_ones_own() -> None:
    client = caller("crew")
    assert client.get(reverse("logout")).status_code == 405
    assert client.get(reverse("board")).status_code == 200
    client.post(reverse("logout"))
    assert client.get(reverse("board")).status_code == 302


def test_a_form_of_another_site_is_refused_everywhere(rows: Rows) -> None:
    """A post without the token of our own pages, from a browser that is signed in."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(person(), backend="django.contrib.auth.backends.ModelBackend")
    before, let_in = Event.objects.count(), []
    for place in places():
        if not TABLE[place.name][1]:
            continue
        answer = client.post(place.address(rows), {"reason": "x"})
        if answer.status_code != 403 or b"nothing is lost" not in answer.content:
            let_in.append(place.name)
    assert let_in == []
    assert Event.objects.count() == before
