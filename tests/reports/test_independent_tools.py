"""Poppler, which shares no code with what signs and sets the records, reads them too. PDFSIG names its pdfsig."""

import io
import os
import re
import subprocess
from pathlib import Path

import pypdf
import pytest
from asn1crypto import pem

from reports import actions, signing
from reports.design_record import build_design_record
from reports.models import OF_A_PIECE, RecordKind
from reports.sheet import PAPERS
from tests.factories import person
from tests.reports.documents import HOSTILE, made_result, piece
from tests.reports.issuing import SITE, facts
from tests.reports.test_piece_records import built
from tests.reports.test_signing import engineers_signature, signed
from tests.reports.whole_piece import whole_piece

pytestmark = pytest.mark.poppler


def run(*words: str | Path) -> str:
    done = subprocess.run(
        [str(word) for word in words], capture_output=True, encoding="utf-8", errors="replace", timeout=60, check=False
    )
    return done.stdout + done.stderr


def tool(name: str) -> str:
    return str(Path(os.environ["PDFSIG"]).with_name(name))


@pytest.fixture
def pdfsig(tmp_path):
    """pdfsig with a certificate store that knows the shop; it says nothing at all without a store."""
    store = f"sql:{tmp_path / 'nss'}"
    (tmp_path / "nss").mkdir()
    run(tool("certutil"), "-N", "-d", store, "--empty-password")

    def judge(data: bytes) -> str:
        for number, certificate in enumerate(signing.shop_certificates()):
            (tmp_path / "shop.pem").write_bytes(pem.armor("CERTIFICATE", certificate.dump()))
            run(
                tool("certutil"), "-A", "-d", store, "-n", f"shop {number}", "-t", "CT,C,C", "-i", tmp_path / "shop.pem"
            )
        (tmp_path / "judged.pdf").write_bytes(data)
        return run(tool("pdfsig"), "-nssdir", store, tmp_path / "judged.pdf")

    return judge


def test_pdfsig_calls_the_shops_signature_valid(pdfsig):
    said = pdfsig(signed())
    assert "Signature Validation: Signature is Valid." in said
    assert "Total document signed" in said
    assert "ETSI.CAdES.detached" in said


def test_pdfsig_sees_a_changed_byte(pdfsig):
    data = signed()
    at = len(data) // 3
    said = pdfsig(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])
    assert "Signature is Valid" not in said


def test_pdfsig_calls_both_signatures_valid_after_the_engineers(pdfsig, own_data_folder):
    said = pdfsig(engineers_signature(signed(), own_data_folder))
    assert said.count("Signature Validation: Signature is Valid.") == 2


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_every_word_lies_between_the_margins(tmp_path, paper):
    """By poppler's own boxes around each word, for texts of any length and letters."""
    document = piece("cored", rods=6, loads=12, supports=5, label=HOSTILE, cuts=(0.1, 0.9))
    made = facts(
        document,
        made_result(document, checks=40),
        shop=HOSTILE,
        site=HOSTILE,
        order="y" * 300,
        revision_note=HOSTILE,
        issued_by="x" * 120,
        shop_address=HOSTILE,
        paper=paper,
    )
    (tmp_path / "record.pdf").write_bytes(build_design_record(made).data)
    boxes = run(tool("pdftotext"), "-bbox", tmp_path / "record.pdf", "-")
    wide, high = PAPERS[paper]
    words = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', boxes)
    assert len(words) > 1000
    outside = [
        word
        for *box, word in words
        if float(box[0]) < 40 or float(box[2]) > wide - 38 or float(box[1]) < 20 or float(box[3]) > high - 18
    ]
    assert outside == []


def test_fonts_are_all_embedded(tmp_path):
    (tmp_path / "record.pdf").write_bytes(signed())
    rows = run(tool("pdffonts"), tmp_path / "record.pdf").splitlines()[2:]
    assert rows
    assert all(re.search(r"\byes\s+yes\s+yes\b", row) for row in rows), rows


