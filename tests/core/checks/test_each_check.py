"""Each check: passes on a sound piece, turns when its capacity is broken, says why where it does not apply, keeps
the worst variant."""

import copy
from functools import cache
from typing import Any

import pytest

from engineering.core.checks import CHECKS
from engineering.core.pipeline import run_checks
from tests.core.checks.variety import CORED
from tests.core.pieces import ROD, document

ANCHOR = {"width": 3, "height": 2, "thickness": 0.625, "hole": 0.5625}
SOUND_ROD = {**ROD, "anchor": ANCHOR, "sleeve": {"outside": 0.75, "friction": 0.15, "wobble": 0.0005}}
SOLID = {"type": "solid", "width": 24, "depth": 3}
THREE = [{"at": 4}, {"at": 48}, {"at": 92}]


def rods(**changes: Any) -> list[dict[str, Any]]:
    return [{**copy.deepcopy(SOUND_ROD), **changes}, {"mark": "R2", "like": "R1", "across": 18}]


def sound(**changes: Any) -> dict[str, Any]:
    return document(**{"rods": rods(), "environment": {"exposure": "interior-dry"}, **changes})


def cored(**changes: Any) -> dict[str, Any]:
    zones = [{"to": 8, "shape": SOLID}, {"to": 88, "shape": CORED}, {"to": 96, "shape": SOLID}]
    return sound(zones=zones, rods=[{**SOUND_ROD, "across": 4}, {"mark": "R2", "like": "R1", "across": 20}], **changes)


NO_RODS = {"rods": None, "stressing": None}
TIP = [{"case": "live", "type": "point", "value": 60, "at": 0, "alone": True}]
OVERHANG = [{"at": 30}, {"at": 92}]

