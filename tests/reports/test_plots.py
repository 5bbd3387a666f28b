"""Plots: every stored value in the table and in its place on the paper; nothing outside; told apart without colour."""

from itertools import pairwise
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from engineering.core.contract import parse
from engineering.core.contract.units import QUANTITIES
from engineering.core.pipeline import run_checks
from jobs.models import Language, LoadTestReading, Role, Stage
from reports.drawing.figure import Line, Text
from reports.plot_data import load_curve, load_test_curve, result_plots, stressing_plots
from reports.plot_pages import page_plots
from reports.plots import Curve, Level, Plot, draw_plot
from reports.strength_plot import Gain, gain_of, strength_plot
from reports.words import number_text
from tests.factories import make_design, newest, person, piece_at
from tests.page_reading import as_read
from tests.reports.documents import HOSTILE, example
from tests.reports.test_drawing import overlaps
from tests.reports.whole_piece import whole_piece


@pytest.fixture(scope="module")
def result() -> dict:
    return run_checks(example("01-counter-cored"))


def test_every_stage_time_and_the_load_to_failure_is_plotted(result):
    assert [plot.key for plot in result_plots(result)] == [
        "stress-transfer",
        "stress-service-early",
        "stress-service-final",
        "stress-sustained-final",
        "moment",
        "rod-force",
        "crown",
        "load-to-failure",
    ]


def test_limits_and_worst_points_are_those_of_the_checks(result):
    checks = {check["name"]: check for check in result["checks"]}
    plot = result_plots(result)[0]
    values = {level.name: level.value for level in plot.levels}
    assert values == {
        "limit in tension": checks["transfer tension"]["capacity"],
        "limit in compression": -checks["transfer compression"]["capacity"],
    }
    assert plot.spots[-1].y == -checks["transfer compression"]["demand"]


def test_the_table_holds_every_stored_value_and_its_place(result):
    found = {plot.key: plot for plot in page_plots(result_plots(result))}
    series = result["series"]["stress.transfer.top"]
    rows = found["plot-stress-transfer"].rows
    assert [(row.x, row.cells[0].text) for row in rows] == [
        (number_text(x), number_text(y)) for x, y in zip(series["x"], series["y"], strict=True)
    ]
    places = [float(row.at) for row in rows]
    assert places == sorted(places)


def test_the_drawing_is_sound_and_styles_nothing_itself(result):
    for plot in page_plots(result_plots(result)):
        ElementTree.fromstring(plot.svg)
        assert "style=" not in plot.svg
        assert "<script" not in plot.svg


@given(
    st.lists(st.floats(-1e9, 1e9), min_size=2, max_size=30),
    st.floats(-1e10, 1e10),
    st.sampled_from(("limit", HOSTILE)),
    st.booleans(),
)
def test_nothing_leaves_the_paper_whatever_the_values(ys, level, name, ages):
    xs = [1.0 + 40 * i for i in range(len(ys))]
    plot = Plot("p", name, "x", "psi", (Curve(name, xs, ys),), (Level(name, level),), ages=ages)
    drawn = draw_plot(plot, width=500, height=150)
    assert drawn is not None
    for item in drawn.figure.items:
        if isinstance(item, Line):
            assert all(-0.5 <= x <= 500.5 and -0.5 <= y <= 150.5 for x, y in item.points)


def test_no_text_lies_on_another(result):
    for plot in result_plots(result):
        drawn = draw_plot(plot, width=498, height=150)
        assert drawn is not None
        assert not overlaps(drawn.figure), plot.key


def test_curves_differ_in_dash_as_well_as_in_colour(result):
    drawn = draw_plot(result_plots(result)[1], width=498, height=150)
    assert drawn is not None
    curves = [
        i for i in drawn.figure.items if isinstance(i, Line) and i.role.startswith("series") and len(i.points) > 2
    ]
    assert len({line.dash for line in curves}) == 4


def test_nothing_to_plot_is_no_plot():
    assert result_plots({"units": "us", "checks": [], "figures": {}, "series": {}}) == []
    assert draw_plot(Plot("p", "t", "x", "y", ()), width=100, height=100) is None


