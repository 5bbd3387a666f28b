"""Specification documents for tests: a plain solid strip, to be bent into whatever a test is about."""

import copy
from dataclasses import replace
from typing import Any

import numpy as np

from engineering.core.analysis import Analysis, analyse
from engineering.core.batching import Batch
from engineering.core.contract import Piece, parse

CONCRETE = {
    "density": 130,
    "strength": 7000,
    "strength_at_stressing": 4500,
    "modulus": 2_500_000,
    "modulus_at_stressing": 2_000_000,
    "flexural_yield": 1000,
    "flexural_ultimate": 2000,
    "shrinkage": 0.0005,
    "creep": 1.6,
}
ROD = {
    "mark": "R1",
    "thread": "1/2-13 UNC",
    "grade": "A193 B7",
    "across": 6,
    "profile": [[2, 1.25], [94, 1.25]],
    "sleeve": {"outside": 0.75, "friction": 0.15, "wobble": 0.0005},
    "anchor": {"width": 3, "height": 2.25, "thickness": 0.5, "hole": 0.5625},
    "jacking_force": 9000,
}
STRIP = {
    "format": "piece-specification/1",
    "mark": "T-1",
    "units": "us",
    "cast": "face-down",
    "length": 96,
    "zones": [{"to": 96, "shape": {"type": "solid", "width": 24, "depth": 3}}],
    "supports": [{"at": 4, "bearing": 2}, {"at": 92, "bearing": 2}],
    "loads": [{"label": "use", "case": "live", "type": "area", "value": 50}],
    "sustained_live": 0.25,
    "concrete": CONCRETE,
    "rods": [ROD, {"mark": "R2", "like": "R1", "across": 18}],
    "stressing": {"age": 7, "method": "elongation"},
    "installation": {"age": 28},
    "handling": {"lift_points": [20, 76], "age": 2, "strength": 2500},
    "criteria": {"life": 30},
}


def document(**changes: Any) -> dict[str, Any]:
    """The strip with these keys replaced; a mapping is merged into the one there; None takes a key out."""
    found = copy.deepcopy(STRIP)
    for key, value in changes.items():
        if value is None:
            found.pop(key, None)
        elif isinstance(value, dict) and isinstance(found.get(key), dict):
            found[key] = {**found[key], **value}
        else:
            found[key] = copy.deepcopy(value)
    return found


def piece(**changes: Any) -> Piece:
    return parse(document(**changes))


def analysed(**changes: Any) -> Analysis:
    """The nominal variant alone."""
    return analyse(Batch.of(piece(**changes)))


def rod(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(ROD), **copy.deepcopy(changes)}


def scattered(batch: Batch, seed: int, deviation: float) -> Batch:
    """The same with forces, stiffness, shrinkage, thickness and the places of two rods drawn at random, variant by
    variant."""
    spread = np.random.default_rng(seed).normal(1.0, deviation, (batch.size, 8))
    rods = replace(
        batch.rods,
        jacking_lbf=batch.rods.jacking_lbf * spread[:, :2],
        across_in=batch.rods.across_in * spread[:, 2:4],
        y_in=tuple(y * spread[:, [4]] for y in batch.rods.y_in),
    )
    concrete = replace(
        batch.concrete,
        modulus_psi=batch.concrete.modulus_psi * spread[:, 5],
        shrinkage=batch.concrete.shrinkage * spread[:, 6],
    )
    thick = np.stack([np.ones(batch.size), spread[:, 7]], -1)[:, None, :]
    rings = tuple(tuple(ring * thick for ring in zone) for zone in batch.rings)
    return replace(batch, rods=rods, concrete=concrete, rings=rings)
