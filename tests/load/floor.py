"""A floor full of pieces that are being tightened, for the load run: made inside the site, by its own actions."""

from __future__ import annotations

import copy
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]


def counter_document(document: dict[str, Any], number: int) -> dict[str, Any]:
    """The same piece with a support a hair further in: another specification each time."""
    changed = copy.deepcopy(document)
    changed["supports"][0]["at"] += number / 1000
    return changed


def make(tablets: int) -> dict[str, Any]:
    """One order with as many pieces as tablets, each with a round of tightening begun; and a way in for everybody."""
    from django.test import Client
    from django.utils import timezone

    from engineering.tasks import perform_check_run
    from jobs import targets
    from jobs.actions import designs, orders, people, pieces, production, shop
    from jobs.models import Person, Piece, Role

    def person(role: str) -> Person:
        made = Person(username=role, role=role, first_name=role, last_name="Load")
        made.licence_number, made.jurisdiction = "E-1", "Anywhere"
        made.set_unusable_password()
        made.save()
        return made

    def key_of(owner: Person) -> str:
        soon = timezone.now() + timedelta(days=1)
        return people.issue_token(owner, by=owner, label="load", expires_at=soon, read_only=False)[1]

    manager, engineer, crew = person(Role.MANAGER), person(Role.ENGINEER), person(Role.CREW)
    document = json.loads((ROOT / "jobs" / "starters" / "bar-top.json").read_text())
    order = orders.create_order(manager, number="L-1", client="Load")
    design = designs.create_design(order, by=manager, document=document, pieces=min(tablets, 200))
    if tablets > 200:
        designs.add_pieces(design, by=manager, count=tablets - 200)
    revision = design.revisions.get()
    perform_check_run(revision.specification.check_runs.get().pk)
    designs.release(revision, by=engineer)
    wrench = shop.save_wrench(by=manager, name="W-1", calibrated_until=timezone.localdate() + timedelta(days=90))
    rows = list(Piece.objects.filter(design=design).order_by("pk"))
    for piece in rows:
        pieces.move(pieces.fresh(piece), "formed", by=crew)
        production.record_form_check(piece, by=crew, core_held=True, sleeves_sealed=True, pockets_set=True)
    for start in range(0, len(rows), 50):
        batch = [pieces.fresh(piece) for piece in rows[start : start + 50]]
        pour = production.record_pour(batch, by=crew, batch=f"B-{start}")
        production.record_strength_test(pour, by=crew, kind="cylinder", specimens_psi=[9000, 9100])
    places = []
    for piece in rows:
        for stage in ("poured", "curing", "stripped"):
            pieces.move(pieces.fresh(piece), stage, by=crew)
        round_ = production.start_stressing(pieces.fresh(piece), by=crew, wrench=wrench)
        rod, step = targets.turns(round_.targets)[0]
        aim = targets.target_at(round_.targets, (rod, step))
        reading = {"rod": rod, "step": step, "torque_lbf_ft": aim["torque_lbf_ft"], "line_clear": True,
                   "elongation_in": aim["elongation_in"], "crown_in": round_.targets["crown"]["transfer_in"]}
        places.append({"piece": piece.pk, "stressing": round_.pk, "reading": reading})
    client = Client()
    client.force_login(manager, backend="django.contrib.auth.backends.ModelBackend")
    return {"key": key_of(crew), "manager_key": key_of(manager), "cookie": client.cookies["sessionid"].value,
            "places": places, "design": design.pk, "document": document}
