"""The key under the sections: what the signs mean, and the units."""

from engineering.core.contract.piece import Piece, RingRole
from reports.drawing.figure import Circle, Figure, Polygon, Text
from reports.drawing.hatch import cross_hatch, hatch_lines
from reports.drawing.lengths import unit_note


def draw_key(figure: Figure, piece: Piece, y: float, size: float) -> None:
    """What the signs mean, and the units; one line each, so that neither runs into the other."""
    x = 4.0
    signs = [("concrete", "concrete")]
    if any(r.role is RingRole.CORE for zone in piece.zones for r in zone.rings):
        signs.append(("foam", "foam core"))
    if piece.rods:
        signs.append(("rod", "rod in its sleeve"))
        signs.append(("plate", "plate · pocket, at the end"))
    for sign, text in signs:
        _sign(figure, sign, x, y)
        figure.add(Text(x + 19, y + 0.05 * size, text, 0.9 * size, "note", "start"))
        x += 19 + len(text) * 0.62 * size + 12
    figure.add(Text(4, y + 1.7 * size, unit_note(piece.units), 0.86 * size, "note", "start"))


def _sign(figure: Figure, sign: str, x: float, y: float) -> None:
    box = ((x, y - 8), (x + 14, y - 8), (x + 14, y + 1), (x, y + 1))
    if sign == "rod":
        figure.add(
            Circle(x + 7, y - 3.5, 4.5, "sleeve", "paper", 0.9), Circle(x + 7, y - 3.5, 2.6, "rod", "solid", 0.2)
        )
    elif sign == "foam":
        figure.add(*cross_hatch([box], spacing=4.5), Polygon((box,), "core", "none", 0.8, hatch="foam"))
    elif sign == "plate":
        figure.add(Polygon((box,), "anchor", "none", 0.7, (1.5, 1.5)))
    else:
        figure.add(
            Polygon((box,), "outline", "tint", 1.2, hatch="concrete"),
            *hatch_lines([box], angle_deg=45, spacing=6, weight=0.3),
        )
