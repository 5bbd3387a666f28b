"""Specifications and made-up results for drawings and records: their looks are tested, not the engine's figures."""

from __future__ import annotations

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from engineering.core.contract import canonical_hash

EXAMPLES = Path(__file__).parents[1] / "core" / "independent" / "data"  # where they are from: the README there
NAMES = sorted(file.stem for file in EXAMPLES.glob("*.json"))
HOSTILE = "<script>alert('x')</script> & \"quotes\" ]]> \U0001f600 שלום 𝔘 " + "long " * 12


def example(name: str) -> dict[str, Any]:
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))


def shapes(width: float, depth: float) -> dict[str, dict[str, Any]]:
    """Each of the five shapes at this size [in]."""
    return {
        "solid": {"type": "solid", "width": width, "depth": depth},
        "cored": {
            "type": "cored",
            "width": width,
            "depth": depth,
            "cores": [
                {"left": width * 0.2, "width": width * 0.2, "bottom": depth * 0.25, "height": depth * 0.45},
                {"left": width * 0.6, "width": width * 0.2, "bottom": depth * 0.25, "height": depth * 0.45},
            ],
        },
        "apron": {
            "type": "apron",
            "width": width,
            "depth": depth,
            "front": {"thickness": width * 0.2, "drop": depth * 1.5},
            "back": {"thickness": width * 0.12, "drop": depth * 0.75},
        },
        "rails": {
            "type": "rails",
            "rails": [
                {"left": 0, "width": width * 0.3, "bottom": 0, "height": depth},
                {"left": width * 0.65, "width": width * 0.35, "bottom": 0, "height": depth},
            ],
        },
        "outline": {
            "type": "outline",
            "outer": [[0, 0], [width * 0.8, 0], [width, depth * 0.3], [width, depth], [0, depth]],
            "holes": [[[width * 0.3, depth * 0.3], [width * 0.5, depth * 0.3], [width * 0.4, depth * 0.7]]],
        },
    }


def piece(
    shape: str = "solid",
    *,
    length: float = 96,
    width: float = 24,
    depth: float = 3,
    rods: int = 2,
    supports: int = 2,
    loads: int = 3,
    label: str = "use",
    cuts: tuple[float, ...] = (),
    drape: float = 0.0,
    units: str = "us",
) -> dict[str, Any]:
    """A document with the rods over the solid part of any shape. `cuts`: shares of the length where zones end."""
    made = deepcopy(example("01-counter-cored"))
    k = 25.4 if units == "si" else 1.0
    forms = shapes(width * k, depth * k)
    # Solid at the ends, the shape in the middle, in turns.
    ends = [*(round(cut * length * k, 3) for cut in cuts), length * k]
    turns = ("solid", shape) if cuts else (shape,)
    heights = [depth * k * (0.5 + drape * wave) for wave in (-1, 1, -1)]
    rod = made["rods"][0]
    at = [length * k * share for share in (0.0, 0.5, 1.0)]
    made |= {
        "mark": "T-1",
        "title": label,
        "units": units,
        "length": length * k,
        "core_density": 2 if units == "us" else 32,
        "zones": [{"to": end, "shape": forms[turns[i % len(turns)]]} for i, end in enumerate(ends)],
        "supports": [
            {"at": length * k * (0.04 + 0.92 * i / (supports - 1)), "bearing": 1 * k} for i in range(supports)
        ],
        "loads": _loads(loads, length * k, label, k),
        "rods": [
            {
                **rod,
                "mark": f"R{i + 1}",
                "across": width * k * _across(shape, i, rods),
                "curve": "parabola",
                "profile": [list(p) for p in zip(at, _lifted(shape, heights, depth * k), strict=True)],
                "pocket": None,
                "sleeve": {"outside": 0.75 * k, "friction": 0.15, "wobble": 0.0005},
                "anchor": {"width": 2 * k, "height": 2 * k, "thickness": 0.5 * k, "hole": 0.5625 * k},
                "jacking_force": "9500 lbf",
            }
            for i in range(rods)
        ],
        "handling": None,
        "concrete": {
            "label": label[:60],
            "density": "130 pcf",
            "strength": "7000 psi",
            "strength_at_stressing": "4500 psi",
            "flexural_yield": "1000 psi",
            "flexural_ultimate": "1800 psi",
            "shrinkage": 0.0005,
            "creep": 1.6,
        },
        "stressing": {"age": 7, "method": "torque"} if rods else None,
        "criteria": {},
        "environment": {},
        "installation": {},
    }
    for each in made["rods"]:
        each.pop("pocket")
    return {key: value for key, value in made.items() if value is not None}


def _across(shape: str, i: int, rods: int) -> float:
    """Share of the width at which rod i lies: spread out, for rails in one strip or the other."""
    if shape == "rails":
        return (0.06 + 0.04 * i) if i % 2 == 0 else (0.75 + 0.03 * i)
    return 0.06 + 0.88 * i / max(rods - 1, 1)


def _lifted(shape: str, heights: list[float], depth: float) -> list[float]:
    """An apron's slab lies above its legs: the rods go up with it."""
    return [h + 1.5 * depth for h in heights] if shape == "apron" else heights


