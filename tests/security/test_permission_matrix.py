"""Every address and method of the API × every role, a key that only reads, and nobody.

The table is written by hand and the addresses come from the OpenAPI document: a call that is added without a row here
fails.
"""

from typing import Any

import pytest
from django.urls import get_resolver
from django.utils import timezone
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient

from engineering.study_actions import start_study
from jobs.actions import production, standards, stock
from jobs.models import (
    BatchTicket,
    CouponTest,
    Event,
    GatePass,
    LoadTestPlan,
    MixVersion,
    Piece,
    Restressing,
    Role,
    Stage,
)
from tests.factories import make_attachment, make_design, make_mix, make_order, person, piece_at, start, stress, token

pytestmark = pytest.mark.django_db

EVERYBODY = {"manager", "crew", "engineer", "viewer"}
OFFICE, FLOOR, DRAWING = {"manager"}, {"manager", "crew"}, {"manager", "engineer"}
MOVERS = {"manager", "crew", "engineer"}

LISTS = (
    "orders",
    "designs",
    "specifications",
    "check-runs",
    "studies",
    "standard-pieces",
    "releases",
    "pieces",
    "form-checks",
    "pours",
    "strength-tests",
    "stressings",
    "load-tests",
    "installations",
    "non-conformances",
    "lift-offs",
    "incidents",
    "finishings",
    "re-stressings",
    "gate-passes",
    "load-test-plans",
    "cure-checks",
    "temperatures",
    "coupon-tests",
    "washouts",
    "mix-versions",
    "batch-tickets",
    "lots",
    "lot-uses",
    "attachments",
    "events",
)
MATRIX: dict[tuple[str, str], set[str]] = {
    **{("get", f"/api/{name}/"): EVERYBODY for name in LISTS},
    **{("get", f"/api/{name}/{{id}}/"): EVERYBODY for name in LISTS},
    ("get", "/api/me/"): EVERYBODY,
    ("get", "/api/beds/"): EVERYBODY,
    ("get", "/api/attachments/{id}/file/"): EVERYBODY,
    ("post", "/api/attachments/"): MOVERS,
    ("post", "/api/attachments/{id}/take-off/"): MOVERS,
    ("post", "/api/pieces/{id}/bed/"): FLOOR,
    ("get", "/api/mixes/"): EVERYBODY,
    ("get", "/api/mixes/{id}/"): EVERYBODY,
    ("get", "/api/wrenches/"): EVERYBODY,
    ("get", "/api/wrenches/{id}/"): EVERYBODY,
    ("get", "/api/specifications/{id}/compare/"): EVERYBODY,
    ("get", "/api/studies/{id}/compare/"): EVERYBODY,
    ("post", "/api/standard-pieces/"): DRAWING,
    ("post", "/api/standard-pieces/{id}/order/"): DRAWING,
    ("post", "/api/standard-pieces/{id}/approve/"): {"engineer"},
    ("post", "/api/standard-pieces/{id}/retire/"): DRAWING,
    ("post", "/api/studies/"): DRAWING,
    ("post", "/api/studies/{id}/stop/"): DRAWING,
    ("get", "/api/pieces/{id}/moves/"): EVERYBODY,
    ("get", "/api/stressings/{id}/readings/"): EVERYBODY,
    ("post", "/api/orders/"): OFFICE,
    ("patch", "/api/orders/{id}/"): OFFICE,
    ("post", "/api/orders/{id}/archive/"): OFFICE,
    ("post", "/api/designs/"): DRAWING,
    ("post", "/api/designs/{id}/revise/"): DRAWING,
    ("post", "/api/designs/{id}/pieces/"): OFFICE,
    ("post", "/api/specifications/{id}/release/"): DRAWING,
    ("post", "/api/specifications/{id}/rerun/"): DRAWING,
    ("post", "/api/pieces/{id}/move/"): MOVERS,
    ("post", "/api/pieces/{id}/hold/"): MOVERS,
    ("post", "/api/pieces/{id}/resume/"): DRAWING,
    ("post", "/api/pieces/{id}/reject/"): DRAWING,
    ("post", "/api/pieces/{id}/remake/"): OFFICE,
    **{
        ("post", f"/api/{name}/"): FLOOR
        for name in (
            "form-checks",
            "pours",
            "strength-tests",
            "stressings",
            "load-tests",
            "installations",
            "lift-offs",
            "incidents",
            "finishings",
            "re-stressings",
            "cure-checks",
            "temperatures",
            "coupon-tests",
            "washouts",
            "batch-tickets",
            "lot-uses",
        )
    },
    ("post", "/api/gate-passes/"): DRAWING,
    ("post", "/api/load-test-plans/"): MOVERS,
    ("post", "/api/mix-versions/"): OFFICE,
    ("post", "/api/lots/"): OFFICE,
    ("patch", "/api/lots/{id}/"): OFFICE,
    ("get", "/api/load-test-plans/{id}/readings/"): EVERYBODY,
    ("post", "/api/load-test-plans/{id}/readings/"): FLOOR,
    ("post", "/api/load-test-plans/{id}/conclude/"): FLOOR,
    ("post", "/api/non-conformances/"): MOVERS,
    ("post", "/api/non-conformances/{id}/decide/"): {"engineer"},
    ("post", "/api/non-conformances/{id}/repair/"): FLOOR,
    ("post", "/api/stressings/{id}/readings/"): FLOOR,
    ("post", "/api/stressings/{id}/finish/"): FLOOR,
    ("post", "/api/stressings/{id}/stop/"): FLOOR,
}
METHODS = ("get", "post", "put", "patch", "delete")