@pytest.fixture
def every_kind(db) -> dict[str, bytes]:
    """One signed record of each kind, of a piece with everything written down about it."""
    whole = whole_piece("01-counter-cored")
    files = {}
    for kind in RecordKind:
        asked = actions.request_record if kind not in OF_A_PIECE else actions.request_piece_record
        of = whole if kind in OF_A_PIECE else whole.revision
        record = built(asked(of, kind=kind, by=person(), site_address=SITE))
        files[str(kind)] = record.path.read_bytes()
    return files


def test_pdfsig_calls_every_kind_valid_signed_by_the_shop_and_whole(pdfsig, every_kind):
    assert set(every_kind) == set(RecordKind.values)
    for kind, data in every_kind.items():
        said = pdfsig(data)
        assert "Signature Validation: Signature is Valid." in said, kind
        assert "Signer Certificate Common Name: Our shop" in said, kind
        assert "Total document signed" in said, kind
        assert "ETSI.CAdES.detached" in said, kind


def test_poppler_reads_the_data_of_every_kind(tmp_path, every_kind):
    """Title, author, subject and language as the record has them; fonts embedded; the three files attached."""
    for kind, data in every_kind.items():
        (tmp_path / "record.pdf").write_bytes(data)
        said = run(tool("pdfinfo"), tmp_path / "record.pdf")
        assert re.search(r"Title: +CT-01", said), kind
        assert re.search(r"Author: +Our shop", said), kind
        assert re.search(r"Subject: .*revision A", said), kind
        assert "JavaScript:      no" in said, kind
        rows = run(tool("pdffonts"), tmp_path / "record.pdf").splitlines()[2:]
        assert rows, kind
        assert all(re.search(r"\byes\s+yes\s+yes\b", row) for row in rows), kind
        listed = run(tool("pdfdetach"), "-list", tmp_path / "record.pdf")
        assert "3 embedded files" in listed, kind


def test_no_kind_claims_to_be_what_no_validator_showed(every_kind):
    """PDF/A, PDF/UA and tagging are claimed nowhere: nothing here could check them. What is true is said: the language
    of the text and the title to show.
    """
    for kind, data in every_kind.items():
        root = pypdf.PdfReader(io.BytesIO(data)).trailer["/Root"]
        assert "/MarkInfo" not in root, kind
        assert "/StructTreeRoot" not in root, kind
        of_the_signing_library = root["/Metadata"].get_object().get_data() if "/Metadata" in root else b""
        assert "/OutputIntents" not in root, kind
        outside = re.sub(rb"stream\r?\n.*?endstream", b"", data, flags=re.DOTALL)  # packed bytes spell anything in time
        assert not re.search(rb"pdfa|pdfua", of_the_signing_library + outside, re.IGNORECASE), kind
        assert root["/Lang"] == "en-US", kind
        assert root["/ViewerPreferences"]["/DisplayDocTitle"], kind


@pytest.mark.qpdf
def test_qpdf_finds_no_fault_in_any_kind(tmp_path, every_kind):
    for kind, data in every_kind.items():
        (tmp_path / "record.pdf").write_bytes(data)
        done = subprocess.run(
            [os.environ["QPDF"], "--check", str(tmp_path / "record.pdf")],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
        )
        said = done.stdout + done.stderr
        assert done.returncode == 0, (kind, said)
        assert "No syntax or stream encoding errors found" in said, kind
        assert "WARNING" not in said, kind


@pytest.mark.qpdf
def test_qpdf_can_say_no(tmp_path, every_kind):
    data = every_kind["label"]
    (tmp_path / "cut.pdf").write_bytes(data[: len(data) // 2])
    done = subprocess.run([os.environ["QPDF"], "--check", str(tmp_path / "cut.pdf")], capture_output=True, check=False)
    assert done.returncode != 0
