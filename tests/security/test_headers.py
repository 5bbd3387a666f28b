"""Every address of the site, found in its own table of addresses, answers everybody with the headers that protect."""

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.resolvers import RegexPattern

from jobs.models import Stage
from tests.factories import PASSWORD, person, piece_at

pytestmark = pytest.mark.django_db
PLACES = {"int": "1", "slug": "tightening-rods", "str": "DR-000001", "path": "x",
          "uuid": "0" * 8 + "-0000" * 3 + "-" + "0" * 12}


def addresses(patterns=None, before: str = "/") -> Iterator[str]:
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            yield from addresses(pattern.url_patterns, before + literal(pattern))
        elif isinstance(pattern, URLPattern):
            yield before + literal(pattern)


def literal(pattern: URLPattern | URLResolver) -> str:
    text = str(pattern.pattern)
    if isinstance(pattern.pattern, RegexPattern):       # as the API's router writes them
        text = re.sub(r"\(\?P<\w+>(?:[^()]|\([^()]*\))*\)", "1", text)
        return text.replace("^", "").replace("$", "").replace("\\.", ".").replace("\\Z", "").replace("/?", "/")
    return re.sub(r"<(?:(\w+):)?\w+>", lambda part: PLACES[part[1] or "str"], text)


ALL = sorted({address for address in addresses() if "format" not in address})
SAID = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


@pytest.fixture
def callers() -> dict[str, Client]:
    piece_at(Stage.STRESSED)
    made = {"nobody": Client(raise_request_exception=False)}
    for role in ("manager", "viewer"):
        made[role] = Client(raise_request_exception=False)
        made[role].force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    return made


def policy_of(response) -> dict[str, list[str]]:
    parts = [part.split() for part in response["Content-Security-Policy"].split(";") if part.strip()]
    return {part[0]: part[1:] for part in parts}


def test_there_are_addresses_to_ask() -> None:
    assert len(ALL) > 60
    assert {"/", "/board/", "/verify/", "/health/", "/api/pieces/1/move/", "/pieces/1/stressing/"} <= set(ALL)


@pytest.mark.parametrize("method", ["get", "post", "put"])
def test_every_answer_protects_itself(callers: dict[str, Client], method: str) -> None:
    for who, client in callers.items():
        for address in ALL:
            response = getattr(client, method)(address)
            where = f"{method} {address} as {who}: {response.status_code}"
            assert response.status_code < 500 or address == "/health/", where
            for name, value in SAID.items():
                assert response.get(name) == value, f"{where}, {name}"
            assert "camera=()" in response["Permissions-Policy"], where
            policy = policy_of(response)
            assert policy["default-src"] == ["'self'"], where
            assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == ["'none'"], where
            assert not any(source.startswith(("'unsafe", "http", "*", "data:"))
                           for sources in policy.values() for source in sources), f"{where}: {policy}"


def test_no_page_carries_script_or_style_of_its_own(callers: dict[str, Client]) -> None:
    """The policy would stop it; it is not even there."""
    pages = 0
    for address in ALL:
        response = callers["manager"].get(address)
        if response.status_code == 200 and "html" in response.get("Content-Type", ""):
            pages += 1
            text = response.content.decode()
            assert not re.search(r"<script(?![^>]*\bsrc=)[^>]*>", text), address
            assert not re.search(r"<style|\sstyle=|\son[a-z]+=\"|javascript:", text), address
    assert pages > 20


def test_what_is_private_is_not_kept_by_a_browser_or_proxy(callers: dict[str, Client]) -> None:
    for address in ALL:
        assert "no-store" in callers["manager"].get(address)["Cache-Control"], address


def test_over_tls_the_browser_is_told_to_keep_to_it(settings) -> None:
    settings.SECURE_SSL_REDIRECT, settings.SECURE_HSTS_SECONDS = True, 31_536_000
    settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    person("manager")
    answer = Client().get("/sign-in/", secure=True)
    assert answer["Strict-Transport-Security"] == "max-age=31536000"
    assert answer.cookies["csrftoken"]["secure"]
    sent_on = Client().get("/sign-in/")
    assert (sent_on.status_code, sent_on["Location"]) == (301, "https://testserver/sign-in/")


@pytest.mark.parametrize(
    "next_page", ["https://evil.example/", "//evil.example/", "javascript:alert(1)", "/\\evil.example"]
)
def test_signing_in_sends_nobody_elsewhere(next_page: str) -> None:
    who = person("manager")
    sent = {"username": who.username, "password": PASSWORD, "next": next_page}
    answer = Client().post(f"/sign-in/?next={next_page}", sent)
    assert (answer.status_code, answer["Location"]) == (302, "/")
