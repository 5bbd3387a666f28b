"""Standard pieces: made of a released drawing, checked over their limits, approved by an engineer, ordered, retired.

What may go wrong is that a piece nobody looked at is built. So the template is a released drawing; the limits hold
only by a finished study of the engine that runs now in which every point passes, and only after an engineer with a
licence on record approved them; and a piece made from it is a design like any other: checked by itself, released by a
person.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from uuid import UUID

from django.utils import timezone

from engineering.core.contract import SpecificationRefused
from engineering.core.contract.units import format_quantity
from engineering.core.version import ENGINE_VERSION
from engineering.models import JobStatus
from engineering.queries import latest_run
from jobs.access import need
from jobs.actions import designs, events, studies
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number
from jobs.errors import BadEntry, Blocker, GateClosed, NotAllowed, NotNow, Taken
from jobs.models import Design, Order, Person, Release, Revision, Role, StandardPiece, StandardUse

DEFAULT_STEPS = 3


@one_act
def make(
    revision: Revision,
    *,
    by: Person,
    name: str,
    limits: Sequence[Mapping[str, Any]],
    about: str = "",
    steps: int = DEFAULT_STEPS,
    request_id: UUID | None = None,
) -> StandardPiece:
    """A standard piece of a released revision, with a study of its limits that waits."""
    need(by, "specify")
    if event := events.seen(request_id, "standard-piece-made", by, design=revision.design):
        return StandardPiece.objects.get(pk=event.detail["standard"])
    name = clean_text(name, name="name", most=80, required=True)
    if StandardPiece.objects.filter(name=name, retired_at=None).exists():
        raise Taken(f"There is a standard piece called {name} already. Retire it first, or choose another name.")
    if not Release.objects.filter(revision=revision).exists():
        raise NotNow(f"{revision} is not released. Only a released drawing can be the template of a standard piece.")
    settings = {"limits": [dict(one) for one in limits], "steps": steps}
    study = studies.start(revision, by=by, kind="standard", settings=settings)
    made = StandardPiece.objects.create(
        name=name,
        about=clean_text(about, name="about", most=300),
        revision=revision,
        limits=study.settings["limits"],
        study=study,
        made_by=by,
    )
    detail = {"standard": made.pk, "name": name, "limits": made.limits, "study": study.pk}
    text = f"Standard piece “{name}” made of {revision}"
    events.record("standard-piece-made", text, by=by, design=revision.design, detail=detail, request_id=request_id)
    return made


def blockers(standard: StandardPiece) -> list[Blocker]:
    """What keeps the standard piece from being ordered from."""
    found = checks_missing(standard)
    if standard.retired_at is not None:
        found.append(Blocker("standard-retired", f"{standard} is retired.", "the shop manager"))
    elif standard.approved_at is None:
        found.append(Blocker("standard-not-approved", f"No engineer has approved {standard}.", "an engineer"))
    return found


def checks_missing(standard: StandardPiece) -> list[Blocker]:
    """Why its limits do not count as checked: the study, or the drawing's own checks by the engine of today."""
    study, run = standard.study, latest_run(standard.revision.specification)
    if study.engine_version != ENGINE_VERSION:
        text = f"The limits were checked by engine {study.engine_version}; it is {ENGINE_VERSION} now. Make it anew."
        return [Blocker("standard-old-engine", text, "whoever draws")]
    if study.status != JobStatus.DONE:
        return [Blocker("standard-not-checked", f"The study of its limits is not done: {study.problem or 'it waits'}")]
    if not (study.result or {}).get("holds"):
        text = "Not every point within the limits passes. Make another with narrower ones."
        return [Blocker("standard-does-not-hold", text, "whoever draws")]
    if run is None or not run.is_current:
        return [Blocker("standard-template-stale", "The checks of its template are not current.", "whoever draws")]
    return []


