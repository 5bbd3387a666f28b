"""Non-conformances and photos; and the page on which a gate is passed over with a reason."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from jobs import access, gates, passes
from jobs.actions import quality
from jobs.errors import NotNow, ShopError, Unknown
from jobs.forms.quality import SUBJECTS, DecisionForm, NonConformanceForm, PassForm, PhotoForm, RepairForm, picture_of
from jobs.models import NonConformance, Photo, Piece, Stage
from jobs.stages import MOVES
from jobs.views.entries import accepted, attempt, person_of, request_id_of, show
from jobs.views.production.pages import Link, Table, data_of, day_of, entry_page, list_page, to_piece, when
from jobs.words import here, say, tell

MOST_LISTED = 500


@require_safe
def non_conformances(request: HttpRequest) -> HttpResponse:
    access.need(request.user, "view")
    rows = NonConformance.objects.select_related("piece__design__order", "by").order_by("-pk")[:MOST_LISTED]
    waiting = [row for row in rows if not row.is_settled]
    settled = [row for row in rows if row.is_settled]
    head = (tell("Number"), tell("Piece"), tell("Order"), tell("What"), tell("Decision"), tell("Found"))
    return list_page(
        request,
        tell("Non-conformances"),
        [
            Table(tell("Open"), head, [_line(row) for row in waiting], empty=tell("None is open.")),
            Table(tell("Settled"), head, [_line(row) for row in settled], empty=tell("None yet.")),
        ],
    )


def _line(row: NonConformance) -> list[Any]:
    return [
        Link(tell("No. {number}", number=row.pk), reverse("non_conformance", args=[row.pk])),
        Link(str(row.piece), to_piece(row.piece)),
        row.piece.design.order.number,
        row.what,
        here(row.get_decision_display()) if row.decision else tell("waits for the engineer"),
        f"{day_of(row.at)}, {row.by.display_name}",
    ]


def non_conformance_new(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="hold")
    form = NonConformanceForm(*data_of(request))

    def act() -> Any:
        sent = {name: value for name, value in form.cleaned_data.items() if name != "photo"}
        return quality.raise_non_conformance(
            piece, by=person_of(request), request_id=request_id_of(request), picture=picture_of(form), **sent
        )

    return entry_page(
        request,
        form,
        act,
        piece=piece,
        permission="hold",
        heading=tell("Something is wrong with {piece}", piece=piece),
        lead=tell("Write down what it is. The piece then waits for the engineer's decision before it moves on."),
        cautions=[tell("If a rod is loose, bent or broken: everybody out of its line first, then write.")],
        button=tell("Write it down"),
        said=lambda made: tell("Non-conformance {pk} is written down; the engineer decides.", pk=made.pk),
        back=lambda made: reverse("non_conformance", args=[made.pk]),
        draft=f"non-conformance-{pk}",
    )


def non_conformance(request: HttpRequest, pk: int) -> HttpResponse:
    row = access.non_conformance_for(request.user, pk)
    form, button, act = _next_entry(request, row)
    error: ShopError | None = None
    if request.method == "POST":
        access.need(request.user, "produce" if row.decision else "dispose")
        if form is None:
            error = NotNow(say("Nothing is left to write down here. Reload to see how it stands."))
        elif form.is_valid():
            made, error = attempt(lambda: act(**form.cleaned_data), form)
            if made is not None:
                words, back = tell("Non-conformance {pk}: written down.", pk=pk), reverse("non_conformance", args=[pk])
                return accepted(request, words, back, draft=f"decision-{pk}")
    context = {
        "here": "board",
        "row": row,
        "piece": row.piece,
        "button": button,
        "draft": f"decision-{pk}",
        "crumbs": [Link(tell("Non-conformances"), reverse("non_conformances"))],
    }
    return show(request, "jobs/production/non_conformance.html", context, error, form)


def _next_entry(request: HttpRequest, row: NonConformance) -> tuple[Any, str, Any]:
    """The form that this person may fill in now, the words on its button, and the action."""
    sent = request.POST if request.method == "POST" else None
    keep: dict[str, Any] = {"by": person_of(request), "request_id": request_id_of(request)}
    if not row.decision and access.may(request.user, "dispose"):
        decide = partial(quality.decide_non_conformance, row, **keep)
        return DecisionForm(sent), tell("Decide"), decide
    if row.decision == row.Decision.REPAIR and not row.is_settled and access.may(request.user, "produce"):
        return RepairForm(sent), tell("It is repaired"), partial(quality.record_repair, row, **keep)
    return None, "", None


@require_safe
@cache_control(private=True, max_age=86_400, immutable=True)
def photo(request: HttpRequest, pk: int) -> FileResponse:
    row = access.photo_for(request.user, pk)
    if row.removed_at is not None:
        raise Unknown(say("This photo was removed: it was kept as long as the shop keeps photos."))
    try:
        return FileResponse(row.file.open("rb"), content_type="image/jpeg")
    except FileNotFoundError as exc:
        raise Unknown("The file of this photo is not in the data folder. Bring it back from a backup.") from exc


def removed(row: Photo) -> str:
    """Words in place of a picture that is not kept any more; "" where it is."""
    day = row.removed_at and day_of(row.removed_at)
    return tell("Photo {number}, removed {day}", number=row.pk, day=day) if day else ""


def photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    piece = access.piece_for(request.user, pk, may="hold")
    form = PhotoForm(*data_of(request))

    def act() -> Any:
        picture = picture_of(form)
        if picture is None:
            raise NotNow(say("There was no photo in it."))
        return quality.add_photo(
            piece,
            by=person_of(request),
            request_id=request_id_of(request),
            picture=picture,
            about=form.cleaned_data["about"],
            note=form.cleaned_data["note"],
        )

    shown = piece.photos.select_related("by").order_by("-pk")[:50]
    rows = [
        [
            removed(row) or Link(tell("Photo {number}", number=row.pk), reverse("photo", args=[row.pk])),
            here(SUBJECTS.get(row.about, row.about)),
            row.note,
            f"{when(row.at)}, {row.by.display_name}",
        ]
        for row in shown
    ]
    return entry_page(
        request,
        form,
        act,
        piece=piece,
        permission="hold",
        heading=tell("Photo of {piece}", piece=piece),
        button=tell("Keep the photo"),
        said=tell("The photo is kept."),
        back=reverse("photo_new", args=[pk]),
        draft=f"photo-{pk}",
        tables=[
            Table(
                tell("Photos kept"),
                (tell("Photo"), tell("Of"), tell("Note"), tell("When and who")),
                rows,
                empty=tell("None yet."),
            )
        ],
    )


def gate_pass(request: HttpRequest, pk: int, to_stage: str) -> HttpResponse:
    piece: Piece = access.piece_for(request.user, pk, may="pass")
    if to_stage not in MOVES[Stage(piece.stage)]:
        raise Unknown(f"{piece} has no such gate before it.")
    missing = gates.blockers(piece, to_stage)
    over = passes.to_pass(missing, person_of(request).role)
    rows = [[blocker.text, blocker.who, "yes" if blocker in over else "no"] for blocker in missing]
    form = PassForm(*data_of(request))
    return entry_page(
        request,
        form if over or request.method == "POST" else None,
        lambda: quality.pass_gate(
            piece, to_stage, by=person_of(request), request_id=request_id_of(request), **form.cleaned_data
        ),
        piece=piece,
        permission="pass",
        heading=tell("Pass over the gate of {piece} to {to_stage}", piece=piece, to_stage=to_stage),
        lead=tell(
            "Only what says yes below can be passed over. Stressing below strength and a failed check never can."
        )
        if over
        else tell("Nothing of what is missing here is yours to pass over."),
        button=tell("Pass over it"),
        button_class="grave",
        said=tell("It is passed over and written down. The piece still has to be moved."),
        back=to_piece(piece),
        draft=f"pass-{pk}",
        tables=[
            Table(
                tell("What is missing"),
                (tell("Missing"), tell("In hand"), tell("You may pass over it")),
                rows,
                empty=tell("Nothing is missing."),
            )
        ],
    )
