"""The design record says everything the result says, on every paper, twice the same."""

import io
import re

import pypdf
import pytest

from engineering.core.contract import parse
from reports.design_record import build_design_record
from reports.sheet import PAPERS, plain
from reports.words import number_text, ratio_text
from tests.reports.documents import HOSTILE, NAMES, example, made_result, piece
from tests.reports.issuing import facts


def words_of(data: bytes) -> str:
    """All text of the file with its white space evened out."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    return evened(" ".join(page.extract_text() for page in reader.pages))


def evened(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module")
def record() -> tuple[str, dict]:
    made = facts()
    return words_of(build_design_record(made).data), dict(made.result)


def test_every_check_is_there_with_its_figures(record):
    text, result = record
    for check in result["checks"]:
        assert evened(plain(check["name"])) in text
        assert evened(check["clause"]) in text
        if check["demand"] is not None:
            assert evened(number_text(check["demand"])) in text
            assert evened(number_text(check["capacity"])) in text
            assert evened(ratio_text(check["ratio"])) in text
        assert evened(check["why"]) in text


def test_every_working_is_in_the_appendix(record):
    text, result = record
    for check in result["checks"]:
        for line in check["working"]:
            assert evened(line) in text


def test_every_figure_is_there(record):
    text, result = record
    for figure in result["figures"].values():
        if figure["value"] is not None:
            assert evened(number_text(figure["value"])) in text
        assert evened(figure["why"]) in text


def test_it_says_whose_it_is_and_what_it_rests_on(record):
    text, result = record
    wanted = (
        "DR-000123",
        "Slate & Lime Castings",
        "14 Quarry Lane, Milton",
        result["specification"],
        result["engine"],
        "ACI 318-19",
        "C947",
        "2026-11-25",
        "Hollis & Daughters",
        "deeper core",
        "the shop's setting",
        "Licence number",
        "E-77",
        "page 1 of",
    )
    for words in (*wanted, *result["cautions"]):
        assert evened(words) in text


def test_the_same_facts_give_the_same_bytes():
    assert build_design_record(facts()).data == build_design_record(facts()).data


def test_metadata_are_true():
    info = pypdf.PdfReader(io.BytesIO(build_design_record(facts()).data)).metadata
    assert (info.title, info.author) == ("CT-01 Map-room counter, north bay", "Slate & Lime Castings")
    assert info.creation_date.strftime("%Y-%m-%d %H:%M") == "2026-11-25 15:04"
    assert "DR-000123" in info.subject


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_all_fonts_are_embedded_and_the_paper_is_the_one_asked_for(paper):
    reader = pypdf.PdfReader(io.BytesIO(build_design_record(facts(paper=paper)).data))
    wide, high = PAPERS[paper]
    for page in reader.pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx((wide, high), abs=0.01)
        for font in page["/Resources"]["/Font"].values():
            assert "/FontFile2" in font["/FontDescriptor"]


@pytest.mark.parametrize("name", NAMES)
def test_every_example_piece_can_be_recorded(name):
    document = example(name)
    made = build_design_record(facts(document))
    assert evened(parse(document).mark) in words_of(made.data)
    left, bottom, right, top = made.field_box
    assert (right - left) > 200
    assert (top - bottom) > 40
    assert made.field_page < len(pypdf.PdfReader(io.BytesIO(made.data)).pages)


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_nothing_runs_off_the_page(paper):
    """Texts of any length and letters: every glyph run starts and ends between the margins."""
    document = piece("cored", rods=6, loads=12, supports=5, label=HOSTILE, cuts=(0.1, 0.9))
    made = facts(
        document,
        made_result(document, checks=40),
        shop=HOSTILE,
        site=HOSTILE,
        order=HOSTILE,
        revision_note=HOSTILE,
        issued_by="x" * 120,
        shop_address=HOSTILE,
        paper=paper,
    )
    reader = pypdf.PdfReader(io.BytesIO(build_design_record(made).data))
    wide, high = PAPERS[paper]
    seen = []
    for page in reader.pages:
        page.extract_text(
            visitor_text=lambda text, cm, tm, font, size: seen.append((text, *_place(cm, tm))) if text.strip() else None
        )
    assert seen
    outside = [(text, x, y) for text, x, y in seen if not (20 <= x <= wide - 30 and 18 <= y <= high - 20)]
    assert outside == []


def _place(cm, tm) -> tuple[float, float]:
    return (tm[4] * cm[0] + tm[5] * cm[2] + cm[4], tm[4] * cm[1] + tm[5] * cm[3] + cm[5])


def test_markup_in_texts_stays_text():
    document = piece(label="<b>bold</b> & <font size=90>big</font>")
    text = words_of(build_design_record(facts(document, shop="<para>A&B</para>")).data)
    assert evened("<b>bold</b>&<fontsize=90>big</font>") in text
    assert "<para>A&B</para>" in text


def test_letters_the_fonts_lack_are_named_not_dropped():
    assert plain("a😀b") == "a[U+1F600]b"
    assert plain("f'ci ≤ 0.60·√f'c − ½″ φλ²³⁴ ×") == "f'ci ≤ 0.60·√f'c − ½″ φλ²³⁴ ×"


@pytest.mark.parametrize(
    ("ratio", "text"), [(None, "—"), (1.0, "1.00"), (1.0004, "> 1.00"), (1.37, "1.37"), (0.0, "0.00"), (250.0, "> 99")]
)
def test_a_ratio_over_one_never_reads_as_one(ratio, text):
    assert ratio_text(ratio) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (12345.6, "12,346"),
        (-131.21, "−131.2"),
        (1.0625, "1.062"),
        (0.02514, "0.02514"),
        (0, "0"),
        (None, "—"),
        ("rod yield", "rod yield"),
        (999.96, "1,000"),
        (2.9e13, "2.900e+13"),
    ],
)
def test_numbers_are_only_rounded(value, text):
    assert number_text(value) == text
