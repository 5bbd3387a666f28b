"""Ratios of checks and figures of one plain strip, calculated by hand beside them: exact arithmetic of each rule as
checks.md's clauses give it. The strip: 96 × 24 × 3 in, supports at 4 and 92 in, two 1/2-13 B7 rods of 9,000 lbf at
z = 6 and 18, 1.25 in up, measured by stretch (±7 %)."""

from functools import cache
from math import pi, sqrt
from typing import Any

import numpy as np
import pytest

from engineering.core.batching import Batch
from engineering.core.contract import parse
from engineering.core.pipeline import run_checks
from tests.core.pieces import ROD, document

HIGH = 1.07 * 9000
AREA = pi / 4 * (0.5 - 0.9743 / 13) ** 2
PLATE = 3 * 2.25 - pi / 4 * 0.75**2
OWN, LIVE = 24 * 3 * 130 / 1728, 50 * 2 / 12  # lbf/in
SHEAR = 2 * 0.975 * sqrt(7000)  # λ = 0.0075 × 130
OVERHANG = 4 * 2 / 88  # of a unit line load on one overhang: shear in the span, and change of the near reaction


@cache
def result() -> dict[str, Any]:
    return run_checks(document())


def ratio(name: str) -> float:
    return next(check["ratio"] for check in result()["checks"] if check["name"] == name)


def figure(name: str) -> float:
    return result()["figures"][name]["value"]


def test_bursting() -> None:
    """Across: h = twice 6 in, a = 3 in. Upright: h = 3, a = 2.25, b = 3 + 1.5. Limit 0.4 LOP_k at stressing."""
    assert figure("anchor.R1.bursting") == pytest.approx(0.25 * 9000 * (1 - 3 / 12), rel=1e-9)
    force = 0.25 * 1.2 * HIGH
    stress = max(force * (1 - 2.25 / 3) / (4.5 * 1.5), force * (1 - 3 / 12) / (3 * 6))
    limit = 0.4 * 1000 * sqrt(4500 / 7000) * (1 - 2.539 * 0.1)
    assert ratio("bursting R1") == pytest.approx(stress / limit, rel=1e-9)


def test_bearing_under_the_plate() -> None:
    """The plate grows 1.25/1.125 times before it meets the bottom."""
    grown = (1.25 / 1.125) ** 2
    limit = min(0.8 * 4500 * sqrt(grown - 0.2), 1.25 * 4500)
    assert ratio("bearing under the plate at stressing R1") == pytest.approx(1.2 * HIGH / PLATE / limit, rel=1e-9)


def test_plate_thickness() -> None:
    strip, pressure = (3 - 1.5 * 0.5) / 2, 1.2 * HIGH / PLATE
    assert ratio("plate thickness R1") == pytest.approx(strip * sqrt(2 * pressure / (0.9 * 36000)) / 0.5, rel=1e-9)


def test_rod_stress_and_twist() -> None:
    sigma, torque = HIGH / AREA, 0.20 * 0.5 * HIGH
    tau = 16 * (torque / 2) / (pi * (4 * AREA / pi) ** 1.5)
    assert ratio("rod stress at jacking R1") == pytest.approx(sigma / min(0.94 * 105e3, 0.80 * 125e3), rel=1e-9)
    assert ratio("rod twist while tightening R1") == pytest.approx(sqrt(sigma**2 + 3 * tau**2) / 105e3, rel=1e-9)


def test_shear_half_a_depth_off_the_bearing() -> None:
    """At x = 4 + 1 + 1.5 in; d_p is 0.8 of 3 in; V Q/(I b) is 1.5 V/A. The live parts in the span and on the left
    overhang add up, that on the right is off."""
    x = 6.5
    dead = OWN * 96 / 2 - OWN * x
    live = LIVE * (88 / 2 - (x - 4) + OVERHANG)
    force = max(1.4 * dead, 1.2 * dead + 1.6 * live)
    stress = max(force / (24 * 2.4), 1.5 * force / (24 * 3))
    assert ratio("shear") == pytest.approx(stress / (0.75 * SHEAR), rel=1e-9)
    bound = SHEAR * 24 * 2.4 / (0.5 - x / 96) - OWN * 96
    assert figure("load_test.shear_bound") == pytest.approx(bound, rel=1e-6)


