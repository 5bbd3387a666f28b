"""Stored values as they stand on a page: in the units of the piece's document, named, in pairs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.platypus.flowables import Flowable

from engineering.core.contract.piece import Piece
from engineering.core.contract.units import QUANTITIES
from reports.ruled import VerdictMark, ruled_table
from reports.sheet import CELL, SMALL, para
from reports.words import number_text, with_unit

KG_PER_LB = 0.45359237  # exact, by definition of the pound
BLANK = "_" * 24
NOT_NOTED = "not noted"


def shown(value_us: float | None, quantity: str, piece: Piece) -> str:
    """A stored value in the units of the piece's document."""
    if value_us is None:
        return "—"
    kind = QUANTITIES[quantity]
    return with_unit(kind.from_us(value_us, piece.units), kind.unit(piece.units))


def mass(value_lb: float | None, piece: Piece) -> str:
    """A weighed amount: lb, or kg for a document in SI units."""
    if value_lb is None:
        return "—"
    return f"{number_text(value_lb)} lb" if piece.units == "us" else f"{number_text(value_lb * KG_PER_LB)} kg"


def temperature(value_f: float | None, piece: Piece) -> str:
    """°F, or °C for a document in SI units."""
    if value_f is None:
        return "—"
    return f"{number_text(value_f)} °F" if piece.units == "us" else f"{number_text((value_f - 32) / 1.8)} °C"


def percent(share: float | None) -> str:
    return "—" if share is None else f"{number_text(100 * share)} %"


def entry(value: Any, quantity: str | None, piece: Piece) -> str:
    """A value somebody may not have written down."""
    if value is None or value == "":
        return NOT_NOTED
    if quantity == "temperature":
        return temperature(value, piece)
    return str(value) if quantity is None else shown(value, quantity, piece)


def pairs(rows: Sequence[tuple[str, str]], width: float) -> Flowable:
    """Names with their values."""
    cells = [(para(name, CELL), para(value, CELL)) for name, value in rows]
    return ruled_table(("", ""), cells, (width * 0.38, width * 0.62), padding=1.8)


def judged(within: bool, *words: str) -> list[Flowable]:
    """A mark by shape and word, and under it what was said."""
    return [VerdictMark("pass" if within else "fail"), *(para(text, SMALL) for text in words if text)]
