"""Guessing is slowed down: passwords, keys, and the page that is open to anybody. And what a session is worth."""

from datetime import timedelta

import pytest
from axes.models import AccessAttempt
from django.conf import settings as configured
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from jobs.models import ApiToken, Person
from jobs.site.counting_cache import CountingCache
from reports.callers import ALLOWED_PER_MINUTE
from tests.factories import PASSWORD, person, token

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _no_counts():
    cache.clear()
    yield
    cache.clear()


def try_to_sign_in(who: Person, password: str, address: str = "192.0.2.7", client: Client | None = None):
    return (client or Client()).post("/sign-in/", {"username": who.username, "password": password}, REMOTE_ADDR=address)


def test_after_ten_wrong_passwords_the_right_one_has_to_wait() -> None:
    who = person("crew")
    for _ in range(configured.AXES_FAILURE_LIMIT - 1):
        assert try_to_sign_in(who, "wrong").status_code == 200
    assert try_to_sign_in(who, "wrong").status_code == 429
    assert try_to_sign_in(who, PASSWORD).status_code == 429
    assert "sessionid" not in try_to_sign_in(who, PASSWORD).cookies


def test_others_and_other_places_are_not_shut_out_with_it() -> None:
    who, other = person("crew"), person("crew")
    for _ in range(configured.AXES_FAILURE_LIMIT):
        try_to_sign_in(who, "wrong")
    assert try_to_sign_in(other, PASSWORD).status_code == 302
    assert try_to_sign_in(who, PASSWORD, "192.0.2.8").status_code == 302


def test_after_the_wait_the_right_password_does() -> None:
    who = person("crew")
    for _ in range(configured.AXES_FAILURE_LIMIT):
        try_to_sign_in(who, "wrong")
    AccessAttempt.objects.update(attempt_time=timezone.now() - timedelta(minutes=16))
    assert try_to_sign_in(who, PASSWORD).status_code == 302


def test_a_made_up_forwarded_address_gives_no_new_tries(settings) -> None:
    settings.BEHIND_PROXY = False
    who = person("crew")
    for number in range(configured.AXES_FAILURE_LIMIT):
        Client().post("/sign-in/", {"username": who.username, "password": "wrong"}, REMOTE_ADDR="192.0.2.7",
                      HTTP_X_FORWARDED_FOR=f"198.51.100.{number}")
    assert try_to_sign_in(who, PASSWORD).status_code == 429


def test_an_unknown_name_and_a_wrong_password_read_the_same() -> None:
    who = person("crew")
    known = Client().post("/sign-in/", {"username": who.username, "password": "wrong"}).content.decode()
    unknown = Client().post("/sign-in/", {"username": "nobody-here", "password": "wrong"}).content.decode()

    def said(page: str, name: str) -> str:
        return "\n".join(line for line in page.replace(name, "NAME").splitlines() if "csrfmiddlewaretoken" not in line)

    assert said(known, who.username) == said(unknown, "nobody-here")


def test_wrong_keys_from_one_address_are_stopped_before_the_right_one_is_looked_at() -> None:
    key = token(person("crew"))
    codes = [Client().get("/api/me/", headers={"Authorization": "Token cb_guess"}).status_code for _ in range(25)]
    assert (codes[0], codes[-1]) == (401, 429)
    assert Client().get("/api/me/", headers={"Authorization": f"Token {key}"}).status_code == 429
    elsewhere = Client(REMOTE_ADDR="192.0.2.9").get("/api/me/", headers={"Authorization": f"Token {key}"})
    assert elsewhere.status_code == 200


def test_a_key_is_kept_as_its_hash_and_ends() -> None:
    key = token(person("crew"))
    row = ApiToken.objects.get()
    assert key not in str(row.__dict__)
    assert len(row.digest) == 64
    call = {"Authorization": f"Token {key}"}
    assert Client().get("/api/me/", headers=call).status_code == 200
    ApiToken.objects.update(expires_at=timezone.now())
    assert Client().get("/api/me/", headers=call).status_code == 401


@pytest.mark.parametrize(("what", "method"), [("verify-page", "get"), ("verify-file", "post")])
def test_the_page_for_anybody_has_an_allowance(what: str, method: str) -> None:
    client = Client(REMOTE_ADDR="192.0.2.20")
    codes = [getattr(client, method)("/verify/").status_code for _ in range(ALLOWED_PER_MINUTE[what] + 2)]
    assert 429 not in codes[: ALLOWED_PER_MINUTE[what]]
    assert codes[-1] == 429
    assert getattr(Client(REMOTE_ADDR="192.0.2.21"), method)("/verify/").status_code != 429


def test_a_session_is_new_at_sign_in_cannot_be_read_by_script_and_ends_with_the_shift() -> None:
    who, client = person("crew"), Client()
    client.cookies["sessionid"] = "chosen-by-somebody-else"
    answer = try_to_sign_in(who, PASSWORD, client=client)
    cookie = answer.cookies["sessionid"]
    assert cookie.value != "chosen-by-somebody-else"
    assert (cookie["httponly"], cookie["samesite"]) == (True, "Lax")
    assert cookie["max-age"] == configured.SESSION_COOKIE_AGE <= 24 * 3600
    client.post("/sign-out/")
    client.cookies["sessionid"] = cookie.value
    assert client.get("/board/").status_code == 302     # the old cookie opens nothing


def test_a_closed_account_is_out_at_once() -> None:
    who, client = person("crew"), Client()
    try_to_sign_in(who, PASSWORD, client=client)
    assert client.get("/board/").status_code == 200
    Person.objects.filter(pk=who.pk).update(is_active=False)
    assert client.get("/board/").status_code == 302


def test_counting_goes_on_in_the_process_while_redis_is_away(caplog) -> None:
    here = CountingCache("redis://127.0.0.1:1/0", {"OPTIONS": {"socket_connect_timeout": 0.1}})
    assert here.add("calls", 1, timeout=60)
    assert not here.add("calls", 1, timeout=60)
    assert here.incr("calls") == 2
    assert here.get("calls") == 2
    assert "Redis does not answer" in caplog.text
