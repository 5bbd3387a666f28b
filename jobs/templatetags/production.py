"""What the page of a piece shows beyond its next entry: what is open about it, and where else to write."""

from __future__ import annotations

from typing import Any

from django import template
from django.urls import reverse

from jobs import access, passes
from jobs.models import NonConformance, Piece, Stage
from jobs.production_pages import links_for
from jobs.words import here, tell

register = template.Library()


@register.inclusion_tag("jobs/production/_piece_more.html", takes_context=True)
def more_of_piece(context: template.Context, piece: Piece) -> dict[str, Any]:
    person = context["request"].user
    rows = NonConformance.objects.filter(piece=piece, repaired_at=None).order_by("pk")
    groups = links_for(piece, lambda permission: access.may(person, permission))
    over = [
        {
            "text": tell("Pass over the gate to {stage}", stage=here(Stage(move.to_stage).label)),
            "url": reverse("gate_pass", args=[piece.pk, move.to_stage]),
        }
        for move in (context["page"].moves if access.may(person, "pass") else ())
        if passes.to_pass(move.blockers, person.role)
    ]
    if over:
        groups.append({"title": tell("Where a gate may be passed over, with a reason"), "links": over})
    return {
        "open_rows": [row for row in rows if not row.is_settled],
        "groups": groups,
    }