def _loads(count: int, length: float, label: str, k: float) -> list[dict[str, Any]]:
    kinds = (
        {"type": "area", "case": "live", "value": "40 psf"},
        {"type": "point", "case": "live", "value": "300 lbf", "at": length * 0.97, "alone": True},
        {"type": "line", "case": "dead", "value": "8 plf", "from": length * 0.1, "to": length * 0.2},
        {"type": "point", "case": "live", "value": "-50 lbf", "at": "anywhere"},
        {"type": "line", "case": "dead", "value": "8 plf", "from": length * 0.7, "to": length * 0.9},
        {"type": "point", "case": "dead", "value": "20 lbf", "at": length * 0.5},
    )
    return [{**kinds[i % len(kinds)], "label": f"{label[:50]} {i}"} for i in range(count)]


documents = st.builds(
    piece,
    st.sampled_from(("solid", "cored", "apron", "rails", "outline")),
    length=st.floats(24, 240).map(lambda v: round(v, 2)),
    width=st.floats(6, 40).map(lambda v: round(v, 2)),
    depth=st.floats(2, 8).map(lambda v: round(v, 3)),
    rods=st.integers(0, 6),
    supports=st.integers(2, 6),
    loads=st.integers(0, 15),
    label=st.sampled_from(("use", "a person who sits at the very end of the overhanging part", HOSTILE)),
    cuts=st.sampled_from(((), (0.08, 0.92), (0.01, 0.99), (0.1, 0.3, 0.32, 0.6, 0.9))),
    drape=st.sampled_from((0.0, 0.1)),
    units=st.sampled_from(("us", "si")),
)


def made_result(document: dict[str, Any], checks: int = 8) -> dict[str, Any]:
    """A whole result with every verdict, and numbers and texts of every kind. Made up: no figure means anything."""
    marks = [rod["mark"] for rod in document.get("rods", [])]
    turns = (
        ("pass", 0.61),
        ("fail", 1.37),
        ("review", 1.002),
        ("caution", 2.5),
        ("not applicable", None),
        ("fail", None),
        ("pass", 0.0),
    )
    figures = {
        name: {"value": value, "unit": unit, "at": at, "why": why}
        for name, value, unit, at, why in (
            ("weight", 812.5, "lbf", None, ""),
            ("batch.volume", 6.25, "ft³", None, ""),
            ("section.1.area", 71.93, "in²", None, ""),
            ("reaction.1.service_max", 1234.5, "lbf", None, ""),
            ("moment.factored_max", 15723.1, "lbf·in", 54.0, ""),
            ("stress.transfer.top_max", -131.21, "psi", 48.0, ""),
            ("stress.skin", None, "psi", None, "no core in this piece"),
            ("crown.transfer", 0.02514, "in", 54.0, ""),
            ("crown.transfer_low", 0.02008, "in", None, ""),
            ("crown.transfer_high", 0.03019, "in", None, ""),
            ("load_test.mode", "rod yield", "", None, ""),
            ("uplift.factor", None, "", None, "nothing lifts"),
            ("invented.later", 42.0, "psi", None, ""),
        )
    }
    for i, mark in enumerate(marks):
        figures |= {
            f"rod.{mark}.{key}": {"value": value + i, "unit": unit, "at": None, "why": ""}
            for key, value, unit in (
                ("force_jacking", 9500.0, "lbf"),
                ("torque", 79.17, "lbf·ft"),
                ("elongation", 0.2143, "in"),
                ("nut_turns", 3.071, ""),
                ("length", 96.65, "in"),
            )
        }
    return {
        "format": "check-result/1",
        "mark": document["mark"],
        "units": document["units"],
        "engine": "0.0.0-made-up",
        "specification": canonical_hash(document),
        "basis": ["ACI 318-19", "ASTM C947"],
        "verdict": "fail",
        "checks": [
            {
                "name": f"made-up check {i + 1} of {HOSTILE[:40] if i == 3 else 'the rods'}",
                "clause": "ACI 318-19 24.5.3.1, by analogy",
                "verdict": turns[i % len(turns)][0],
                "demand": None if turns[i % len(turns)][1] is None else 1000.0 + 7 * i,
                "capacity": None if turns[i % len(turns)][1] is None else 2000.0 + 3 * i,
                "unit": "psi",
                "ratio": turns[i % len(turns)][1],
                "at": 54.0,
                "variant": "high",
                "working": ["σ = P/A_t = 8600 / 0.1419 = 60606 psi", "x" * 300],
                "caution": "brittle" if i == 3 else "",
                "why": "" if turns[i % len(turns)][1] is not None else "no load lifts",
                "setting": i == 2,
                "kind": "V",
            }
            for i in range(checks)
        ],
        "figures": figures,
        "series": {
            "moment.service_max": {"x": [0, 48, 96], "y": [0, 9000, 0], "unit": "lbf·in", "x_unit": "in"},
            "stress.transfer.top": {"x": [0, 48, 48, 96], "y": [-1, -2, -3, -1], "unit": "psi", "x_unit": "in"},
        },
        "cautions": [
            "The figures serve a review by a licensed engineer and are none.",
            "Stand clear of the rod's line.",
        ],
    }
