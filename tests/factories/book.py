"""Orders, designs and their checks, people, shop stock."""

from __future__ import annotations

import io
import itertools
from copy import deepcopy
from datetime import timedelta
from typing import Any

from django.utils import timezone

from engineering import leases
from engineering.core.contract import canonical_hash
from engineering.core.version import ENGINE_VERSION
from engineering.models import CheckRun
from engineering.queries import latest_run
from jobs.actions import attachments, designs, orders, people, shop
from jobs.attachments import read_upload
from jobs.models import (
    Attachment,
    Design,
    Mix,
    Order,
    Person,
    Piece,
    Release,
    Revision,
    Role,
    Wrench,
)

PASSWORD = "long enough for tests 7"
numbers = itertools.count(1)

DOCUMENT: dict[str, Any] = {
    "format": "piece-specification/1",
    "mark": "C-104",
    "title": "Counter",
    "units": "us",
    "length": 108,
    "zones": [{"to": 108, "shape": {"type": "solid", "width": 25, "depth": 3}}],
    "supports": [{"at": 4, "bearing": 2}, {"at": 104, "bearing": 2}],
    "loads": [{"label": "use", "case": "live", "type": "area", "value": 40}],
    "concrete": {
        "density": 130,
        "strength": 7000,
        "strength_at_stressing": 4500,
        "modulus": 2500000,
        "modulus_at_stressing": 2000000,
        "flexural_yield": 1000,
        "flexural_ultimate": 1800,
        "shrinkage": 0.0006,
        "creep": 2.0,
    },
    "rods": [
        {
            "mark": "R1",
            "thread": "1/2-13 UNC",
            "grade": "A193 B7",
            "across": 6,
            "profile": [[3, 1.25], [105, 1.25]],
            "sleeve": {"outside": 0.75, "friction": 0.15, "wobble": 0.0005},
            "anchor": {"width": 3.5, "height": 1.75, "thickness": 0.625, "hole": 0.5625},
            "pocket": {"width": 3.75, "height": 2},
            "jacking_force": 8600,
        },
        {"mark": "R2", "like": "R1", "across": 19},
    ],
    "stressing": {"age": 7, "method": "torque", "steps": [0.5, 1.0], "order": ["R2", "R1"]},
    "handling": {"lift_points": [22, 86], "age": 2, "strength": 2500},
}


def document(**changes: Any) -> dict[str, Any]:
    """A small counter with two rods, two steps; `changes` replace top-level keys, None leaves a key out."""
    made = deepcopy(DOCUMENT) | changes
    return {key: value for key, value in made.items() if value is not None}


def without_rods(**changes: Any) -> dict[str, Any]:
    return document(rods=None, stressing=None, **changes)


def result_for(revision: Revision, verdict: str = "pass") -> dict[str, Any]:
    """A result document with the figures that stressing needs, round numbers, in US units."""
    rods = [rod["mark"] for rod in revision.specification.document.get("rods", [])]
    figures: dict[str, Any] = {
        "batch.volume": 4.2,
        "weight": 610.0,
        "crown.transfer": 0.10,
        "crown.transfer_low": 0.07,
        "crown.transfer_high": 0.13,
    }
    for mark in rods:
        figures |= {
            f"rod.{mark}.torque": 80.0,
            f"rod.{mark}.elongation": 0.25,
            f"rod.{mark}.nut_turns": 3.5,
            f"rod.{mark}.force_jacking": 8600.0,
            f"rod.{mark}.force_transfer": 8000.0,
        }
    unit = {
        "torque": "lbf·ft",
        "elongation": "in",
        "nut_turns": "",
        "force_jacking": "lbf",
        "force_transfer": "lbf",
        "volume": "ft³",
        "weight": "lbf",
    }
    return {
        "format": "check-result/1",
        "mark": revision.design.mark,
        "units": "us",
        "engine": ENGINE_VERSION,
        "specification": canonical_hash(revision.specification.document),
        "basis": ["made up for a test"],
        "verdict": verdict,
        "checks": [
            {
                "name": "crown at stressing",
                "clause": "",
                "verdict": "pass",
                "demand": 0.1,
                "capacity": 0.45,
                "unit": "in",
                "ratio": 0.22,
                "at": 54,
                "variant": "high",
                "working": ["0.10 / 0.45 = 0.22"],
                "caution": "",
                "why": "",
            }
        ],
        "figures": {
            name: {"value": value, "unit": unit.get(name.rpartition(".")[2], "in"), "at": None, "why": ""}
            for name, value in figures.items()
        },
        "series": {},
        "cautions": [],
    }


