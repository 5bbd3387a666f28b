"""The rows of `records.py` under pytest. What is asserted is that both files are whole, signed and of four pages."""

import io

import pytest
from pyhanko.pdf_utils.reader import PdfFileReader

from reports.signing import _shop_signer
from tests.benchmarks.engine import table
from tests.benchmarks.records import PAGES, empty, pages_of, record, signed_record

pytestmark = pytest.mark.benchmark


def test_a_record_beside_an_empty_document(settings, tmp_path) -> None:
    settings.DATA = tmp_path
    print(f"\n{table(signed_record())}")
    for data in (record(), empty(_shop_signer("Slate & Lime Castings"), PAGES)):
        assert pages_of(data) == PAGES
        assert len(PdfFileReader(io.BytesIO(data)).embedded_regular_signatures) == 1
