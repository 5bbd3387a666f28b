"""An engineer's signature comes back: looked at, kept, and the release of that revision where gates allow it."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import signers

from jobs.errors import BadEntry, NotAllowed
from jobs.models import Event, Release, Revision, Role
from reports import signing
from reports.models import IssuedRecord, RecordKind, SignedCopy
from reports.signed_copies import take_back
from reports.verification import read_facts
from tests.factories import make_design, newest, person
from tests.page_reading import as_read
from tests.reports.issuing import issued
from tests.reports.test_signing import engineers_signature

pytestmark = pytest.mark.django_db


def waiting_record(verdict: str = "review") -> IssuedRecord:
    return issued(newest(make_design(verdict=verdict)))


def signed_by_engineer(record: IssuedRecord, folder) -> bytes:
    return engineers_signature(record.path.read_bytes(), folder)


def engineer():
    return person(Role.ENGINEER, first_name="Ruth", last_name="Okafor")


def test_an_engineer_brings_it_back_and_the_revision_is_released(own_data_folder):
    record, by = waiting_record(), engineer()
    data = signed_by_engineer(record, own_data_folder)
    copy, release, refused = take_back(record, data, by=by)
    assert refused is None
    assert release == Release.objects.get(revision=record.revision)
    assert (release.accepted_by, release.licence_number) == (by, by.licence_number)
    assert record.number in release.note
    assert copy.certificate in release.note
    assert "Ruth Okafor" in copy.signer
    assert release.signed_copy == copy.sha256
    assert copy.release == release
    assert Event.objects.get(verb="revision-released").detail["signed_copy"] == copy.sha256
    assert copy.path.read_bytes() == data
    event = Event.objects.get(verb="signed-copy-kept")
    assert (event.by, event.detail["sha256"], event.detail["certificate"]) == (by, copy.sha256, copy.certificate)
    facts = read_facts(data)
    assert facts.kept_signed_copy
    assert facts.begins_with_one_on_record
    assert facts.only_permitted_changes


def test_a_manager_may_bring_it_but_releases_nothing_by_it(own_data_folder):
    record = waiting_record()
    copy, release, refused = take_back(record, signed_by_engineer(record, own_data_folder), by=person(Role.MANAGER))
    assert copy.pk
    assert (release, refused) == (None, None)
    assert not Release.objects.exists()


def test_gates_hold_and_the_copy_is_kept_all_the_same(own_data_folder):
    record = waiting_record("fail")
    copy, release, refused = take_back(record, signed_by_engineer(record, own_data_folder), by=engineer())
    assert copy.pk
    assert release is None
    assert "was not released" in str(refused)


def test_the_same_file_twice_is_one_copy(own_data_folder):
    record, by = waiting_record(), engineer()
    data = signed_by_engineer(record, own_data_folder)
    first, second = (take_back(record, data, by=by)[0] for _ in range(2))
    assert first == second
    assert Event.objects.filter(verb="signed-copy-kept").count() == 1


def test_files_that_are_not_it_are_refused_with_words(own_data_folder):
    record, other = waiting_record(), waiting_record()
    unsigned = record.path.read_bytes()
    data = signed_by_engineer(record, own_data_folder)
    flipped = bytearray(data)
    flipped[len(unsigned) // 2] ^= 1
    appended = IncrementalPdfFileWriter(io.BytesIO(data))
    appended.root["/Extra"] = appended.root["/Pages"]
    appended.update_root()
    more = io.BytesIO()
    appended.write(more)
    cases = [
        (unsigned, "with something added"),
        (bytes(flipped), "with something added"),
        (signed_by_engineer(other, own_data_folder), "with something added"),
        (more.getvalue(), "More was changed|added to this file"),
        (b"not a pdf", "not a PDF"),
        (shops_own(unsigned), "shop's own key"),
    ]
    for wrong, words in cases:
        with pytest.raises(BadEntry, match=words):
            take_back(record, wrong, by=engineer())
    assert not SignedCopy.objects.exists()
    assert not Event.objects.filter(verb="signed-copy-kept").exists()


def shops_own(data: bytes) -> bytes:
    """Somebody of the shop fills the engineer's field with the shop's key."""
    meta = signers.PdfSignatureMetadata(field_name=signing.ENGINEER_FIELD, subfilter=signing.SigSeedSubFilter.PADES)
    signer = signing._shop_signer("S")
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    return signers.PdfSigner(meta, signer).sign_pdf(writer, existing_fields_only=True).getvalue()


@pytest.mark.parametrize(
    ("role", "status"), [(Role.ENGINEER, 200), (Role.MANAGER, 200), (Role.CREW, 403), (Role.VIEWER, 403)]
)
def test_the_page_for_each_role(role, status, own_data_folder):
    record = waiting_record()
    data = signed_by_engineer(record, own_data_folder)
    client = Client()
    client.force_login(person(role))
    address = reverse("upload_signed", args=[record.number])
    assert ("Bring it back" in as_read(client.get(reverse("record", args=[record.number])))) == (status == 200)
    answer = client.post(address, {"file": SimpleUploadedFile("signed.pdf", data)})
    assert answer.status_code == status
    assert Release.objects.exists() == (role == Role.ENGINEER)
    if status == 200:
        assert "its certificate names" in as_read(answer)
        copy = SignedCopy.objects.get()
        got = client.get(reverse("signed_file", args=[record.number, copy.pk]))
        assert got.content == data
        taken = Event.objects.filter(verb="record-downloaded").latest("sequence")
        assert taken.detail["sha256"] == copy.sha256
        copy.path.write_bytes(b"something else")
        assert client.get(reverse("signed_file", args=[record.number, copy.pk])).status_code == 404
    else:
        with pytest.raises(NotAllowed):
            take_back(record, data, by=person(role))
    assert Client().post(address).status_code == 302


def test_a_wrong_file_is_told_on_the_page(own_data_folder):
    record = waiting_record()
    client = Client()
    client.force_login(engineer())
    address = reverse("upload_signed", args=[record.number])
    answer = client.post(address, {"file": SimpleUploadedFile("x.pdf", record.path.read_bytes())})
    assert answer.status_code == 422
    assert "with something added" in as_read(answer)
    assert client.post(address).status_code == 422
    assert not Release.objects.exists()


def test_only_a_design_record_has_a_field_for_it():
    revision: Revision = newest(make_design())
    record = issued(revision)
    IssuedRecord.objects.filter(pk=record.pk).update(kind=RecordKind.FORM)
    client = Client()
    client.force_login(engineer())
    number = IssuedRecord.objects.get(pk=record.pk).number
    assert client.post(reverse("upload_signed", args=[number])).status_code == 404


def test_a_signed_copy_stays(own_data_folder):
    record = waiting_record()
    copy, _, _ = take_back(record, signed_by_engineer(record, own_data_folder), by=engineer())
    with pytest.raises(TypeError, match="never deleted"):
        copy.delete()
