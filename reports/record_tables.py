"""The sections of a design record as tables and paragraphs, each from the stored documents alone."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from reportlab.platypus import CondPageBreak, KeepTogether, Paragraph, Spacer
from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from reports import inputs as input_rows
from reports.figure_tables import figure_tables
from reports.plot_data import result_plots
from reports.plots import Plot, draw_plot
from reports.ruled import Picture, RatioBar, VerdictMark, ruled_table
from reports.sheet import BODY, CELL, NUMBER, SANS_BOLD, SMALL, SUBHEAD, WORKING, para, safe
from reports.words import figure_text, number_text, ratio_text, with_unit

Result = Mapping[str, Any]
VARIANTS = {
    "high": "every rod high",
    "low": "every rod low",
    "front_high": "front rods high, back rods low",
    "back_high": "back rods high, front rods low",
}
OPEN = ("fail", "review", "caution")


def reasons(result: Result, width: float) -> list[Flowable]:
    """The checks that do not simply pass, worst first, each with what it says."""
    rows = []
    for verdict in OPEN:
        for check in result["checks"]:
            if check["verdict"] == verdict:
                why = check.get("why") or check.get("caution") or _measured(check)
                rows.append((VerdictMark(verdict), _two(check["name"], check["clause"]), para(why, CELL)))
    counts = {
        v: sum(c["verdict"] == v for c in result["checks"])
        for v in ("pass", "caution", "review", "fail", "not applicable")
    }
    words = ", ".join(f"{n} {v}" for v, n in counts.items() if n)
    parts: list[Flowable] = [para(f"Verdict: {result['verdict']}. Of {len(result['checks'])} checks: {words}.")]
    if rows:
        parts.append(ruled_table(("verdict", "check", "what it says"), rows, (width * 0.13, width * 0.37, width * 0.5)))
    return parts


def _measured(check: Mapping[str, Any]) -> str:
    unit = str(check.get("unit") or "")
    return (
        f"demand {with_unit(check.get('demand'), unit)}, capacity {with_unit(check.get('capacity'), unit)}, "
        f"ratio {ratio_text(check.get('ratio'))}"
    )


def basis(result: Result, piece: Piece) -> list[Flowable]:
    units = "US customary units" if piece.units == "us" else "SI units"
    conventions = (
        f"{units}. Tension +, compression −; sagging moments +; deflection down +, crown up +. x runs from the left "
        "end, z from the front edge, y upwards from the lowest soffit. Every check is made for five variants of the "
        "rod forces (nominal, high, low and two uneven ones) and shows the worst; figures are the nominal ones."
    )
    items: list[Flowable] = [Paragraph(f"—&nbsp; {safe(text)}", WORKING) for text in result["basis"]]
    return [para(conventions), *items]


def inputs(piece: Piece, width: float) -> list[Flowable]:
    cast = "face down" if piece.face_down else "face up"
    parts: list[Flowable] = [
        para(f"Cast {cast}; described as installed. What the specification leaves out has the defaults shown.")
    ]
    parts += _listing(
        "Zones",
        ("zone", "from", "to", "shape", "width", "depth"),
        input_rows.zone_rows(piece),
        width,
        (1, 1, 1, 1.2, 1, 1),
    )
    parts += _listing("Supports", ("", "at", "bearing", ""), input_rows.support_rows(piece), width, (0.6, 1, 1, 2))
    parts += _listing(
        "Loads",
        ("load", "case", "value", "where", "remarks"),
        input_rows.load_rows(piece),
        width,
        (2, 0.8, 1.1, 1.6, 1.2),
    )
    for block in [*input_rows.rod_rows(piece), *input_rows.blocks(piece)]:
        rows = [(para(r.name, CELL), para(r.value, CELL), _source(r.source)) for r in block.rows]
        table = ruled_table(("input", "value", "from"), rows, (width * 0.34, width * 0.38, width * 0.28), padding=1.6)
        parts += [CondPageBreak(70), para(block.title, SUBHEAD), table]
    return parts


def checks(result: Result, width: float) -> list[Flowable]:
    widths = [width * part for part in (0.05, 0.41, 0.125, 0.125, 0.175, 0.115)]
    length = "mm" if result["units"] == "si" else "in"
    rows = [_check_row(number, check, length) for number, check in enumerate(result["checks"], 1)]
    table = ruled_table(
        ("no.", "check", "demand", "capacity", "demand / capacity", "verdict"), rows, widths, numbers=(2, 3)
    )
    return [
        para(
            "The post in each bar stands at 1: demand equals capacity. The number leads to the working in the appendix."
        ),
        table,
    ]


def _check_row(number: int, check: Mapping[str, Any], length: str) -> tuple[Any, ...]:
    details = [check["clause"]]
    if check.get("setting"):
        details.append("◆ " + input_rows.SHOPS_SETTING)
    if check.get("variant") and check["variant"] != "nominal":
        details.append(f"worst: {VARIANTS.get(check['variant'], check['variant'])}")
    if check.get("at") is not None:
        details.append(f"x = {number_text(check['at'])} {length}")
    if check["verdict"] == "not applicable" or check.get("ratio") is None:
        details.append(check.get("why") or "")
    unit = str(check.get("unit") or "")
    link = Paragraph(f'<a href="#working-{number}">{number}</a>', CELL)
    return (
        link,
        _two(check["name"], " · ".join(d for d in details if d)),
        para(with_unit(check.get("demand"), unit), NUMBER),
        para(with_unit(check.get("capacity"), unit), NUMBER),
        RatioBar(check.get("ratio"), check["verdict"], ratio_text(check.get("ratio"))),
        VerdictMark(check["verdict"]),
    )


def stressing(result: Result, piece: Piece, width: float) -> list[Flowable]:
    """The targets, rod by rod in the order of tightening."""
    if piece.stressing is None or not piece.rods:
        return []
    figures = result["figures"]
    marks = [mark for mark in piece.stressing.order if any(rod.mark == mark for rod in piece.rods)]
    rows = [
        [para(str(turn), CELL), para(mark, CELL)]
        + [
            para(figure_text(figures.get(f"rod.{mark}.{key}", {})), NUMBER)
            for key in ("force_jacking", "torque", "elongation", "nut_turns", "length")
        ]
        for turn, mark in enumerate(marks, 1)
    ]
    head = ("turn", "rod", "force under the nut", "torque", "elongation", "turns of the nut", "rod length")
    steps = " · ".join(f"{number_text(step * 100)} %" for step in piece.stressing.steps)
    s = piece.stressing
    strength = input_rows.quantity_text(piece.concrete.strength_at_stressing_psi, "stress", piece.units)
    parts: list[Flowable] = [
        para(
            f"Method: {s.method}. In steps of {steps} of the jacking force: at each step every rod in this order, then "
            f"the next step. Concrete strength wanted before the first turn: {strength}."
        ),
        ruled_table(
            head, rows, [width * p for p in (0.07, 0.13, 0.18, 0.16, 0.15, 0.15, 0.16)], numbers=(2, 3, 4, 5, 6)
        ),
    ]
    low, mid, high = (figures.get(f"crown.{key}", {}) for key in ("transfer_low", "transfer", "transfer_high"))
    parts += [
        Spacer(1, 6),
        para(
            f"Crown expected just after stressing: {figure_text(mid)}; band by the scatter of the rod force "
            f"{figure_text(low)} to {figure_text(high)}. A crown beyond the band is not force in the rods: stop and "
            "find out why."
        ),
    ]
    return parts


def figures(result: Result, width: float) -> list[Flowable]:
    length = "mm" if result["units"] == "si" else "in"
    return [para(f"Nominal values. “at” is x from the left end, in {length}."), *figure_tables(result, width)]


def plots(result: Result, width: float) -> list[Flowable]:
    parts: list[Flowable] = []
    said: set[str] = set()
    for each in result_plots(result):
        parts += plot_parts(each, width, said)
    return parts


def plot_parts(each: Plot, width: float, said: set[str], height: float = 150) -> list[Flowable]:
    """The plot, and its note where it was not said before; `said` keeps those."""
    drawn = draw_plot(each, width=width, height=height)
    if drawn is None:
        return []
    note = [para(each.note, SMALL)] if each.note and each.note not in said else []
    said.add(each.note)
    return [KeepTogether([*note, Spacer(1, 3 if note else 0), Picture(drawn.figure)]), Spacer(1, 9)]


def cautions(result: Result) -> list[Flowable]:
    return [
        Paragraph(f"—&nbsp; {safe(text)}", BODY.clone("caution", leftIndent=12, firstLineIndent=-12))
        for text in result["cautions"]
    ]


def working(result: Result, width: float) -> list[Flowable]:
    parts: list[Flowable] = []
    for number, check in enumerate(result["checks"], 1):
        unit = str(check.get("unit") or "")
        head = Paragraph(f'<a name="working-{number}"/>{number}&nbsp;&nbsp;{safe(check["name"])}', SUBHEAD)
        line = (
            f"{check['clause']} · {check['verdict']} · demand {with_unit(check.get('demand'), unit)}, "
            f"capacity {with_unit(check.get('capacity'), unit)}, ratio {ratio_text(check.get('ratio'))}"
        )
        lines = [Paragraph(safe(text), WORKING) for text in check.get("working") or []]
        said = [text for text in (check.get("why"), check.get("caution")) if text]
        parts += [
            CondPageBreak(48),
            head,
            para(line, SMALL),
            Spacer(1, 2),
            *lines,
            *(para(text, CELL) for text in said),
        ]
    return parts


def _two(first: str, second: str) -> list[Flowable]:
    """A name, and under it what is less loud."""
    return [
        Paragraph(f'<font name="{SANS_BOLD}">{safe(first)}</font>', CELL),
        *([para(second, SMALL)] if second else []),
    ]


def _source(text: str) -> Flowable:
    if text == input_rows.SHOPS_SETTING:
        return Paragraph(f'<font name="{SANS_BOLD}">◆ {safe(text)}</font>', CELL)
    return para(text, CELL)


def _listing(
    title: str, head: Sequence[str], rows: Iterable[Sequence[str]], width: float, parts: Sequence[float]
) -> list[Flowable]:
    cells = [[para(text, CELL) for text in row] for row in rows]
    if not cells:
        return [para(title, SUBHEAD), para("none")]
    table = ruled_table(head, cells, [width * p / sum(parts) for p in parts], padding=1.6)
    return [CondPageBreak(70), para(title, SUBHEAD), table]