def test_a_measured_test_lies_over_the_predicted_curve(result):
    plot = load_curve(result, [(0.1, 900.0)])
    assert plot is not None
    assert [curve.name for curve in plot.curves] == ["predicted", "measured"]
    assert plot.curves[1].dots


def test_a_test_is_shown_as_far_as_it_went(result):
    """Its points fill the field; what lies far above is named at the edge and squeezes nothing."""
    whole = load_curve(result)
    assert whole is not None
    loads = whole.curves[0].y
    small = max(loads) / 20
    plot = load_test_curve(result, [(0.001, small / 2), (0.002, small)], full=small)
    assert plot is not None
    near = plot.curves[0]
    assert [load for load in near.y[:-1] if load > 1.25 * small] == []
    assert near.y == loads[: len(near.y)]
    assert ("full load of the plan", small) in [(level.name, level.value) for level in plot.levels]
    drawn = draw_plot(plot, width=400, height=200)
    assert drawn is not None
    assert drawn.axes.y_ticks[-1] < max(loads) / 2
    assert "(further up)" in " ".join(item.text for item in drawn.figure.items if isinstance(item, Text))
    assert load_test_curve(result, []) is None


def test_readings_stand_in_percent_of_their_targets():
    targets = {
        "rods": {"R1": {"elongation_in": 0.2, "torque_lbf_ft": 80.0}},
        "steps": [0.5, 1.0],
        "crown": {"low_in": 0.07, "high_in": 0.13, "limit_in": 0.45, "transfer_in": 0.1},
    }
    rows = [
        {"rod": "R1", "step": 0, "stretch_in": 0.11, "torque_lbf_ft": 40.0, "crown_in": None},
        {"rod": "R1", "step": 1, "stretch_in": 0.19, "torque_lbf_ft": None, "crown_in": 0.1},
    ]
    readings, crown = stressing_plots(targets, rows, "si")
    assert [round(y, 6) for y in readings.curves[0].y] == [110, 95]
    assert readings.curves[1].y == [100, None]
    assert crown.curves[0].y == [None, pytest.approx(2.54)]


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.MANAGER, Role.ENGINEER, Role.CREW, Role.VIEWER])
def test_everybody_of_the_shop_sees_the_plots_and_nobody_else(role):
    piece = piece_at(Stage.STRESSED)
    stressing = piece.stressings.get()
    addresses = [
        reverse("revision_plots", args=[newest(make_design()).pk]),
        reverse("stressing_plots", args=[stressing.pk]),
    ]
    client = Client()
    client.force_login(person(role))
    for address in addresses:
        assert Client().get(address).status_code == 302
        assert client.get(address).status_code == 200
        part = as_read(client.get(address, headers={"HX-Request": "true"}))
        assert "<html" not in part
    assert "Readings in percent of their targets as a table" in part
    assert "There is no finished result" not in part


@pytest.mark.django_db
def test_strength_is_drawn_against_age_with_the_curve_only_where_three_ages_were_tested():
    piece = whole_piece("01-counter-cored")
    gain = gain_of(piece.pour)
    assert [round(age) for age, _ in gain.tests] == [3, 7, 28]
    assert [mean for _, mean in gain.tests] == [t.mean_psi for t in piece.pour.strength_tests.order_by("at")]
    described = parse(piece.revision.specification.document)
    plot = strength_plot(gain, described)
    measured, curve = plot.curves
    assert measured.dots
    assert list(measured.y) == [mean for _, mean in gain.tests]
    assert (curve.x[0], curve.x[-1]) == pytest.approx((measured.x[0], measured.x[-1]))
    assert [level.value for level in plot.levels] == [4500, 7000]
    fewer = Gain(gain.tests[:2])
    assert len(strength_plot(fewer, described).curves) == 1
    assert "Three ages" in strength_plot(fewer, described).note
    assert strength_plot(Gain(), described) is None