@pytest.mark.parametrize("at", [20, 76])
def test_shear_of_a_load_near_either_end(at: int) -> None:
    """A point load in the span: the nearer support's reaction less what lies outside x = 6.5 or 89.5 in. V Q/(I b) is
    1.5 V/A."""
    live = 900.0 * 72 / 88
    force = 1.2 * OWN * (48 - 6.5) + 1.6 * live
    spec = document(loads=[{"label": "press", "case": "live", "type": "point", "value": 900, "at": at}])
    found = next(check for check in run_checks(spec)["checks"] if check["name"] == "shear")
    assert found["ratio"] == pytest.approx(1.5 * force / (24 * 3) / (0.75 * SHEAR), rel=1e-9)
    assert found["at"] == pytest.approx(6.5 if at == 20 else 89.5)


def test_load_at_which_the_load_test_reaches_the_shear_bound() -> None:
    """V = (W + p)(1/2 − 6.5/96) at the same place, in uniform load on the whole length; V/(24 × 2.4 in) = 2λ√f'c."""
    most = SHEAR * 24 * 0.8 * 3
    assert figure("load_test.shear_bound") == pytest.approx(most / (0.5 - 6.5 / 96) - 96 * OWN, rel=1e-6)


def test_crown_left_under_service_load() -> None:
    """−5 w L⁴/(384 E I) of own weight, dead and all live load, + P e L²/(8 E I) of the rods after transfer, elastic,
    with the modulus of 28 days throughout; the section less two sleeves half an inch under its middle. Ends flush."""
    hair = {**ROD, "profile": [[0, 1.0], [96, 1.0]], "sleeve": {"outside": 0.51, "friction": 0, "wobble": 0}}
    found = run_checks(
        document(
            supports=[{"at": 0.001}, {"at": 95.999}],
            handling=None,
            rods=[hair, {"mark": "R2", "like": "R1", "across": 18}],
            loads=[{"case": "live", "type": "area", "value": 50}, {"case": "dead", "type": "line", "value": 6}],
        )
    )["figures"]
    rods = sum(found[f"rod.{mark}.force_transfer"]["value"] for mark in ("R1", "R2"))
    hole = 2 * pi / 4 * 0.51**2
    shift = 0.5 * hole / (72 - hole)  # of the centroid, upward
    stiff, e = 2.5e6 * (54 + 72 * shift**2 - hole * (0.5 + shift) ** 2), 0.5 + shift
    down = 5 * (OWN + LIVE + 0.5) * 96**4 / (384 * stiff)
    by_hand = rods * e * 96**2 / (8 * stiff) - down
    assert found["load_test.crown_left_at_service"]["value"] == pytest.approx(by_hand, rel=0.002)


def test_pressure_on_a_support() -> None:
    reaction = OWN * 48 + LIVE * (88 / 2 + 4 + OVERHANG)
    assert figure("reaction.1.pressure") == pytest.approx(reaction / (2 * 24), rel=1e-9)


def test_room_around_sleeves_and_plates() -> None:
    assert ratio("cover R1") == pytest.approx(0.375 / (1.25 - 0.375), rel=1e-9)
    assert ratio("spacing R1") == pytest.approx(0.75 / (12 - 0.75), rel=1e-9)
    assert ratio("plate edge and pocket wall R1") == pytest.approx(0.25 / 0.125, rel=1e-9)


def test_handling() -> None:
    """Lift points 20 and 76 in: 1.5 × self weight, M = 1.5 w 20²/2 over them, in the middle 1.5 w (48 × 28 − 48²/2).
    Modulus of the net section with two sleeves of 0.75 in: the bottom nearer the centroid's fall."""
    hole = pi * 0.375**2
    area = 72 - 2 * hole
    centroid = (72 * 1.5 - 2 * hole * 1.25) / area
    inertia = 24 * 27 / 12 + 72 * (1.5 - centroid) ** 2 - 2 * (pi * 0.375**4 / 4 + hole * (1.25 - centroid) ** 2)
    moment = 1.5 * OWN * max(20**2 / 2, 48 * 28 - 48**2 / 2)
    tension = moment * max(centroid, 3 - centroid) / inertia
    assert figure("handling.tension") == pytest.approx(tension, rel=1e-6)
    assert ratio("handling") == pytest.approx(1.5 / (1000 * sqrt(2500 / 7000) / tension), rel=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.4, 1.0])
