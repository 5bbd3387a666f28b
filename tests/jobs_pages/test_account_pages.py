"""Signing in and out, the first account, passwords, keys; a session that ran out; light and dark; error pages."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from jobs.models import ApiToken, Person, Stage
from jobs.site import setup_code
from jobs.site.our_fault import our_fault
from tests.factories import PASSWORD, make_order, person, piece_at
from tests.page_reading import as_read, objections

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]


def test_a_fresh_shop_leads_to_the_first_account_and_only_once(client: Client) -> None:
    assert client.get(reverse("login"))["Location"] == reverse("first_account")
    assert objections(client.get(reverse("first_account")).content.decode()) == []
    code = setup_code.make()
    sent = {
        "code": "WRONG",
        "username": "ana",
        "first_name": "Ana",
        "last_name": "Ruo",
        "password": PASSWORD,
        "again": PASSWORD,
    }
    answer = client.post(reverse("first_account"), sent)
    assert answer.status_code == 403
    assert "not the set-up code" in as_read(answer)
    assert client.post(reverse("first_account"), sent | {"code": code, "again": "other"}).status_code == 422
    assert client.post(reverse("first_account"), sent | {"code": code})["Location"] == reverse("shop")
    assert Person.objects.get().role == "manager"
    assert client.get(reverse("first_account"))["Location"] == reverse("login")


def test_signing_in_goes_back_to_the_page_and_a_wrong_password_says_so(client: Client) -> None:
    made = person("crew")
    wanted = reverse("piece", args=[piece_at(Stage.FORMED).pk])
    away = client.get(wanted)
    assert away["Location"].endswith(f"?next={wanted}")
    page = as_read(client.get(away["Location"]))
    assert "still on this device" in page
    assert objections(page) == []
    wrong = client.post(reverse("login"), {"username": made.username, "password": "no", "next": wanted})
    assert "do not belong together" in as_read(wrong)
    right = client.post(reverse("login"), {"username": made.username, "password": PASSWORD, "next": wanted})
    assert right["Location"] == wanted


def test_an_entry_sent_after_the_session_ended_leads_back_to_its_page(client: Client) -> None:
    made, piece = person("crew"), piece_at(Stage.FORMED)
    for name, page in (("piece_move", "piece"), ("reading", "stressing"), ("form_check", "form_check")):
        client.logout()
        address = reverse(name, args=[piece.pk])
        away = client.post(address, {"reason": "typed"})
        assert away["Location"].endswith(f"?next={address}")
        client.post(reverse("login"), {"username": made.username, "password": PASSWORD, "next": address})
        back = client.get(address, follow=True)
        assert back.request["PATH_INFO"] == reverse(page, args=[piece.pk])
        assert back.status_code == 200


def test_signing_out(signed_in: SignIn) -> None:
    client = signed_in("crew")
    client.post(reverse("logout"))
    assert client.get(reverse("board")).status_code == 302


def test_ones_own_password(signed_in: SignIn) -> None:
    client = signed_in("viewer")
    address = reverse("password_change")
    new = "a long one for 9 tests"
    assert client.post(address, {"old_password": "no", "password": new, "again": new}).status_code == 422
    assert client.post(address, {"old_password": PASSWORD, "password": "short", "again": "short"}).status_code == 422
    assert client.post(address, {"old_password": PASSWORD, "password": new, "again": new}).status_code == 302
    assert client.get(reverse("board")).status_code == 200  # this device stays signed in


def test_a_key_is_shown_once_and_taken_back(signed_in: SignIn) -> None:
    client = signed_in("engineer")
    page = as_read(client.post(reverse("tokens"), {"label": "drawing export", "days": "30", "read_only": "on"}))
    assert 'id="key">cb_' in page
    assert "cb_" not in as_read(client.get(reverse("tokens")))
    token = ApiToken.objects.get()
    assert signed_in("crew").post(reverse("token_revoke", args=[token.pk])).status_code == 404
    client.post(reverse("token_revoke", args=[token.pk]))
    token.refresh_from_db()
    assert token.revoked_at is not None


def test_people_are_added_changed_and_the_last_manager_stays(signed_in: SignIn) -> None:
    client = signed_in("manager")
    sent = {"username": "cy", "first_name": "Cy", "last_name": "Oake", "role": "engineer", "password": PASSWORD}
    assert client.post(reverse("person_new"), sent).status_code == 302
    made = Person.objects.get(username="cy")
    changed = {
        "username": "cy",
        "first_name": "Cy",
        "last_name": "Oake",
        "role": "engineer",
        "licence_number": "PE 9",
        "jurisdiction": "North",
        "is_active": "on",
    }
    assert client.post(reverse("person", args=[made.pk]), changed).status_code == 302
    made.refresh_from_db()
    assert made.is_licensed
    me = client.person  # type: ignore[attr-defined]  # set by signed_in
    answer = client.post(reverse("person", args=[me.pk]), changed | {"username": me.username, "role": "crew"})
    assert answer.status_code == 409
    assert "last manager" in as_read(answer)
    new = "another long one 77"
    client.post(reverse("person", args=[made.pk]), {"do": "password", "password": new, "again": new})
    made.refresh_from_db()
    assert made.check_password(new)


def test_two_people_changing_one_order(signed_in: SignIn) -> None:
    order, client = make_order(), signed_in("manager")
    address = reverse("order_edit", args=[order.pk])
    sent = {"number": order.number, "client": "First", "version": "0"}
    assert client.post(address, sent).status_code == 302
    answer = client.post(address, sent | {"client": "Second"})
    page = as_read(answer)
    assert answer.status_code == 409
    assert "First" in page
    assert 'value="Second"' in page
    assert client.post(address, sent | {"client": "Second", "version": "1"}).status_code == 302


def test_the_search_over_orders(signed_in: SignIn) -> None:
    make_order(number="Z-9", client="Heron Lane")
    make_order(number="Z-8", client="Wren Street")
    page = as_read(signed_in("viewer").get(reverse("order_list"), {"q": "heron"}))
    assert "Z-9" in page
    assert "Z-8" not in page


@pytest.mark.parametrize("theme", ["light", "dark", "device"])
def test_light_and_dark_are_kept_in_a_cookie(theme: str, signed_in: SignIn) -> None:
    client = signed_in("crew")
    answer = client.post(reverse("theme"), {"theme": theme, "back": "/orders/"})
    assert answer["Location"] == "/orders/"
    assert f'data-theme="{theme}"' in as_read(client.get("/orders/"))


def test_the_theme_form_sends_nobody_to_another_site(client: Client) -> None:
    assert client.post(reverse("theme"), {"theme": "pink", "back": "https://elsewhere.example/"})["Location"] == "/"
    assert client.cookies["theme"].value == "device"


@pytest.mark.parametrize(
    ("address", "status", "words"),
    [
        ("/nowhere/", 404, "no page at this address"),
        ("/pieces/999999/", 404, "There is no piece"),
        ("/people/", 403, "for the shop manager"),
    ],
)
def test_error_pages_in_our_own_words(address: str, status: int, words: str, signed_in: SignIn) -> None:
    answer = signed_in("crew").get(address)
    page = as_read(answer)
    assert answer.status_code == status
    assert words in page
    assert objections(page) == []


def test_a_failed_csrf_check_says_what_to_do() -> None:
    client = Client(enforce_csrf_checks=True)
    made = person("crew")
    client.force_login(made, backend="django.contrib.auth.backends.ModelBackend")
    piece = piece_at(Stage.FORMED)
    answer = client.post(reverse("form_check", args=[piece.pk]), {"core_held": "on"})
    page = as_read(answer)
    assert answer.status_code == 403
    assert "nothing is lost" in page
    assert f'href="{reverse("form_check", args=[piece.pk])}"' in page
    assert objections(page) == []


def test_a_fault_of_ours_has_a_page_too(signed_in: SignIn, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(**_: Any) -> None:
        raise RuntimeError("made for the test")

    monkeypatch.setattr("jobs.queries.board", broken)
    client = signed_in("crew")
    client.raise_request_exception = False
    answer = client.get(reverse("board"))
    assert answer.status_code == 500
    assert "Something went wrong on our side" in as_read(answer)
    assert "made for the test" not in as_read(answer)
    assert f">{answer['X-Request-ID']}</code>" in answer.content.decode()       # what the manager is told
    assert objections(answer.content.decode()) == []


def test_a_fault_of_ours_tells_a_program_its_number(signed_in: SignIn, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any, **__: Any) -> None:
        raise RuntimeError("made for the test")

    monkeypatch.setattr("jobs.api.orders.OrderViewSet.list", broken)
    client = signed_in("manager")
    client.raise_request_exception = False
    answer = client.get("/api/orders/")
    assert (answer.status_code, answer.json()["code"]) == (500, "our-fault")
    assert answer.json()["request"] == answer["X-Request-ID"]
    assert "made for the test" not in answer.content.decode()


def test_the_page_of_a_fault_asks_neither_the_database_nor_the_session() -> None:
    request = RequestFactory().get("/board/")       # no session, no person, no number: it came to grief before them
    answer = our_fault(request)
    assert answer.status_code == 500
    assert "Something went wrong on our side" in answer.content.decode()
    assert "this number" not in answer.content.decode()


def test_the_policy_for_content_lets_no_inline_script_or_style_through(signed_in: SignIn) -> None:
    policy = signed_in("crew").get(reverse("board"))["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
