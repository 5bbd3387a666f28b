"""Drawings of a piece from its stored document: an elevation, and a cross-section for each distinct zone.

Nothing is calculated here but where a line goes on the paper. Call `piece_svg` for a page, `piece_figure` for print.
"""

from collections.abc import Mapping
from typing import Any, Literal

from engineering.core.contract import parse
from engineering.core.contract.piece import Piece
from reports.drawing.elevation import draw_elevation
from reports.drawing.figure import Figure
from reports.drawing.sections import draw_each_section, draw_sections
from reports.drawing.svg import to_svg

Which = Literal["elevation", "sections"]
SCREEN_WIDTH, SCREEN_SIZE = 760.0, 12.0  # points of the view box; letter height


def piece_figure(piece: Piece, document: Mapping[str, Any], which: Which, *, width: float, size: float) -> Figure:
    """The drawing of an accepted piece; `document` is the one it was parsed from: loads are shown as it writes them."""
    if which == "elevation":
        loads = document.get("loads") or []
        return draw_elevation(piece, loads, width=width, size=size)
    return draw_sections(piece, width=width, size=size)


def piece_figures(piece: Piece, document: Mapping[str, Any], *, width: float, size: float) -> list[Figure]:
    """The elevation and each section as figures of their own, for print."""
    elevation = piece_figure(piece, document, "elevation", width=width, size=size)
    return [elevation, *draw_each_section(piece, width=width, size=size)]


def piece_svg(document: Mapping[str, Any], which: Which = "elevation", *, ident: str = "") -> str:
    """The drawing as one <svg> for a page. `ident` must be unique on the page where one drawing stands twice.

    Raises the contract's refusal when the document is not accepted; never fails on one that is.
    """
    figure = piece_figure(parse(document), document, which, width=SCREEN_WIDTH, size=SCREEN_SIZE)
    return to_svg(figure, ident=ident or f"drawing-{which}")
