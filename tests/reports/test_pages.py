"""The pages of records, for each role and for the public."""

import re

import pytest
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from engineering.models import JobStatus
from jobs.models import Event, Role
from reports import callers, verification
from reports.models import IssuedRecord
from tests.factories import make_design, newest, person, piece_at, release, revise
from tests.page_reading import as_read
from tests.reports.issuing import issued
from tests.reports.test_design_record import evened, words_of
from tests.reports.test_piece_records import checked_design, made

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def fresh_counters():
    cache.clear()


def signed_in(role: str) -> Client:
    client = Client()
    client.force_login(person(role))
    return client


def text_of(answer) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", as_read(answer)))


def upload(data: bytes, name: str = "record.pdf") -> dict:
    return {"file": SimpleUploadedFile(name, data, content_type="application/pdf")}


@pytest.mark.parametrize("role", [Role.MANAGER, Role.ENGINEER])
def test_those_who_draw_ask_for_a_record_and_see_it_wait(role):
    revision = newest(make_design())
    answer = signed_in(role).post(reverse("request_record", args=[revision.pk]), follow=True)
    record = IssuedRecord.objects.get()
    assert answer.status_code == 200
    assert answer.redirect_chain[-1][0] == reverse("record", args=[record.number])
    assert "waits for a free worker" in text_of(answer)
    assert 'hx-trigger="every 1s"' in as_read(answer)


@pytest.mark.parametrize("role", [Role.CREW, Role.VIEWER])
def test_others_look_but_do_not_ask(role):
    revision = newest(make_design())
    client = signed_in(role)
    assert client.post(reverse("request_record", args=[revision.pk])).status_code == 403
    assert not IssuedRecord.objects.exists()
    record = issued(revision)
    assert client.get(reverse("record", args=[record.number])).status_code == 200
    assert client.get(reverse("record_file", args=[record.number])).status_code == 200


def test_the_public_sees_no_page_of_the_shop():
    record = issued()
    for name in ("record", "record_file"):
        answer = Client().get(reverse(name, args=[record.number]))
        assert answer.status_code == 302
        assert "/sign-in/" in answer["Location"]


def test_asking_before_the_checks_are_done_says_why():
    revision = newest(make_design(verdict=None))
    answer = signed_in(Role.MANAGER).post(reverse("request_record", args=[revision.pk]))
    assert answer.status_code == 409
    assert "have not finished" in text_of(answer)


def test_a_finished_record_is_downloaded_whole_with_an_event():
    record = issued()
    client = signed_in(Role.CREW)
    page = client.get(reverse("record", args=[record.number]), headers={"HX-Request": "true"})
    assert "hx-trigger" not in as_read(page)
    answer = client.get(reverse("record_file", args=[record.number]))
    assert answer.content == record.path.read_bytes()
    assert answer["Content-Type"] == "application/pdf"
    assert record.number in answer["Content-Disposition"]
    assert Event.objects.get(verb="record-downloaded").detail["sha256"] == record.sha256


def test_a_file_changed_on_the_server_is_not_handed_out():
    record = issued()
    record.path.write_bytes(record.path.read_bytes() + b" ")
    answer = signed_in(Role.MANAGER).get(reverse("record_file", args=[record.number]))
    assert answer.status_code == 404
    assert not Event.objects.filter(verb="record-downloaded").exists()


def test_a_record_not_built_yet_has_no_file():
    record = issued()
    IssuedRecord.objects.filter(pk=record.pk).update(status=JobStatus.WAITING)
    assert signed_in(Role.MANAGER).get(reverse("record_file", args=[record.number])).status_code == 404


@pytest.mark.parametrize("number", ["DR-999999", "nonsense", "DR-" + "9" * 40, "DR-000001x"])
def test_unknown_numbers_are_unknown(number):
    assert signed_in(Role.MANAGER).get(reverse("record", args=[number])).status_code == 404
    answer = Client().get(reverse("verify_record", args=[number]))
    assert answer.status_code == 404
    assert "no issued record" in text_of(answer)


def test_a_number_of_another_kind_is_another_number():
    """The row's number is right and the letters are not: no record bears it."""
    record = issued()
    other = record.number.replace("DR-", "HR-")
    for name in ("record", "record_file"):
        assert signed_in(Role.MANAGER).get(reverse(name, args=[other])).status_code == 404
        assert signed_in(Role.MANAGER).get(reverse(name, args=[record.number])).status_code == 200
    assert Client().get(reverse("verify_record", args=[other])).status_code == 404


