"""Drawings: nothing overlaps, nothing leaves the sheet, no document that is accepted makes them fail."""

import itertools
import re
import xml.etree.ElementTree as ET

import pytest
from hypothesis import HealthCheck, assume, given, settings

from engineering.core.contract import SpecificationRefused, parse
from reports.drawing import piece_figure, piece_svg
from reports.drawing.dimensions import stations_of
from reports.drawing.edges import edges_from_above, edges_from_front
from reports.drawing.figure import Circle, Figure, Line, Polygon, Text, text_width
from reports.drawing.form import form_figures
from reports.drawing.hatch import hatch_lines
from reports.drawing.lengths import length_text
from reports.drawing.turned import turned_over
from reports.drawing.view import axis_height, marks_text
from tests.reports.documents import HOSTILE, NAMES, documents, example, piece

SHEETS = ((760.0, 12.0), (498.0, 8.0))  # the page's, the printed record's


def overlaps(figure: Figure) -> list[str]:
    """Pairs of texts whose boxes share more than half a point, and texts that leave the sheet."""
    texts, found = figure.texts(), []
    for text in texts:
        left, top, right, bottom = text.box()
        if left < -0.5 or right > figure.width + 0.5 or top < -0.5 or bottom > figure.height + 0.5:
            found.append(f"{text.text!r} leaves the sheet")
    for one, other in itertools.combinations(texts, 2):
        a, b = one.box(), other.box()
        if a[0] < b[2] - 0.5 and b[0] < a[2] - 0.5 and a[1] < b[3] - 0.5 and b[1] < a[3] - 0.5:
            found.append(f"{one.text!r} over {other.text!r}")
    return found


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("which", ["elevation", "sections"])
@pytest.mark.parametrize(("width", "size"), SHEETS)
def test_no_text_of_the_example_pieces_overlaps_another(name, which, width, size):
    document = example(name)
    assert overlaps(piece_figure(parse(document), document, which, width=width, size=size)) == []


@pytest.mark.parametrize("shape", ["solid", "cored", "apron", "rails", "outline"])
@pytest.mark.parametrize("length", [24, 240])
def test_short_and_long_pieces_of_every_shape_read_well(shape, length):
    document = piece(shape, length=length, rods=3, loads=6)
    for which, (width, size) in itertools.product(("elevation", "sections"), SHEETS):
        assert overlaps(piece_figure(parse(document), document, which, width=width, size=size)) == []


@given(documents)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
def test_what_is_accepted_is_drawn_without_overlap(document):
    try:
        accepted = parse(document)
    except SpecificationRefused:
        assume(False)
    for which, (width, size) in itertools.product(("elevation", "sections"), SHEETS):
        assert overlaps(piece_figure(accepted, document, which, width=width, size=size)) == []


@given(documents)
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
def test_svg_is_well_formed_and_fit_for_a_strict_page(document):
    try:
        parse(document)
    except SpecificationRefused:
        assume(False)
    for which in ("elevation", "sections"):
        assert_strict(piece_svg(document, which, ident="one"))


def assert_strict(svg: str) -> None:
    root = ET.fromstring(svg)
    for element in root.iter():
        name = element.tag.rpartition("}")[2]
        assert name in {"svg", "g", "title", "desc", "path", "circle", "text"}
        assert not [a for a in element.attrib if a == "style" or a.startswith("on") or a.endswith("href")]
    assert root.get("aria-labelledby") == "one-title"
    assert {root[0].get("id"), root[1].get("id")} == {"one-title", "one-desc"}
    assert not re.search(r"nan|inf", " ".join(e.get("d", "") for e in root.iter()))


def test_hostile_labels_stay_text():
    document = piece(label=HOSTILE, loads=4)
    svg = piece_svg(document)
    assert_strict(piece_svg(document, ident="one"))
    assert "<script" not in svg
    assert any("<script>" in (e.text or "") for e in ET.fromstring(svg).iter())


def test_two_drawings_on_one_page_have_ids_of_their_own():
    document = example("01-counter-cored")
    ids = re.findall(r' id="([^"]+)"', piece_svg(document, "elevation") + piece_svg(document, "sections"))
    assert len(ids) == len(set(ids)) == 4


def test_the_elevation_says_where_everything_is():
    """The counter: 96 in long, supports 6 in from either end, one zone joint at 6 and 90 in, rods at 1 1/4 in."""
    document = example("01-counter-cored")
    texts = [t.text for t in piece_figure(parse(document), document, "elevation", width=760, size=12).texts()]
    assert {"8′ 0″", "7′ 0″", "6″", "1 1/4″", "S1", "S2", "R1, R2", "person seated 300 lbf live alone"} <= set(texts)


def test_scale_is_true_where_the_drawing_says_so():
    """Paper length over length and paper depth over depth of the outline agree; enlarged, they differ as it says."""
    document = example("01-counter-cored")
    figure = piece_figure(parse(document), document, "elevation", width=760, size=12)
    outlines = [p for p in figure.items if getattr(p, "role", "") == "outline" and getattr(p, "weight", 0) == 1.5]
    spans = []
    for outline in outlines:
        xs, ys = zip(*outline.rings[0], strict=True)
        spans.append(((max(xs) - min(xs)) / 96, (max(ys) - min(ys)) / 3))
    assert spans[0][0] == pytest.approx(spans[0][1])
    times = int(re.search(r"drawn (\d+) times", " ".join(t.text for t in figure.texts())).group(1))
    assert spans[1][1] == pytest.approx(times * spans[1][0])


