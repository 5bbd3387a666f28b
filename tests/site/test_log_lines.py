"""Every line of the log names its request and its job, and none holds a secret."""

from __future__ import annotations

import io
import json
import logging
from collections.abc import Iterator

import pytest
from django.http import Http404, HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from hypothesis import given
from hypothesis import strategies as st

from engineering import job_log
from engineering.models import CheckRun, Study
from engineering.study_actions import start_study
from engineering.study_tasks import perform_study_part
from engineering.tasks import perform_check_run
from jobs.models import Event
from jobs.site import log_lines
from jobs.site.nudge import HEADER
from tests.factories import PASSWORD, make_design, make_order, person, token

Lines = list[dict[str, object]]


class Book:
    """A handler of the root, in one of the two forms."""

    def __init__(self, line: logging.Formatter) -> None:
        self.stream = io.StringIO()
        self.handler = logging.StreamHandler(self.stream)
        self.handler.setFormatter(line)

    @property
    def text(self) -> str:
        return self.stream.getvalue()

    @property
    def lines(self) -> Lines:
        return [json.loads(line) for line in self.text.splitlines()]


@pytest.fixture(params=[log_lines.JsonLine, log_lines.TextLine], ids=["json", "text"])
def either(request: pytest.FixtureRequest) -> Iterator[Book]:
    yield from written_by(request.param())


@pytest.fixture
def book() -> Iterator[Book]:
    yield from written_by(log_lines.JsonLine())


def written_by(line: logging.Formatter) -> Iterator[Book]:
    made, root = Book(line), logging.getLogger()
    names = ("", "jobs.requests", "engineering.job_log", "django", "axes", "celery")
    levels = {name: logging.getLogger(name).level for name in names}
    root.addHandler(made.handler)
    for name in levels:
        logging.getLogger(name).setLevel(logging.INFO)
    try:
        yield made
    finally:
        root.removeHandler(made.handler)
        for name, level in levels.items():
            logging.getLogger(name).setLevel(level)


@pytest.mark.django_db
def test_an_answer_carries_the_number_of_its_lines(book: Book) -> None:
    client = Client()
    client.force_login(who := person("crew"), backend="django.contrib.auth.backends.ModelBackend")
    answers = [client.get("/board/"), client.get("/orders/999/"), client.get("/people/")]
    numbers = [answer["X-Request-ID"] for answer in answers]
    assert len(set(numbers)) == 3
    told = {line["request_id"]: line for line in book.lines if line["logger"] == "jobs.requests"}
    assert [told[number]["status"] for number in numbers] == [200, 404, 403]
    assert told[numbers[0]]["path"] == "/board/"
    assert told[numbers[0]]["person"] == who.pk
    not_found = [line for line in book.lines if line["logger"] == "django.request" and "Not Found" in line["message"]]
    assert [line["request_id"] for line in not_found] == [numbers[1]]  # written when the middleware is long through


@pytest.mark.django_db
def test_a_number_that_the_caller_sends_is_not_taken_over(book: Book) -> None:
    person()
    answer = Client().get("/sign-in/", headers={"X-Request-ID": "forged"})
    assert answer["X-Request-ID"] != "forged"
    assert "forged" not in book.text


@pytest.mark.django_db
def test_no_secret_is_in_the_log_of_a_sign_in_and_of_a_call(either: Book, settings) -> None:
    settings.LOGIN_REDIRECT_URL = "/board/"
    who, key, wrong = person("crew"), "", "a wrong Passw0rd-77"
    key = token(who)
    client = Client()
    client.post("/sign-in/?next=/orders/", {"username": who.username, "password": wrong})
    assert client.post("/sign-in/", {"username": who.username, "password": PASSWORD}).status_code == 302
    client.get("/board/", {"code": "SHARED-CODE-1"})
    assert Client().get("/api/me/", headers={"Authorization": f"Token {key}"}).status_code == 200
    assert Client().get("/api/me/", headers={"Authorization": "Token cb_not-a-key-at-all"}).status_code == 401
    Client().get("/calendar/calendar-secret-9.ics")
    secrets = [wrong, PASSWORD, key, "cb_not-a-key", "SHARED-CODE-1", "calendar-secret-9"]
    secrets += [client.cookies["sessionid"].value, client.cookies["csrftoken"].value]
    assert [secret for secret in secrets if secret in either.text] == []
    assert "/api/me/" in either.text  # something was written, and it is about these calls
    assert "/calendar/" in either.text


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("postgres://camberbook:hunter22@db:5432/book", "postgres://camberbook:…@db:5432/book"),
        ("redis://:hunter22@queue/0", "redis://:…@queue/0"),
        ("Authorization: Bearer hunter22hunter22", "Authorization: …"),
        ("sent Bearer hunter22hunter22 and more", "sent Bearer … and more"),
        ("{'password': 'hunter22', 'name': 'kim'}", "{'password': '…', 'name': 'kim'}"),
        ("key cb_hunter22hunter22 was tried", "key cb_… was tried"),
        ("GET /calendar/hunter22.ics", "GET /calendar/….ics"),
        ("sessionid=hunter22; other=1", "sessionid=…; other=1"),
    ],
)
def test_what_looks_like_a_secret_is_masked(said: str, shown: str) -> None:
    assert log_lines.masked(said) == shown


