"""Designs: made, revised, released, their checks run again, pieces added.

Every act locks the design's row first, so a release and a revision of one design never cross.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from uuid import UUID

import engineering.actions
from engineering.core.contract.refusal import SpecificationRefused
from engineering.models import CheckRun, Specification
from engineering.queries import latest_run
from jobs import gates
from jobs.access import BEFORE_FORMED, need
from jobs.actions import events
from jobs.actions.pieces import back_to_designed, move
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text
from jobs.errors import BadEntry, EditConflict, GateClosed, NothingChanged, NotNow, SpecificationNotAccepted, Taken
from jobs.models import Design, Order, Person, Piece, Release, Revision, Stage
from jobs.standing import newest_revision

MOST_PIECES = 200  # of one design at once
NOTE_LENGTH = 200


@one_act
def create_design(
    order: Order,
    *,
    by: Person,
    document: Any,
    title: str = "",
    pieces: int = 1,
    load_test_required: bool = False,
    from_records: Sequence[dict[str, Any]] = (),
    request_id: UUID | None = None,
) -> Design:
    """A design with revision A, a check run that waits, and its pieces.

    `from_records`: values that somebody took from the shop's own records (`jobs.own_numbers`), for the event.
    """
    need(by, "specify")
    if (event := events.seen(request_id, "design-made", by, order=order)) and event.design:
        return event.design
    order = Order.objects.select_for_update(no_key=True).get(pk=order.pk)
    if order.archived_at:
        raise NotNow(f"Order {order.number} is archived; no design can be added to it.")
    specification = _accept(document)
    if Design.objects.filter(order=order, mark=specification.mark).exists():
        raise Taken(f"This order has a design with the mark {specification.mark} already. Give this one another mark.")
    title = clean_text(title, name="title", most=200) or specification.title
    design = Design.objects.create(
        order=order, mark=specification.mark, title=title, load_test_required=load_test_required
    )
    revision = Revision.objects.create(design=design, number=1, specification=specification, made_by=by)
    events.record(
        "design-made",
        f"{design.mark} drawn, revision {revision.letter}{_whence(from_records)}",
        by=by,
        design=design,
        detail=_about(revision) | {"load_test_required": load_test_required} | _kept(from_records),
        request_id=request_id,
    )
    _add_pieces(design, by=by, count=pieces)
    return design


@one_act
def revise(
    design: Design,
    *,
    by: Person,
    document: Any,
    base_revision: int,
    note: str = "",
    from_records: Sequence[dict[str, Any]] = (),
    request_id: UUID | None = None,
) -> Revision:
    """The next revision, from the one with number `base_revision`. Pieces not yet formed go back to designed.

    EditConflict where somebody made a revision meanwhile: `newest` is theirs, and nothing was written.
    """
    need(by, "specify")
    if event := events.seen(request_id, "revision-made", by, design=design):
        return Revision.objects.get(design=design, number=event.detail["revision"])
    design, newest = _locked(design)
    if newest.number != base_revision:
        raise EditConflict(
            f"{newest} was saved while you were working. Nothing of yours was written: compare the two, "
            f"then save yours on top of it.",
            newest=newest,
        )
    specification = _accept(document)
    if specification.sha256 == newest.specification.sha256:
        raise NothingChanged(f"This is the same as {newest}, so no revision was made.")
    if specification.mark != design.mark:
        _mark_is_free(design, specification.mark)
    revision = Revision.objects.create(
        design=design,
        number=newest.number + 1,
        specification=specification,
        made_by=by,
        note=clean_text(note, name="note", most=NOTE_LENGTH),
    )
    Design.objects.filter(pk=design.pk).update(mark=specification.mark, title=specification.title or design.title)
    events.record(
        "revision-made",
        f"{revision} made{_whence(from_records)}",
        by=by,
        design=design,
        detail=_about(revision) | {"from": newest.number, "note": revision.note} | _kept(from_records),
        request_id=request_id,
    )
    _pieces_go_back(design, revision, by=by)
    return revision


def _whence(from_records: Sequence[dict[str, Any]]) -> str:
    """The end of an event's words: what was taken from the shop's own records, and from how many."""
    words = ", ".join(f"{row['label']} {row['value']:g} by {row['number']} of {row['of']}" for row in from_records)
    return f"; from the shop's own records: {words}" if words else ""


def _kept(from_records: Sequence[dict[str, Any]]) -> dict[str, Any]:
    return {"from_records": list(from_records)} if from_records else {}


@one_act
def release(
    revision: Revision, *, by: Person, note: str = "", signed_copy: str = "", request_id: UUID | None = None
) -> Release:
    """Accept the revision: on a pass the manager or an engineer, on a review an engineer, on a fail nobody.

    `signed_copy`: SHA-256 of the file whose signature it rests on, where an engineer signed the record itself.
    """
    need(by, "release")
    if events.seen(request_id, "revision-released", by, design=revision.design):
        return Release.objects.get(revision=revision)
    _locked(revision.design)
    if Release.objects.filter(revision=revision).exists():
        raise NotNow(f"{revision} is released already.")
    if blockers := gates.release_blockers(revision, by):
        raise GateClosed(f"{revision} was not released", blockers)
    run = latest_run(revision.specification)
    assert run is not None  # noqa: S101  release_blockers asked for it under the same lock
    made = Release.objects.create(
        revision=revision,
        check_run=run,
        verdict=run.verdict,
        accepted_by=by,
        accepted_as=by.role,
        licence_number=by.licence_number,
        jurisdiction=by.jurisdiction,
        note=clean_text(note, name="note", most=5_000),
        signed_copy=signed_copy,
    )
    events.record(
        "revision-released",
        f"{revision} released on a {run.verdict}",
        by=by,
        design=revision.design,
        detail=_about(revision)
        | {"verdict": run.verdict, "check_run": run.pk, "as": by.role, "engine": run.engine_version, "note": made.note}
        | ({"signed_copy": signed_copy} if signed_copy else {}),
        request_id=request_id,
    )
    _pieces_come_along(revision.design, by=by)
    return made


@one_act
def add_pieces(design: Design, *, by: Person, count: int, request_id: UUID | None = None) -> list[Piece]:
    need(by, "order")
    if event := events.seen(request_id, "pieces-added", by, design=design):
        return list(Piece.objects.filter(design=design, serial__in=event.detail["serials"]))
    Order.objects.select_for_update(no_key=True).get(pk=design.order_id)  # its day stays until the pieces carry it
    design, _ = _locked(design)
    if design.order.archived_at:
        raise NotNow(f"Order {design.order.number} is archived; no piece can be added to it.")
    return _add_pieces(design, by=by, count=count, request_id=request_id)


@one_act
def rerun_checks(revision: Revision, *, by: Person, request_id: UUID | None = None) -> CheckRun:
    """Ask for the checks again: they broke off, or the engine is newer than the last run."""
    need(by, "specify")
    if events.seen(request_id, "checks-asked-again", by, design=revision.design):
        run = latest_run(revision.specification)
    else:
        run = engineering.actions.ask_again(revision.specification)
        if run is not None:
            events.record(
                "checks-asked-again",
                f"Checks of {revision} asked for again",
                by=by,
                design=revision.design,
                detail=_about(revision) | {"check_run": run.pk, "engine": run.engine_version},
                request_id=request_id,
            )
    if run is None:
        raise NothingChanged(f"The checks of {revision} are done, or under way, with this version of the engine.")
    return run


@one_act
def rerun_open_checks() -> list[CheckRun]:
    """Ask for the checks of every open order's newest revisions again where they broke off or are by an older engine.

    Asked for by whoever looks after the site, after an update; the events carry no person.
    """
    runs = []
    for design in Design.objects.filter(order__archived_at=None).select_related("order").order_by("pk"):
        revision = newest_revision(design)
        run = engineering.actions.ask_again(revision.specification) if revision else None
        if revision and run:
            runs.append(run)
            detail = _about(revision) | {"check_run": run.pk, "engine": run.engine_version}
            text = f"Checks of {revision} asked for again after an update"
            events.record("checks-asked-again", text, by=None, design=design, detail=detail)
    return runs


def _accept(document: Any) -> Specification:
    try:
        return engineering.actions.accept(document)
    except SpecificationRefused as refused:
        raise SpecificationNotAccepted(refused.faults) from refused


def _locked(design: Design) -> tuple[Design, Revision]:
    """The design with its row locked, and its newest revision as of now."""
    locked = Design.objects.select_for_update(of=("self",), no_key=True).select_related("order").get(pk=design.pk)
    return locked, Revision.objects.filter(design=locked).select_related("design", "specification").latest("number")


def _mark_is_free(design: Design, mark: str) -> None:
    if Design.objects.filter(order_id=design.order_id, mark=mark).exclude(pk=design.pk).exists():
        raise Taken(f"This order has a design with the mark {mark} already. Give this one another mark.")


def _add_pieces(design: Design, *, by: Person, count: int, request_id: UUID | None = None) -> list[Piece]:
    if isinstance(count, bool) or not isinstance(count, int) or not 1 <= count <= MOST_PIECES:
        raise BadEntry(f"The number of pieces should be from 1 to {MOST_PIECES}.", field="pieces")
    newest = Piece.objects.filter(design=design).order_by("-serial").values_list("serial", flat=True).first() or 0
    if newest + count > 32_000:
        raise BadEntry("This design has as many pieces as can be numbered. Make another design.", field="pieces")
    due = design.order.due_date
    made = Piece.objects.bulk_create(
        Piece(design=design, serial=newest + n, order_due=due) for n in range(1, count + 1)
    )
    events.record(
        "pieces-added",
        f"{count} {'piece' if count == 1 else 'pieces'} of {design.mark} added",
        by=by,
        design=design,
        detail={"serials": [piece.serial for piece in made]},
        request_id=request_id,
    )
    return made


def _pieces_come_along(design: Design, *, by: Person) -> None:
    """What waited for the release is released with it, each with its own events. What is held stays held."""
    waiting = (Stage.ORDERED, Stage.DESIGNED)
    for piece in Piece.objects.filter(design=design, stage__in=waiting).order_by("pk"):
        if piece.stage == Stage.ORDERED:
            move(piece, Stage.DESIGNED, by=by)
        move(piece, Stage.RELEASED, by=by)


def _pieces_go_back(design: Design, revision: Revision, *, by: Person) -> None:
    early = [stage for stage in BEFORE_FORMED if stage != Stage.ORDERED]
    pieces = Piece.objects.select_for_update(of=("self",), no_key=True).filter(design=design)
    for piece in pieces.filter(stage__in=early) | pieces.filter(stage=Stage.HELD, held_from__in=early):
        back_to_designed(piece, by=by, because=f"{revision} was made")


def _about(revision: Revision) -> dict[str, Any]:
    return {"revision": revision.number, "sha256": revision.specification.sha256}
