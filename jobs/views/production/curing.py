"""All that is written down of a pour while it cures."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from jobs import access, curing
from jobs.actions import production
from jobs.errors import BadEntry, NotNow
from jobs.forms.curing import (
    CouponForm,
    CureCheckForm,
    TemperatureForm,
    WashoutForm,
)
from jobs.models import Piece, Pour
from jobs.temperature_csv import read_temperatures
from jobs.views.entries import person_of, request_id_of
from jobs.views.floor import described, strengths_needed
from jobs.views.production.pages import Link, Table, data_of, entry_page, plots_url, to_piece, when
from jobs.views.units import shown, unit, units_of

MOST_FILE = 2_000_000


# ---- a pour while it cures -------------------------------------------------------------------------------------------


def cured_pour(request: HttpRequest, pk: int) -> tuple[Piece, Pour]:
    piece = access.piece_for(request.user, pk)
    if piece.pour is None:
        raise NotNow(f"{piece} is not poured yet.")
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
        heading=f"Cure of {piece}, batch {pour.batch}",
        targets=_from_when(piece, pour),
        button="Write down the look at the cover",
        said="Written down.",
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
    for need in strengths_needed(piece, described(piece), units):
        found = curing.ready_from(pour, need["psi"])
        what = f"{need['what']} ({need['shown']} {unit('stress', units)}) from about"
        blocks.append({"label": f"Can be ready {what}", "value": when(found.at), "note": found.words})
    return blocks


def _strength_table(piece: Piece, pour: Pour) -> Table:
    units = units_of(piece)
    stress = unit("stress", units)
    tests = list(pour.strength_tests.select_related("pour", "by").order_by("at"))
    rows = [
        [
            f"{curing.age_days(pour, test.at):.2f} days",
            f"{shown(test.mean_psi, 'stress', units)} {stress}",
            len(test.specimens_psi),
            when(test.at),
        ]
        for test in tests
    ]
    found = curing.predicted(pour)
    lead = f"Predicted by {found.whose}." if found.curve else found.why
    head = ("Age", "Mean as cylinders", "Specimens", "When")
    return Table("Strength", head, rows, lead=lead, plot_url=plots_url(piece, "cure"), links=_links(piece))


def _links(piece: Piece) -> list[Link]:
    names = (
        ("strength", "Strength test"),
        ("temperatures", "Temperatures"),
        ("coupons", "Coupons"),
        ("washout", "Washout"),
    )
    return [Link(words, reverse(name, args=[piece.pk])) for name, words in names]


def _maturity_table(piece: Piece, pour: Pour) -> Table:
    found = curing.maturity(pour)
    readings = curing.temperatures(pour)
    lead = found.why or f"Equivalent age {found.equivalent_hours:.1f} h; {found.source}."
    rows = [[when(at), f"{value:.1f} °F"] for at, value in readings[-20:]]
    return Table(
        "Maturity",
        ("Read at", "Concrete"),
        rows,
        lead=lead,
        empty="No temperatures yet.",
    )


def _checks_table(pour: Pour) -> Table:
    rows = [
        [
            when(row.at),
            "covered" if row.covered else "NOT covered",
            "moist" if row.moist else "NOT moist",
            row.by.display_name,
        ]
        for row in pour.cure_checks.select_related("by").order_by("-at")[:50]
    ]
    return Table("Cover and moisture", ("When", "Cover", "Moisture", "Who"), rows, empty="Not looked at yet.")


def _coupon_table(piece: Piece, pour: Pour) -> Table:
    units = units_of(piece)
    stress = unit("stress", units)
    rows: list[list[Any]] = []
    for test in pour.coupon_tests.order_by("-at"):
        for place, coupon in enumerate(test.coupons, start=1):
            values = (shown(value, "stress", units) for value in (coupon.yield_psi, coupon.ultimate_psi))
            rows.append([when(test.at), place, *(f"{value} {stress}" for value in values)])
    for wash in pour.washout_tests.order_by("-at"):
        rows.append([when(wash.at), "washout", f"fibre {100 * wash.fibre_share:.2f} %", "ASTM C1229"])
    head = ("When", "Coupon", "Flexural yield", "Flexural ultimate")
    return Table("Coupons and washout", head, rows, lead="ASTM C947: P L/(b d²).", empty="None yet.")


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
        heading=f"Temperatures of batch {pour.batch}",
        button="Write down the temperatures",
        said=lambda made: f"{len(made.readings)} temperatures are written down.",
        back=reverse("cure", args=[pk]),
        draft=f"temperatures-{pk}",
    )


def _typed_or_file(form: TemperatureForm) -> tuple[list[tuple[datetime, float]], str]:
    sent = form.cleaned_data
    celsius = sent["degrees"] == "c"
    if (file := sent["file"]) is not None:
        if file.size > MOST_FILE:
            raise BadEntry("The file is larger than 2 MB. Cut it down to this pour.", field="file")
        try:
            text = file.read().decode("utf-8-sig")
        except UnicodeDecodeError as exc:
            raise BadEntry("The file is no text in UTF-8. Save it again as CSV.", field="file") from exc
        return read_temperatures(text, celsius=celsius), "logger's file"
    if sent["value"] is None:
        raise BadEntry("Type a temperature, or choose a logger's file.", field="value")
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
        heading=f"Coupons of batch {pour.batch}",
        lead="ASTM C947, third-point loading: half of them face up, half face down.",
        button="Write down the coupons",
        said=lambda made: f"{len(made.specimens)} coupons are written down.",
        back=reverse("cure", args=[pk]),
        draft=f"coupons-{pk}",
    )


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
        heading=f"Washout of batch {pour.batch}",
        lead="ASTM C1229: dry fibre over the weight of the fresh sample.",
        button="Write down the washout",
        said=lambda made: f"Fibre {100 * made.fibre_share:.2f} %, written down.",
        back=to_piece(piece),
        draft=f"washout-{pk}",
    )
