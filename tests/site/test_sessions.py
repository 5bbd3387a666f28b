"""A request with the number of a session that is over takes the cookie of the next one from nobody."""

import pytest
from django.conf import settings
from django.test import Client

from tests.factories import PASSWORD, person

pytestmark = pytest.mark.django_db
COOKIE = settings.SESSION_COOKIE_NAME


@pytest.fixture
def crew(client: Client) -> Client:
    client.post("/sign-in/", {"username": person("crew").username, "password": PASSWORD})
    assert client.get("/today/").status_code == 200
    return client


def test_a_fetch_under_way_while_somebody_signs_in_leaves_the_new_session_alone(crew: Client) -> None:
    before = crew.cookies[COOKIE].value
    crew.post("/sign-out/")
    late = Client()
    late.cookies[COOKIE] = before
    answer = late.get("/today/")
    assert answer.status_code == 302  # the session is over all the same
    assert COOKIE not in answer.cookies


def test_signing_out_removes_the_cookie(crew: Client) -> None:
    answer = crew.post("/sign-out/")
    assert answer.cookies[COOKIE].value == ""
    assert answer.cookies[COOKIE]["max-age"] == 0
    assert crew.get("/today/").status_code == 302
