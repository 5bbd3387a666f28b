"""What a role is told now, the most urgent first: read off an index of its own, however much is open."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, QuerySet, Subquery, Value

from jobs.models import Notice, Role

COLUMN = {Role.MANAGER: "for_manager", Role.ENGINEER: "for_engineer", Role.CREW: "for_crew"}


def for_role(role: str) -> QuerySet[Notice]:
    """By kind (`jobs.notices.URGENCY`), and of one kind what waits longest. Those who only look are told nothing."""
    column = COLUMN.get(Role(role))
    if column is None:
        return Notice.objects.none()
    mine = Notice.objects.filter(**{column: True, "over_at": None})
    return mine.order_by("over_at", "urgency", "made_at", "pk")  # as the index has them; of these over_at is none


def first_for(role: str, most: int) -> tuple[list[Any], int]:
    """The first of them, each with its piece, and how many there are in all. One query."""
    mine = for_role(role)
    how_many = mine.order_by().values(one=Value(1)).annotate(number=Count("*")).values("number")
    rows = list(mine.select_related("piece__design").annotate(how_many=Subquery(how_many))[:most])
    return rows, rows[0].how_many if rows else 0
