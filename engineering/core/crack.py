"""The cracked length: one section that opens under a given curvature, and what it adds to rods and deflection.

Worked in a frame in which the tension face is down: for hogging the section is turned upside down.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from engineering.core.batching import Array
from engineering.core.load_test_model import TestModel
from engineering.core.uncracked import State

ROUNDS = 40
QUICK_ROUNDS = 8


@dataclass(frozen=True)
class Crack:
    """sign: +1 sagging, -1 hogging. Levels over the net centroid, turned. Sleeves are taken out of the layers."""

    station: int
    sign: float
    length_in: float  # one depth
    low_in: Array  # (N,) layers, edge nearer the tension face
    high_in: Array
    area_in2: Array  # (N,)
    rod_in: Array  # (R,)
    active: Array  # (R,)
    share: Array  # (R,) cracked length within each rod / length between the anchors
    top_in: float  # of the compressed edge
    sag_in: float  # deflection of the middle of the longest span per kink here

    @classmethod
    def at(cls, model: TestModel, station: int, sagging: bool) -> "Crack":
        sign, at = (1.0 if sagging else -1.0), float(model.grid.x_in[station])
        depth, centroid = float(model.top_in[station] - model.bottom_in[station]), float(model.centroid_in[station])
        low, high, area = model.layers_at(station)
        low, high = (low - centroid, high - centroid) if sagging else (centroid - high, centroid - low)
        ends = np.minimum(model.faces_in[:, 1], at + 0.5 * depth), np.maximum(model.faces_in[:, 0], at - 0.5 * depth)
        share = np.maximum(ends[0] - ends[1], 0.0) / np.maximum(model.faces_in[:, 1] - model.faces_in[:, 0], 1e-9)
        top = float(model.top_in[station]) - centroid if sagging else centroid - float(model.bottom_in[station])
        return cls(
            station,
            sign,
            depth,
            low,
            high,
            area,
            sign * model.rod_in[station],
            model.active[station],
            share,
            top,
            _sag_per_kink(model, at, depth),
        )

    @cached_property
    def first_moment_in3(self) -> Array:
        """Area × level of the middle of each layer (N,)."""
        return self.area_in2 * (0.5 * (self.low_in + self.high_in))

    @cached_property
    def thickness_in(self) -> Array:
        return self.high_in - self.low_in

    @cached_property
    def height_in(self) -> float:
        """From the tension face to the compressed edge."""
        return self.top_in - float(self.low_in.min())

    def extra_strain(self, state: State, curvature: float, strain: float) -> Array:
        """Mean strain along each rod that the cracked length adds to the uncracked piece (R,)."""
        uncracked, bending = state.bent[:, self.station].tolist()
        return self.share * (strain - uncracked - (curvature - self.sign * bending) * self.rod_in)

    def edge_strain(self, curvature: float, strain: float) -> float:
        """Of the compressed edge, compression +."""
        return curvature * self.top_in - strain


class OpenSection:
    """The cracked section under one curvature. It keeps the strain at the centroid it was last asked about, with what
    its layers then hold: that does not depend on the rods, so a turn of their forces starts from it."""

    def __init__(self, model: TestModel, crack: Crack, curvature: float, strain: float) -> None:
        self.crack, self.curvature = crack, curvature
        self._law = model.concrete
        self._turned_high = curvature * crack.high_in
        self._width = np.maximum(curvature * crack.thickness_in, 1e-15)
        self.at(strain)

    def at(self, strain: float) -> float:
        """Force of the layers at a strain at the centroid, tension +. [lbf]"""
        self.strain = strain
        self._stress = self._law.cracked_layers(strain - self._turned_high, self._width)
        self.force_lbf = float(self._stress @ self.crack.area_in2)
        return self.force_lbf

    def balanced(self, force_lbf: Array, slope: float | None) -> tuple[float, float | None]:
        """Outer moment (sagging +, that of loads) with the rods' forces (R,); `strain` is then that of balance. Found
        on the sum of forces, which rises with the strain. slope: of that sum, as last found; the second answer is the
        new one."""
        crack = self.crack
        pull = crack.active * force_lbf
        axial = -float(pull.sum())
        step, close = 0.002 * self.curvature * crack.height_in, 1e-8 * (abs(axial) + 1.0)
        slope = _root(lambda strain: self.at(strain) - axial, self.strain, self.force_lbf - axial, step, close, slope)
        inner = -float(self._stress @ crack.first_moment_in3)
        return crack.sign * (inner - float(pull @ crack.rod_in)), slope


def _root(
    off: Callable[[float], float], near: float, off_near: float, step: float, close: float, slope: float | None
) -> float | None:
    """The slope at the root of a rising function: the secant rule from `near`; where that does not settle, false
    position (Illinois). The root is where `off` was asked last."""
    first, f_first = near, off_near
    second = near + 0.1 * step if slope is None else near - f_first / slope
    for _ in range(QUICK_ROUNDS):
        if abs(f_first) <= close:
            return slope
        f_second = off(second)
        if f_second == f_first or second == first:
            break
        slope = (f_second - f_first) / (second - first)
        first, f_first, second = second, f_second, second - f_second / slope
    _bracketed(off, near, step, close)
    return None


def _bracketed(off: Callable[[float], float], near: float, step: float, close: float) -> None:
    """Widen from `near` until the root lies between, then false position; the root is where `off` was asked last."""
    low, high = near - step, near + step
    f_low, f_high = off(low), off(high)
    while f_low > 0:
        low, step = low - step, 4.0 * step
        f_low = off(low)
    while f_high < 0:
        high, step = high + step, 4.0 * step
        f_high = off(high)
    side = 0
    for _ in range(ROUNDS):
        middle = high - f_high * (high - low) / (f_high - f_low) if f_high > f_low else 0.5 * (low + high)
        value = off(middle)
        if abs(value) <= close:
            break
        if value < 0:
            low, f_low, f_high, side = middle, value, f_high * (0.5 if side == 1 else 1.0), 1
        else:
            high, f_high, f_low, side = middle, value, f_low * (0.5 if side == -1 else 1.0), -1


def _sag_per_kink(model: TestModel, at: float, depth: float) -> float:
    """Deflection in the middle of the longest span of a unit kink at x; a crack over a support has half its length
    inside."""
    left, right = model.span_in
    middle = float(model.grid.x_in[model.middle])

    def sag(x: float) -> float:
        return (
            (middle - left) * (right - x) / (right - left)
            if x >= middle
            else (x - left) * (right - middle) / (right - left)
        )

    if left + 0.5 * depth <= at <= right - 0.5 * depth:
        return sag(at)
    start, end = max(at - 0.5 * depth, left), min(at + 0.5 * depth, right)
    return (end - start) / depth * sag(0.5 * (start + end)) if end > start else 0.0