def test_long_term_deflection_without_creep(share: float) -> None:
    """No creep, no rods: what finishes feel is all dead and live load that comes after, whatever part of it is
    sustained: 5 (w_D + w_L) L⁴/(384 E I)."""
    found = run_checks(
        document(
            rods=None,
            stressing=None,
            supports=[{"at": 0}, {"at": 96}],
            concrete={"creep": 0},
            sustained_live=share,
            loads=[{"case": "live", "type": "line", "value": 60}, {"case": "dead", "type": "line", "value": 36}],
        )
    )
    wanted = 5 * (60 + 36) / 12 * 96**4 / (384 * 2.5e6 * 24 * 27 / 12)
    assert found["figures"]["deflection.long"]["value"] == pytest.approx(wanted, rel=1e-4)


def test_creep_of_a_plain_strip() -> None:
    """No rods: own weight from day 7, dead load from day 28, ACI 209R-92 in time to 30 years, at mid-span
    5 w L⁴/(384 I) × strain per stress."""
    found = run_checks(
        document(
            rods=None,
            stressing=None,
            supports=[{"at": 0}, {"at": 96}],
            loads=[{"case": "dead", "type": "line", "value": 36}],
        )
    )["figures"]

    def crept(days: float) -> float:
        return days**0.6 / (10 + days**0.6)

    young, old, creep, life = 2.0e6, 2.5e6, 1.6, 30 * 365.25
    beam = 5 * 96**4 / (384 * 24 * 27 / 12)
    own_early, own_late = ((1 + creep * crept(age - 7)) / young for age in (28.0, life))
    later = 1 / old + creep * (28 / 7) ** -0.118 * crept(life - 28) / young
    assert found["crown.installed"]["value"] == pytest.approx(-beam * OWN * own_early, rel=1e-4)
    assert found["crown.final"]["value"] == pytest.approx(-beam * (OWN * own_late + 3 * later), rel=1e-4)


def test_the_only_rod_lost() -> None:
    """D + 0.5 L on the section with its sleeve and no rod; bottom of the middle, live on the span alone."""
    one = {**document()["rods"][0], "across": 12}
    found = run_checks(document(rods=[one]))["checks"]
    hole = pi * 0.375**2
    area = 72 - hole
    centroid = (72 * 1.5 - hole * 1.25) / area
    inertia = 54 + 72 * (1.5 - centroid) ** 2 - (pi * 0.375**4 / 4 + hole * (1.25 - centroid) ** 2)
    moment = (OWN + 0.5 * LIVE) * 88**2 / 8 - OWN * 4**2 / 2
    wanted = moment * centroid / inertia / (1000 * (1 - 2.539 * 0.1))
    lost = next(check for check in found if check["name"] == "one rod lost")
    assert lost["ratio"] == pytest.approx(wanted, rel=1e-6)


def test_holding_down_counts_what_the_rods_press_and_lift() -> None:
    """On three supports the rods' secondary reactions press or lift: least (R_dead + R_rods)/(−R_live_min), of the
    result's own reactions, whose parts stand against closed forms and a frame library elsewhere."""
    draped = {**ROD, "profile": [[2, 1.4], [48, 1.45], [94, 1.4]]}
    tip = {"case": "live", "type": "point", "value": 90, "at": 0, "alone": True}
    found = run_checks(
        document(
            supports=[{"at": 16}, {"at": 48}, {"at": 92}],
            rods=[draped, {"mark": "R2", "like": "R1", "across": 18}],
            loads=[tip],
            handling=None,
        )
    )["figures"]
    parts = {k: [found[f"reaction.{k}.{name}"]["value"] for name in ("dead", "rods", "live_min")] for k in (1, 2, 3)}
    assert any(abs(rods) > 5 for _, rods, _ in parts.values())
    lifted = {k: (dead + rods) / -live for k, (dead, rods, live) in parts.items() if live < -1e-6}
    assert found["uplift.factor"]["value"] == pytest.approx(max(0.0, min(lifted.values())), rel=1e-6)
    assert 0 < found["uplift.factor"]["value"] < 20


