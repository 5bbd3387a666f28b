"""The drawings a form is made from: plan, elevation and sections, as installed or turned over as cast."""

from dataclasses import replace

from engineering.core.contract.piece import Piece
from reports.drawing.elevation import draw_elevation
from reports.drawing.figure import Figure
from reports.drawing.plan import draw_plan
from reports.drawing.sections import draw_each_section
from reports.drawing.turned import turned_over


def form_figures(piece: Piece, *, turned: bool, width: float, size: float, enlarge: bool = True) -> list[Figure]:
    """Plan, elevation and sections, as installed or turned over about the long axis."""
    shown = turned_over(piece) if turned else replace(piece, loads=())
    edges = ("BACK EDGE as installed", "FRONT EDGE as installed") if turned else ("FRONT EDGE", "BACK EDGE")
    down = "into the form: the underside is seen" if turned else "as installed, from above"
    plan = draw_plan(
        shown,
        width=width,
        size=size,
        heading=f"Plan {down}",
        front=edges[0],
        back=edges[1],
        north_up=not turned,
    )
    elevation = draw_elevation(
        shown,
        [],
        width=width,
        size=size,
        heading="Elevation in the form, face down" if turned else "Elevation from the front",
        datum="the bed of the form" if turned else "the lowest soffit",
        enlarge=enlarge,
    )
    return [plan, elevation, *draw_each_section(shown, width=width, size=size)]
