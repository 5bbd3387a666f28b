"""Passwords cannot be tried out one after another."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD, person

pytestmark = pytest.mark.django_db


def sign_in(client: Client, name: str, word: str) -> int:
    return client.post(reverse("login"), {"username": name, "password": word}).status_code


def test_after_ten_wrong_passwords_the_right_one_has_to_wait_too() -> None:
    made, client = person("crew"), Client()
    for _ in range(10):
        sign_in(client, made.username, "wrong")
    assert sign_in(client, made.username, PASSWORD) == 429
    assert "_auth_user_id" not in client.session


def test_nine_wrong_ones_do_not_lock_anybody_out() -> None:
    made, client = person("crew"), Client()
    for _ in range(9):
        assert sign_in(client, made.username, "wrong") == 200
    assert sign_in(client, made.username, PASSWORD) == 302


def test_somebody_else_at_the_same_address_can_still_sign_in() -> None:
    made, other, client = person("crew"), person("crew"), Client()
    for _ in range(10):
        sign_in(client, made.username, "wrong")
    assert sign_in(client, other.username, PASSWORD) == 302
