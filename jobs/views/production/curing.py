"""All that is written down of a pour while it cures."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from jobs import access, curing
from jobs.actions import production
from jobs.errors import BadEntry, NotNow
from jobs.forms.curing import (
    CouponForm,
    CureCheckForm,
    TemperatureForm,
    WashoutForm,
)
from jobs.maturity_rule import MaturityBook, NotByMaturity, Ready
from jobs.models import Piece, Pour
from jobs.temperature_csv import read_temperatures
from jobs.views.entries import person_of, request_id_of
from jobs.views.floor import described, strengths_needed
from jobs.views.production.pages import Link, Table, data_of, entry_page, plots_url, to_piece, when
from jobs.views.units import shown, unit, units_of
from jobs.words import here, say, tell

MOST_FILE = 2_000_000


# ---- a pour while it cures -------------------------------------------------------------------------------------------


def cured_pour(request: HttpRequest, pk: int) -> tuple[Piece, Pour]:
    piece = access.piece_for(request.user, pk)
    if piece.pour is None:
        raise NotNow(say("{piece} is not poured yet.", piece=piece))
    return piece, piece.pour


def cure(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything known about the cure of a piece's batch; and the cover check."""
    piece, pour = cured_pour(request, pk)
    form = CureCheckForm(*data_of(request))
    return entry_page(
        request,
        form,
        lambda: production.record_cure_check(
            pour, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        heading=tell("Cure of {piece}, batch {batch}", piece=piece, batch=pour.batch),
        targets=_from_when(piece, pour),
        button=_("Write down the look at the cover"),
        said=_("Written down."),
        back=request.path,
        draft=f"cure-{pk}",
        tables=[
            _strength_table(piece, pour),
            _maturity_table(piece, pour),
            _checks_table(pour),
            _coupon_table(piece, pour),
        ],
    )


def _from_when(piece: Piece, pour: Pour) -> list[dict[str, Any]]:
    units, blocks = units_of(piece), []
    book = MaturityBook([pour])
    for need in strengths_needed(piece, described(piece), units):
        found = _ready_from(book, pour, need["psi"], units)
        label = tell(
            "{what} ({strength}) from about", what=need["what"], strength=f"{need['shown']} {unit('stress', units)}"
        )
        blocks.append({"label": label, "value": when(found.at), "note": here(found.words)})
    return blocks


def _ready_from(book: MaturityBook, pour: Pour, needed_psi: float, units: str) -> Ready | curing.FromWhen:
    """By maturity; where that cannot be said by the age of its tests, with the reason."""
    try:
        return book.ready_from(pour, needed_psi, units)
    except NotByMaturity as refusal:
        found = curing.ready_from(pour, needed_psi)
        words = say("Not by maturity: {why} By age: {by_age}", by_age=found.words, why=refusal.words)
        return curing.FromWhen(found.at, words)


def _strength_table(piece: Piece, pour: Pour) -> Table:
    units = units_of(piece)
    stress = unit("stress", units)
    tests = list(pour.strength_tests.select_related("pour", "by").order_by("at"))
    rows = [
        [
            tell("{days} days", days=f"{curing.age_days(pour, test.at):.2f}"),
            f"{shown(test.mean_psi, 'stress', units)} {stress}",
            len(test.specimens_psi),
            when(test.at),
        ]
        for test in tests
    ]
    found = curing.predicted(pour)
    lead = tell("Predicted by {whose}.", whose=found.whose) if found.curve else here(found.why)
    head = (_("Age"), _("Mean as cylinders"), _("Specimens"), _("When"))
    return Table(_("Strength"), head, rows, lead=lead, plot_url=plots_url(piece, "cure"), links=_links(piece))


def _links(piece: Piece) -> list[Link]:
    names = (
        ("strength", _("Strength test")),
        ("temperatures", _("Temperatures")),
        ("coupons", _("Coupons")),
        ("washout", _("Washout")),
    )
    return [Link(words, reverse(name, args=[piece.pk])) for name, words in names]


def _maturity_table(piece: Piece, pour: Pour) -> Table:
    found = curing.maturity(pour)
    readings = curing.temperatures(pour)
    lead = here(found.why) or tell(
        "Equivalent age {hours} h; {source}.", hours=f"{found.equivalent_hours:.1f}", source=found.source
    )
    rows = [[when(at), f"{value:.1f} °F"] for at, value in readings[-20:]]
    return Table(
        _("Maturity"),
        (_("Read at"), _("Concrete")),
        rows,
        lead=lead,
        empty=_("No temperatures yet."),
    )


def _checks_table(pour: Pour) -> Table:
    rows = [
        [
            when(row.at),
            _("covered") if row.covered else _("NOT covered"),
            _("moist") if row.moist else _("NOT moist"),
            row.by.display_name,
        ]
        for row in pour.cure_checks.select_related("by").order_by("-at")[:50]
    ]
    return Table(
        _("Cover and moisture"),
        (_("When"), _("Cover"), _("Moisture"), _("Who")),
        rows,
        empty=_("Not looked at yet."),
    )


def _coupon_table(piece: Piece, pour: Pour) -> Table:
    units = units_of(piece)
    stress = unit("stress", units)
    rows: list[list[Any]] = []
    for test in pour.coupon_tests.order_by("-at"):
        for place, coupon in enumerate(test.coupons, start=1):
            values = (shown(value, "stress", units) for value in (coupon.yield_psi, coupon.ultimate_psi))
            rows.append([when(test.at), place, *(f"{value} {stress}" for value in values)])
    for wash in pour.washout_tests.order_by("-at"):
        rows.append(
            [when(wash.at), _("washout"), tell("fibre {share} %", share=f"{100 * wash.fibre_share:.2f}"), "ASTM C1229"]
        )
    head = (_("When"), _("Coupon"), _("Flexural yield"), _("Flexural ultimate"))
    return Table(_("Coupons and washout"), head, rows, lead="ASTM C947: P L/(b d²).", empty=_("None yet."))


def temperatures(request: HttpRequest, pk: int) -> HttpResponse:
    piece, pour = cured_pour(request, pk)
    access.need(request.user, "produce")
    start = {"degrees": "c" if units_of(piece) == "si" else "f"}
    form = TemperatureForm(*data_of(request), initial=start)

    def act() -> Any:
        readings, source = _typed_or_file(form)
        return production.record_temperatures(
            pour,
            by=person_of(request),
            request_id=request_id_of(request),
            readings=readings,
            source=source,
            note=form.cleaned_data["note"],
        )

    return entry_page(
        request,
        form,
        act,
        piece=piece,
        heading=tell("Temperatures of batch {batch}", batch=pour.batch),
        button=_("Write down the temperatures"),
        said=lambda made: _said_of_temperatures(len(made.readings)),
        back=reverse("cure", args=[pk]),
        draft=f"temperatures-{pk}",
    )


def _said_of_temperatures(number: int) -> str:
    if number == 1:
        return tell("1 temperature is written down.")
    return tell("{number} temperatures are written down.", number=number)


def _typed_or_file(form: TemperatureForm) -> tuple[list[tuple[datetime, float]], str]:
    sent = form.cleaned_data
    celsius = sent["degrees"] == "c"
    if (file := sent["file"]) is not None:
        if file.size > MOST_FILE:
            raise BadEntry(say("The file is larger than 2 MB. Cut it down to this pour."), field="file")
        try:
            text = file.read().decode("utf-8-sig")
        except UnicodeDecodeError as exc:
            raise BadEntry(say("The file is no text in UTF-8. Save it again as CSV."), field="file") from exc
        return read_temperatures(text, celsius=celsius), "logger's file"
    if sent["value"] is None:
        raise BadEntry(say("Type a temperature, or choose a logger's file."), field="value")
    return [(sent["at"] or timezone.now(), sent["value"] * 1.8 + 32 if celsius else sent["value"])], "typed"


def coupons(request: HttpRequest, pk: int) -> HttpResponse:
    piece, pour = cured_pour(request, pk)
    access.need(request.user, "produce")
    form = CouponForm(*data_of(request), units=units_of(piece))
    return entry_page(
        request,
        form,
        lambda: production.record_coupon_test(
            pour, by=person_of(request), request_id=request_id_of(request), **form.values()
        ),
        piece=piece,
        heading=tell("Coupons of batch {batch}", batch=pour.batch),
        lead=_("ASTM C947, third-point loading: half of them face up, half face down."),
        button=_("Write down the coupons"),
        said=lambda made: _said_of_coupons(len(made.specimens)),
        back=reverse("cure", args=[pk]),
        draft=f"coupons-{pk}",
    )


def _said_of_coupons(number: int) -> str:
    if number == 1:
        return tell("1 coupon is written down.")
    return tell("{number} coupons are written down.", number=number)


def washout(request: HttpRequest, pk: int) -> HttpResponse:
    piece, pour = cured_pour(request, pk)
    access.need(request.user, "produce")
    form = WashoutForm(*data_of(request), units=units_of(piece))
    return entry_page(
        request,
        form,
        lambda: production.record_washout(
            pour, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        heading=tell("Washout of batch {batch}", batch=pour.batch),
        lead=_("ASTM C1229: dry fibre over the weight of the fresh sample."),
        button=_("Write down the washout"),
        said=lambda made: tell("Fibre {share} %, written down.", share=f"{100 * made.fibre_share:.2f}"),
        back=to_piece(piece),
        draft=f"washout-{pk}",
    )