def person(role: str = Role.MANAGER, **fields: Any) -> Person:
    """An active person; an engineer is licensed unless told otherwise."""
    number = next(numbers)
    licence = {"licence_number": f"E-{number}", "jurisdiction": "Anywhere"} if role == Role.ENGINEER else {}
    made = Person(
        **{
            "username": f"{role}-{number}",
            "role": role,
            "first_name": str(role).title(),
            "last_name": f"No. {number}",
            **licence,
            **fields,
        }
    )
    made.set_password(PASSWORD)
    made.save()
    return made


def make_order(by: Person | None = None, **fields: Any) -> Order:
    number = next(numbers)
    return orders.create_order(by or person(), **{"number": f"O-{number}", "client": f"Client {number}", **fields})


def make_design(
    order: Order | None = None, by: Person | None = None, verdict: str | None = "pass", **fields: Any
) -> Design:
    """A design with one piece, its checks finished with `verdict`; verdict=None leaves them waiting."""
    by = by or person()
    made = designs.create_design(order or make_order(by), by=by, **{"document": document(), **fields})
    if verdict:
        finished_checks(newest(made), verdict)
    return made


def newest(design: Design) -> Revision:
    return Revision.objects.filter(design=design).select_related("design__order", "specification").latest("number")


def finished_checks(revision: Revision, verdict: str = "pass") -> CheckRun:
    waiting = latest_run(revision.specification)
    assert waiting is not None
    claimed = leases.claim(waiting.pk)
    assert claimed is not None
    assert leases.finish(claimed, result_for(revision, verdict))
    return CheckRun.objects.get(pk=claimed.pk)


def revise(design: Design, verdict: str | None = "pass", by: Person | None = None, **changes: Any) -> Revision:
    """The next revision, a little longer bearing making it another document, its checks finished with `verdict`."""
    before = newest(design)
    changed = {"supports": [{"at": 4, "bearing": 2 + 0.01 * before.number}, {"at": 104, "bearing": 2}]}
    made = designs.revise(
        design,
        by=by or person(),
        base_revision=before.number,
        document={**before.specification.document, **changed, **changes},
    )
    if verdict:
        finished_checks(made, verdict)
    return made


def release(design: Design, by: Person | None = None) -> Release:
    return designs.release(newest(design), by=by or person(Role.ENGINEER))


def make_wrench(**fields: Any) -> Wrench:
    days = fields.pop("days", 90)
    return shop.save_wrench(
        by=person(),
        **{
            "name": f"Wrench {next(numbers)}",
            "calibrated_until": timezone.localdate() + timedelta(days=days),
            **fields,
        },
    )


def make_mix() -> Mix:
    return shop.save_mix(by=person(), name=f"Mix {next(numbers)}")


def make_attachment(order: Order, by: Person | None = None, piece: Piece | None = None, **fields: Any) -> Attachment:
    """A small text hung on an order."""
    upload = read_upload(io.BytesIO(b"The lift is 1.1 m wide."), **{"name": "lift.txt", "size": None, **fields})
    return attachments.attach(order, by=by or person(), upload=upload, piece=piece)


def token(owner: Person, **fields: Any) -> str:
    """The key of a fresh token."""
    return people.issue_token(
        owner,
        by=owner,
        **{"label": "test", "expires_at": timezone.now() + timedelta(days=1), "read_only": False, **fields},
    )[1]
