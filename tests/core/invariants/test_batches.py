"""One variant as many: a batch gives each of its variants what it gives it alone."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest

from engineering.core.analysis import analyse
from engineering.core.batching import Batch
from tests.core.pieces import piece, scattered


def arrays(value: Any, name: str = "") -> dict[str, Any]:
    """Every array of an analysis with a leading axis of variants, by its path."""
    found: dict[str, Any] = {}
    for field in fields(value):
        inner = getattr(value, field.name)
        if isinstance(inner, np.ndarray):
            found[f"{name}.{field.name}"] = inner
        elif is_dataclass(inner) and not isinstance(inner, Batch):
            found |= arrays(inner, f"{name}.{field.name}")
    return found


def test_a_batch_is_its_variants() -> None:
    """Five scattered variants at once, geometry and all, or one at a time: the same numbers."""
    batch = scattered_batch(5)
    whole = arrays(analyse(batch))
    corner_first = {
        ".loading.settlement_moment",
        *(f".stresses.{n}" for n in ("corner_z_in", "corner_y_in", "per_moment", "rods_transfer", "rods_final")),
    }
    for number in range(batch.size):
        single = arrays(analyse(batch.part(number, number + 1)))
        for name, value in single.items():
            axis = 1 if name in corner_first else 0
            if value.ndim > axis and value.shape[axis] == 1 and whole[name].shape[axis] == batch.size:
                got = np.take(whole[name], [number], axis=axis)
                scale = np.nanmax(np.abs(got), initial=0.0)
                assert got == pytest.approx(value, rel=1e-9, abs=1e-11 * scale + 1e-300, nan_ok=True), name


def scattered_batch(size: int, **changes: Any) -> Batch:
    """Variants that differ in forces, strengths, stiffness, thickness, and in where the rods lie."""
    spec = piece(supports=[{"at": 4}, {"at": 50}, {"at": 92}], criteria={"support_tolerance": 0.02}, **changes)
    return scattered(Batch.of(spec, [f"v{k}" for k in range(size)]), 4, 0.03)