@pytest.mark.django_db
def test_the_plots_of_a_piece_have_every_measured_value_in_a_table_beside_them():
    piece = whole_piece("06-stair-tread-si")
    client = Client()
    client.force_login(person(Role.VIEWER))
    page = client.get(reverse("piece_plots", args=[piece.pk]))
    assert page.status_code == 200
    text = page.content.decode()
    assert [f'id="piece-{piece.pk}-strength"' in text, f'id="load-{piece.pk}-load-to-failure"' in text] == [True, True]
    assert text.count('class="plot-field"') == text.count("<table>") >= 4
    for test in piece.pour.strength_tests.all():
        assert f">{number_text(QUANTITIES['stress'].from_us(test.mean_psi, 'si'))}</td>" in text
    for look in LoadTestReading.objects.filter(plan__piece=piece):
        assert f">{number_text(QUANTITIES['force'].from_us(look.load_lbf, 'si'))}</td>" in text
    for of, has, has_not in (("cure", "-strength", "-load-to-failure"), ("load", "-load-to-failure", "-strength")):
        part = client.get(reverse("piece_plots", args=[piece.pk]), {"of": of}).content.decode()
        assert f'{has}"' in part
        assert f'{has_not}"' not in part
    empty = client.get(reverse("piece_plots", args=[piece_at(Stage.ORDERED).pk]))
    assert "Nothing to plot yet" in empty.content.decode()
    assert Client().get(reverse("piece_plots", args=[piece.pk])).status_code == 302


@pytest.mark.django_db
def test_that_nothing_can_be_plotted_yet_is_said_in_the_language_of_the_page_it_stands_on():
    client, address = Client(), reverse("piece_plots", args=[piece_at(Stage.ORDERED).pk])
    client.force_login(person(Role.CREW, language=Language.SPANISH))
    part = client.get(address, {"of": "cure"}, headers={"HX-Request": "true"}).content.decode()
    assert '<p lang="es-mx">Todavía no hay nada que graficar.' in part
    assert '<p lang="en">Nothing to plot yet.' in client.get(address, {"of": "cure"}).content.decode()


def test_names_of_limits_give_way_to_the_curve_too():
    """Both loads of note lie beside the peak, the one point of such a curve that matters most; far left is room."""
    rise = Curve("predicted", [0.0, 0.075, 0.088, 0.08, 0.065], [0.0, 12.2, 14.4, 13.0, 11.0])
    levels = (Level("first crack", 12.2), Level("peak", 14.4), Level("lower bound for shear", 99.0))
    drawn = draw_plot(Plot("p", "T", "deflection, in", "lbf", (rise,), levels), width=400, height=150)
    places = [(drawn.axes.x(x), drawn.axes.y(y)) for x, y in zip(rise.x, rise.y, strict=True)]
    between = [((a + c) / 2, (b + d) / 2) for (a, b), (c, d) in pairwise(places)]
    for level in levels:
        left, top, right, bottom = next(t for t in drawn.figure.texts() if t.text.startswith(level.name)).box()
        assert not any(left < x < right and top < y < bottom for x, y in places + between), level.name


def test_names_of_limits_give_way_to_measured_points_and_never_lie_over_one():
    points = Curve("crown", [5.0, 6.0, 7.0, 8.0], [9.6] * 4, dots=True)
    plot = Plot("p", "T", "turn", "in", (points, Curve("c", [0, 8], [0, 1])), (Level("at the end", 10.0),))
    drawn = draw_plot(plot, width=400, height=150)
    name = next(t for t in drawn.figure.texts() if t.text.startswith("at the end"))
    left, top, right, bottom = name.box()
    for x, y in zip(points.x, points.y, strict=True):
        assert not (left < drawn.axes.x(x) < right and top < drawn.axes.y(y) < bottom)
    crowded = Curve("crown", [n / 10 for n in range(80)], [9.6] * 80, dots=True)
    items = draw_plot(Plot("p", "T", "turn", "in", (crowded,), plot.levels), width=400, height=150).figure.items
    place = next(n for n, item in enumerate(items) if getattr(item, "text", "").startswith("at the end"))
    dots = [n for n, item in enumerate(items) if type(item).__name__ == "Circle" and item.role == "series-1"]
    assert min(dots[1:]) > place  # the first is the sample in the key
