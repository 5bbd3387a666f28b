"""Figures as a DXF drawing at full size, in inches or millimetres: what the form is cut by.

The same marks as on page and paper, on layers named after what they are; dimensions become DIMENSION entities with the
text of the drawing, so that a fraction stays a fraction. Letters keep the height they have on paper at the figure's own
scale. Only figures that are wholly true to scale can be drawn.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

import ezdxf
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import Modelspace

from reports.drawing.figure import Circle, Figure, Item, Line, Measure, PaperPoint, Polygon, Text

VERSION = "R2010"
MM_PER_IN = 25.4
ALIGN = {
    "start": TextEntityAlignment.LEFT,
    "middle": TextEntityAlignment.CENTER,
    "end": TextEntityAlignment.RIGHT,
}
# Layer of each role, and its colour by the numbers every reader knows.
LAYERS: dict[str, tuple[str, int]] = {
    "outline": ("CONCRETE", 7),
    "zone": ("ZONES", 8),
    "hidden": ("HIDDEN", 8),
    "core": ("FOAM", 5),
    "sleeve": ("SLEEVES", 4),
    "rod": ("RODS", 1),
    "anchor": ("PLATES-POCKETS", 6),
    "support": ("SUPPORTS", 3),
    "load": ("LIFTING-LOADS", 2),
    "dimension": ("DIMENSIONS", 8),
    "note": ("TEXT", 7),
    "hatch": ("HATCH", 9),
}
OTHER = ("TEXT", 7)
# What is hatched how: the pattern's name, its strokes [degrees], their distance on paper [pt].
HATCHES = {"concrete": ("ANSI31", (45.0,), 11.0), "foam": ("ANSI37", (45.0, 135.0), 4.5)}
BY_LAYER = 256
STYLE = "SHOP"


def to_dxf(figures: Sequence[Figure], *, units: str, title: str) -> bytes:
    """The figures one under the other. ValueError where one is not true to scale."""
    document = ezdxf.new(VERSION, setup=("linetypes", "styles"))
    document.header["$INSUNITS"] = 4 if units == "si" else 1
    document.header["$MEASUREMENT"] = 1 if units == "si" else 0
    for name, colour in {*LAYERS.values(), OTHER}:
        document.layers.add(name, color=colour)
    document.layers.get("HIDDEN").dxf.linetype = "DASHED"
    space, below = document.modelspace(), 0.0
    document.header["$PROJECTNAME"] = title[:200]
    for number, figure in enumerate(figures):
        if figure.scale <= 0:
            raise ValueError(f"{figure.title} is not true to scale throughout")
        page = _Page((MM_PER_IN if units == "si" else 1.0) / figure.scale, below)
        _figure(document, space, figure, page, f"{STYLE}{number + 1}")
        below -= (figure.height + 30) * page.per_point
    out = io.StringIO()
    document.write(out)
    return out.getvalue().encode("utf-8")


class _Page:
    """From paper points to full size, y upwards."""

    def __init__(self, per_point: float, top: float):
        self.per_point, self.top = per_point, top

    def at(self, point: PaperPoint) -> PaperPoint:
        return point[0] * self.per_point, self.top - point[1] * self.per_point


def _figure(document: Drawing, space: Modelspace, figure: Figure, page: _Page, style: str) -> None:
    size = max((item.size for item in figure.texts()), default=8.0)
    _dimension_style(document, style, size * page.per_point)
    drawn_by_dimensions = {id(item) for measure in figure.measures for item in measure.items}
    for item in figure.items:
        if id(item) not in drawn_by_dimensions:
            _item(space, item, page)
    for measure in figure.measures:
        _dimension(space, measure, page, style)


def _dimension_style(document: Drawing, name: str, letters: float) -> None:
    style = document.dimstyles.new(name)
    style.dxf.dimtxt = letters * 0.85
    style.dxf.dimasz = letters * 0.6
    style.dxf.dimtsz = letters * 0.35  # slashes, as on paper
    style.dxf.dimexo = letters * 0.3
    style.dxf.dimexe = letters * 0.3
    style.dxf.dimgap = letters * 0.25
    style.dxf.dimtad = 1
    style.dxf.dimclrd = style.dxf.dimclre = style.dxf.dimclrt = 256


def _dimension(space: Modelspace, measure: Measure, page: _Page, style: str) -> None:
    (x1, y1), (x2, y2) = page.at(measure.start), page.at(measure.end)
    upright = abs(x1 - x2) < 1e-9
    made = space.add_linear_dim(
        base=(x1, y1),
        p1=(x1, y1),
        p2=(x2, y2),
        angle=90 if upright else 0,
        text=measure.text,
        dimstyle=style,
        dxfattribs={"layer": "DIMENSIONS"},
    )
    made.render()


def _item(space: Modelspace, item: Item, page: _Page) -> None:
    look = {"layer": LAYERS.get(item.role, OTHER)[0]}
    if item.role == "hatch":
        return  # the strokes on paper are a HATCH of the polygon here
    if isinstance(item, Line):
        space.add_lwpolyline([page.at(p) for p in item.points], dxfattribs=look)
    elif isinstance(item, Polygon):
        for ring in item.rings:
            space.add_lwpolyline([page.at(p) for p in ring], close=True, dxfattribs=look)
        if item.hatch:
            _hatch(space, item, page)
    elif isinstance(item, Circle):
        space.add_circle(page.at((item.x, item.y)), item.radius * page.per_point, dxfattribs=look)
    else:
        _text(space, item, page, look)


def _hatch(space: Modelspace, item: Polygon, page: _Page) -> None:
    """A HATCH bound by the polygon's own rings, a ring inside another being a hole."""
    name, angles, spacing = HATCHES[item.hatch]
    apart = spacing * page.per_point
    made = space.add_hatch(color=BY_LAYER, dxfattribs={"layer": "HATCH", "hatch_style": 0})
    strokes = [[a, (0, 0), (-apart * math.sin(math.radians(a)), apart * math.cos(math.radians(a))), []] for a in angles]
    made.set_pattern_fill(name, color=BY_LAYER, definition=strokes)
    for number, ring in enumerate(item.rings):
        made.paths.add_polyline_path([page.at(p) for p in ring], is_closed=True, flags=1 if number == 0 else 16)


def _text(space: Modelspace, item: Text, page: _Page, look: dict[str, str]) -> None:
    words = "".join(c if c.isprintable() else " " for c in item.text)
    text = space.add_text(words, height=item.size * page.per_point * 0.72, dxfattribs=look)
    text.dxf.rotation = 90 if item.turned else 0
    text.set_placement(page.at((item.x, item.y)), align=ALIGN[item.anchor])
