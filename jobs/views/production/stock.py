"""Lots and what they went into; lists in and out; copies; and what the shop's own numbers say."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from jobs import access, exports, learning
from jobs.actions import copying, stock
from jobs.errors import BadEntry, ShopError, Unknown
from jobs.forms.stock import CopyDesignForm, CopyOrderForm, ListForm, LotForm, LotUseForm
from jobs.models import StockLot
from jobs.piece_list import ListRefused
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.floor import described
from jobs.views.production.pages import Link, Table, data_of, entry_page, list_page, when
from jobs.words import here, tell

MOST_FILE = 500_000
KINDS = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@require_safe
def lots(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    may_edit = access.may(request.user, "shop")
    rows = [
        [
            Link(row.lot, reverse("lot", args=[row.pk])) if may_edit else row.lot,
            here(row.get_kind_display()),
            row.description,
            row.certificate or tell("no certificate"),
            row.supplier,
            "" if row.active else tell("out of use"),
        ]
        for row in StockLot.objects.order_by("-active", "kind", "lot")[:1_000]
    ]
    links = [Link(tell("Write in a lot"), reverse("lot_new"))] if may_edit else []
    head = (tell("Lot"), tell("What"), tell("Thread and grade, or size"), tell("Certificate"), tell("Supplier"), "")
    tables = [Table(tell("What came in"), head, rows, empty=tell("None yet."))]
    return list_page(request, tell("Lots"), tables, links=links, here="shop", crumbs=_to_shop(request))


def _to_shop(request: HttpRequest) -> list[Link]:
    """For whoever may go there."""
    return [Link(tell("Shop"), reverse("shop"))] if access.may(request.user, "shop") else []


def lot(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    access.need(request.user, "shop")
    row = get_object_or_404(StockLot, pk=pk) if pk else None
    start = {name: getattr(row, name) for name in LotForm.base_fields} if row else None
    form = LotForm(*data_of(request), initial=start)
    used = row.uses.select_related("piece__design__order", "by").order_by("-pk")[:500] if row else []
    rows = [
        [Link(str(use.piece), reverse("piece", args=[use.piece_id])), ", ".join(use.rods), f"{when(use.at)}, {use.by}"]
        for use in used
    ]
    return entry_page(
        request,
        form,
        lambda: stock.save_lot(by=person_of(request), row=row, **form.cleaned_data),
        permission="shop",
        heading=str(row) if row else "Write in a lot",
        button="Save",
        said=lambda made: f"{made} is saved.",
        back=reverse("lots"),
        draft=f"lot-{pk or 'new'}",
        here="shop",
        crumbs=[Link("Lots", reverse("lots"))],
        tables=[Table("Used in", ("Piece", "Rods", "When and who"), rows, empty="Nothing yet.")] if row else [],
    )


def lots_of_piece(request: HttpRequest, pk: int) -> HttpResponse:
    """What went into a piece: its trace from batch to wrench to people; and the entry of a lot."""
    piece = access.piece_for(request.user, pk)
    form = LotUseForm(*data_of(request), rods=[rod.mark for rod in described(piece).rods])
    return entry_page(
        request,
        form,
        lambda: stock.use_lot(piece, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data),
        piece=piece,
        heading=tell("What went into {piece}", piece=piece),
        button=tell("Write down the lot"),
        said=tell("The lot is written down."),
        back=request.path,
        draft=f"lots-{pk}",
        tables=[_trace(piece)],
    )


def _trace(piece: Any) -> Table:
    rows: list[list[Any]] = [
        [
            here(use.lot.get_kind_display()),
            f"{use.lot.lot}: {use.lot.description}",
            use.lot.certificate,
            ", ".join(use.rods),
            f"{when(use.at)}, {use.by.display_name}",
        ]
        for use in piece.lot_uses.select_related("lot", "by").order_by("pk")
    ]
    if piece.pour is not None:
        rows.append([tell("Batch"), piece.pour.batch, "", "", f"{when(piece.pour.at)}, {piece.pour.by.display_name}"])
        ticket = piece.pour.ticket
        for weighed in ticket.weighings if ticket else []:
            rows.append(
                [tell("Ingredient"), weighed["name"], weighed["lot"] or tell("no lot"), "", str(ticket.mix_version)]
            )
    for row in piece.stressings.select_related("wrench", "by").order_by("pk"):
        words = tell("Stressing, {state}", state=here(row.get_state_display()).lower())
        certificate = row.wrench.certificate if row.wrench else ""
        wrench = str(row.wrench or tell("no wrench"))
        rows.append([words, wrench, certificate, "", f"{when(row.at)}, {row.by.display_name}"])
    head = (tell("What"), tell("Which"), tell("Certificate or lot"), tell("Rods"), tell("When and who"))
    links = [Link(tell("Lots"), reverse("lots"))]
    return Table(tell("Trace"), head, rows, empty=tell("Nothing yet."), links=links)


# ---- lists and copies ------------------------------------------------------------------------------------------------


@require_safe
def export_lists(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "export")
    rows = [
        [found.title, *(Link(kind.upper(), reverse("export", args=[name, kind])) for kind in KINDS)]
        for name, found in exports.LISTS.items()
    ]
    return list_page(request, "Lists to take away", [Table("Lists", ("List", "CSV", "XLSX"), rows)])


@require_safe
def export(request: HttpRequest, name: str, kind: str) -> HttpResponse:
    access.need(request.user, "export")
    if name not in exports.LISTS or kind not in KINDS:
        raise Unknown
    rows = exports.cells_of(name)
    data = exports.as_csv(rows) if kind == "csv" else exports.as_xlsx(rows, exports.LISTS[name].title)
    answer = HttpResponse(data, content_type=KINDS[kind])
    answer["Content-Disposition"] = f'attachment; filename="{name}-{timezone.localdate()}.{kind}"'
    return answer


def list_import(request: HttpRequest, pk: int) -> HttpResponse:
    order = access.order_for(request.user, pk, may="order")
    form = ListForm(*data_of(request))
    error: ShopError | None = None
    if request.method == "POST" and form.is_valid():
        made, error = attempt(
            lambda: copying.take_list(
                order, by=person_of(request), text=_text(form), request_id=request_id_of(request)
            ),
            form,
        )
        if made is not None:
            words = "1 piece is taken in." if made == 1 else f"{made} pieces are taken in."
            return accepted(request, words, reverse("order", args=[pk]), draft=f"list-{pk}")
    faults = [[row, words] for row, words in error.faults] if isinstance(error, ListRefused) else []
    context = {
        "here": "orders",
        "heading": f"Take a piece list into order {order.number}",
        "lead": "Either the whole list is taken or nothing of it. “like” names the design whose drawing is taken: a "
        "mark of this order, or ORDER/MARK; empty where the mark is here already.",
        "button": "Take it in",
        "draft": f"list-{pk}",
        "may_write": True,
        "multipart": True,
        "crumbs": [Link(str(order), reverse("order", args=[pk]))],
        "tables": [Table("Faults", ("Row", "What is wrong"), faults)] if faults else [],
    }
    return show(request, "jobs/production/entry.html", context, error, form)


def _text(form: ListForm) -> str:
    file = form.cleaned_data["file"]
    if file.size > MOST_FILE:
        raise BadEntry("The file is larger than half a megabyte.", field="file")
    try:
        return str(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError as exc:
        raise BadEntry("The file is no text in UTF-8. Save it again as CSV.", field="file") from exc


def design_copy(request: HttpRequest, pk: int) -> HttpResponse:
    design = access.design_for(request.user, pk, may="specify")
    form = CopyDesignForm(*data_of(request), initial={"title": design.title})
    return entry_page(
        request,
        form,
        lambda: copying.copy_design(
            design, by=person_of(request), order=design.order, request_id=request_id_of(request), **form.cleaned_data
        ),
        permission="specify",
        heading=f"Copy {design.mark}",
        lead="Its newest drawing under another mark, in the same order; checked and released anew.",
        button="Copy it",
        said=lambda made: f"{made.mark} is drawn from {design.mark}.",
        back=lambda made: reverse("design", args=[made.pk]),
        draft=f"copy-design-{pk}",
        here="orders",
        crumbs=[Link(str(design.order), reverse("order", args=[design.order_id]))],
    )


def order_copy(request: HttpRequest, pk: int) -> HttpResponse:
    order = access.order_for(request.user, pk, may="order")
    form = CopyOrderForm(*data_of(request))
    return entry_page(
        request,
        form,
        lambda: copying.copy_order(
            order, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        permission="order",
        heading=f"Copy order {order.number}",
        lead="Every design with its newest drawing, and as many pieces of each; checked and released anew.",
        button="Copy it",
        said=lambda made: f"Order {made.number} is made.",
        back=lambda made: reverse("order", args=[made.pk]),
        draft=f"copy-order-{pk}",
        here="orders",
        crumbs=[Link(str(order), reverse("order", args=[pk]))],
    )


@require_safe
def learned(request: HttpRequest) -> HttpResponse:
    """Estimates from the shop's own records, beside what the specifications assumed."""
    access.need(request.user, "view")
    tables = [
        _learned(
            "Nut factor",
            "Rod",
            learning.nut_factors(),
            "{:.3f}",
            "From torque and stretch of every rod at its last step.",
        ),
        _learned(
            "Modulus at stressing, psi",
            "Concrete",
            learning.moduli(),
            "{:,.0f}",
            "From the crown that was measured against the one that was predicted.",
        ),
    ]
    lead = "Shown for the next specification. Nothing is changed by itself; a lasting difference is the engineer's."
    heading = "What the shop's own numbers say"
    return list_page(request, heading, tables, lead=lead, here="shop", crumbs=_to_shop(request))


def _learned(title: str, of: str, rows: list[learning.Learned], form: str, lead: str) -> Table:
    shown = [
        [
            row.of,
            form.format(row.found.mean),
            "—" if row.found.variation is None else f"± {form.format(row.found.variation * row.found.mean)}",
            row.found.number,
            " to ".join(sorted({form.format(value) for value in row.assumed})),
        ]
        for row in rows
    ]
    head = (of, "Mean", "Standard deviation", "Number", "Assumed")
    return Table(title, head, shown, lead=lead, empty="No records yet.")
