"""What a PDF is, fact by fact; and no bytes whatever break the page that says so."""

import dataclasses
import io
import os
import zlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from jobs.models import Revision
from reports import signing, verification
from reports.models import IssuedRecord
from reports.verification import NotReadable, read_facts
from tests.factories import make_design, newest, release, revise
from tests.reports.issuing import issued
from tests.reports.test_signing import engineers_signature, signed

pytestmark = pytest.mark.django_db


def file_of(record: IssuedRecord) -> bytes:
    return record.path.read_bytes()


def test_an_issued_record_is_all_it_should_be():
    record = issued()
    facts = read_facts(file_of(record))
    assert facts.number == record.number
    assert (
        facts.bytes_intact,
        facts.covers_whole_file,
        facts.only_permitted_changes,
        facts.signed_by_the_shop,
        facts.is_the_one_on_record,
    ) == (True,) * 5
    assert facts.superseded_by is None
    assert facts.other_signatures == 0


def test_one_changed_byte_anywhere_is_seen():
    """In a page, in the list of objects, in a font: wherever a byte turns, the file is not what was signed."""
    data = file_of(issued())
    for at in (len(data) // 10, len(data) // 3, len(data) // 2):
        changed = data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]
        facts = read_facts(changed)
        assert (facts.bytes_intact, facts.signed_by_the_shop, facts.is_the_one_on_record) == (False, False, False)
        assert facts.number is None


def test_content_added_after_signing_is_no_permitted_change():
    data = file_of(issued())
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    page = writer.root["/Pages"]["/Kids"][0].get_object()
    stream = generic.StreamObject(stream_data=b"BT /F1 40 Tf 100 400 Td (APPROVED) Tj ET")
    page["/Contents"] = generic.ArrayObject([page.raw_get("/Contents"), writer.add_object(stream)])
    writer.update_container(page)
    out = io.BytesIO()
    writer.write(out)
    facts = read_facts(out.getvalue())
    assert facts.bytes_intact
    assert (facts.covers_whole_file, facts.only_permitted_changes, facts.is_the_one_on_record) == (False, False, False)
    assert facts.begins_with_one_on_record


def test_the_engineers_signature_is_permitted_and_the_record_is_still_known(own_data_folder):
    record = issued()
    facts = read_facts(engineers_signature(file_of(record), own_data_folder))
    assert (facts.bytes_intact, facts.only_permitted_changes, facts.signed_by_the_shop) == (True,) * 3
    assert (facts.covers_whole_file, facts.is_the_one_on_record, facts.begins_with_one_on_record) == (
        False,
        False,
        True,
    )
    assert (facts.number, facts.other_signatures, facts.others_intact) == (record.number, 1, True)


def test_another_shops_key_is_not_this_shops(settings, tmp_path):
    here = settings.DATA
    settings.DATA = tmp_path / "another shop"
    theirs = signed()
    settings.DATA = here
    issued()
    facts = read_facts(theirs)
    assert (facts.carries_a_shop_signature, facts.bytes_intact) == (True, True)
    assert (facts.signed_by_the_shop, facts.is_the_one_on_record) == (False, False)


def test_signed_by_the_shop_but_not_on_record():
    facts = read_facts(signed())
    assert (facts.signed_by_the_shop, facts.is_the_one_on_record, facts.number) == (True, False, None)


def test_a_newer_release_supersedes_and_a_newer_revision_alone_does_not():
    design = make_design()
    release(design)
    record = issued(newest(design))
    data = file_of(record)
    revise(design)
    assert read_facts(data).superseded_by is None
    release(design)
    assert read_facts(data).superseded_by == "revision B"
    later = issued(newest(design))
    assert read_facts(data).superseded_by == f"revision B, record {later.number}"
    assert read_facts(file_of(later)).superseded_by is None


def test_a_record_made_after_the_release_supersedes_the_one_before():
    design = make_design()
    before = issued(newest(design))
    release(design)
    after = issued(Revision.objects.get(pk=before.revision_id))
    assert after.pk != before.pk
    assert read_facts(file_of(before)).superseded_by == f"record {after.number} of the same revision"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "not a PDF"),
        (b"%PDF-1.7\n" + os.urandom(2000), "damaged"),
        (b"%PDF-1.7\n%%EOF", "damaged"),
        (bytes(verification.LARGEST + 1), "larger than"),
        (b"%PDF-1.7\n1 0 obj<</Filter[/FlateDecode /FlateDecode]>>stream\n", "packed in a way"),
    ],
)
def test_what_is_no_record_is_answered_in_words(data, words):
    with pytest.raises(NotReadable, match=words):
        read_facts(data)


def test_a_small_file_that_unpacks_to_much_is_not_opened():
    packed = zlib.compress(bytes(verification.LARGEST_UNPACKED + 1), 9)
    with pytest.raises(NotReadable, match="unpacks to far more"):
        read_facts(b"%PDF-1.7\n1 0 obj\n<</Filter/FlateDecode>>\nstream\n" + packed + b"\nendstream")


@pytest.mark.parametrize(
    "data",
    [
        b"%PDF-1.7\n" + b"stream\n" * 100_000,
        b"%PDF-1.7\nstream\n" + zlib.compress(b"stream\n\x78\x01" * 100_000, 0),
        b"%PDF-1.7\n" + b"%%EOF\n" * 100_000,
        b"%PDF-1.7\n1 0 obj\n" + b"[" * 1_000_000 + b"\ntrailer<</Root 1 0 R>>\nstartxref\n9\n%%EOF",
    ],
    ids=["streams", "streams in a stream", "ends", "brackets"],
)
def test_files_made_to_be_hard_to_read_get_words_too(data):
    with pytest.raises(NotReadable, match=r"damaged|unpacks to far more"):
        read_facts(data)


def test_a_locked_file_is_told_apart():
    import pypdf

    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    writer.encrypt("secret", algorithm="RC4-128")
    out = io.BytesIO()
    writer.write(out)
    with pytest.raises(NotReadable, match="locked with a password"):
        read_facts(out.getvalue())


def test_a_pdf_of_anyone_carries_no_signature():
    import pypdf

    writer = pypdf.PdfWriter()
    writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    facts = read_facts(out.getvalue())
    assert {v for k, v in dataclasses.asdict(facts).items() if isinstance(v, bool) and k != "others_intact"} == {False}


@given(st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_cut_and_mangled_records_never_break_it_and_never_pass(record_bytes, data):
    """Bytes cut out, doubled and turned: an answer or NotReadable, and nothing changed is called on record."""
    made = bytearray(record_bytes)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(made) - 1))
        long = data.draw(st.integers(1, 400))
        kind = data.draw(st.sampled_from(("cut", "turn", "double")))
        if kind == "cut":
            del made[at : at + long]
        elif kind == "turn":
            made[at] ^= data.draw(st.integers(1, 255))
        else:
            made[at:at] = made[at : at + long]
    if bytes(made) == record_bytes:
        return
    try:
        facts = read_facts(bytes(made))
    except NotReadable:
        return
    assert not facts.is_the_one_on_record


@pytest.fixture
def record_bytes() -> bytes:
    return file_of(issued())


def test_the_key_field_names_are_what_signing_makes():
    assert {signing.SHOP_FIELD, signing.ENGINEER_FIELD} == {"ShopSignature", "EngineerSignature"}