# name: (the verdict of trouble, a piece in trouble, a piece it does not apply to, and what the sound piece is where
# not the plain strip)
TABLE: dict[str, tuple[str, dict[str, Any], dict[str, Any] | None, dict[str, Any] | None]] = {
    "rod stress at jacking": ("fail", sound(rods=rods(jacking_force=13500)), sound(**NO_RODS), None),
    "rod stress after transfer": ("fail", sound(rods=rods(jacking_force=12000)), sound(**NO_RODS), None),
    "rod twist while tightening": (
        "fail",
        sound(rods=rods(jacking_force=11500)),
        sound(stressing={"method": "jack"}),
        None,
    ),
    "thread grip": (
        "review",
        sound(rods=rods(grade={"name": "soft thread", "yield": 105000, "ultimate": 125000, "area": 0.25})),
        sound(**NO_RODS),
        None,
    ),
    "rod force left": ("review", sound(concrete={"shrinkage": 0.0014}), sound(**NO_RODS), None),
    "strength at stressing": ("fail", sound(concrete={"strength_at_stressing": 2400}), sound(**NO_RODS), None),
    "transfer compression": (
        "fail",
        sound(concrete={"strength_at_stressing": 600, "flexural_yield_at_stressing": 900}),
        sound(**NO_RODS),
        None,
    ),
    "transfer tension": (
        "fail",
        sound(rods=rods(profile=[[2, 0.6], [94, 0.6]]), criteria={"transfer_tension": 180}),
        sound(**NO_RODS),
        None,
    ),
    "tightening one after another": ("fail", sound(criteria={"transfer_tension": 20}), sound(**NO_RODS), None),
    "uneven rods": (
        "fail",
        sound(rods=rods(profile=[[2, 0.6], [94, 0.6]]), criteria={"transfer_tension": 180}),
        sound(rods=[{**SOUND_ROD, "across": 12}]),
        None,
    ),
    "compression under sustained load": (
        "fail",
        sound(concrete={"strength": 850, "flexural_yield_at_stressing": 800}),
        None,
        None,
    ),
    "compression under full load": (
        "fail",
        sound(concrete={"strength": 600, "flexural_yield_at_stressing": 800}),
        None,
        None,
    ),
    "tension under sustained load": ("fail", sound(loads=[{"case": "dead", "type": "area", "value": 150}]), None, None),
    "tension under full load": ("fail", sound(loads=[{"case": "live", "type": "area", "value": 250}]), None, None),
    "skin over the core": (
        "review",
        cored(loads=[{"case": "live", "type": "point", "value": 600, "at": 48}]),
        sound(),
        cored(),
    ),
    "flexural strength": ("fail", sound(loads=[{"case": "live", "type": "area", "value": 300}]), None, None),
    "hanging on its rods": ("review", sound(loads=[{"case": "live", "type": "area", "value": 900}]), None, None),
    "after the first crack": (
        "caution",
        sound(),
        sound(**NO_RODS),
        sound(
            concrete={"flexural_yield": 120, "flexural_ultimate": 300, "residual_tension": 60},
            rods=rods(profile=[[2, 0.7], [94, 0.7]]),
            loads=[{"case": "live", "type": "area", "value": 20}],
        ),
    ),
    "one rod lost": (
        "caution",
        sound(concrete={"flexural_yield": 300, "flexural_ultimate": 900, "residual_tension": 100}),
        sound(**NO_RODS),
        None,
    ),
    "shear": (
        "fail",
        sound(loads=[{"case": "live", "type": "area", "value": 1500}]),
        sound(
            length=8,
            zones=[{"to": 8, "shape": SOLID}],
            supports=[{"at": 2, "bearing": 2}, {"at": 6, "bearing": 2}],
            handling=None,
            **NO_RODS,
        ),
        None,
    ),
    "bearing under the plate at stressing": (
        "fail",
        sound(concrete={"strength_at_stressing": 1500}),
        sound(**NO_RODS),
        None,
    ),
    "bearing under the plate in service": ("fail", sound(concrete={"strength": 2000}), sound(**NO_RODS), None),
    "bursting": ("fail", sound(criteria={"bursting": 40}), sound(**NO_RODS), sound(criteria={"bursting": 300})),
    "plate thickness": ("review", sound(rods=rods(anchor={**ANCHOR, "thickness": 0.25})), sound(**NO_RODS), None),
    "cover": ("fail", sound(rods=rods(profile=[[2, 1.25], [48, 0.7], [94, 1.25]])), sound(**NO_RODS), None),
    "spacing": (
        "fail",
        sound(rods=[SOUND_ROD, {"mark": "R2", "like": "R1", "across": 7}]),
        sound(rods=[{**SOUND_ROD, "across": 12}]),
        None,
    ),
    "plate edge and pocket wall": (
        "review",
        sound(rods=rods(anchor={**ANCHOR, "height": 2.25})),
        sound(**NO_RODS),
        None,
    ),
    "crown at stressing": ("fail", sound(criteria={"crown": 20000}), sound(**NO_RODS), None),
    "live-load deflection": ("fail", sound(criteria={"live_deflection": 20000}), None, None),
    "long-term deflection": ("fail", sound(criteria={"long_deflection": 20000}), None, None),
    "holding down": (
        "fail",
        sound(supports=OVERHANG, loads=[{**TIP[0], "value": 400}]),
        sound(loads=[]),
        sound(supports=OVERHANG, loads=TIP),
    ),
    "bearing on the supports": (
        "fail",
        sound(criteria={"support_pressure": 5}),
        sound(),
        sound(criteria={"support_pressure": 500}),
    ),
    "uneven supports": (
        "fail",
        sound(supports=THREE, criteria={"support_tolerance": 1}),
        sound(),
        sound(supports=THREE, criteria={"support_tolerance": 0.02}),
    ),
    "load off the middle": (
        "review",
        sound(loads=[{"case": "live", "type": "area", "value": 50, "across": 9}]),
        sound(),
        sound(loads=[{"case": "live", "type": "area", "value": 50, "across": 12}]),
    ),
    "handling": (
        "fail",
        sound(handling={"lift_points": [20, 76], "age": 2, "strength": 2500, "flexural_yield": 30}),
        None,
        None,
    ),
    "corrosion": ("review", sound(environment={"exposure": "exterior"}), sound(**NO_RODS), None),
    "first-crack margin": ("review", sound(loads=[{"case": "live", "type": "area", "value": 250}]), None, None),
}


