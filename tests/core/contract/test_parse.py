"""What an accepted document becomes: units, defaults, zones set flush, `like`."""

import copy
import dataclasses
import math

import pytest

from engineering.core.contract import parse
from engineering.core.contract.piece import RingRole


@pytest.mark.parametrize(
    "name",
    [
        "01-counter-cored",
        "04-bar-cantilever",
        "05-three-supports",
        "06-stair-tread-si",
        "18-fail-losses-low-yield",
        "24-stepped-depth",
    ],
)
def test_the_pieces_handed_over_are_accepted(accepted, name):
    piece = parse(accepted[name])
    assert piece.mark == accepted[name]["mark"]
    assert len(piece.rods) == len(accepted[name]["rods"])


def test_defaults_are_those_of_the_page(counter):
    for key in (
        "title",
        "cast",
        "core_density",
        "loads",
        "sustained_live",
        "installation",
        "environment",
        "handling",
        "criteria",
    ):
        del counter[key]
    for key in ("residual_tension", "cure_age"):
        del counter["concrete"][key]
    counter["stressing"] = {"age": 5, "method": "torque"}
    for key in ("curve", "stressed_from", "pocket"):
        del counter["rods"][0][key]
    counter["supports"] = [{"at": 6}, {"at": 90}]
    piece = parse(counter)
    assert (piece.title, piece.face_down, piece.core_density_pcf, piece.loads, piece.sustained_live) == (
        "",
        False,
        2,
        (),
        0,
    )
    assert (piece.installation_age_days, piece.handling) == (28, None)
    assert [(s.bearing_in, s.hold_down) for s in piece.supports] == [(1.5, False)] * 2
    assert (piece.concrete.cure_age_days, piece.concrete.variation_yield, piece.concrete.variation_ultimate) == (
        5,
        0.1,
        0.1,
    )
    assert piece.concrete.residual_tension_psi == pytest.approx(2000 / 3)
    assert piece.concrete.flexural_yield_at_stressing_psi == pytest.approx(1000 * math.sqrt(4500 / 7000))
    assert dataclasses.astuple(piece.environment) == (50, "interior-dry", 0)
    assert dataclasses.astuple(piece.criteria) == (360, 240, 30, 1.5, 0.375, 0.5, 240, None, None, None, None, None, 0)
    stressing = piece.stressing
    assert stressing is not None
    assert (stressing.nut_factor, stressing.scatter, stressing.seating_in) == (0.2, 0.25, 0)
    assert (stressing.steps, stressing.order, stressing.restress_days) == ((0.25, 0.5, 0.75, 1), ("R1", "R2"), ())
    rod = piece.rods[0]
    assert (rod.curve, rod.stressed_from, rod.pocket, rod.coating, rod.tail_in) == (
        "straight",
        "right",
        None,
        "plain",
        1.5,
    )
    assert (rod.anchor.yield_psi, rod.grade.modulus_psi, rod.grade.elongation) == (36_000, 29e6, 0.1)
    assert {"handling", "environment.exposure", "concrete.flexural_yield_at_stressing"} <= set(piece.defaulted)


@pytest.mark.parametrize(("method", "scatter"), [("torque", 0.25), ("elongation", 0.07), ("jack", 0.05)])
def test_scatter_follows_the_method(counter, method, scatter):
    counter["stressing"] = {"age": 7, "method": method}
    assert parse(counter).stressing.scatter == scatter


def test_a_piece_without_rods_needs_no_stressing(counter):
    del counter["rods"], counter["stressing"]
    piece = parse(counter)
    assert (piece.rods, piece.stressing, piece.concrete.cure_age_days) == ((), None, 7)


def test_a_silent_modulus_is_the_codes_and_said_to_be(counter):
    """ACI 318-19 19.2.2.1(a): 33 w^1.5 sqrt(f'c)."""
    del counter["concrete"]["modulus"]
    concrete = parse(counter).concrete
    assert concrete.modulus_psi == pytest.approx(33 * 130**1.5 * math.sqrt(7000))
    assert concrete.modulus_defaulted


# ---- like -----------------------------------------------------------------------------------------------------------


def test_like_takes_over_what_the_rod_is_silent_on(counter):
    first, second = parse(counter).rods
    assert (second.mark, second.across_in) == ("R2", 22.5)
    assert dataclasses.replace(second, mark="R1", across_in=2.5) == first


def test_like_may_point_forward_and_along_a_chain(counter):
    full, short = counter["rods"]
    counter["rods"] = [{"mark": "R3", "like": "R2", "across": 12, "profile": [[1.5, 1.5], [94.5, 1.5]]}, short, full]
    counter["rods"][0]["profile"] = [[1.5, 1.5], [94.5, 1.5]]
    counter["zones"][1]["shape"]["cores"] = [{"left": 5, "width": 3, "bottom": 0.5, "height": 1.75}]
    counter["stressing"]["order"] = ["R3", "R1", "R2"]
    third = parse(counter).rods[0]
    assert (third.mark, third.across_in, third.profile[0], third.anchor.hole_in) == ("R3", 12, (1.5, 1.5), 0.5625)


def test_another_way_of_jacking_replaces_the_one_taken_over(counter):
    counter["rods"][1]["torque"] = 70
    second = parse(counter).rods[1]
    assert second.jacking_given_as == "torque"
    assert second.jacking_force_lbf == pytest.approx(70 * 12 / (0.2 * 0.5))