@one_act
def approve(standard: StandardPiece, *, by: Person, request_id: UUID | None = None) -> StandardPiece:
    """An engineer with a licence on record accepts template, limits and study."""
    need(by, "release")
    if by.role != Role.ENGINEER or not by.licence_number:
        raise NotAllowed("A standard piece is approved by an engineer with a licence on record.")
    if not events.seen(request_id, "standard-piece-approved", by, design=standard.revision.design):
        if missing := checks_missing(standard):
            raise GateClosed(f"{standard} was not approved", missing)
        waiting = StandardPiece.objects.filter(pk=standard.pk, approved_at=None, retired_at=None)
        fields = {"licence_number": by.licence_number, "jurisdiction": by.jurisdiction}
        if not waiting.update(approved_by=by, approved_at=timezone.now(), **fields):
            raise NotNow(f"{standard} is approved or retired already.")
        study = standard.study
        detail = {"standard": standard.pk, "study": study.pk, "engine": study.engine_version, **fields}
        text = f"Standard piece “{standard}” approved"
        design = standard.revision.design
        events.record("standard-piece-approved", text, by=by, design=design, detail=detail, request_id=request_id)
    standard.refresh_from_db()
    return standard


@one_act
def retire(standard: StandardPiece, *, by: Person, request_id: UUID | None = None) -> StandardPiece:
    """Nothing more is made from it. Designs that were made stay what they are."""
    need(by, "specify")
    design = standard.revision.design
    if not events.seen(request_id, "standard-piece-retired", by, design=design):
        live = StandardPiece.objects.filter(pk=standard.pk, retired_at=None)
        if not live.update(retired_at=timezone.now()):
            raise NotNow(f"{standard} is retired already.")
        text, detail = f"Standard piece “{standard}” retired", {"standard": standard.pk}
        events.record("standard-piece-retired", text, by=by, design=design, detail=detail, request_id=request_id)
    standard.refresh_from_db()
    return standard


def document_for(standard: StandardPiece, mark: str, values: Mapping[str, float]) -> dict[str, Any]:
    """The template with these measures under this mark, within the limits or not. BadEntry where no piece can be."""
    from engineering.core.standard import varied  # the engine with numpy: only where a piece is drawn

    template = {**standard.revision.specification.document, "mark": mark}
    try:
        return varied(template, values)
    except SpecificationRefused as refused:
        raise BadEntry(f"Such a piece cannot be: {refused.faults[0].message}") from refused
    except ValueError as wrong:
        raise BadEntry(f"Such a piece cannot be: {wrong}.") from wrong


def measured(standard: StandardPiece, values: Mapping[str, Any]) -> dict[str, float]:
    """The value of every measure of its limits, and no other. BadEntry naming the one that is missing or wrong."""
    names = [one["measure"] for one in standard.limits]
    if unknown := sorted(set(values) - set(names)):
        raise BadEntry(f"{standard} has no measure {', '.join(unknown)[:100]}.", field="values")
    missing = [name for name in names if values.get(name) is None]
    if missing:
        raise BadEntry(f"The {missing[0]} is missing.", field="values")
    return {name: number(values[name], name=name, least=0, most=1e6) for name in names}


def broken_limits(standard: StandardPiece, values: Mapping[str, float]) -> list[str]:
    """In words, which limits these values lie outside of."""
    from engineering.core.standard import MEASURES, Limit, outside

    units, found = standard.revision.specification.units, []
    for one, value in outside([Limit.from_json(limit) for limit in standard.limits], values):
        measure = MEASURES[one.measure]
        low, high, asked = (format_quantity(v, measure.quantity, units) for v in (one.low, one.high, value))
        found.append(f"the {measure.words}, {asked}, is not within {low} to {high}")
    return found


@one_act
def order_from(
    standard: StandardPiece,
    order: Order,
    *,
    by: Person,
    mark: str,
    values: Mapping[str, Any],
    pieces: int = 1,
    request_id: UUID | None = None,
) -> Design:
    """A design from the standard piece: revision A, its own check run, its pieces. Outside the limits: GateClosed."""
    need(by, "specify")
    if (event := events.seen(request_id, "made-from-standard", by, order=order)) and event.design:
        return event.design
    standard = StandardPiece.objects.select_related("revision__specification", "study").get(pk=standard.pk)
    asked = measured(standard, values)
    why = blockers(standard)
    why += [Blocker("outside-limits", f"{words}.", "whoever draws") for words in broken_limits(standard, asked)]
    if why:
        raise GateClosed("This needs a design of its own", why)
    document = document_for(standard, clean_text(mark, name="mark", most=40, required=True), asked)
    design = designs.create_design(order, by=by, document=document, pieces=pieces)
    StandardUse.objects.create(design=design, standard=standard, values=asked)
    text = f"{design.mark} made from standard piece “{standard}”"
    detail = {"standard": standard.pk, "values": asked}
    events.record("made-from-standard", text, by=by, design=design, detail=detail, request_id=request_id)
    return design
