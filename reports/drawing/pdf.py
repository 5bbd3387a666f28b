"""A Figure as vectors on a page of reportlab."""

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from reports.drawing.figure import Circle, Figure, Item, Line, Polygon, Text

INK = HexColor("#1d2430")
ROD = HexColor("#8a2d1c")
FAINT = HexColor("#69707a")
# Curves: four that people with any colour vision tell apart, from dark to light, so that they differ in grey too.
COLOURS: dict[str, Color] = {
    "rod": ROD,
    "dimension": FAINT,
    "hatch": HexColor("#9aa0a8"),
    "hidden": FAINT,
    "note": INK,
    "series-1": HexColor("#0b4f8a"),
    "series-2": HexColor("#c4500c"),
    "series-3": HexColor("#1d2430"),
    "series-4": HexColor("#0f8f6d"),
    "limit": HexColor("#7d1128"),
    "grid": HexColor("#c3c6ca"),
}
TINT = HexColor("#eeece6")
PAPER = HexColor("#ffffff")


def draw(canvas: Canvas, figure: Figure, x: float, y: float, *, font: str, bold_font: str) -> None:
    """Draw with the figure's top left corner at (x, y), y upwards as on the page."""
    canvas.saveState()
    canvas.translate(x, y)
    canvas.setLineJoin(1)
    for item in figure.items:
        _item(canvas, item, font, bold_font)
    canvas.restoreState()


def _item(canvas: Canvas, item: Item, font: str, bold_font: str) -> None:
    if isinstance(item, Text):
        _text(canvas, item, font, bold_font)
        return
    colour = COLOURS.get(item.role, INK)
    canvas.setStrokeColor(colour)
    canvas.setLineWidth(item.weight)
    canvas.setDash(*(([], 0) if isinstance(item, Circle) or not item.dash else (list(item.dash), 0)))
    if isinstance(item, Line):
        path = canvas.beginPath()
        path.moveTo(item.points[0][0], -item.points[0][1])
        for px, py in item.points[1:]:
            path.lineTo(px, -py)
        canvas.drawPath(path, stroke=1, fill=0)
        return
    canvas.setFillColor({"none": colour, "tint": TINT, "paper": PAPER, "solid": colour}[item.fill])
    filled, stroked = int(item.fill != "none"), int(item.weight > 0)
    if isinstance(item, Circle):
        canvas.circle(item.x, -item.y, item.radius, stroke=stroked, fill=filled)
        return
    _polygon(canvas, item, stroked, filled)


def _polygon(canvas: Canvas, item: Polygon, stroked: int, filled: int) -> None:
    path = canvas.beginPath()
    for ring in item.rings:
        path.moveTo(ring[0][0], -ring[0][1])
        for px, py in ring[1:]:
            path.lineTo(px, -py)
        path.close()
    canvas.drawPath(path, stroke=stroked, fill=filled, fillMode=0)  # 0: even-odd


def _text(canvas: Canvas, item: Text, font: str, bold_font: str) -> None:
    canvas.saveState()
    canvas.setFillColor(COLOURS[item.role] if item.role in ("rod", "limit") else INK)
    canvas.setFont(bold_font if item.bold else font, item.size)
    canvas.translate(item.x, -item.y)
    if item.turned:
        canvas.rotate(90)
    show = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[item.anchor]
    show(0, 0, item.text)
    canvas.restoreState()