@pytest.mark.parametrize("line", [log_lines.JsonLine(), log_lines.TextLine()], ids=["json", "text"])
def test_what_an_exception_says_is_masked_too(line: logging.Formatter) -> None:
    try:
        raise ValueError("postgres://book:hunter22@db is down")
    except ValueError as exc:
        record = logging.LogRecord("x", logging.ERROR, __file__, 1, "went %s", ("wrong",), (ValueError, exc, None))
    text = line.format(record)
    assert "hunter22" not in text
    assert "is down" in text
    assert "went wrong" in text


@given(st.text(), st.text())
def test_a_line_is_one_line_whatever_is_written(message: str, path: str) -> None:
    record = logging.LogRecord("x", logging.INFO, __file__, 1, "%s", (message,), None)
    record.told = {"path": path, "status": 200}
    text = log_lines.JsonLine().format(record)
    assert "\n" not in text
    assert "\r" not in text
    assert json.loads(text)["status"] == 200


def test_the_number_is_gone_after_the_request_even_if_it_broke() -> None:
    def breaks(request: HttpRequest) -> HttpResponse:
        assert log_lines.request_number() == request.log_number  # type: ignore[attr-defined]
        raise Http404

    with pytest.raises(Http404):
        log_lines.numbered_requests(breaks)(RequestFactory().get("/"))
    assert log_lines.request_number() == ""


@pytest.mark.django_db
def test_the_lines_of_a_check_run_and_of_a_study_name_it(book: Book) -> None:
    design = make_design(verdict=None)
    run = CheckRun.objects.get()
    perform_check_run(run.pk)
    run.refresh_from_db()
    assert run.status == "done"
    mine = [line["message"] for line in book.lines if line.get("run_id") == f"check-run-{run.pk}"]
    assert mine == [f"check-run-{run.pk} begins, attempt 1.", f"check-run-{run.pk} ended: done."]
    study = start_study(design.revisions.get().specification, "region")
    part = study.parts.order_by("number")[0]
    perform_study_part(part.pk)
    assert f"study-{study.pk}-part-{part.number}" in {line.get("run_id") for line in book.lines}
    assert job_log.current() == ""
    assert Study.objects.count() == 1


@pytest.mark.django_db
def test_a_run_that_breaks_off_says_so_under_its_number(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    make_design(verdict=None)
    run = CheckRun.objects.get()

    def breaks(document: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr("engineering.tasks.run_checks", breaks)
    perform_check_run(run.pk)
    told = [line for line in book.lines if line.get("run_id") == f"check-run-{run.pk}"]
    assert "by nothing" in str(next(line for line in told if "exception" in line)["exception"])
    assert told[-1]["message"] == f"check-run-{run.pk} ended: broken."


@pytest.mark.django_db
def test_the_worker_knows_the_request_that_sent_for_its_work(book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """The message carries the number; the worker's lines have both."""
    sent: list[dict[str, str]] = []
    monkeypatch.setattr(
        "celery.app.task.Task.apply_async", lambda self, *args, **options: sent.append(options.get("headers") or {})
    )
    log_lines.set_request_number("abc123")
    try:
        perform_check_run.nudge(1)
    finally:
        log_lines.set_request_number("")
    perform_check_run.nudge(1)
    assert [headers.get(HEADER) for headers in sent] == ["abc123", None]
    monkeypatch.undo()
    make_design(verdict=None)
    run = CheckRun.objects.get()
    perform_check_run.apply(args=[run.pk], headers={"headers": {HEADER: "abc123"}, HEADER: "abc123"})
    told = [line for line in book.lines if line.get("run_id") == f"check-run-{run.pk}"]
    assert {line.get("request_id") for line in told} == {"abc123"}
    assert log_lines.request_number() == ""


@pytest.mark.django_db
def test_looking_writes_no_event(book: Book) -> None:
    make_order()
    before = Event.objects.count()
    Client().get("/board/")
    assert Event.objects.count() == before
