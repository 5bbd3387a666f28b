"""/metrics/: who may read it, that its figures are those of the rows, and that the text is what the format asks for."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import redis
from axes.models import AccessFailureLog
from django.core.exceptions import ImproperlyConfigured
from django.test import Client
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from engineering.models import CheckRun, Study
from engineering.study_actions import start_study
from engineering.study_tasks import STOPPED
from jobs.models import Event, Role
from jobs.site import env, heartbeat
from jobs.site.metrics import CONTENT_TYPE, Gauge, written
from tests.factories import PASSWORD, make_design, person

KEY = "k" * 31 + "9"
NAME = r"[a-zA-Z_:][a-zA-Z0-9_:]*"
LABEL = rf'{NAME}="(?:[^"\\\n]|\\["\\n])*"'
SAMPLE = re.compile(rf"^({NAME})(?:\{{({LABEL}(?:,{LABEL})*)\}})? (\S+)$")
PART = re.compile(rf'({NAME})="((?:[^"\\]|\\.)*)"')
Samples = dict[tuple[str, frozenset[tuple[str, str]]], float]


def read(text: str) -> Samples:
    """As a program reads the format: strict, every sample after the HELP and TYPE of its family."""
    assert text.endswith("\n") or text == ""
    found: Samples = {}
    helped, typed = set(), set()
    for line in text.split("\n")[:-1]:
        if line.startswith("# HELP "):
            helped.add(line.split(" ")[2])
        elif line.startswith("# TYPE "):
            _, _, name, kind = line.split(" ")
            assert kind == "gauge"
            assert name not in typed
            typed.add(name)
        else:
            sample = SAMPLE.match(line)
            assert sample, line
            name, labels, value = sample.groups()
            assert name in helped
            assert name in typed
            pairs = frozenset((key, unescaped(said)) for key, said in PART.findall(labels or ""))
            assert (name, pairs) not in found
            found[name, pairs] = float(value)
    return found


def unescaped(text: str) -> str:
    return re.sub(r"\\(.)", lambda part: {"n": "\n"}.get(part[1], part[1]), text)


def of(found: Samples, name: str, **labels: str) -> float:
    return found[f"camberbook_{name}", frozenset(labels.items())]


def ask(key: str = KEY, kind: str = "Bearer", **headers: str):
    return Client().get("/metrics/", headers={"Authorization": f"{kind} {key}", **headers})


@pytest.fixture
def _key(settings) -> None:
    settings.METRICS_KEY = KEY


@given(st.text(), st.text(st.characters(exclude_characters="\r"), max_size=20), st.floats(allow_nan=False))
def test_any_text_and_figure_comes_through_the_format(help_: str, label: str, value: float) -> None:
    text = written([Gauge("x", help_.replace("\r", ""), [({"kind": label}, value)])])
    lines = text.split("\n")
    assert len(lines) == 4
    assert read(text) == {("camberbook_x", frozenset({("kind", label)})): value}


def test_what_cannot_be_told_is_left_out() -> None:
    assert written([Gauge("x", "nothing", [({}, None)])]) == ""
    assert read(written([Gauge("x", "one", [({"kind": "a"}, None), ({"kind": "b"}, 0)])])) == {
        ("camberbook_x", frozenset({("kind", "b")})): 0.0
    }


@pytest.mark.django_db
@pytest.mark.usefixtures("_key")
def test_the_figures_are_those_of_the_rows() -> None:
    design = make_design(verdict="pass")
    make_design(verdict=None)
    waits = make_design(verdict=None).revisions.get().specification.check_runs.get()
    CheckRun.objects.filter(pk=waits.pk).update(created_at=timezone.now() - timedelta(minutes=10))
    done = design.revisions.get().specification.check_runs.get()
    finished = timezone.now() - timedelta(minutes=1)
    CheckRun.objects.filter(pk=done.pk).update(finished_at=finished, claimed_at=finished - timedelta(seconds=3))
    for problem in ("The engine stopped.", STOPPED):
        study = start_study(design.revisions.get().specification, "region")
        Study.objects.filter(pk=study.pk).update(status="broken", problem=problem, finished_at=timezone.now())
    answer = ask()
    assert (answer.status_code, answer["Content-Type"]) == (200, CONTENT_TYPE)
    found = read(answer.content.decode())
    assert of(found, "jobs_waiting", kind="check_run") == 2
    assert 600 <= of(found, "jobs_oldest_wait_seconds", kind="check_run") < 1200
    assert of(found, "jobs_last_finished_timestamp_seconds", kind="check_run") == pytest.approx(finished.timestamp())
    assert of(found, "jobs_last_duration_seconds", kind="check_run") == pytest.approx(3.0)
    assert of(found, "jobs_broken", kind="study") == of(found, "jobs_broken_last_day", kind="study") == 1
    assert of(found, "jobs_oldest_wait_seconds", kind="study") == 0
    assert {dict(labels)["kind"] for name, labels in found if name == "camberbook_jobs_waiting"} >= {
        "check_run", "study", "study_part", "issued_record"
    }  # fmt: skip
    assert of(found, "data_free_bytes") > 0


@pytest.mark.django_db
@pytest.mark.usefixtures("_key")
def test_wrong_passwords_are_counted_and_right_ones_not() -> None:
    who = person("crew")
    for password in ("wrong", "wrong too", PASSWORD):
        Client().post("/sign-in/", {"username": who.username, "password": password}, REMOTE_ADDR="192.0.2.7")
    found = read(ask().content.decode())
    assert of(found, "sign_in_failures", within="1h") == of(found, "sign_in_failures", within="24h") == 2
    AccessFailureLog.objects.update(attempt_time=timezone.now() - timedelta(hours=2))
    found = read(ask().content.decode())
    assert of(found, "sign_in_failures", within="1h") == 0
    assert of(found, "sign_in_failures", within="24h") == 2


@pytest.mark.django_db
@pytest.mark.usefixtures("_key")
def test_a_queue_that_is_silent_is_told_and_the_rest_still_comes(settings, monkeypatch: pytest.MonkeyPatch) -> None:
    def silent(name: str) -> int:
        raise redis.ConnectionError("no answer from queue:6379")

    monkeypatch.setattr(heartbeat, "waiting", silent)
    answer = ask()
    found = read(answer.content.decode())
    assert of(found, "queue_up") == 0
    assert not any(name == "camberbook_queue_depth" for name, _ in found)
    assert of(found, "jobs_waiting", kind="check_run") == 0
    assert b"6379" not in answer.content


@pytest.mark.django_db
@pytest.mark.usefixtures("_key")
def test_the_number_of_queries_does_not_grow_with_the_rows(django_assert_num_queries) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as few:
        ask()
    for _ in range(5):
        make_design(verdict=None)
    with CaptureQueriesContext(connection) as many:
        ask()
    assert len(many) == len(few) <= 20


@pytest.mark.django_db
def test_without_a_key_set_no_program_gets_in(settings) -> None:
    settings.METRICS_KEY = ""
    for key in ("", " ", KEY, "None"):
        answer = ask(key)
        assert answer.status_code in (401, 302), key
        assert b"camberbook_" not in answer.content
    assert Client().get("/metrics/")["Location"].startswith("/sign-in/")


@pytest.mark.django_db
@pytest.mark.usefixtures("_key")
@pytest.mark.parametrize(
    ("key", "kind"),
    [
        (KEY[:-1], "Bearer"),
        (KEY + "x", "Bearer"),
        (KEY.upper(), "Bearer"),
        (KEY, "Token"),
        (KEY, "Basic"),
        ("é", "Bearer"),
    ],
)
def test_a_wrong_key_gets_nothing(key: str, kind: str) -> None:
    before = Event.objects.count()
    answer = ask(key, kind)
    assert (answer.status_code, answer["WWW-Authenticate"]) == (401, "Bearer")
    assert b"camberbook_" not in answer.content
    assert Event.objects.count() == before


@pytest.mark.django_db
@pytest.mark.parametrize("role", Role.values)
def test_of_the_people_only_the_manager_reads_it(role: str) -> None:
    client = Client()
    client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
    answer = client.get("/metrics/")
    assert answer.status_code == (200 if role == "manager" else 403)
    assert (b"camberbook_jobs_waiting" in answer.content) is (role == "manager")


@pytest.mark.parametrize("text", ["short", "x" * 23, "two words of a key, long enough", "ü" * 30])
def test_a_key_that_is_too_weak_stops_the_start_and_is_not_shown(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CAMBERBOOK_METRICS_KEY", text)
    with pytest.raises(ImproperlyConfigured) as refused:
        env.env_secret("CAMBERBOOK_METRICS_KEY", least=24)
    assert text not in str(refused.value)


def test_a_choice_is_one_of_its_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CAMBERBOOK_LOGS", "xml")
    with pytest.raises(ImproperlyConfigured, match="must be text or json"):
        env.env_choice("CAMBERBOOK_LOGS", ("text", "json"))
    monkeypatch.delenv("CAMBERBOOK_LOGS")
    assert env.env_choice("CAMBERBOOK_LOGS", ("text", "json")) == "text"
