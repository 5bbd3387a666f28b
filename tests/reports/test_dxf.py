"""The DXF: sound by its library's audit, read a second time by nothing but the format's own pairs, true to size."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator

import ezdxf
import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, assume, given, settings

from engineering.core.contract import SpecificationRefused, parse
from jobs.models import Event, Role
from reports.drawing.dxf import LAYERS, to_dxf
from reports.drawing.form import form_figures
from reports.drawing.turned import turned_over
from reports.form_drawing import axis_length, foam_blocks
from tests.factories import document, make_design, newest, person
from tests.reports.documents import NAMES, documents, example
from tests.reports.test_drawing import overlaps


def accepted(made: dict) -> bool:
    try:
        parse(made)
    except SpecificationRefused:
        return False
    return True


def dxf_of(made: dict, *, turned: bool = False) -> bytes:
    piece = parse(made)
    figures = form_figures(piece, turned=turned, width=1000, size=9, enlarge=False)
    return to_dxf(figures, units=piece.units, title="T")


def pairs(data: bytes) -> Iterator[tuple[int, str]]:
    """Group codes and values, by the format alone: two lines each."""
    lines = data.decode("utf-8").splitlines()
    for code, value in zip(lines[::2], lines[1::2], strict=True):
        yield int(code), value


def entities(data: bytes) -> list[dict[int, list[str]]]:
    """The entities of the drawing itself, read without the library that wrote them."""
    found: list[dict[int, list[str]]] = []
    section, before = "", (0, "")
    for code, value in pairs(data):
        if before == (0, "SECTION") and code == 2:
            section = value
        elif section == "ENTITIES":
            if code == 0:
                found.append({})
            found[-1].setdefault(code, []).append(value.strip())
        before = (code, value.strip())
    return [each for each in found if each[0][0] not in ("ENDSEC", "SECTION")]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("turned", [False, True])
def test_the_audit_finds_nothing(name, turned):
    read = ezdxf.read(io.StringIO(dxf_of(example(name), turned=turned).decode()))
    audit = read.audit()
    assert (audit.errors, audit.fixes) == ([], [])


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(documents)
def test_what_is_accepted_is_drawn_and_sound(made):
    assume(accepted(made))
    data = dxf_of(made)
    assert not ezdxf.read(io.StringIO(data.decode())).audit().errors
    assert entities(data)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(documents)
def test_no_text_of_a_form_drawing_overlaps_another(made):
    assume(accepted(made))
    piece = parse(made)
    for turned in (False, True):
        for figure in form_figures(piece, turned=turned, width=498, size=8):
            assert not overlaps(figure), figure.title


@pytest.mark.parametrize("name", NAMES)
def test_a_second_reader_finds_the_dimensions_and_the_true_length(name):
    made = example(name)
    found = entities(dxf_of(made))
    kinds = Counter(each[0][0] for each in found)
    assert kinds["DIMENSION"] >= 5
    piece = parse(made)
    long = piece.length_in * (25.4 if piece.units == "si" else 1)
    outlines = [e for e in found if e[0] == ["LWPOLYLINE"] and e[8] == [LAYERS["outline"][0]]]
    widths = [max(map(float, e[10])) - min(map(float, e[10])) for e in outlines]
    assert max(widths) == pytest.approx(long, rel=1e-6)
    assert {e[8][0] for e in found if e[0] != ["VIEWPORT"]} <= {layer for layer, _ in LAYERS.values()}


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_foam_and_concrete_are_true_hatches_bound_by_closed_outlines(name, turned):
    """As many FOAM outlines as HATCHes of foam, each closed and each of them the boundary of one; no loose strokes."""
    piece = parse(example(name))
    read = ezdxf.read(io.StringIO(dxf_of(example(name), turned=turned).decode()))
    space = read.modelspace()
    outlines = list(space.query('LWPOLYLINE[layer=="FOAM"]'))
    hatches = [h for h in space.query("HATCH") if h.dxf.pattern_name == "ANSI37"]
    assert all(outline.closed for outline in outlines)
    bounds = {tuple(sorted((round(x, 6), round(y, 6)) for x, y, *_ in h.paths.paths[0].vertices)) for h in hatches}
    rings = {tuple(sorted((round(x, 6), round(y, 6)) for x, y, *_ in o.get_points())) for o in outlines}
    assert bounds == rings
    assert bool(rings) == any(zone.kind == "cored" for zone in piece.zones)
    assert not space.query('LINE[layer=="HATCH"]')
    assert not space.query('LWPOLYLINE[layer=="HATCH"]')
    assert any(h.dxf.pattern_name == "ANSI31" for h in space.query("HATCH"))


def test_dimensions_measure_what_their_text_says():
    read = ezdxf.read(io.StringIO(dxf_of(example("06-stair-tread-si")).decode()))
    checked = 0
    for entity in read.modelspace().query("DIMENSION"):
        text = entity.dxf.text.replace(",", "").replace("−", "-")
        assert float(text) == pytest.approx(entity.get_measurement(), abs=0.06)
        checked += 1
    assert checked >= 5


def test_turned_over_twice_is_as_it_was():
    piece = parse(example("24-stepped-depth"))
    twice = turned_over(turned_over(piece))
    for was, now in zip(piece.rods, twice.rods, strict=True):
        assert now.across_in == pytest.approx(was.across_in)
        assert [y for _, y in now.profile] == pytest.approx([y for _, y in was.profile])
    once = turned_over(piece)
    depth = max(zone.top_in for zone in piece.zones)
    assert [zone.soffit_in for zone in once.zones] == pytest.approx([depth - zone.top_in for zone in piece.zones])
    assert once.zones[0].start_in == piece.zones[0].start_in


def test_foam_and_sleeves_are_counted_from_the_geometry():
    piece = parse(example("01-counter-cored"))
    cored = [zone for zone in piece.zones if zone.kind == "cored"]
    assert sum(int(row[3]) for row in foam_blocks(piece)) == len(cored[0].rings) - 1
    rod = piece.rods[0]
    assert axis_length(rod) >= rod.profile[-1][0] - rod.profile[0][0] - 1e-9


def test_a_figure_that_is_not_to_scale_is_refused():
    piece = parse(example("01-counter-cored"))
    with pytest.raises(ValueError, match="not true to scale"):
        to_dxf(form_figures(piece, turned=False, width=498, size=8), units="us", title="T")


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.MANAGER, Role.ENGINEER, Role.CREW, Role.VIEWER])
def test_everybody_of_the_shop_takes_it_with_an_event_and_nobody_else(role):
    down, up = newest(make_design(document=document(cast="face-down"))), newest(make_design())
    client = Client()
    client.force_login(person(role))
    for revision, query, status in (
        (down, "", 200),
        (down, "?turned=yes", 200),
        (up, "", 200),
        (up, "?turned=yes", 404),
    ):
        address = reverse("revision_dxf", args=[revision.pk]) + query
        assert Client().get(address).status_code == 302
        before = Event.objects.filter(verb="drawing-taken").count()
        answer = client.get(address)
        assert answer.status_code == status
        assert Event.objects.filter(verb="drawing-taken").count() - before == (status == 200)
    assert "attachment" in client.get(reverse("revision_dxf", args=[up.pk]))["Content-Disposition"]
