"""Signed-in clients, and a page as a tree of elements that tests can ask."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from jobs.models import Person
from tests.factories import person


@pytest.fixture
def signed_in(db: None) -> Callable[..., Client]:
    """`signed_in("crew")`: a client of a fresh person of that role; or of the person given."""

    def sign_in(who: str | Person = "manager") -> Client:
        client = Client()
        made = who if isinstance(who, Person) else person(who)
        client.force_login(made, backend="django.contrib.auth.backends.ModelBackend")
        client.person = made  # type: ignore[attr-defined]  # for tests that ask who it was
        return client

    return sign_in
