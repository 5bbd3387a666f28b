"""The recipe of a mix by version, and the ticket of a batch weighed by it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_safe

from engineering.core.contract.units import QUANTITIES
from engineering.core.mix import batch_for
from engineering.queries import latest_run
from jobs import access, coupon_rule
from jobs.actions import batching
from jobs.errors import NotNow
from jobs.forms.curing import MixVersionForm, TicketForm, written_ingredients
from jobs.models import BatchTicket, Mix, MixVersion, Piece
from jobs.views.entries import person_of, request_id_of
from jobs.views.production.pages import Link, Table, data_of, entry_page, list_page, when
from jobs.views.units import units_of
from jobs.words import here, say, tell

KG_PER_LB = 0.45359237
WASTE = 0.10


def mix_version(request: HttpRequest, pk: int) -> HttpResponse:
    access.need(request.user, "shop")
    mix = get_object_or_404(Mix, pk=pk)
    versions = list(mix.versions.select_related("made_by").order_by("-number"))
    start = None
    if versions:
        newest = versions[0]
        start = {
            "cement": newest.cement,
            "ingredients": written_ingredients(newest),
            "air_percent": 100 * newest.air,
            "working_minutes": newest.working_minutes,
        }
    form = MixVersionForm(*data_of(request), initial=start)
    return entry_page(
        request,
        form,
        lambda: batching.save_mix_version(
            mix, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        permission="shop",
        heading=f"Recipe of {mix}",
        lead="A change makes the next version; what was poured stays with the version it was poured by.",
        button="Save as the next version",
        said=lambda made: f"{made} is saved.",
        back=request.path,
        draft=f"recipe-{pk}",
        here="shop",
        crumbs=[Link("The shop", reverse("shop"))],
        tables=[_versions(versions), _coupons_of(mix)],
    )


def _versions(versions: list[MixVersion]) -> Table:
    rows = []
    for version in versions:
        recipe = version.recipe
        water = recipe.water_to_cementitious
        rows.append(
            [
                version.number,
                f"{recipe.unit_weight_pcf:.1f} lb/ft³",
                f"{water:.3f}" if water is not None else "—",
                f"{100 * recipe.fibre_share:.2f} % by weight, {100 * recipe.fibre_volume_share:.2f} % by volume",
                version.note,
                f"{when(version.made_at)}, {version.made_by.display_name}",
            ]
        )
    head = ("Version", "Unit weight", "Water to binder", "Fibre", "What changed", "When and who")
    return Table("Versions", head, rows, empty="None yet.")


def _coupons_of(mix: Mix) -> Table:
    found = coupon_rule.statistics(mix)
    rows = [
        [
            name,
            f"{have.mean:.0f} psi",
            "—" if have.variation is None else f"{100 * have.variation:.1f} %",
            have.number,
            "—" if have.characteristic is None else f"{have.characteristic:.0f} psi",
        ]
        for name, have in (("Flexural yield", found.yield_psi), ("Flexural ultimate", found.ultimate_psi))
        if have is not None
    ]
    head = ("", "Mean", "Variation", "Number", "To count on")
    return Table("Coupons of this mix", head, rows, lead="ASTM C947, third-point loading.", empty="None broken yet.")


@require_safe
def tickets(request: HttpRequest, pk: int) -> HttpResponse:
    """Which recipe: one link for each newest version."""
    piece = access.piece_for(request.user, pk, may="produce")
    newest: dict[int, MixVersion] = {}
    for version in MixVersion.objects.filter(mix__active=True).select_related("mix").order_by("number"):
        newest[version.mix_id] = version
    rows = [
        [
            Link(str(row), reverse("ticket", args=[pk, row.pk])),
            here(row.get_cement_display()),
            f"{row.working_minutes} min",
        ]
        for row in sorted(newest.values(), key=lambda row: row.mix.name)
    ]
    empty = tell("No mix has a recipe yet. The shop manager writes it on the shop's page.")
    head = (tell("Recipe"), tell("Cement"), tell("Working time"))
    table = Table(tell("Recipes"), head, rows, empty=empty)
    return list_page(request, tell("Batch ticket for {piece}", piece=piece), [table], piece=piece)


def ticket(request: HttpRequest, pk: int, version_pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="produce")
    version = get_object_or_404(MixVersion.objects.select_related("mix"), pk=version_pk)
    units = units_of(piece)
    volume = volume_of(piece)
    aims = batch_for(version.recipe, volume, WASTE).weighings
    form = TicketForm(*data_of(request), names=[aim.name for aim in aims], units=units)
    return entry_page(
        request,
        form,
        lambda: batching.record_ticket(
            version,
            by=person_of(request),
            request_id=request_id_of(request),
            volume_ft3=volume,
            waste=WASTE,
            **form.values(),
        ),
        piece=piece,
        heading=tell("Batch ticket for {piece}", piece=piece),
        lead=tell(
            "{version}: {volume} ft³ in the form and {waste} % more for bucket and tests.",
            version=version,
            volume=f"{volume:.2f}",
            waste=f"{100 * WASTE:.0f}",
        ),
        cautions=[tell("Dry powder: mask and eye protection. Wet mix burns: gloves.")],
        targets=[
            {"label": aim.name, "unit": "lb", "value": f"{aim.target_lb:.2f}", "note": _limits(aim)} for aim in aims
        ],
        alike=True,  # none of them comes before the others
        button=tell("Write down the batch"),
        said=_kept,
        well=lambda made: made.within_tolerance,
        back=reverse("pour", args=[pk]),
        draft=f"ticket-{pk}",
    )


def _kept(made: BatchTicket) -> str:
    """In tolerance or not, and what follows from the weights for water and fibre."""
    if made.within_tolerance:
        told = [tell("Batch {batch}: in tolerance, written down.", batch=made.batch)]
    else:
        told = [tell("Batch {batch}: OUT OF tolerance, written down.", batch=made.batch)]
    if made.water_to_cementitious is not None:
        told.append(tell("As weighed: water to binder {share}.", share=f"{made.water_to_cementitious:.3f}"))
    if made.fibre_share is not None:
        told.append(tell("As weighed: fibre {share} % by weight.", share=f"{100 * made.fibre_share:.2f}"))
    return " ".join(told)


def _limits(aim: Any) -> str:
    pounds = tell("{least} to {most} lb", least=f"{aim.least_lb:.2f}", most=f"{aim.most_lb:.2f}")
    return f"{pounds} · {aim.target_lb * KG_PER_LB:.2f} kg"


def volume_of(piece: Piece) -> float:
    """Concrete in the form by the released result, ft³."""
    if piece.revision is None:
        raise NotNow(say("{piece} is bound to no released drawing yet.", piece=piece))
    run = latest_run(piece.revision.specification)
    figure = run.result["figures"].get("batch.volume") if run and run.result else None
    if figure is None or figure["value"] is None:
        raise NotNow(say("The result has no volume of concrete. Run the checks again."))
    return QUANTITIES["volume"].to_us(figure["value"], piece.revision.specification.units)
