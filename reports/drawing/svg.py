"""A Figure as SVG: presentation attributes only, so that it stands on a page with a strict content policy.

Every mark has a class `dw-ROLE`, and colours are `currentColor` or the system colour `Canvas`, so that a page's own
style sheet (light or dark) decides; with no style sheet at all it is a line drawing in the colour of the text.
"""

import re
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from reports.drawing.figure import Circle, Figure, Item, Line, Polygon, Text

NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
FILLS = {
    "none": 'fill="none"',
    "tint": 'fill="currentColor" fill-opacity="0.07"',
    "paper": 'fill="Canvas"',
    "solid": 'fill="currentColor"',
}


def to_svg(figure: Figure, *, ident: str) -> str:
    """The drawing as one <svg> element. `ident` must be unique on its page: it names the title and the description."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="dw" viewBox="0 0 {_n(figure.width)} {_n(figure.height)}" '
        f'width="{_n(figure.width)}" height="{_n(figure.height)}" role="img" '
        f"aria-labelledby={_attribute(ident + '-title')} aria-describedby={_attribute(ident + '-desc')} "
        f'preserveAspectRatio="xMinYMin meet" stroke-linejoin="round" stroke-linecap="butt">'
    )
    named = (
        f"<title id={_attribute(ident + '-title')}>{_clean(figure.title)}</title>"
        f"<desc id={_attribute(ident + '-desc')}>{_clean(figure.description)}</desc>"
    )
    return head + named + "".join(_marks(figure)) + "</svg>"


def _marks(figure: Figure) -> Iterator[str]:
    """All marks; those of a named part in a group that a page can find by `data-part`."""
    done = 0
    for start, stop, name in sorted(figure.parts):
        yield from (_item(item) for item in _merged(figure.items[done:start]))
        yield f"<g data-part={_attribute(name)}>"
        yield from (_item(item) for item in _merged(figure.items[start:stop]))
        yield "</g>"
        done = stop
    yield from (_item(item) for item in _merged(figure.items[done:]))


def _merged(items: list[Item]) -> list[Item | list[Line]]:
    """Runs of hatch strokes become one path each: a third of the bytes."""
    out: list[Item | list[Line]] = []
    for item in items:
        if isinstance(item, Line) and item.role == "hatch":
            if out and isinstance(out[-1], list):
                out[-1].append(item)
            else:
                out.append([item])
        else:
            out.append(item)
    return out


def _item(item: Item | list[Line]) -> str:
    if isinstance(item, list):
        strokes = "".join(_path(line.points) for line in item)
        return f'<path class="dw-hatch" d="{strokes}" {_stroke(item[0].weight, ())} fill="none"/>'
    if isinstance(item, Line):
        return f'<path class="dw-{item.role}" d="{_path(item.points)}" {_stroke(item.weight, item.dash)} fill="none"/>'
    if isinstance(item, Polygon):
        path = "".join(_path(ring) + "Z" for ring in item.rings)
        return (
            f'<path class="dw-{item.role} dw-fill-{item.fill}" d="{path}" {_stroke(item.weight, item.dash)} '
            f'{FILLS[item.fill]} fill-rule="evenodd"/>'
        )
    if isinstance(item, Circle):
        return (
            f'<circle class="dw-{item.role} dw-fill-{item.fill}" cx="{_n(item.x)}" cy="{_n(item.y)}" '
            f'r="{_n(item.radius)}" '
            f"{_stroke(item.weight, ())} {FILLS[item.fill]}/>"
        )
    return _text(item)


def _text(item: Text) -> str:
    turn = f' transform="rotate(-90 {_n(item.x)} {_n(item.y)})"' if item.turned else ""
    weight = ' font-weight="600"' if item.bold else ""
    return (
        f'<text class="dw-text dw-{item.role}-text" x="{_n(item.x)}" y="{_n(item.y)}" font-size="{_n(item.size)}" '
        f'text-anchor="{item.anchor}" fill="currentColor"{weight}{turn}>{_clean(item.text)}</text>'
    )


def _stroke(weight: float, dash: tuple[float, ...]) -> str:
    if weight <= 0:
        return 'stroke="none"'
    dashes = f' stroke-dasharray="{" ".join(_n(d) for d in dash)}"' if dash else ""
    return f'stroke="currentColor" stroke-width="{_n(weight)}"{dashes}'


def _path(points: tuple[tuple[float, float], ...]) -> str:
    return "M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in points)


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _clean(text: str) -> str:
    return escape(NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text))


def _attribute(text: str) -> str:
    return quoteattr(NOT_XML.sub("", text))