def test_jacking_stress_acts_on_the_rods_area(counter):
    del counter["rods"][0]["jacking_force"]
    counter["rods"][0]["jacking_stress"] = "65 ksi"
    rod = parse(counter).rods[0]
    assert rod.jacking_force_lbf == pytest.approx(65_000 * 0.7854 * (0.5 - 0.9743 / 13) ** 2, rel=1e-5)


# ---- grades and threads ---------------------------------------------------------------------------------------------


def test_a_grade_of_ones_own(counter):
    counter["rods"][0]["grade"] = {"name": "bar", "yield": "120 ksi", "ultimate": "150 ksi", "area": "0.16 in2"}
    rod = parse(counter).rods[0]
    assert (rod.area_in2, rod.grade.standard, rod.grade.modulus_psi) == (0.16, False, 29e6)


@pytest.mark.parametrize(
    ("thread", "grade", "modulus"),
    [
        ("1/2", "A193 B7", 29e6),
        ("1/2", "A193 B8", 28e6),
        ("M12", "8.8", 200e9 / 6894.757293168361),
        ("M12", "A4-70", 193e9 / 6894.757293168361),
    ],
)
def test_the_modulus_of_a_rod(counter, thread, grade, modulus):
    counter["rods"][0] |= {"thread": thread, "grade": grade}
    assert parse(counter).rods[0].grade.modulus_psi == pytest.approx(modulus)


def test_a_size_over_the_grades_band_is_refused_at_the_key_that_made_it(counter, faults_of):
    counter["rods"][0] |= {"thread": "1-1/8", "grade": "A193 B8 Class 2"}
    counter["rods"][0]["sleeve"]["outside"] = counter["rods"][0]["anchor"]["hole"] = 1.25
    assert faults_of(counter) == {"rods[0].grade": "A193 B8 Class 2 is made up to 1 in; 1-1/8-7 UNC is larger"}


# ---- sections -------------------------------------------------------------------------------------------------------


def test_zones_are_flush_at_the_top_unless_lifted(accepted):
    first, middle, last = parse(accepted["24-stepped-depth"]).zones
    assert (first.soffit_in, middle.soffit_in, last.soffit_in) == (1, 0, 1)
    assert {zone.top_in for zone in (first, middle, last)} == {4}


def test_a_shape_may_give_its_soffit(accepted):
    document = copy.deepcopy(accepted["24-stepped-depth"])
    document["zones"][0]["shape"]["bottom"] = 0.5
    assert parse(document).zones[0].soffit_in == 0.5


def test_an_apron_is_one_ring_with_its_legs(counter):
    counter["zones"] = [
        {
            "to": 96,
            "shape": {
                "type": "apron",
                "width": 25,
                "depth": 1,
                "front": {"thickness": 4, "drop": 2},
                "back": {"thickness": 5, "drop": 1},
            },
        }
    ]
    counter["rods"][1]["profile"] = [[1.5, 1.25], [94.5, 1.25]]
    zone = parse(counter).zones[0]
    assert zone.depth_in == 3
    assert zone.rings[0].points == ((0, 0), (4, 0), (4, 2), (20, 2), (20, 1), (25, 1), (25, 3), (0, 3))


def test_rails_carry_area_loads_on_the_sum_of_their_widths(counter):
    box = {"width": 4, "bottom": 0, "height": 3}
    counter["zones"] = [{"to": 96, "shape": {"type": "rails", "rails": [{"left": 0, **box}, {"left": 21, **box}]}}]
    zone = parse(counter).zones[0]
    assert (zone.width_in, zone.load_width_in, len(zone.rings)) == (25, 8, 2)


def test_a_rod_in_the_open_between_rails_is_refused(counter, faults_of):
    box = {"width": 4, "bottom": 0, "height": 3}
    counter["zones"][1]["shape"] = {"type": "rails", "rails": [{"left": 0, **box}, {"left": 21, **box}]}
    counter["rods"][1]["across"] = 12
    assert list(faults_of(counter)) == ["rods[1].across"]


def test_an_outline_keeps_its_holes_empty_and_turns_its_rings_round(counter):
    counter["zones"] = [
        {
            "to": 96,
            "shape": {
                "type": "outline",
                "outer": [[0, 0], [0, 3], [25, 3], [25, 0], [0, 0]],
                "holes": [[[10, 1], [10, 2], [12, 2], [12, 1]]],
            },
        }
    ]
    outer, hole = parse(counter).zones[0].rings
    assert (outer.role, hole.role) == (RingRole.CONCRETE, RingRole.VOID)
    assert len(outer.points) == 4
    assert all(
        sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(r.points, (*r.points[1:], r.points[0]), strict=True)) > 0
        for r in (outer, hole)
    )


def test_a_draped_rod_must_stay_inside_between_its_points(accepted, faults_of):
    document = copy.deepcopy(accepted["24-stepped-depth"])
    for rod in document["rods"]:
        rod["profile"] = [[1.5, 1.5], [55, 0.2], [108.5, 1.5]]
    assert set(faults_of(document)) == {"rods[0].profile", "rods[1].profile"}


def test_a_parabola_is_looked_at_where_it_turns(counter, faults_of):
    counter["rods"][0] |= {"curve": "parabola", "profile": [[1.5, 1.5], [20, 0.2], [94.5, 1.5]]}
    faults = faults_of(counter)
    assert list(faults) == ["rods[0].profile"]
    assert "-" in faults["rods[0].profile"]


def test_supports_come_out_in_order_and_loads_keep_theirs(counter):
    counter["supports"].reverse()
    piece = parse(counter)
    assert [s.at_in for s in piece.supports] == [6, 90]
    assert [load.kind for load in piece.loads] == ["line", "area", "point"]