def test_rods_are_drawn_where_they_are_in_the_section():
    document = example("01-counter-cored")
    figure = piece_figure(parse(document), document, "sections", width=760, size=12)
    rods = [c for c in figure.items if isinstance(c, Circle) and c.role == "rod"][:2]
    outline = next(p for p in figure.items if getattr(p, "weight", 0) == 1.5)
    xs, ys = zip(*outline.rings[0], strict=True)
    scale = (max(xs) - min(xs)) / 25
    assert [(c.x - min(xs)) / scale for c in rods] == pytest.approx([2.5, 22.5])
    assert [(max(ys) - c.y) / scale for c in rods] == pytest.approx([1.25, 1.25])


def test_a_parabola_goes_through_its_three_points():
    document = piece(drape=0.1)
    rod = parse(document).rods[0]
    assert [axis_height(rod, x) for x, _ in rod.profile] == pytest.approx([y for _, y in rod.profile])
    assert axis_height(rod, -1) is None


@pytest.mark.parametrize(
    ("inches", "text"),
    [
        (0.75, "3/4″"),
        (1.25, "1 1/4″"),
        (23.9375, "23 15/16″"),
        (24, "2′ 0″"),
        (108.5, "9′ 0 1/2″"),
        (2.4, "≈ 2 3/8″"),
        (0, "0″"),
        (-1.5, "−1 1/2″"),
        (143.99, "≈ 12′ 0″"),
    ],
)
def test_lengths_as_a_tape_reads_them(inches, text):
    assert length_text(inches, "us") == text


@pytest.mark.parametrize(("inches", "text"), [(47.24409448818898, "1200"), (1.476377952755906, "37.5"), (0, "0")])
def test_millimetres_are_bare(inches, text):
    assert length_text(inches, "si") == text


def test_hatch_stays_inside_and_out_of_holes():
    square, hole = [(0, 0), (10, 0), (10, 10), (0, 10)], [(4, 4), (6, 4), (6, 6), (4, 6)]
    lines = hatch_lines([square, hole], angle_deg=0, spacing=1)
    assert sum(abs(line.points[1][0] - line.points[0][0]) for line in lines) == pytest.approx(10 * 10 - 2 * 2)
    assert all(isinstance(line, Line) for line in lines)


def test_a_text_box_is_never_narrower_than_the_letters_in_print():
    from reportlab.pdfbase.pdfmetrics import stringWidth

    from reports.sheet import SANS, SANS_BOLD, register_fonts

    register_fonts()
    for text in ("WWWWMMMM", "9′ 0 1/2″", "person seated 300 lbf live alone", "R1 … R9", "ΣΩ·²√", "@@@@%%%%", "mmmm"):
        assert stringWidth(text, SANS, 10) <= text_width(text, 10)
        assert stringWidth(text, SANS_BOLD, 10) <= text_width(text, 10, bold=True)
        left, _, right, _ = Text(0, 0, text, 10, bold=True).box()
        assert right - left == pytest.approx(text_width(text, 10, bold=True))


def test_the_legs_of_an_apron_show_in_plan_and_elevation():
    """Legs 20 % and 12 % of 20 in: inner faces 4 in from the front, 2.4 in from the back, hidden from above, seen once
    the piece is turned over. The slab's soffit is hidden behind the front leg, which is the longer one."""
    made = parse(piece("apron", width=20, depth=2, rods=0))
    zone, over = made.zones[0], turned_over(made).zones[0]
    assert edges_from_above(zone) == [(4.0, False), (pytest.approx(17.6), False)]
    assert edges_from_above(over) == [(pytest.approx(2.4), True), (16.0, True)]
    assert edges_from_front(zone) == [(pytest.approx(1.5), False), (pytest.approx(3.0), False)]
    assert edges_from_above(parse(piece("solid", rods=0)).zones[0]) == []


def test_a_place_at_the_very_end_makes_no_stretch_of_nothing():
    assert stations_of([0.0, 1e-3, 50.0, 50.0, 99.999], 100.0) == [0.0, 50.0, 100.0]
    assert stations_of([], 12.0) == [0.0, 12.0]


def test_many_rods_in_little_room_are_counted():
    marks = [f"R{n}" for n in range(1, 8)]
    assert marks_text(marks, 8, 1000) == ", ".join(marks)
    assert marks_text(marks, 8, 60) == "R1 … R7"
    assert marks_text(marks, 8, 30) == "R1 +6"


def test_the_north_of_the_form_points_to_the_edge_that_is_the_back_as_installed():
    """Up on the plan as installed, whose back edge is above; down once turned over, where that edge lies below."""
    made = parse(example("01-counter-cored"))
    for turned in (False, True):
        plan = form_figures(made, turned=turned, width=498, size=8)[0]
        arrow = next(p for p in plan.items if isinstance(p, Polygon) and p.role == "note")
        (_, head), (_, wing), _ = arrow.rings[0]
        back = next(t for t in plan.texts() if t.text.startswith("BACK EDGE"))
        front = next(t for t in plan.texts() if t.text.startswith("FRONT EDGE"))
        assert (head < wing) == (back.y < front.y)
        assert any(t.text == "north of the form" for t in plan.texts())
