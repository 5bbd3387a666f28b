"""What a drawing is made of, before it is a page or a picture.

Paper coordinates: points (1/72 in), x to the right, y DOWN from the top left corner. A view turns inches of the piece
into paper points; `svg.py` and `pdf.py` each turn a Figure into their own medium, so the two cannot differ.
"""

import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

PaperPoint = tuple[float, float]

# The roles a mark on paper can have. A renderer gives each its colour; a page's style sheet may restyle them.
ROLES = (
    "outline",
    "zone",
    "hidden",
    "core",
    "sleeve",
    "rod",
    "anchor",
    "support",
    "load",
    "dimension",
    "note",
    "hatch",
    "series-1",  # curves of a plot
    "series-2",
    "series-3",
    "series-4",
    "limit",
    "grid",
)


@dataclass(frozen=True)
class Line:
    points: tuple[PaperPoint, ...]  # a polyline
    role: str
    weight: float = 0.8  # [pt]
    dash: tuple[float, ...] = ()


@dataclass(frozen=True)
class Polygon:
    rings: tuple[tuple[PaperPoint, ...], ...]  # even-odd: a ring inside another is a hole
    role: str
    fill: str = "none"  # none, tint, paper, solid
    weight: float = 0.8
    dash: tuple[float, ...] = ()
    hatch: str = ""  # foam, concrete: for a medium that hatches by itself; here the strokes are lines of their own


@dataclass(frozen=True)
class Circle:
    x: float
    y: float
    radius: float
    role: str
    fill: str = "none"
    weight: float = 0.8


@dataclass(frozen=True)
class Text:
    x: float
    y: float  # baseline
    text: str
    size: float
    role: str = "dimension"
    anchor: str = "middle"  # start, middle, end
    bold: bool = False
    turned: bool = False  # reads upwards, turned about (x, y)

    def box(self) -> tuple[float, float, float, float]:
        """(left, top, right, bottom) that the text needs, on the safe side for any of the fonts it may be set in."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = {"start": 0.0, "middle": -width / 2, "end": -width}[self.anchor]
        if self.turned:
            return self.x - 0.78 * self.size, self.y - left - width, self.x + 0.24 * self.size, self.y - left
        return self.x + left, self.y - 0.78 * self.size, self.x + left + width, self.y + 0.24 * self.size


Item = Line | Polygon | Circle | Text


def moved(item: Item, down: float) -> Item:
    """The same mark, lower on the paper."""
    if isinstance(item, Line):
        return replace(item, points=tuple((x, y + down) for x, y in item.points))
    if isinstance(item, Polygon):
        return replace(item, rings=tuple(tuple((x, y + down) for x, y in ring) for ring in item.rings))
    return replace(item, y=item.y + down)


@dataclass(frozen=True)
class Measure:
    """A dimension as such, for a medium that has dimensions of its own; `items` are the marks that draw it here."""

    start: PaperPoint
    end: PaperPoint
    text: str
    items: tuple[Item, ...]


@dataclass
class Figure:
    width: float
    height: float
    title: str
    description: str
    items: list[Item] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)
    parts: list[tuple[int, int, str]] = field(default_factory=list)  # first and last + 1 of the items that are it
    scale: float = 0.0  # points per inch of the piece where the whole figure is true to scale, else 0

    def add(self, *items: Item) -> None:
        self.items.extend(items)

    @contextmanager
    def part(self, name: str) -> Iterator[None]:
        """What is added meanwhile is this part of the specification: `rods[0] rods[1]`, `supports[2]`. Not nested."""
        first = len(self.items)
        yield
        self.parts.append((first, len(self.items), name))

    def texts(self) -> list[Text]:
        return [item for item in self.items if isinstance(item, Text)]


WIDE, FULL = 0.61, 1.05  # em: every letter of a typewriter face and most of others; scripts set in squares
BOLDER = 1.1
BROAD, BROADEST = frozenset("ABCDEFGHKLNOPQRSTUVXYZ&#+=<>≈±−×Ω"), frozenset("mwMW@%—…")


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of one line of text [pt], a bound over the fonts of the pages and of the printed record."""
    em = 0.0
    for letter in text:
        if unicodedata.east_asian_width(letter) in "WF" or ord(letter) > 0x2FFF:
            em += FULL
        elif letter in BROAD:
            em += 0.76
        elif letter in BROADEST:
            em += 0.98
        elif not unicodedata.combining(letter):
            em += WIDE
    return em * size * (BOLDER if bold else 1)


def shorten(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, or as much of it as fits in the room, ending in an ellipsis. Control characters become spaces."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if text_width(clean, size, bold=bold) <= room:
        return clean
    while clean and text_width(clean + "…", size, bold=bold) > room:
        clean = clean[:-1]
    return clean.rstrip() + "…"
