"""What somebody might try with a record: each try is seen for what it is, by the page's facts and by the commands."""

from __future__ import annotations

import hashlib
import io
import zlib

import pypdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from pyhanko.pdf_utils import embed, generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from jobs.errors import BadEntry
from jobs.models import Event, Release, Role, Shop
from reports import actions, signing
from reports.evidence import RESULT, SPECIFICATION, attached
from reports.models import IssuedRecord, SignedCopy
from reports.recheck import recheck
from reports.signed_copies import take_back
from reports.signing import sign
from reports.verification import LARGEST_UNPACKED, NotReadable, PdfFacts, read_facts
from reports.views import answer_to
from tests.factories import make_design, newest, person, release, revise
from tests.reports.issuing import issued
from tests.reports.test_piece_records import built, checked_design
from tests.reports.test_signing import engineers_signature

pytestmark = pytest.mark.django_db


@pytest.fixture
def record() -> IssuedRecord:
    Shop.objects.update_or_create(pk=1, defaults={"name": "Slate & Lime Castings"})
    return built(actions.request_record(newest(checked_design()), by=person(), site_address="https://book.example"))


def told(data: bytes) -> tuple[PdfFacts, str]:
    """The facts, and the kind of the page's one sentence about them."""
    found = read_facts(data)
    return found, answer_to(found, "")[0]


def exit_of(tmp_path, data: bytes, command: str = "verify_record") -> int:
    file = tmp_path / "given.pdf"
    file.write_bytes(data)
    try:
        call_command(command, str(file), stdout=io.StringIO(), stderr=io.StringIO())
    except SystemExit as left:
        return int(left.code or 0)
    return 0


def written(writer: IncrementalPdfFileWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_the_record_itself_passes(record, tmp_path):
    """So that what follows fails for what was done to it."""
    found, kind = told(record.path.read_bytes())
    assert (kind, found.number) == ("success", record.number)
    assert exit_of(tmp_path, record.path.read_bytes()) == 0
    assert exit_of(tmp_path, record.path.read_bytes(), "recheck") == 0


def test_a_changed_byte_in_each_tenth_of_the_file(record, tmp_path):
    data = record.path.read_bytes()
    for tenth in range(1, 10):
        at = len(data) * tenth // 10
        changed = data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]
        try:
            found, kind = told(changed)
        except NotReadable:
            continue  # so damaged that it cannot be read: said in words
        assert not found.is_the_one_on_record
        assert found.number is None
        assert kind != "success", tenth
        assert exit_of(tmp_path, changed) != 0


def test_an_appended_page(record, tmp_path):
    data = record.path.read_bytes()
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    pages = writer.root["/Pages"]
    page = generic.DictionaryObject(
        {
            generic.pdf_name("/Type"): generic.pdf_name("/Page"),
            generic.pdf_name("/MediaBox"): generic.ArrayObject(generic.NumberObject(n) for n in (0, 0, 612, 792)),
            generic.pdf_name("/Parent"): writer.root.raw_get("/Pages"),
        }
    )
    pages["/Kids"].append(writer.add_object(page))
    pages["/Count"] = generic.NumberObject(int(pages["/Count"]) + 1)
    writer.update_container(pages)
    longer = written(writer)
    assert len(pypdf.PdfReader(io.BytesIO(longer)).pages) == len(pypdf.PdfReader(io.BytesIO(data)).pages) + 1
    found, kind = told(longer)
    assert (found.bytes_intact, found.covers_whole_file, found.only_permitted_changes) == (True, False, False)
    assert (kind, found.is_the_one_on_record) == ("error", False)
    assert exit_of(tmp_path, longer) != 0


