"""The shop itself: its name, its mixes, its wrenches."""

from __future__ import annotations

from datetime import date
from typing import Any

from jobs.access import need
from jobs.actions import events
from jobs.actions.transactions import one_act
from jobs.entry_values import clean_text, number
from jobs.errors import BadEntry, NothingChanged, Taken
from jobs.models import Mix, Person, Piece, Shop, Wrench

MOST_BEDS = 200
TEXTS = {"name": (120, True), "address": (200, False), "contact": (120, False)}


@one_act
def edit_shop(*, by: Person, **fields: Any) -> Shop:
    """Change some of name, address, contact, cube_factor, coupon_days, document_size, beds."""
    need(by, "shop")
    if unknown := set(fields) - {*TEXTS, "cube_factor", "coupon_days", "document_size", "beds"}:
        raise BadEntry(f"The shop has no {', '.join(sorted(unknown))} to change.")
    for name, (most, required) in TEXTS.items():
        if name in fields:
            fields[name] = clean_text(fields[name], name=name, most=most, required=required)
    if "cube_factor" in fields:
        fields["cube_factor"] = number(fields["cube_factor"], name="cube factor", least=0.5, most=1.2)
    if "coupon_days" in fields:
        days = number(fields["coupon_days"], name="days coupons count for", least=1, most=3_650)
        fields["coupon_days"] = int(days)
    if fields.get("document_size", "a4") not in ("letter", "a4"):
        raise BadEntry("Documents are made in US letter or A4.", field="document_size")
    if "beds" in fields:
        events.lock_book()  # nobody lays a piece on a bed while it is taken away
        fields["beds"] = _beds(fields["beds"])
    shop = Shop.objects.select_for_update(no_key=True).get_or_create(pk=1)[0]
    fields = {name: value for name, value in fields.items() if value != getattr(shop, name)}
    if not fields:
        raise NothingChanged
    before = {name: getattr(shop, name) for name in fields}
    Shop.objects.filter(pk=1).update(**fields)
    events.record(
        "shop-edited",
        f"The shop: {', '.join(sorted(fields))} changed",
        by=by,
        detail={"before": before, "after": fields},
    )
    return Shop.objects.get(pk=1)


def _beds(names: Any) -> list[str]:
    """The shop's curing beds in order. None is named twice, and none is taken away while a piece lies on it."""
    if not isinstance(names, list) or len(names) > MOST_BEDS:
        raise BadEntry(f"Name up to {MOST_BEDS} beds.", field="beds")
    beds = [clean_text(name, name="name of a bed", most=60, required=True) for name in names]
    if twice := sorted({bed for bed in beds if beds.count(bed) > 1}):
        raise BadEntry(f"Named twice: {', '.join(twice)}. Each bed has a name of its own.", field="beds")
    lying = Piece.objects.exclude(bed="").exclude(bed__in=beds).select_related("design").order_by("bed").first()
    if lying is not None:
        raise BadEntry(f"{lying} lies on {lying.bed}. Put it elsewhere before that bed is taken away.", field="beds")
    return beds


@one_act
def save_mix(*, by: Person, name: str, description: str = "", active: bool = True, mix: Mix | None = None) -> Mix:
    """A new mix, or `mix` changed."""
    need(by, "shop")
    fields: dict[str, Any] = {
        "name": clean_text(name, name="name", most=80, required=True),
        "active": active,
        "description": clean_text(description, name="description", most=200),
    }
    if Mix.objects.filter(name=fields["name"]).exclude(pk=mix.pk if mix else 0).exists():
        raise Taken(f"There is a mix {fields['name']} already. Choose another name.")
    saved = Mix(pk=mix.pk if mix else None, **fields)
    saved.save(force_update=mix is not None)
    events.record("mix-saved", f"Mix {saved.name} saved", by=by, detail={"mix": saved.pk, **fields})
    return saved


@one_act
def save_wrench(
    *,
    by: Person,
    name: str,
    calibrated_until: date,
    certificate: str = "",
    active: bool = True,
    wrench: Wrench | None = None,
) -> Wrench:
    """A new wrench, or `wrench` changed: after a calibration, or taken out of use."""
    need(by, "shop")
    fields: dict[str, Any] = {
        "name": clean_text(name, name="name", most=80, required=True),
        "active": active,
        "calibrated_until": calibrated_until,
        "certificate": clean_text(certificate, name="certificate", most=80),
    }
    if Wrench.objects.filter(name=fields["name"]).exclude(pk=wrench.pk if wrench else 0).exists():
        raise Taken(f"There is a wrench {fields['name']} already. Choose another name.")
    saved = Wrench(pk=wrench.pk if wrench else None, **fields)
    saved.save(force_update=wrench is not None)
    events.record(
        "wrench-saved",
        f"Wrench {saved.name} saved",
        by=by,
        detail={"wrench": saved.pk, **fields, "calibrated_until": calibrated_until.isoformat()},
    )
    return saved
