"""The piece from the side with its crown, drawn many times larger than it is: predicted, limit and measured.

Only the height at the middle is predicted and measured; between the supports it is drawn as one parabola, which the
caption says.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

WIDTH, HEIGHT, SIDE = 700, 220, 30
BASE = 130  # of the line without crown; room for a sag below
REACH = 90  # how high the limit is drawn
STEPS = (1, 2, 5)


@dataclass(frozen=True)
class Crown:
    """Lengths in inches; up is positive. `predicted_now_in`: of the rods as far as they are read."""

    length_in: float
    supports_in: tuple[float, ...]
    predicted_in: float
    predicted_now_in: float
    limit_in: float
    measured_in: float | None = None


def factor(crown: Crown) -> int:
    """How many times larger heights are drawn than lengths: 1, 2, 5, 10, … so that the limit fits."""
    scale = (WIDTH - 2 * SIDE) / crown.length_in
    most = REACH / max(scale * crown.limit_in, 1e-9)
    found, power = 1, 1
    while True:
        for step in STEPS:
            if step * power > most or step * power > 100_000:
                return found
            found = step * power
        power *= 10


def px_per_in(crown: Crown) -> float:
    return factor(crown) * (WIDTH - 2 * SIDE) / crown.length_in


def arc(crown: Crown, height_in: float) -> str:
    """A parabola through the outer supports with this height between them, carried on to both ends of the piece."""
    left, right = _outer(crown)
    points = []
    for k in range(41):
        x = crown.length_in * k / 40
        share = 1 - ((2 * x - left - right) / (right - left)) ** 2
        points.append(f"{_x(crown, x):.1f} {BASE - px_per_in(crown) * height_in * share:.1f}")
    return "M" + "L".join(points)


def _outer(crown: Crown) -> tuple[float, float]:
    spots = sorted(crown.supports_in)
    return (spots[0], spots[-1]) if len(spots) > 1 and spots[-1] > spots[0] else (0.0, crown.length_in)


def _x(crown: Crown, x_in: float) -> float:
    return SIDE + (WIDTH - 2 * SIDE) * x_in / crown.length_in


def drawing(crown: Crown, *, caption: str, unit_in: float = 1.0) -> SafeString:
    """SVG with presentation by class only; the script draws `#crown-measured` anew while a crown is typed.

    `unit_in`: the unit that crowns are typed in.
    """
    left, right = _outer(crown)
    return format_html(
        '<svg class="crown-drawing" viewBox="0 0 {w} {h}" role="img" aria-label="{caption}" data-left="{l}" '
        'data-right="{r}" data-base="{b}" data-per-unit="{p}"><path class="crown-flat" d="{flat}"/>'
        '<path class="crown-limit" d="{limit}"/><path class="crown-predicted" d="{predicted}"/>'
        '<path class="crown-now" d="{now}"/><path class="crown-measured" id="crown-measured" d="{measured}"/>'
        '<path class="crown-support" d="M{l} {s}l-9 16h18zM{r} {s}l-9 16h18z"/>'
        '<text x="{w2}" y="{yl}" class="crown-word">{wl}</text>'
        '<text x="{w2}" y="{yp}" class="crown-word">{wp}</text></svg>',
        w=WIDTH,
        h=HEIGHT,
        caption=caption,
        l=f"{_x(crown, left):.1f}",
        r=f"{_x(crown, right):.1f}",
        b=BASE,
        p=f"{px_per_in(crown) * unit_in:.6f}",
        flat=arc(crown, 0.0),
        limit=arc(crown, crown.limit_in),
        predicted=arc(crown, crown.predicted_in),
        now=arc(crown, crown.predicted_now_in),
        measured=arc(crown, crown.measured_in) if crown.measured_in is not None else "",
        s=BASE + 6,
        w2=WIDTH // 2,
        yl=f"{BASE - px_per_in(crown) * crown.limit_in - 6:.1f}",
        yp=f"{BASE - px_per_in(crown) * crown.predicted_in - 6:.1f}",
        wl=_("limit"),
        wp=_("predicted"),
    )
