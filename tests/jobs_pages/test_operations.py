"""The manager's page on how the site runs: what it says when all is well, and what to do when it is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from engineering.models import CheckRun
from jobs.models import Shop
from jobs.site.operations import Jobs, Operations
from jobs.views import operations as page
from tests.factories import make_design
from tests.page_reading import as_read, objections

CHECKS = Jobs("check run", "check runs", 0, 0, None, None, None, 0, 0)
WELL = Operations(
    [CHECKS], True, {"checks": 0}, beat_age_s=1.0, worker_age_s=1.0, worker_here=True, disk_free=50, disk_total=100
)


def test_when_all_is_well_nothing_is_to_be_done() -> None:
    parts = [*page.of_the_machinery(WELL), page.of_jobs(CHECKS), page.of_sign_ins(WELL), page.of_space(WELL)]
    assert {part.state for part in parts} == {"pass"}
    assert {part.to_do for part in parts} == {""}


@pytest.mark.parametrize(
    ("part", "state", "words"),
    [
        (page.of_the_machinery(replace(WELL, queue_answers=False))[0], "fail", "restart queue"),
        (page.of_the_worker(replace(WELL, worker_here=False)), "fail", "restart worker"),
        (page.of_the_worker(replace(WELL, worker_age_s=None)), "fail", "restart worker"),
        (page.of_the_worker(replace(WELL, worker_age_s=240.0)), "fail", "busy with long work"),
        (page.of_the_timer(replace(WELL, beat_age_s=None)), "fail", "restart beat"),
        (page.of_jobs(replace(CHECKS, waiting=1, oldest_wait_s=90.0)), "review", "add workers"),
        (page.of_jobs(replace(CHECKS, waiting=1, oldest_wait_s=900.0)), "fail", "add workers"),
        (page.of_jobs(replace(CHECKS, broken_last_day=1)), "review", "runs it again"),
        (page.of_sign_ins(replace(WELL, failures_last_hour=20, failures_last_day=20)), "review", "guessing"),
        (page.of_sign_ins(replace(WELL, pins_last_hour=20, pins_last_day=20)), "review", "guessing"),
        (page.of_the_coupon_limit(Shop(coupon_days=None)), "fail", "shop manager, set it on the shop's page"),
        (page.of_space(replace(WELL, disk_free=5)), "review", "Make room"),
        (page.of_space(replace(WELL, disk_free=1)), "fail", "Make room"),
    ],
)
def test_what_is_wrong_says_what_to_do(part: page.Part, state: str, words: str) -> None:
    assert part.state == state
    assert words in part.to_do


def test_old_failures_and_short_waits_are_no_alarm() -> None:
    assert page.of_jobs(replace(CHECKS, broken=40, waiting=3, oldest_wait_s=2.0)).state == "pass"


@given(st.floats(0, 1e9))
def test_a_time_is_said_in_its_largest_unit(seconds: float) -> None:
    number, unit = page.duration(seconds).split(" ")
    size = {"s": 1, "minute": 60, "hour": 3600, "day": 86400}[unit.rstrip("s") or "s"]
    assert 0 <= seconds - float(number) * size <= size or size == 1
    assert (number == "1") is not unit.endswith("s") or unit == "s"


@pytest.mark.django_db
def test_a_missing_coupon_limit_is_told_on_both_pages_of_the_manager(signed_in: Callable[..., Client]) -> None:
    client = signed_in("manager")
    assert "Coupon tests count for 90 days." in as_read(client.get("/operations/"))
    Shop.objects.update_or_create(pk=1, defaults={"coupon_days": None})
    operations, shop = as_read(client.get("/operations/")), as_read(client.get("/shop/"))
    assert "nothing is marked stressed" in operations
    assert "90 days is common practice, without a source" in operations
    assert "has not said for how many days coupon tests count" in shop
    sent = {"name": "Our shop", "cube_factor": "0.8", "document_size": "letter", "coupon_days": "", "beds": ""}
    refused = client.post("/shop/", sent)
    assert refused.status_code == 422
    assert "Say for how many days" in as_read(refused)
    assert Shop.objects.get().coupon_days is None
    assert client.post("/shop/", {**sent, "coupon_days": "60"}).status_code == 302
    assert Shop.objects.get().coupon_days == 60
    assert "has not said" not in as_read(client.get("/shop/"))


@pytest.mark.django_db
def test_the_page_is_reached_from_the_shops_and_shows_rows_as_they_are(signed_in: Callable[..., Client]) -> None:
    client = signed_in("manager")
    assert 'href="/operations/"' in client.get("/shop/").content.decode()
    run = make_design(verdict=None).revisions.get().specification.check_runs.get()
    CheckRun.objects.filter(pk=run.pk).update(created_at=timezone.now() - timedelta(minutes=30))
    text = as_read(client.get("/operations/"))
    assert objections(text) == []
    assert "1 waiting, 0 running. The oldest has waited 30 minutes." in text
    assert "add workers" in text
    assert "All is well" not in text