@cache
def checks_of(key: str, which: str) -> list[dict[str, Any]]:
    _, trouble, not_applying, fit = TABLE[key]
    piece = {"trouble": trouble, "not applicable": not_applying, "sound": fit or sound()}[which]
    assert piece is not None
    return [
        check
        for check in run_checks(piece)["checks"]
        if check["name"] == key or check["name"].startswith(key + " R") or check["name"].startswith(key + " 1")
    ]


def test_the_table_has_every_check() -> None:
    assert list(TABLE) == [name for name, _ in CHECKS]


@pytest.mark.parametrize("key", TABLE)
def test_a_sound_piece_passes(key: str) -> None:
    found = checks_of(key, "sound")
    assert found
    assert all(check["verdict"] == "pass" for check in found), found


@pytest.mark.parametrize("key", TABLE)
def test_broken_capacity_shows(key: str) -> None:
    found = checks_of(key, "trouble")
    wanted = TABLE[key][0]
    assert any(check["verdict"] == wanted for check in found), found
    for check in found:
        if check["verdict"] == wanted and check["ratio"] is not None and wanted != "review":
            assert check["ratio"] > 1


@pytest.mark.parametrize("key", [key for key, row in TABLE.items() if row[2] is not None])
def test_where_it_does_not_apply_it_says_why(key: str) -> None:
    found = checks_of(key, "not applicable")
    assert found
    for check in found:
        assert check["verdict"] == "not applicable"
        assert check["why"]
        assert check["ratio"] is None


WORST = {
    "rod stress at jacking R1": ("high",),
    "rod stress after transfer R1": ("high", "front_high"),
    "rod force left R1": ("low", "back_high"),
    "flexural strength": ("low", "front_high", "back_high"),
    "bearing under the plate at stressing R1": ("high", "front_high"),
    "bursting R1": ("high", "front_high"),
    "crown at stressing": ("high",),
    "uneven rods": ("front_high", "back_high"),
    "first-crack margin": ("low", "front_high", "back_high"),
    "cover R1": ("nominal",),
    "handling": ("nominal",),
    "transfer tension": ("nominal", "high", "low"),
}


@pytest.mark.parametrize("name", WORST)
def test_the_worst_of_the_five_variants_is_kept(name: str) -> None:
    piece = sound(rods=rods(profile=[[2, 0.9], [94, 0.9]])) if name in ("uneven rods", "transfer tension") else sound()
    check = next(check for check in run_checks(piece)["checks"] if check["name"] == name)
    assert check["variant"] in WORST[name]


def test_verdicts_of_the_whole() -> None:
    assert run_checks(sound())["verdict"] == "pass"
    assert run_checks(sound(handling=None))["verdict"] == "review"
    without = {key: value for key, value in document()["concrete"].items() if key != "modulus"}
    assert run_checks({**sound(), "concrete": without})["verdict"] == "review"
    assert run_checks(sound(rods=rods(jacking_force=13500)))["verdict"] == "fail"
    assert run_checks(sound(environment={"exposure": "exterior"}))["verdict"] == "review"


def test_a_caution_leaves_the_verdict() -> None:
    result = run_checks(sound())
    assert any(check["verdict"] == "caution" for check in result["checks"])
    assert result["verdict"] == "pass"
    assert any("Brittle after the first crack" in words for words in result["cautions"])


def test_settings_are_marked() -> None:
    marked = {check["name"].removesuffix(" R1") for check in run_checks(sound())["checks"] if check["setting"]}
    assert {"transfer tension", "cover", "bursting", "holding down", "rod force left"} <= marked
    assert not {"transfer compression", "shear", "rod stress at jacking"} & marked