def test_a_number_typed_short_is_found():
    record = issued()
    short = f" dr-{record.pk} "
    answer = Client().get(reverse("verify"), {"number": short})
    assert answer.headers["Location"] == reverse("verify_record", args=[record.number])
    answer = Client().post(reverse("verify_record", args=[short.strip()]), upload(record.path.read_bytes()))
    assert f"This file is record {record.number}, as the shop signed it" in text_of(answer)


def test_anybody_sees_that_a_record_is_current_and_little_else():
    record = issued()
    answer = Client().get(reverse("verify_record", args=[record.number]))
    page = text_of(answer)
    assert answer.status_code == 200
    assert "Current: nothing on record supersedes it" in re.sub(r"\s+:", ":", page)
    order = record.revision.design.order
    for private in (order.number, order.client, record.requested_by.display_name, record.requested_by.username):
        assert private not in page


def test_anybody_sees_that_a_record_is_superseded():
    design = make_design()
    release(design)
    record = issued(newest(design))
    revise(design)
    release(design)
    assert "Superseded by revision B" in text_of(Client().get(reverse("verify_record", args=[record.number])))


def test_anybody_gives_a_file_and_is_told_what_it_is():
    record = issued()
    data = record.path.read_bytes()
    answer = Client().post(reverse("verify"), upload(data))
    assert answer.status_code == 200
    assert f"This file is record {record.number}, as the shop signed it" in text_of(answer)
    changed = data[:4000] + bytes([data[4000] ^ 1]) + data[4001:]
    assert "was changed after it was signed" in text_of(Client().post(reverse("verify"), upload(changed)))


def test_another_record_than_the_one_asked_about_is_told_apart():
    one, two = issued(), issued()
    answer = Client().post(reverse("verify_record", args=[one.number]), upload(two.path.read_bytes()))
    assert f"another one: {two.number}" in text_of(answer)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"GIF89a", "not a PDF"),
        (b"%PDF-1.4\ngarbage", "damaged"),
        (bytes(verification.LARGEST + 10), "larger than"),
    ],
)
def test_files_that_are_not_what_they_say_get_words(data, words):
    answer = Client().post(reverse("verify"), upload(data))
    assert answer.status_code == 422
    assert words in text_of(answer)


def test_no_file_gets_words():
    answer = Client().post(reverse("verify"))
    assert answer.status_code == 422
    assert "Choose the PDF file first" in text_of(answer)


def test_a_form_from_elsewhere_is_refused():
    assert Client(enforce_csrf_checks=True).post(reverse("verify"), upload(b"%PDF-1.4")).status_code == 403


def test_many_files_in_a_minute_are_too_many(monkeypatch):
    monkeypatch.setitem(callers.ALLOWED_PER_MINUTE, "verify-file", 2)
    answers = [Client().post(reverse("verify"), upload(b"GIF89a")).status_code for _ in range(4)]
    assert answers == [422, 422, 429, 429]
    other = Client(REMOTE_ADDR="192.0.2.7").post(reverse("verify"), upload(b"GIF89a"))
    assert other.status_code == 422


def test_the_public_page_has_nothing_inline():
    page = Client().get(reverse("verify_record", args=[issued().number])).content.decode()
    assert " style=" not in page
    assert not re.search(r"<script(?![^>]*src=)", page)
    assert not re.search(r"\son[a-z]+=", page)


def test_a_printed_number_is_looked_up_by_those_without_a_reader():
    record = issued()
    client = Client()
    answer = client.get(reverse("verify"), {"number": f" {record.number.lower()} "})
    assert answer["Location"] == reverse("verify_record", args=[record.number])
    assert "Current" in client.get(answer["Location"]).content.decode()
    for wrong in ("DR-", "x" * 500, "\0", "DR-9" + "9" * 30):
        page = client.get(reverse("verify"), {"number": wrong})
        assert page.status_code == 404
        assert "no issued record" in page.content.decode()
    assert client.get(client.get(reverse("verify"), {"number": "DR-999999"})["Location"]).status_code == 404


@pytest.mark.parametrize("kind", ["design", "label", "stressing"])
def test_the_address_of_the_verification_page_is_printed_in_words(kind):
    record = issued() if kind == "design" else made(piece_at("stressed", checked_design()), kind)
    assert evened(f"verify: https://book.example/verify/{record.number}/") in words_of(record.path.read_bytes())
