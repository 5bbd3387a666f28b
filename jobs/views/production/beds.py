"""The curing bed of a piece; and, for the schedule, which beds are in use and from when they are free."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy
from django.views.decorators.http import require_safe

from engineering.queries import described_piece
from jobs import access, strength_rule
from jobs.actions import production
from jobs.maturity_rule import MaturityBook, NotByMaturity
from jobs.models import Piece, Shop
from jobs.stages import Stage
from jobs.views.entries import person_of, request_id_of, show
from jobs.views.production.pages import Link, Table, data_of, entry_page, to_piece, when
from jobs.words import tell

NONE_NAMED = lazy("The shop has named no beds yet. The manager names them on the shop's page.")


class BedForm(forms.Form):
    bed = forms.ChoiceField(label=lazy("Bed"), required=False)

    def __init__(self, *args: Any, beds: list[str], taken: dict[str, Piece], **options: Any) -> None:
        super().__init__(*args, **options)
        named = [(bed, _told(bed, taken.get(bed))) for bed in beds]
        self.fields["bed"].choices = [("", _("none")), *named]  # type: ignore[attr-defined]  # a choice


def _told(name: str, by: Piece | None) -> str:
    return tell("{bed}, taken by {piece}", bed=name, piece=by) if by else name


def bed(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    beds = (Shop.objects.filter(pk=1).first() or Shop(pk=1)).beds
    taken = {row.bed: row for row in lying() if row.pk != piece.pk}
    form = BedForm(*data_of(request), beds=beds, taken=taken, initial={"bed": piece.bed}) if beds else None
    return entry_page(
        request,
        form,
        lambda: production.lay_on_bed(
            piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data if form else {}
        ),
        piece=piece,
        heading=tell("Curing bed of {piece}", piece=piece),
        lead="" if beds else NONE_NAMED,
        button=_("Write down the bed"),
        said=lambda made: (
            tell("{piece} lies on {bed}.", piece=made, bed=made.bed) if made.bed else _("It lies on no bed.")
        ),
        back=to_piece(piece),
        draft=f"bed-{pk}",
    )


def lying() -> list[Piece]:
    """The pieces that lie on a bed."""
    of_pour = ("pour__mix", "pour__ticket__mix_version")  # asked for where nothing is written down of the pour
    rows = Piece.objects.exclude(bed="").select_related("design__order", "revision__specification", *of_pour)
    return list(rows)


@require_safe
def schedule_beds(request: HttpRequest) -> HttpResponse:
    """The part that the schedule fetches once it is there: nothing where no bed is named. A page of its own for whoever
    follows the link without scripts.
    """
    access.need(request.user, "view")
    tables = [table] if (table := beds_table()) else []
    if request.headers.get("HX-Request") == "true":
        return render(request, "jobs/production/_tables.html", {"tables": tables, "part_name": "beds-"})
    context = {
        "here": "schedule",
        "heading": _("Curing beds"),
        "tables": tables,
        "lead": "" if tables else NONE_NAMED,
        "links": [Link(_("Schedule"), reverse("schedule"))],
    }
    return show(request, "jobs/production/list.html", context)


def beds_table() -> Table | None:
    """For the schedule: each bed, what lies on it, and from about when it is free. None where no bed is named."""
    beds = (Shop.objects.filter(pk=1).first() or Shop(pk=1)).beds
    if not beds:
        return None
    rows = {row.bed: row for row in lying()}
    pours = [row.pour for row in rows.values() if row.pour is not None]
    book = MaturityBook(pours)
    told = []
    for name in beds:
        row = rows.get(name)
        told.append([name, Link(str(row), to_piece(row)), _free(row, book)] if row else [name, _("free"), _("now")])
    free = sum(1 for name in beds if name not in rows)
    lead = tell(
        "Beds in use: {used} of {number}. A bed is free once its piece is stripped.",
        used=len(beds) - free,
        number=len(beds),
    )
    return Table(_("Curing beds"), (_("Bed"), _("Piece"), _("Free from about")), told, lead=lead)


def _free(row: Piece, book: MaturityBook) -> str:
    """When the piece can be stripped: proven, by maturity, or by the age at which its drawing has it stressed."""
    if row.stage == Stage.HELD:
        return _("not known: it is held")
    if row.pour is None or row.revision is None:
        return _("not known: it is not poured yet")
    drawn = described_piece(row.revision.specification)
    if drawn.handling is None:
        return _("now: its drawing asks for no strength to strip")
    needed, test = drawn.handling.strength_psi, book.newest_test(row.pour)
    if test is not None and not strength_rule.shortfalls(test, needed, drawn.units):
        return _("now: strength to strip is proven")
    try:
        return tell("{time}, by maturity", time=when(book.ready_from(row.pour, needed, drawn.units).at))
    except NotByMaturity as refusal:
        latest = _by_age(row.pour.at, drawn.stressing.age_days if drawn.stressing else None)
        return tell("{time}; not by maturity: {why}", time=latest, why=refusal.short)


def _by_age(poured: datetime, age_days: float | None) -> str:
    if age_days is None:
        return _("when specimens reach the strength to strip")
    return tell("{time}, when its drawing has it stressed", time=when(poured + timedelta(days=age_days)))
