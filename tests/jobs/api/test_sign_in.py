"""Signing in to the API: a session with its CSRF token, or a key; and what happens to wrong keys."""

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.utils import timezone
from rest_framework.test import APIClient

from jobs.actions import people
from jobs.api import authentication
from jobs.models import ApiToken, Order, Role
from tests.factories import person, token

pytestmark = pytest.mark.django_db
ORDER = {"number": "O-1", "client": "A"}


@pytest.fixture(autouse=True)
def _no_wrong_keys_yet():
    cache.clear()


def with_key(key: str, **more) -> APIClient:
    return APIClient(HTTP_AUTHORIZATION=f"Token {key}", **more)


def test_a_session_without_its_csrf_token_writes_nothing():
    manager = person()
    browser = APIClient(enforce_csrf_checks=True)
    browser.force_login(manager)
    answer = browser.post("/api/orders/", ORDER, format="json")
    assert (answer.status_code, answer.json()["code"]) == (403, "permission-denied")
    assert "CSRF" in answer.json()["message"]
    assert not Order.objects.exists()


def test_a_session_with_its_csrf_token_writes():
    browser = APIClient(enforce_csrf_checks=True)
    browser.force_login(person())
    browser.get("/api/")  # a page with the token
    csrf = browser.cookies["csrftoken"].value
    assert browser.post("/api/orders/", ORDER, format="json", HTTP_X_CSRFTOKEN=csrf).status_code == 201


def test_a_key_needs_no_csrf_token():
    key = token(person())
    assert with_key(key, enforce_csrf_checks=True).post("/api/orders/", ORDER, format="json").status_code == 201


def test_a_key_carries_its_owners_role():
    key = token(person(Role.VIEWER))
    assert with_key(key).get("/api/me/").json()["role"] == "viewer"
    assert with_key(key).post("/api/orders/", ORDER, format="json").status_code == 403
    assert not Order.objects.exists()


def test_a_key_that_only_reads_writes_nothing():
    key = token(person(), read_only=True)
    assert with_key(key).get("/api/orders/").status_code == 200
    answer = with_key(key).post("/api/orders/", ORDER, format="json")
    assert (answer.status_code, answer.json()["code"]) == (403, "not-allowed")
    assert not Order.objects.exists()


def spoil_expiry(row: ApiToken) -> None:
    ApiToken.objects.update(expires_at=timezone.now() - timedelta(seconds=1))


def spoil_revoke(row: ApiToken) -> None:
    people.revoke_token(row, by=row.person)


def spoil_account(row: ApiToken) -> None:
    row.person.is_active = False
    row.person.save(update_fields=["is_active"])


@pytest.mark.parametrize("spoil", [spoil_expiry, spoil_revoke, spoil_account])
def test_a_key_that_ended_opens_nothing(spoil):
    key = token(person())
    assert with_key(key).get("/api/me/").status_code == 200
    spoil(ApiToken.objects.get())
    answer = with_key(key).get("/api/me/")
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Token")
    assert "not known, has ended or was taken back" in answer.json()["message"]


@pytest.mark.parametrize(
    "header",
    ["Token", "Token ", "Token a b", "Token " + "x" * 10_000, "Token \xff\xfe", "Token cb_wrong", "token nope"],
)
def test_a_wrong_key_is_401_even_beside_a_session(header):
    browser = APIClient(HTTP_AUTHORIZATION=header)
    browser.force_login(person())
    assert browser.get("/api/me/").status_code == 401


def test_the_hash_of_a_key_is_no_key():
    token(person())
    assert with_key(ApiToken.objects.get().digest).get("/api/me/").status_code == 401


def test_another_scheme_is_left_to_the_session():
    assert APIClient(HTTP_AUTHORIZATION="Basic YTpi").get("/api/me/").status_code == 401
    browser = APIClient(HTTP_AUTHORIZATION="Basic YTpi")
    browser.force_login(person())
    assert browser.get("/api/me/").status_code == 200


def test_after_twenty_wrong_keys_the_address_has_to_wait_and_others_do_not():
    good = token(person())
    for _ in range(authentication.MOST_WRONG_KEYS):
        assert with_key("cb_guess").get("/api/me/").status_code == 401
    answer = with_key("cb_guess").get("/api/me/")
    assert (answer.status_code, answer.json()["code"], answer["Retry-After"]) == (429, "throttled", "900")
    assert with_key(good).get("/api/me/").status_code == 429  # a right guess is not told from a wrong one
    assert with_key(good, REMOTE_ADDR="192.0.2.9").get("/api/me/").status_code == 200


def test_right_keys_are_not_counted():
    good = token(person())
    for _ in range(authentication.MOST_WRONG_KEYS + 5):
        assert with_key(good).get("/api/me/").status_code == 200


def test_a_closed_account_has_no_session_either():
    somebody = person()
    browser = APIClient()
    browser.force_login(somebody)
    somebody.is_active = False
    somebody.save(update_fields=["is_active"])
    assert browser.get("/api/me/").status_code == 401