def calls() -> list[tuple[str, str]]:
    schema = SchemaGenerator().get_schema(public=True)
    return [(method, path) for path, item in schema["paths"].items() for method in METHODS if method in item]


def send(method: str, path: str, who: str, rows: dict[str, int], **headers: Any) -> Any:
    client = APIClient(**headers)
    if who in Role.values:
        client.force_login(person(who))
    name = path.split("/")[2]
    return getattr(client, method)(path.replace("{id}", str(rows.get(name, 1))), {}, format="json")


def later_rows(piece: Piece) -> dict[str, int]:
    """One of each that the stages themselves do not ask for, mostly as rows alone: who may call is what is tested."""
    by, pour = person(), piece.pour
    entry = {"by": by, "at": timezone.now()}
    version = MixVersion.objects.create(mix=make_mix(), number=1, cement="portland", ingredients=[], made_by=by)
    lot = stock.save_lot(by=by, kind="rod", lot="H-1", description="1/2-13")
    loads = {"unit_lbf": 50, "hold_minutes": 60, "total_lbf": 900, "stop_deflection_in": 1, "span_in": 96}
    passed = {"from_stage": "formed", "to_stage": "poured", "codes": [], "texts": [], "reason": "seen"}
    return {
        "re-stressings": Restressing.objects.create(
            **entry, piece=piece, revision=piece.revision, age_days=28, rods=[], within_tolerance=True
        ).pk,
        "gate-passes": GatePass.objects.create(**entry, piece=piece, **passed).pk,
        "load-test-plans": LoadTestPlan.objects.create(
            **entry, piece=piece, revision=piece.revision, what="bags", layers=[], depth_in=3, **loads
        ).pk,
        "cure-checks": production.record_cure_check(pour, by=by, covered=True, moist=True).pk,
        "temperatures": production.record_temperatures(pour, by=by, readings=[(timezone.now(), 70.0)]).pk,
        "coupon-tests": CouponTest.objects.create(**entry, pour=pour, specimens=[]).pk,
        "washouts": production.record_washout(pour, by=by, sample_lb=1, fibre_lb=0.03).pk,
        "mix-versions": version.pk,
        "batch-tickets": BatchTicket.objects.create(
            **entry, batch="B", mix_version=version, volume_ft3=1, waste=0, weighings=[], within_tolerance=True
        ).pk,
        "lots": lot.pk,
        "lot-uses": stock.use_lot(piece, by=by, lot=lot).pk,
        "attachments": make_attachment(piece.design.order).pk,
    }


