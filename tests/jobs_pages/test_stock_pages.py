"""The pages of a mix and of a wrench: made, changed, and a refusal that keeps what was typed and saves nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.models import Event, Mix, Wrench
from tests.page_reading import as_read

pytestmark = pytest.mark.django_db
SignIn = Callable[..., Client]

STOCK: dict[str, tuple[type[Mix] | type[Wrench], dict[str, Any], dict[str, Any]]] = {
    "mix": (Mix, {"name": "Bench grey", "active": "on"}, {"description": "for benches"}),
    "wrench": (
        Wrench,
        {"name": "Short arm", "calibrated_until": "2031-05-04", "active": "on"},
        {"certificate": "C-118"},
    ),
}


@pytest.mark.parametrize("what", STOCK)
def test_made_and_changed(what: str, signed_in: SignIn) -> None:
    kind, given, more = STOCK[what]
    client, before = signed_in("manager"), kind.objects.count()
    answer = client.post(reverse(f"{what}_new"), given, follow=True)
    assert f"{given['name']} is saved." in as_read(answer)
    made = kind.objects.get(name=given["name"])
    page = client.get(reverse(what, args=[made.pk]))
    assert f'value="{given["name"]}"' in page.content.decode()
    client.post(reverse(what, args=[made.pk]), given | more)
    made.refresh_from_db()
    assert {name: getattr(made, name) for name in more} == more
    assert kind.objects.count() == before + 1
    assert Event.objects.filter(verb=f"{what}-saved").count() == 2


@pytest.mark.parametrize("what", STOCK)
def test_a_name_that_is_taken_keeps_what_was_typed(what: str, signed_in: SignIn) -> None:
    kind, given, more = STOCK[what]
    client = signed_in("manager")
    client.post(reverse(f"{what}_new"), given)
    rows, events = kind.objects.count(), Event.objects.count()
    answer = client.post(reverse(f"{what}_new"), given | more)
    assert f"There is a {what} {given['name']} already. Choose another name." in as_read(answer)
    for typed in (given["name"], *more.values()):
        assert f'value="{typed}"' in answer.content.decode()
    assert (kind.objects.count(), Event.objects.count()) == (rows, events)


@pytest.mark.parametrize("role", ["crew", "engineer", "viewer"])
@pytest.mark.parametrize("what", STOCK)
def test_only_the_manager_keeps_the_stock(what: str, role: str, signed_in: SignIn) -> None:
    kind, given, _ = STOCK[what]
    before = kind.objects.count()
    assert signed_in(role).post(reverse(f"{what}_new"), given).status_code == 403
    assert kind.objects.count() == before
