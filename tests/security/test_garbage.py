"""Rubbish of every kind at every address outside the API, as every role: an answer with words, nothing half-written,
never a 500. Which rubbish meets which field is fixed by counting, so a failure comes again.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse

from jobs.models import Role
from tests.factories import PASSWORD, person
from tests.page_reading import Page
from tests.security.site_map import Place, Rows, places, rows_of_a_shop

pytestmark = [pytest.mark.django_db, pytest.mark.fuzz, pytest.mark.timeout(900)]  # thousands of calls each

RUBBISH = (
    "",
    " ",
    "\0",
    "a\0b",
    "x" * 300,
    "x" * 4_500,
    "NaN",
    "inf",
    "-1",
    "0",
    "1e999",
    "9" * 5_000,
    str(2**63),
    "1" * 30,
    "٣",
    "3 kip",
    "1/0",
    "0001-01-01T00:00",
    "9999-12-31T23:59",
    "2026-02-30",
    "\U0001faa8\u202e",
    "'; DROP TABLE jobs_piece; --",
    "<script>alert(1)</script>",
    "{{ 7 * 7 }}{% now %}%s%n",
    "../../etc/passwd",
    "\r\nSet-Cookie: a=b",
)
# Fields that pages send only sometimes: in a fold that is shut, with one button, at another stage.
MORE_FIELDS = (
    "reason",
    "to_stage",
    "from_stage",
    "request_id",
    "pieces",
    "revision",
    "note",
    "do",
    "kind",
    "text",
    "base_revision",
    "back",
    "rod",
    "step",
    "others",
)
QUERY = ("q", "page", "copy", "start", "revision", "again", "on", "state", "next", "kind", "part", "scale")
QUERY += ("field", "left", "right")
LEAVES = {"logout"}  # ends the session of the caller
TAKES_FILES = re.compile("design_new|import|verify|signed|photo|non_conformance|files")
WHOLE = ("pk", "version_pk", "study_pk", "index", "left", "right")
NUMBERS = (0, 2**63, 10**30)
NAMES = ("%00", "DR-" + "9" * 5_000, "DR-١", "..", "%F0%9F%AA%A8", "-")
MOST_FIELDS = 5  # of one form tried alone; of the editor's hundreds every so-manieth


def caller(who: str) -> Client:
    client = Client(raise_request_exception=False)
    if who in Role.values:
        client.force_login(person(who), backend="django.contrib.auth.backends.ModelBackend")
    return client


OURS = ("jobs", "engineering", "reports")
TABLES = [model._meta.db_table for name in OURS for model in apps.get_app_config(name).get_models()]
COUNT = "SELECT " + ", ".join(f'(SELECT count(*) FROM "{table}")' for table in TABLES)


def everything_written() -> tuple[int, ...]:
    """The rows of every table of ours, in one question: it is asked after thousands of calls."""
    with connection.cursor() as cursor:
        cursor.execute(COUNT)
        return tuple(cursor.fetchone())


def fields_of(client: Client, address: str) -> dict[str, str]:
    """What the page at the address would send by itself, and the fields of `MORE_FIELDS`."""
    page = client.get(address)
    more = dict.fromkeys(MORE_FIELDS, "1")
    if page.status_code != 200 or "html" not in page["Content-Type"]:
        return more
    found = Page(page.content.decode()).values()
    return more | {name: value for name, value in found.items() if name and name != "csrfmiddlewaretoken"}


def all_rubbish(fields: dict[str, str]) -> Iterator[dict[str, str]]:
    """Six kinds in all fields at once; then each field alone with one kind, the others as the page has them."""
    turn = itertools.cycle(RUBBISH)
    for kind in ["\0", "9" * 5_000, "x" * 4_500, *itertools.islice(turn, 6, 9)]:
        yield dict.fromkeys(fields, kind)
    for name in list(fields)[:: 1 + len(fields) // MOST_FIELDS]:
        yield fields | {name: next(turn)}


NOT_TAKEN = 405


class Watch:
    """Sends, and notes what is wrong with an answer: a 500, a refusal without words, a refusal that wrote something."""

    def __init__(self, client: Client) -> None:
        self.client, self.sent, self.wrong = client, 0, set[str]()
        self.before = everything_written()

    def send(self, place: Place, method: str, address: str, *what: Any, **options: Any) -> int:
        if method == "generic":  # a body as it is, posted
            answer = self.client.generic("POST", address, *what, **options)
        else:
            answer = getattr(self.client, method)(address, *what, **options)
        self.sent += 1
        if answer.status_code >= 500 and place.name != "health":
            self.wrong.add(f"{place.name}: {answer.status_code} {getattr(answer, 'exc_info', ['', ''])[1]!r}")
        elif answer.status_code >= 400:
            if everything_written() != self.before:
                self.wrong.add(f"{place.name}: {answer.status_code}, and yet something was written")
            if len(answer.content) < 20 or (b"<html" in answer.content and b"<h1" not in answer.content):
                self.wrong.add(f"{place.name}: {answer.status_code} without words: {answer.content[:80]!r}")
        self.before = everything_written() if answer.status_code < 400 else self.before
        return int(answer.status_code)


def open_places() -> list[Place]:
    return [place for place in places() if place.name not in LEAVES]


def test_rubbish_in_every_field_of_every_form(rows: Rows) -> None:
    watch = Watch(caller("manager"))
    for place in open_places():
        address = place.address(rows)
        if watch.send(place, "post", address, {}) == NOT_TAKEN:
            continue
        for fields in all_rubbish(fields_of(watch.client, address)):
            watch.send(place, "post", address, fields)
            if "_auth_user_id" not in watch.client.session:     # it has changed its own password
                watch.client = caller("manager")
    assert watch.wrong == set()
    assert watch.sent > 300


@pytest.mark.parametrize("who", ["crew", "engineer", "viewer", "nobody"])
def test_rubbish_from_everybody_else(who: str, rows: Rows) -> None:
    watch, kinds = Watch(caller(who)), itertools.cycle(RUBBISH)
    for place in open_places():
        for fields in ({}, dict.fromkeys(MORE_FIELDS, next(kinds))):
            watch.send(place, "post", place.address(rows), fields)
    assert watch.wrong == set()


def test_rubbish_in_the_address(rows: Rows) -> None:
    watch, kinds = Watch(caller("manager")), itertools.cycle(RUBBISH)
    for place in open_places():
        for kind in [next(kinds) for _ in range(3)] + ["9" * 5_000, "\0"]:
            watch.send(place, "get", place.address(rows), dict.fromkeys(QUERY, kind))
        for blank in place.blanks:
            for value in NUMBERS if blank in WHOLE else NAMES:
                path = place.address(rows | {f"{place.path.partition('/<')[0]}/<{blank}>": 77_077})
                watch.send(place, "get", path.replace("77077", str(value)))
                watch.send(place, "post", path.replace("77077", str(value)))
    assert watch.wrong == set()


PARTS = "multipart/form-data; boundary=x"
PART = b'--x\r\nContent-Disposition: form-data; name="%s"%s\r\n%s\r\n%s\r\n--x--\r\n'
BODIES: tuple[tuple[str, bytes, str], ...] = (
    ("nothing", b"", "application/x-www-form-urlencoded"),
    ("no kind", b"reason=x", ""),
    ("JSON", b'{"reason": "x"}', "application/json"),
    ("6,000 fields", b"&".join(b"f%d=1" % n for n in range(6_000)), "application/x-www-form-urlencoded"),
    ("6 MB", b"reason=" + b"x" * 6_000_000, "application/x-www-form-urlencoded"),
    ("cut short", b"--x\r\nContent-Dispo", PARTS),
    ("no boundary", b"--x", "multipart/form-data"),
    ("endless boundary", b"x", "multipart/form-data; boundary=" + "y" * 300),
    ("NUL in a file's name", PART % (b"file", b'; filename="a\0b.pdf"', b"", b"%PDF-1.4"), PARTS),
    ("no such coding", b"reason=%ff%fe%00", "application/x-www-form-urlencoded; charset=nonsense"),
    ("no UTF-8", b"reason=%ff%fe%ed%a0%80&to_stage=\xff", "application/x-www-form-urlencoded"),
    ("UTF-16", b"reason=\xff\xfe", "application/x-www-form-urlencoded; charset=utf-16"),
    ("no base64", PART % (b"reason", b"", b"Content-Transfer-Encoding: base64\r\n", b"!!!"), PARTS),
)


def test_bodies_that_are_no_form(rows: Rows) -> None:
    watch, bodies = Watch(caller("manager")), itertools.cycle(BODIES)
    for place in open_places():
        for _, body, kind in [next(bodies) for _ in range(4)]:
            watch.send(place, "generic", place.address(rows), body, content_type=kind)
    assert watch.wrong == set()


@pytest.mark.parametrize(("body", "kind"), [row[1:] for row in BODIES], ids=[row[0] for row in BODIES])
def test_a_body_that_is_no_form_at_the_editor(body: bytes, kind: str, rows: Rows) -> None:
    watch = Watch(caller("manager"))
    place = next(place for place in places() if place.name == "design_edit")
    watch.send(place, "generic", place.address(rows), body, content_type=kind)
    assert watch.wrong == set()


FILES = {
    "empty": b"",
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(200),
    "a PDF that is none": b"%PDF-1.7\n" + b"garbage " * 50,
    "an archive": b"PK\x03\x04" + bytes(500),
    "NUL": bytes(5_000),
    "half a letter": '{"mark": "ä'.encode()[:-1],
    "deep": b"[" * 100_000,
    "NaN": b'{"length": NaN}',
    "ten thousand zones": b'{"zones": [' + b",".join([b"{}"] * 10_000) + b"]}",
}


def test_files_that_are_not_what_they_say(rows: Rows) -> None:
    watch = Watch(caller("engineer"))
    for place in open_places():
        if not TAKES_FILES.search(place.name):
            continue
        for content in FILES.values():
            for field, name, kind in (("file", "piece.json", "application/json"), ("photo", "a.jpg", "image/jpeg")):
                sent = {field: SimpleUploadedFile(name, content, kind), "do": "import", "what": "x"}
                watch.send(place, "post", place.address(rows), sent)
    assert watch.wrong == set()
    assert watch.sent > 80


def test_headers_and_cookies_of_nobody(rows: Rows) -> None:
    watch = Watch(caller("manager"))
    watch.client.cookies["theme"] = '"><script>'
    watch.client.cookies["messages"] = "!"
    headers = {"HX-Request": "true", "Accept": "nonsense;q=x", "Referer": "\x7f", "If-Modified-Since": "never"}
    for place in open_places():
        watch.send(place, "get", place.address(rows), headers=headers)
    watch.client.cookies["sessionid"] = "'" * 200
    for place in open_places():
        watch.send(place, "get", place.address(rows), headers=headers)
    assert watch.wrong == set()


def test_a_session_that_ended_leads_to_the_sign_in_and_back_again(rows: Rows) -> None:
    made = person(Role.MANAGER)
    client = Client()
    client.force_login(made, backend="django.contrib.auth.backends.ModelBackend")
    address = reverse("piece_hold", args=[rows["pieces/<pk>"]])
    client.session.flush()
    before = everything_written()
    answer = client.post(address, {"reason": "a crack"})
    assert (answer.status_code, answer["Location"]) == (302, f"{reverse('login')}?next={address}")
    assert everything_written() == before
    back = client.post(answer["Location"], {"username": made.username, "password": PASSWORD})
    assert back["Location"] == address
    assert client.get(address)["Location"] == reverse("piece", args=[rows["pieces/<pk>"]])


@pytest.fixture
def rows() -> Rows:
    return rows_of_a_shop()