@pytest.fixture
def rows() -> dict[str, int]:
    """One row of each kind, by the first word of its address."""
    make_order()
    stressed = piece_at(Stage.STRIPPED)
    stress(stressed)
    open_ = start(piece_at(Stage.STRIPPED))
    installed = piece_at(Stage.INSTALLED, load_test_required=True)
    design = make_design()
    crew = person(Role.CREW)
    lift_off = production.record_lift_off(installed, by=crew, rod="R1", force_lbf=7000, line_clear=True)
    incident = production.record_incident(installed, by=crew, kind="incident", what="A wedge slipped.")
    return {
        "non-conformances": installed.non_conformances.order_by("pk")[0].pk,
        "lift-offs": lift_off.pk,
        "incidents": incident.pk,
        "finishings": installed.finishings.get().pk,
        "orders": design.order.pk,
        "designs": design.pk,
        "specifications": design.revisions.get().pk,
        "check-runs": design.revisions.get().specification.check_runs.get().pk,
        "standard-pieces": standards.make(
            installed.revision, by=person(), name="Counter", limits=[{"measure": "depth", "low": 3, "high": 3.5}]
        ).pk,
        "studies": start_study(design.revisions.get().specification, "region").pk,
        "releases": installed.revision.release.pk,
        "pieces": design.pieces.get().pk,
        "form-checks": installed.form_checks.get().pk,
        "pours": installed.pour.pk,
        "strength-tests": installed.pour.strength_tests.get().pk,
        "stressings": open_.pk,
        "load-tests": installed.load_tests.get().pk,
        "installations": installed.installation.pk,
        **later_rows(installed),
        "events": 1,
        "mixes": make_mix().pk,
        "wrenches": open_.wrench.pk,
    }


def test_the_table_has_every_call_and_no_other():
    assert set(calls()) == set(MATRIX)


def test_every_call_for_every_role(rows):
    wrong = []
    for method, path in MATRIX:
        for role in Role.values:
            before = Event.objects.count()
            status = send(method, path, role, rows).status_code
            allowed = role in MATRIX[method, path]
            if (status in (401, 403)) is allowed or status >= 500 or (method == "get" and status != 200):
                wrong.append(f"{role} {method} {path}: {status}, {'' if allowed else 'not '}allowed")
            if not allowed and Event.objects.count() != before:
                wrong.append(f"{role} {method} {path}: refused, and yet something was written")
    assert wrong == []


def test_nobody_gets_nothing(rows):
    answers = {(method, path): send(method, path, "nobody", rows) for method, path in MATRIX}
    assert {call: answer.status_code for call, answer in answers.items() if answer.status_code != 401} == {}
    assert all(
        answer.json()["code"] == "not-authenticated" and answer["WWW-Authenticate"] == "Token"
        for answer in answers.values()
    )


def test_a_key_that_only_reads_writes_nothing_whatever_its_owner_may(rows):
    key = token(person(Role.MANAGER), read_only=True)
    before = Event.objects.count()
    for method, path in MATRIX:
        answer = send(method, path, "key", rows, HTTP_AUTHORIZATION=f"Token {key}")
        assert answer.status_code == (200 if method == "get" else 403), (method, path)
        if method != "get":
            assert answer.json()["message"].startswith("This key only reads.")
    assert Event.objects.count() == before


def test_a_method_that_is_not_offered_is_refused_to_the_manager_too(rows):
    for path in {path for _, path in MATRIX}:
        for method in ("put", "delete", *(method for method in ("post", "patch") if (method, path) not in MATRIX)):
            assert send(method, path, "manager", rows).status_code == 405, (method, path)


def test_nothing_of_the_api_lies_outside_the_document():
    """Addresses under api/ that are no calls of the document: the page about it, and the document itself."""
    found = set()
    for entry in get_resolver().reverse_dict.getlist("api") + get_resolver().reverse_dict.getlist("api-schema"):
        found.add(entry[0][0][0])
    assert found == {"api/", "api/schema/"}


@pytest.mark.parametrize("path", ["/api/", "/api/schema/"])
def test_the_description_is_for_those_who_are_signed_in(path, client):
    assert client.get(path).status_code in (302, 401)
    client.force_login(person(Role.VIEWER))
    assert client.get(path).status_code == 200


@pytest.mark.parametrize(
    ("role", "stage", "to_stage", "status"),
    [
        ("crew", "ordered", "designed", 403),
        ("engineer", "released", "formed", 403),
        ("viewer", "poured", "curing", 403),
        ("crew", "poured", "curing", 200),
        ("engineer", "ordered", "designed", 200),
    ],
)
def test_moves_are_allowed_by_stage(role, stage, to_stage, status):
    piece = piece_at(stage)
    client = APIClient()
    client.force_login(person(role))
    answer = client.post(f"/api/pieces/{piece.pk}/move/", {"to_stage": to_stage}, format="json")
    assert answer.status_code == status
    assert Piece.objects.get(pk=piece.pk).stage == (to_stage if status == 200 else stage)
