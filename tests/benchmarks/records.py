"""A record drawn and signed beside the same libraries with nothing to say: an empty document of as many pages."""

from __future__ import annotations

import io
import os
import tempfile
from pathlib import Path

import pypdf
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign import signers
from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter, append_signature_field
from reportlab.pdfgen.canvas import Canvas

from tests.benchmarks.engine import Row
from tests.benchmarks.measure import seconds

PIECE, PAPER = "06-stair-tread-si", "a4"
AIM_TIMES, AIM_SECONDS, PAGES = 5, 1.5, 4


def set_up() -> None:
    """Django with the tests' settings and a data folder of its own: signing keeps its key there."""
    import django
    from django.conf import settings

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    if not settings.configured or not django.apps.apps.ready:
        django.setup()
    settings.DATA = Path(tempfile.mkdtemp(prefix="camberbook-benchmark-"))


def record() -> bytes:
    """A form drawing of four pages: set, its evidence attached, signed."""
    from engineering.core.contract.canonical import canonical_json
    from reports.evidence import RESULT, SPECIFICATION
    from reports.form_drawing import build_form_drawing
    from reports.signing import sign
    from tests.reports.documents import example
    from tests.reports.issuing import facts

    told = facts(example(PIECE), paper=PAPER, kind="Form drawing")
    evidence = {SPECIFICATION: canonical_json(told.document), RESULT: canonical_json(told.result)}
    pages = build_form_drawing(told)
    return sign(pages.data, shop=told.shop, reason="benchmark", engineer_field=None, evidence=evidence)


def empty(signer: signers.SimpleSigner, pages: int) -> bytes:
    """As many blank pages by reportlab, certified by pyHanko with a key that is open already."""
    out = io.BytesIO()
    canvas = Canvas(out)
    for _ in range(pages):
        canvas.showPage()
    canvas.save()
    writer = IncrementalPdfFileWriter(out)
    append_signature_field(writer, SigFieldSpec("Signature", on_page=0))
    meta = signers.PdfSignatureMetadata(
        field_name="Signature",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        md_algorithm="sha256",
    )
    return bytes(signers.PdfSigner(meta, signer).sign_pdf(writer, existing_fields_only=True).getvalue())


def pages_of(data: bytes) -> int:
    return len(pypdf.PdfReader(io.BytesIO(data)).pages)


def signed_record() -> list[Row]:
    """Both, with how they compare; the page counts are looked at, so that neither leaves out work."""
    set_up()
    from reports.signing import _shop_signer

    made = record()  # also makes the key, fonts and caches: a worker has them from its first record on
    signer = _shop_signer("Slate & Lime Castings")
    blank = empty(signer, PAGES)
    if (pages_of(made), pages_of(blank)) != (PAGES, PAGES):
        raise RuntimeError(f"{pages_of(made)} and {pages_of(blank)} pages; {PAGES} were to be compared")
    bare = seconds(lambda: empty(signer, PAGES))
    whole = seconds(record)
    aim = f"aim {AIM_TIMES} × and {AIM_SECONDS} s"
    return [
        Row("empty document, 4 pages, signed: reportlab and pyHanko", bare, bare),
        Row("form drawing, 4 pages, drawn, evidence in it, signed", whole, bare, aim),
    ]
