"""Hatch lines clipped to polygons, even-odd, so that every medium draws the same strokes."""

import math
from collections.abc import Sequence

from reports.drawing.figure import Line, PaperPoint

Rings = Sequence[Sequence[PaperPoint]]
MOST_LINES = 400  # a hatch never grows beyond this, however large or ragged the polygon


def hatch_lines(
    rings: Rings, *, angle_deg: float, spacing: float, role: str = "hatch", weight: float = 0.35
) -> list[Line]:
    """Parallel strokes inside the rings, `spacing` points apart; 0 degrees is level, positive turns anticlockwise."""
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned = [[(x * cos - y * sin, x * sin + y * cos) for x, y in ring] for ring in rings if len(ring) > 2]
    heights = [v for ring in turned for _, v in ring]
    if not heights:
        return []
    low, high = min(heights), max(heights)
    spacing = max(spacing, (high - low) / MOST_LINES)
    lines = []
    for step in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
        level = step * spacing + 1e-7  # clear of corners that lie exactly on a stroke
        for start, end in _inside(turned, level):
            lines.append(
                Line(tuple((u * cos + level * sin, -u * sin + level * cos) for u in (start, end)), role, weight)
            )
    return lines


def cross_hatch(rings: Rings, *, spacing: float) -> list[Line]:
    """The sign for foam: strokes both ways."""
    return [*hatch_lines(rings, angle_deg=45, spacing=spacing), *hatch_lines(rings, angle_deg=-45, spacing=spacing)]


def _inside(rings: Rings, level: float) -> list[tuple[float, float]]:
    crossings = sorted(
        a + (level - b) * (c - a) / (d - b)
        for ring in rings
        for (a, b), (c, d) in zip(ring, [*ring[1:], ring[0]], strict=True)
        if (b > level) != (d > level)
    )
    return [(crossings[i], crossings[i + 1]) for i in range(0, len(crossings) - 1, 2)]
