"""Server time of the verdict beside the editor over that of a bare page: `pytest tests/benchmarks -m benchmark -s`."""

import json
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from jobs.demo.designs import counter
from tests.factories import person

pytestmark = [pytest.mark.benchmark, pytest.mark.django_db]


def seconds(work: Callable[[], Any], times: int = 9) -> float:
    """The best of several, in processor time of this process."""
    best = float("inf")
    for _ in range(times):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def test_preview() -> None:
    """The demo's counter through the whole request; a bare page beside it."""
    client = Client()
    client.force_login(person("engineer"), backend="django.contrib.auth.backends.ModelBackend")
    text = json.dumps(counter("C-1", "Counter"))

    def ask(query: str = "") -> Any:
        return client.post(reverse("design_preview") + query, text, content_type="application/json")

    assert ask().status_code == 200
    bare = seconds(lambda: client.get(reverse("password_change")))
    print()
    for name, took in (
        ("a bare page", bare),
        ("verdict and leading figures", seconds(ask)),
        ("what would help at once", seconds(lambda: ask("?help=1"), 3)),
    ):
        print(f"{name:40s}{1000 * took:9.1f} ms{took / bare:8.1f} x a bare page")
