"""Amounts kept in US units, shown in the units of the piece's drawing."""

from __future__ import annotations

from engineering.core.contract.units import QUANTITIES, format_number
from jobs.models import Piece


def units_of(piece: Piece) -> str:
    """us or si: of the revision the piece is bound to, or of the newest."""
    revision = piece.revision or piece.design.revisions.select_related("specification").order_by("-number").first()
    return revision.specification.units if revision else "us"


def shown(value_us: float | None, quantity: str, units: str, digits: int = 3) -> str:
    """The number alone, in the reader's units; — for none."""
    return "—" if value_us is None else format_number(QUANTITIES[quantity].from_us(value_us, units), digits)


def unit(quantity: str, units: str) -> str:
    return QUANTITIES[quantity].unit(units)
