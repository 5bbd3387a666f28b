"""The shop's key: made once, kept close, and good for one thing."""

import io
import multiprocessing
import stat

import pytest
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign import signers
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from reports import signing
from reports.design_record import build_design_record
from tests.reports.issuing import facts


def signed(**changes) -> bytes:
    unsigned = build_design_record(facts(**changes))
    place = signing.EngineerField(unsigned.field_page, unsigned.field_box)
    return signing.sign(
        unsigned.data, shop="Slate & Lime Castings", reason="Design record DR-000123", engineer_field=place
    )


def statuses(data: bytes):
    context = ValidationContext(trust_roots=signing.shop_certificates(), allow_fetching=False)
    return {
        s.field_name: validate_pdf_signature(s, context) for s in PdfFileReader(io.BytesIO(data)).embedded_signatures
    }


def test_a_signed_record_holds_by_every_count():
    data = signed()
    (status,) = statuses(data).values()
    assert (status.intact, status.valid, status.trusted, status.bottom_line, status.docmdp_ok) == (True,) * 5
    assert status.coverage.name == "ENTIRE_FILE"


def test_the_engineers_field_is_there_empty_and_where_the_record_left_room():
    unsigned = build_design_record(facts())
    reader = PdfFileReader(io.BytesIO(signed()))
    field = next(
        f.get_object() for f in reader.root["/AcroForm"]["/Fields"] if f.get_object()["/T"] == signing.ENGINEER_FIELD
    )
    assert "/V" not in field
    assert [float(edge) for edge in field["/Rect"]] == pytest.approx(list(unsigned.field_box), abs=1)


def test_only_the_owner_can_read_what_is_kept(own_data_folder):
    signed()
    folder = own_data_folder / "signing"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for file in [f for f in folder.rglob("*") if f.is_file()]:
        assert stat.S_IMODE(file.stat().st_mode) == 0o600, file


def test_the_key_is_made_once_and_used_again():
    one, two = signed(), signed()
    assert len(signing.shop_certificates()) == 1
    certificates = [statuses(data)[signing.SHOP_FIELD].signing_cert.sha256 for data in (one, two)]
    assert certificates[0] == certificates[1]


def _sign_in_a_process(folder: str, gate, answers) -> None:
    from django.conf import settings

    settings.DATA = folder
    gate.wait()
    answers.put(signing._shop_signer("Slate & Lime Castings").signing_cert.sha256_fingerprint)


def test_two_processes_at_first_start_end_with_one_key(own_data_folder):
    context = multiprocessing.get_context("fork")
    gate, answers = context.Barrier(2), context.Queue()
    workers = [context.Process(target=_sign_in_a_process, args=(str(own_data_folder), gate, answers)) for _ in range(2)]
    for worker in workers:
        worker.start()
    found = {answers.get(timeout=60) for _ in workers}
    for worker in workers:
        worker.join(60)
    assert len(found) == 1
    assert len(list((own_data_folder / "signing" / "certificates").glob("*.pem"))) == 1


def test_a_wrong_passphrase_signs_nothing_and_leaves_the_key(monkeypatch, own_data_folder):
    monkeypatch.setenv(signing.PASSPHRASE_VARIABLE, "the first one")
    signed()
    before = (own_data_folder / "signing" / "shop-key.p12").read_bytes()
    assert not (own_data_folder / "signing" / "passphrase").exists()
    monkeypatch.setenv(signing.PASSPHRASE_VARIABLE, "another")
    with pytest.raises(signing.SigningKeyUnreadable, match="does not open with the passphrase"):
        signed()
    assert (own_data_folder / "signing" / "shop-key.p12").read_bytes() == before


def test_records_signed_with_an_older_key_still_verify(own_data_folder):
    old = signed()
    (own_data_folder / "signing" / "shop-key.p12").unlink()
    new = signed()
    assert len(signing.shop_certificates()) == 2
    assert statuses(old)[signing.SHOP_FIELD].trusted
    assert statuses(new)[signing.SHOP_FIELD].trusted


def engineers_signature(data: bytes, own_data_folder) -> bytes:
    """The engineer signs in the field left for it, with a key and certificate of their own."""
    key = own_data_folder / "engineer.p12"
    signing._make_key(key, "Ruth Okafor")
    signer = signing._opened(key)
    (own_data_folder / "signing" / "certificates" / f"{signer.signing_cert.sha256.hex()}.pem").unlink()
    meta = signers.PdfSignatureMetadata(field_name=signing.ENGINEER_FIELD, subfilter=signing.SigSeedSubFilter.PADES)
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    return signers.PdfSigner(meta, signer).sign_pdf(writer, existing_fields_only=True).getvalue()


def test_the_engineer_signs_afterwards_and_the_shops_signature_stands(own_data_folder):
    both = statuses(engineers_signature(signed(), own_data_folder))
    shop, engineer = both[signing.SHOP_FIELD], both[signing.ENGINEER_FIELD]
    assert (shop.intact, shop.valid, shop.trusted, shop.docmdp_ok) == (True,) * 4
    assert shop.modification_level.name == "FORM_FILLING"
    assert (engineer.intact, engineer.valid, engineer.trusted) == (True, True, False)
