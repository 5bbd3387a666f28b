"""Recipes by version, and the ticket of a batch: targets from the engine, what was weighed, what follows from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db.models import Max

from engineering.core.mix import Ingredient, batch_for
from engineering.core.mix import Mix as Recipe
from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number, when_done
from jobs.errors import BadEntry, NothingChanged
from jobs.models import BatchTicket, Mix, MixVersion, Person
from jobs.words import say

MOST_INGREDIENTS = 40
FIELDS = ("name", "kind", "weight_lb", "specific_gravity", "solids", "tolerance")


@one_act
def save_mix_version(
    mix: Mix,
    *,
    by: Person,
    cement: str,
    ingredients: Sequence[Mapping[str, Any]],
    air: float = 0.0,
    working_minutes: int = 20,
    note: str = "",
    request_id: UUID | None = None,
) -> MixVersion:
    """The next version of a recipe. What was poured before stays with the version it was poured by."""
    need(by, "shop")
    if event := events.seen(request_id, "mix-version-made", by):
        return MixVersion.objects.get(pk=event.detail["mix_version"])
    if cement not in MixVersion.Cement.values:
        raise BadEntry("The cement is Portland, rapid-setting (CSA), or other.", field="cement")
    rows, air = _ingredients(ingredients), number(air, name="air", least=0, most=0.3)
    Mix.objects.select_for_update(no_key=True).get(pk=mix.pk)
    newest = mix.versions.order_by("-number").first()
    kept = (cement, rows, air, working_minutes)
    if newest and (newest.cement, newest.ingredients, newest.air, newest.working_minutes) == kept:
        raise NothingChanged
    made = MixVersion.objects.create(
        mix=mix,
        number=(mix.versions.aggregate(most=Max("number"))["most"] or 0) + 1,
        cement=cement,
        ingredients=rows,
        air=air,
        working_minutes=int(number(working_minutes, name="working time", least=1, most=600, unit="minutes")),
        note=clean_text(note, name="note", most=200),
        made_by=by,
    )
    events.record(
        "mix-version-made",
        f"{made} made",
        by=by,
        request_id=request_id,
        detail={"mix_version": made.pk, "mix": mix.pk, "number": made.number, "cement": cement, "ingredients": rows},
    )
    return made


def _ingredients(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """As the engine takes them; BadEntry with the engine's own words where it does not."""
    if not 1 <= len(rows) <= MOST_INGREDIENTS:
        raise BadEntry(f"A mix has 1 to {MOST_INGREDIENTS} ingredients.", field="ingredients")
    found = []
    for row in rows:
        name = clean_text(row.get("name", ""), name="name of an ingredient", most=60, required=True)
        part: dict[str, Any] = {"name": name, "kind": str(row.get("kind", ""))}
        for key, fallback in (("weight_lb", None), ("specific_gravity", None), ("solids", 1.0), ("tolerance", 0.01)):
            part[key] = number(row.get(key, fallback), name=f"{key.replace('_', ' ')} of {name}", least=0, most=1e5)
        found.append(part)
    if len({part["name"] for part in found}) < len(found):
        raise BadEntry("Two ingredients have the same name.", field="ingredients")
    try:
        Recipe(tuple(Ingredient(**part) for part in found))
    except ValueError as exc:
        raise BadEntry(f"{exc}.", field="ingredients") from exc
    return found


@one_act
def record_ticket(
    mix_version: MixVersion,
    *,
    by: Person,
    batch: str,
    volume_ft3: float,
    weighed_lb: Mapping[str, float],
    lots: Mapping[str, str] | None = None,
    waste: float = 0.10,
    water_added_at: datetime | None = None,
    note: str = "",
    at: datetime | None = None,
    request_id: UUID | None = None,
) -> BatchTicket:
    """What was weighed against what `engineering.core.mix` asks for; water and fibre of what was really weighed."""
    need(by, "produce")
    if event := events.seen(request_id, "batch-weighed", by):
        return BatchTicket.objects.get(pk=event.detail["ticket"])
    volume = number(volume_ft3, name="volume", least=1e-3, most=1e3, unit="ft³")
    waste = number(waste, name="waste", least=0, most=1)
    rows = _weighings(mix_version, volume, waste, weighed_lb, lots or {})
    real = Recipe(
        tuple(
            Ingredient(**{**part, "weight_lb": row["weighed_lb"]})
            for part, row in zip(mix_version.ingredients, rows, strict=True)
            if row["weighed_lb"] > 0
        ),
        mix_version.air,
    )
    findings = [
        f"{row['name']}: {row['weighed_lb']:.2f} lb weighed, {row['least_lb']:.2f} to {row['most_lb']:.2f} lb allowed."
        for row in rows
        if not row["inside"]
    ]
    made = BatchTicket.objects.create(
        request_id=request_id or uuid4(),
        by=by,
        at=when_done(at),
        note=clean_text(note, name="note", most=5_000),
        batch=clean_text(batch, name="batch", most=40, required=True),
        mix_version=mix_version,
        volume_ft3=volume,
        waste=waste,
        weighings=rows,
        water_added_at=None if water_added_at is None else when_done(water_added_at, name="time of the water"),
        water_to_cementitious=real.water_to_cementitious,
        fibre_share=real.fibre_share,
        within_tolerance=not findings,
        findings=findings,
    )
    events.record(
        "batch-weighed",
        f"Batch {made.batch} of {mix_version} weighed, {'OUT OF' if findings else 'in'} tolerance",
        by=by,
        request_id=request_id,
        detail={"ticket": made.pk, "batch": made.batch, "weighings": rows, "findings": findings},
    )
    return made


def _weighings(
    version: MixVersion, volume: float, waste: float, weighed: Mapping[str, float], lots: Mapping[str, str]
) -> list[dict[str, Any]]:
    rows = []
    for part, aim in zip(version.ingredients, batch_for(version.recipe, volume, waste).weighings, strict=True):
        if aim.name not in weighed:
            raise BadEntry(
                say("{name} is missing: write down what was weighed, 0 if none.", name=aim.name), field="weighed_lb"
            )
        amount = number(weighed[aim.name], name=aim.name, least=0, most=1e5, unit="lb")
        lot = clean_text(lots.get(aim.name, ""), name=f"lot of {aim.name}", most=60)
        rows.append(
            {
                "name": aim.name,
                "kind": part["kind"],
                "target_lb": aim.target_lb,
                "least_lb": aim.least_lb,
                "most_lb": aim.most_lb,
                "weighed_lb": amount,
                "lot": lot,
                "inside": aim.holds(amount),
            }
        )
    if not any(row["weighed_lb"] > 0 for row in rows):
        raise BadEntry(say("Nothing was weighed."), field="weighed_lb")
    return rows