def test_a_swapped_attachment_is_no_permitted_change_and_is_not_what_is_rechecked(record, tmp_path):
    """A result that says something else, put over the one that was signed."""
    data = record.path.read_bytes()
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    other = embed.EmbeddedFileObject.from_file_data(writer, data=b'{"verdict": "pass"}', mime_type="application/json")
    names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
    place = next(i for i in range(0, len(names), 2) if str(names[i]) == RESULT)
    spec = names[place + 1].get_object()
    spec["/EF"]["/F"] = other.ef_stream_ref
    writer.update_container(spec)
    swapped = written(writer)
    found, kind = told(swapped)
    assert (found.only_permitted_changes, kind) == (False, "error")
    assert exit_of(tmp_path, swapped) != 0
    # What counts is the file's state at its first signature.
    assert attached(swapped)[RESULT] == attached(data)[RESULT]


def test_an_attachment_changed_before_signing_by_another_key_does_not_recheck(record, tmp_path, settings):
    """Somebody makes a record of their own with the specification of one piece and figures that suit them."""
    files = attached(record.path.read_bytes())
    weight = next(c.recorded for c in recheck(record.path.read_bytes()).compared if c.name == "figure weight")
    suits = files[RESULT].replace(f'"value":{weight!r}'.encode(), b'"value":1.0')
    assert suits != files[RESULT]
    settings.DATA = tmp_path / "elsewhere"
    blank = pypdf.PdfWriter()
    blank.add_blank_page(612, 792)
    out = io.BytesIO()
    blank.write(out)
    forged = sign(
        out.getvalue(),
        shop="X",
        reason="r",
        engineer_field=None,
        evidence={SPECIFICATION: files[SPECIFICATION], RESULT: suits},
    )
    assert not recheck(forged).agrees
    assert exit_of(tmp_path, forged, "recheck") == 1


def test_a_stripped_signature(record, tmp_path):
    """The same pages, saved anew without the signature: nothing of the file vouches for itself any more."""
    reader, writer = pypdf.PdfReader(io.BytesIO(record.path.read_bytes())), pypdf.PdfWriter()
    for page in reader.pages:
        writer.add_page(page)
    if "/Annots" in writer.pages[0]:
        del writer.pages[0]["/Annots"]
    out = io.BytesIO()
    writer.write(out)
    stripped = out.getvalue()
    found, kind = told(stripped)
    assert (found.carries_a_shop_signature, found.signed_by_the_shop, found.is_the_one_on_record) == (False,) * 3
    assert (kind, found.number) == ("error", None)
    assert exit_of(tmp_path, stripped) != 0


def test_a_signature_cut_off_with_its_revision(record, tmp_path):
    """The file cut back to before it was signed is not on record."""
    data = record.path.read_bytes()
    first_end = data.index(b"%%EOF") + 6
    found, kind = told(data[:first_end])
    assert (found.carries_a_shop_signature, found.number, kind) == (False, None, "error")
    assert exit_of(tmp_path, data[:first_end]) != 0


def test_replay_of_an_old_revision(tmp_path):
    """The old file is still genuine, and that is said; that it is superseded is said as well, and it does not pass."""
    design = make_design()
    release(design)
    old = issued(newest(design))
    data = old.path.read_bytes()
    assert exit_of(tmp_path, data) == 0
    revise(design)
    release(design)
    found, kind = told(data)
    assert (found.signed_by_the_shop, found.is_the_one_on_record) == (True, True)
    assert (found.superseded_by, kind) == ("revision B", "warning")
    assert exit_of(tmp_path, data) == 1
    page = Client().get(reverse("verify_record", args=[old.number])).content.decode()
    assert "Superseded" in page


def test_an_old_signed_copy_does_not_release_a_newer_revision(own_data_folder):
    """The engineer's signature on revision A, brought back to the record of revision B."""

    design = make_design(verdict="review")
    first = issued(newest(design))
    signed_first = engineers_signature(first.path.read_bytes(), own_data_folder)
    revise(design, "review")
    second = issued(newest(design))
    engineer = person(Role.ENGINEER)
    with pytest.raises(BadEntry, match="with something added"):
        take_back(second, signed_first, by=engineer)
    assert not Release.objects.exists()
    assert not SignedCopy.objects.exists()
    # Brought back to its own record it is kept, and releases nothing: a newer revision stands.
    copy, made, refused = take_back(first, signed_first, by=engineer)
    assert (copy.record, made) == (first, None)
    assert refused is not None
    assert not Release.objects.exists()