def test_hanging_on_its_rods() -> None:
    """D + 0.5 L on the span alone, over M_n in the middle, forces without scatter: M = w (88²/8 − 4²/2) of own weight,
    w 88²/8 of live load in the span."""
    found = run_checks(document(stressing={"scatter": 0.0}))
    moment = OWN * (88**2 / 8 - 4**2 / 2) + 0.5 * LIVE * 88**2 / 8
    ratio = next(check["ratio"] for check in found["checks"] if check["name"] == "hanging on its rods")
    assert ratio == pytest.approx(moment / found["figures"]["moment.nominal"]["value"], rel=1e-6)


def test_first_crack_margin_of_a_plain_strip() -> None:
    """No rods: 1.5 × M/S of own weight and the live load in the span, S = 24 × 3²/6, over 1,000 psi."""
    found = run_checks(document(rods=None, stressing=None))
    moment = OWN * (88**2 / 8 - 4**2 / 2) + LIVE * 88**2 / 8
    ratio = next(check["ratio"] for check in found["checks"] if check["name"] == "first-crack margin")
    assert ratio == pytest.approx(1.5 * moment / 36 / 1000, rel=1e-6)


def test_the_five_variants_of_a_check_run() -> None:
    """9,000 lbf ± 7 %: nominal, high, low, front high and back low, the reverse; R1 in front, R2 behind."""
    force = Batch.check_run(parse(document())).rods.jacking_lbf
    up, down = 1.07 * 9000, 0.93 * 9000
    assert force == pytest.approx(np.array([[9000, 9000], [up, up], [down, down], [up, down], [down, up]]))


@pytest.mark.parametrize(("kind", "share"), [("solid", 1.0), ("outline", 0.5)])
def test_strength_by_uncracked_fibre_concrete(kind: str, share: float) -> None:
    """No rods: (1.2 D + 1.6 L) M/S over 0.75 s f'u, f'u = MOR_k/3 = 2,000 (1 − 2.539 × 0.10)/3, s = 1 for `solid` and
    0.5 for every other shape, be it the same rectangle (PCI MNL-128, from memory)."""
    shape = {
        "solid": {"type": "solid", "width": 24, "depth": 3},
        "outline": {"type": "outline", "outer": [[0, 0], [24, 0], [24, 3], [0, 3]], "holes": []},
    }[kind]
    found = run_checks(document(rods=None, stressing=None, zones=[{"to": 96, "shape": shape}]))
    moment = 1.2 * OWN * (88**2 / 8 - 4**2 / 2) + 1.6 * LIVE * 88**2 / 8
    ratio = next(check["ratio"] for check in found["checks"] if check["name"] == "flexural strength")
    assert ratio == pytest.approx(moment / 36 / (0.75 * share * 2000 * (1 - 2.539 * 0.10) / 3), rel=1e-6)


def test_weight_of_a_piece_with_a_foam_core() -> None:
    """96 × 24 × 3 in at 130 lb/ft³ less a core of 10 × 1.5 in, which weighs 20 lb/ft³."""
    core = {"left": 7, "width": 10, "bottom": 0.75, "height": 1.5}
    shape = {"type": "cored", "width": 24, "depth": 3, "cores": [core]}
    found = run_checks(document(rods=None, stressing=None, zones=[{"to": 96, "shape": shape}], core_density=20))[
        "figures"
    ]
    concrete, foam = 96 * (72 - 15) / 1728, 96 * 15 / 1728
    assert found["batch.volume"]["value"] == pytest.approx(concrete)
    assert found["weight"]["value"] == pytest.approx(130 * concrete + 20 * foam)
    assert found["reaction.1.dead"]["value"] == pytest.approx((130 * concrete + 20 * foam) / 2)