def test_a_stranger_whose_certificate_bears_the_shops_name(record, tmp_path, settings):
    """Same name on the certificate, same number in the text, another key: not this shop's."""
    here = settings.DATA
    data = record.path.read_bytes()
    ours = read_facts(data)
    settings.DATA = tmp_path / "a stranger"
    pages = pypdf.PdfWriter()
    for page in pypdf.PdfReader(io.BytesIO(data)).pages:
        pages.add_page(page)
    out = io.BytesIO()
    pages.write(out)
    theirs = sign(
        out.getvalue(), shop="Slate & Lime Castings", reason=f"Design record {record.number}", engineer_field=None
    )
    stranger = next(iter(signing.shop_certificates()))
    settings.DATA = here
    own = next(iter(signing.shop_certificates()))
    assert stranger.subject.human_friendly == own.subject.human_friendly
    assert stranger.sha256 != own.sha256
    found, kind = told(theirs)
    assert ours.signed_by_the_shop
    assert (found.carries_a_shop_signature, found.bytes_intact) == (True, True)
    assert (found.signed_by_the_shop, found.number, kind) == (False, None, "error")
    assert exit_of(tmp_path, theirs) == 1


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("photo.png", b"\x89PNG\r\n\x1a\n" + bytes(500), "not a PDF"),
        ("page.html", b"<html>%PDF</html>", "not a PDF"),
        ("empty.pdf", b"", "empty|Choose"),
        (
            "bomb.pdf",
            b"%PDF-1.7\n1 0 obj\n<</Filter/FlateDecode>>\nstream\n"
            + zlib.compress(bytes(LARGEST_UNPACKED + 1), 9)
            + b"\nendstream",
            "unpacks to far more",
        ),
        ("twice.pdf", b"%PDF-1.7\n1 0 obj<</Filter[/FlateDecode /FlateDecode]>>stream\n", "packed in a way"),
        (
            "circles.pdf",
            b"%PDF-1.7\n1 0 obj\n" + b"[" * 200_000 + b"\ntrailer<</Root 1 0 R>>\nstartxref\n9\n%%EOF",
            "dam",
        ),
    ],
    ids=["a photo", "a page", "nothing", "a bomb", "packed twice", "circles"],
)
def test_a_bomb_or_no_pdf_at_both_uploads_gets_words_and_is_not_kept(record, name, data, words):
    """On the public page and where the engineer's copy comes back: 422, words, no file, no event."""

    before = sorted(path.name for path in record.path.parent.iterdir())
    engineer = Client()
    engineer.force_login(person(Role.ENGINEER))
    events = Event.objects.count()
    places = [(Client(), reverse("verify")), (engineer, reverse("upload_signed", args=[record.number]))]
    for client, address in places:
        answer = client.post(address, {"file": SimpleUploadedFile(name, data)})
        assert answer.status_code == 422
        assert any(word in answer.content.decode() for word in words.split("|"))
    assert sorted(path.name for path in record.path.parent.iterdir()) == before
    assert not SignedCopy.objects.exists()
    assert Event.objects.count() == events


def test_the_file_on_record_put_in_the_place_of_another_is_not_handed_out(record):
    """A genuine record copied over another genuine one on the disk."""
    other = issued()
    record.path.write_bytes(other.path.read_bytes())
    client = Client()
    client.force_login(person())
    assert client.get(reverse("record_file", args=[record.number])).status_code == 404
    assert not Event.objects.filter(verb="record-downloaded").exists()
    assert hashlib.sha256(other.path.read_bytes()).hexdigest() == other.sha256
