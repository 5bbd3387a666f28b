"""The API of what the floor writes down later: same acts, same refusals, same events as the pages."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from engineering.core.mix import batch_for
from jobs.forms.curing import read_ingredients
from jobs.models import (
    BatchTicket,
    CouponTest,
    CureCheck,
    Event,
    GatePass,
    LoadTest,
    LoadTestPlan,
    LoadTestReading,
    LotUse,
    MixVersion,
    Piece,
    Restressing,
    Role,
    Stage,
    StockLot,
    TemperatureLog,
    WashoutTest,
)
from tests.factories import document, make_design, make_mix, make_wrench, person, piece_at
from tests.production.test_mix_and_cure import RECIPE

pytestmark = pytest.mark.django_db


def post(path: str, body: dict, role: str = Role.CREW):
    client = APIClient()
    client.force_login(person(role))
    return client.post(f"/api/{path}/", body, format="json")


def refused(answer, status: int, words: str) -> None:
    assert answer.status_code == status, answer.json()
    assert words in answer.json()["message"]


# ---- mix and batch ---------------------------------------------------------------------------------------------------


def recipe(**fields) -> dict:
    return {"mix": make_mix().pk, "cement": "portland", "ingredients": read_ingredients(RECIPE), "air": 0.08, **fields}


def test_a_recipe_s_next_version_and_the_same_one_is_none():
    sent = recipe()
    assert post("mix-versions", sent, Role.MANAGER).json()["number"] == 1
    refused(post("mix-versions", sent, Role.MANAGER), 409, "")
    refused(post("mix-versions", recipe(mix=10**9), Role.MANAGER), 422, "no mix")
    strange = [{"name": "ash", "kind": "nothing known", "weight_lb": 1, "specific_gravity": 2}]
    refused(post("mix-versions", recipe(ingredients=strange), Role.MANAGER), 422, "ash: nothing known")
    assert MixVersion.objects.count() == Event.objects.filter(verb="mix-version-made").count() == 1


def test_a_batch_ticket_is_weighed_once_for_one_tap_and_says_what_is_out_of_tolerance():
    version = MixVersion.objects.get(pk=post("mix-versions", recipe(), Role.MANAGER).json()["id"])
    exact = {row.name: row.target_lb for row in batch_for(version.recipe, 5.0, 0.1).weighings}
    sent = {"mix_version": version.pk, "batch": "B-1", "volume_ft3": 5, "weighed_lb": exact, "request_id": str(uuid4())}
    first = post("batch-tickets", {**sent, "lots": {"cement": "L-9"}})
    assert (first.status_code, first.json()["within_tolerance"]) == (201, True)
    off = post(
        "batch-tickets", {**sent, "request_id": str(uuid4()), "weighed_lb": {**exact, "water": exact["water"] * 2}}
    )
    assert not off.json()["within_tolerance"]
    assert "water" in off.json()["findings"][0]
    refused(post("batch-tickets", {**sent, "request_id": str(uuid4()), "weighed_lb": {"cement": 1}}), 422, "missing")
    assert BatchTicket.objects.count() == Event.objects.filter(verb="batch-weighed").count() == 2


def test_one_tap_sent_twice_by_one_person_is_one_ticket():
    version = MixVersion.objects.get(pk=post("mix-versions", recipe(), Role.MANAGER).json()["id"])
    exact = {row.name: row.target_lb for row in batch_for(version.recipe, 5.0, 0.1).weighings}
    client = APIClient()
    client.force_login(person(Role.CREW))
    sent = {"mix_version": version.pk, "batch": "B-1", "volume_ft3": 5, "weighed_lb": exact, "request_id": str(uuid4())}
    ids = {client.post("/api/batch-tickets/", sent, format="json").json()["id"] for _ in range(2)}
    assert len(ids) == BatchTicket.objects.count() == 1


# ---- cure ------------------------------------------------------------------------------------------------------------


def test_what_is_read_while_it_cures_is_written_listed_by_piece_and_has_its_event():
    piece = piece_at(Stage.POURED)
    pour, now = piece.pour.pk, timezone.now()
    hot = [{"at": (now - timedelta(hours=h)).isoformat(), "fahrenheit": 70 + h} for h in (1, 3, 2)]
    coupon = {"yield_lbf": 50, "ultimate_lbf": 90, "span_in": 10, "width_in": 2, "depth_in": 0.5}
    calls = {
        "cure-checks": {"pour": pour, "covered": True, "moist": False},
        "temperatures": {"pour": pour, "readings": hot, "source": "logger"},
        "coupon-tests": {"pour": pour, "specimens": [coupon]},
        "washouts": {"pour": pour, "sample_lb": 2, "fibre_lb": 0.07},
    }
    reader = APIClient()
    reader.force_login(person(Role.VIEWER))
    for name, sent in calls.items():
        before = Event.objects.count()
        made = post(name, sent)
        assert made.status_code == 201, made.json()
        assert Event.objects.count() == before + 1
        for query in (f"pour={pour}", f"piece={piece.pk}", f"order={piece.design.order_id}"):
            assert [row["id"] for row in reader.get(f"/api/{name}/?{query}").json()["results"]] == [made.json()["id"]]
        assert reader.get(f"/api/{name}/?piece={piece.pk + 1}").json()["results"] == []
    assert [value for _, value in TemperatureLog.objects.get().readings] == [73, 72, 71]
    assert post("washouts", calls["washouts"]).json()["fibre_share"] == pytest.approx(0.035)


def test_what_cannot_be_is_refused_and_nothing_is_written():
    pour = piece_at(Stage.POURED).pour.pk
    at = timezone.now().isoformat()
    before = Event.objects.count()
    twice = [{"at": at, "fahrenheit": 70}, {"at": at, "fahrenheit": 71}]
    refused(post("temperatures", {"pour": pour, "readings": twice}), 422, "same time")
    refused(post("temperatures", {"pour": pour, "readings": [{"at": at, "fahrenheit": 900}]}), 422, "from -40 to 250")
    refused(post("temperatures", {"pour": pour, "readings": []}), 422, "1 to 20000")
    refused(post("washouts", {"pour": pour, "sample_lb": 1, "fibre_lb": 2}), 422, "")
    bad = {"yield_lbf": 90, "ultimate_lbf": 50, "span_in": 10, "width_in": 2, "depth_in": 0.5}
    refused(post("coupon-tests", {"pour": pour, "specimens": [bad]}), 422, "Coupon 1")
    refused(post("cure-checks", {"pour": pour + 1, "covered": True, "moist": True}), 404, "")
    assert Event.objects.count() == before
    assert not any(kind.objects.exists() for kind in (CureCheck, TemperatureLog, CouponTest, WashoutTest))


# ---- load test -------------------------------------------------------------------------------------------------------


LAYERS = [{"number": 10, "where": place} for place in ("middle", "left third", "right third", "all along")]


def plan_for(piece: Piece, **fields) -> dict:
    return {"piece": piece.pk, "what": "bags", "unit_lbf": 31, "layers": LAYERS, "hold_minutes": 60, **fields}


def test_a_load_test_is_planned_read_and_concluded_by_its_readings():
    piece = piece_at(Stage.STRESSED, load_test_required=True)
    refused(post("load-test-plans", plan_for(piece, unit_lbf=30)), 422, "asks for 1216 lbf")
    refused(post("load-test-plans", plan_for(piece, layers=LAYERS[:1])), 422, "4 layers")
    plan = post("load-test-plans", plan_for(piece)).json()["id"]
    path = f"load-test-plans/{plan}"
    refused(post(f"{path}/readings", {"load_lbf": 620, "deflection_in": 0.05, "nobody_under": False}), 422, "out from")
    assert not LoadTestReading.objects.exists()
    start = timezone.now() - timedelta(days=2)
    for hours, load, down in ((0, 620, 0.05), (1, 1240, 0.10)):
        sent = {"load_lbf": load, "deflection_in": down, "at": (start + timedelta(hours=hours)).isoformat()}
        assert post(f"{path}/readings", {**sent, "nobody_under": True}).status_code == 201
    refused(post(f"{path}/conclude", {}), 409, "not at its end")
    assert not LoadTest.objects.exists()
    sent = {"load_lbf": 1240, "deflection_in": 0.11, "at": (start + timedelta(hours=3)).isoformat()}
    post(f"{path}/readings", {**sent, "nobody_under": True})
    done = post(f"{path}/conclude", {})
    assert (done.status_code, done.json()["accepted"], done.json()["deflection_in"]) == (201, True, 0.11)
    reader = APIClient()
    reader.force_login(person(Role.VIEWER))
    assert [row["load_lbf"] for row in reader.get(f"/api/{path}/readings/").json()] == [620, 1240, 1240]
    assert LoadTestPlan.objects.count() == 1


# ---- lots ------------------------------------------------------------------------------------------------------------


def test_a_lot_is_written_in_changed_and_used_in_a_piece():
    piece = piece_at(Stage.FORMED)
    sent = {
        "kind": "rod",
        "lot": "H-77",
        "description": "1/2-13 B7",
        "certificate": "MTR 4",
        "received_on": "2026-05-01",
    }
    lot = post("lots", sent, Role.MANAGER).json()["id"]
    refused(post("lots", sent, Role.MANAGER), 409, "in the book already")
    used = post("lot-uses", {"piece": piece.pk, "lot": lot, "rods": ["R2"]})
    assert used.json()["rods"] == ["R2"]
    refused(post("lot-uses", {"piece": piece.pk, "lot": lot, "rods": ["R9"]}), 422, "no rod R9")
    refused(post("lot-uses", {"piece": piece.pk, "lot": lot + 1}), 422, "no lot")
    manager = APIClient()
    manager.force_login(person())
    changed = manager.patch(f"/api/lots/{lot}/", {"active": False}, format="json").json()
    assert (changed["active"], changed["certificate"], changed["received_on"]) == (False, "MTR 4", "2026-05-01")
    refused(post("lot-uses", {"piece": piece.pk, "lot": lot}), 422, "not one that goes into a piece now")
    assert (StockLot.objects.count(), LotUse.objects.count()) == (1, 1)
    assert Event.objects.filter(verb="lot-saved").count() == 2


# ---- re-stressing and passes -----------------------------------------------------------------------------------------


def test_rods_are_brought_back_once_at_each_age_and_never_with_somebody_in_the_line():
    design = make_design(document=document(stressing={**document()["stressing"], "restress": [28]}))
    piece, wrench = piece_at(Stage.STRESSED, design), make_wrench().pk
    sent = {"piece": piece.pk, "age_days": 28, "values": {"R1": 80, "R2": 79}, "wrench": wrench}
    refused(post("re-stressings", {**sent, "line_clear": False}), 422, "")
    refused(post("re-stressings", {**sent, "line_clear": True, "values": {"R1": 80}}), 422, "R2 is missing")
    late = post("re-stressings", {**sent, "line_clear": True, "wrench": make_wrench(days=-1).pk})
    assert (late.status_code, late.json()["blockers"][0]["code"]) == (409, "wrench-calibration")
    assert not Restressing.objects.exists()
    assert post("re-stressings", {**sent, "line_clear": True}).json()["within_tolerance"]
    refused(post("re-stressings", {**sent, "line_clear": True}), 409, "done already")
    assert Restressing.objects.count() == 1


def test_a_gate_is_passed_over_with_a_reason_and_strength_and_a_failed_check_never():
    piece = piece_at(Stage.FORMED)
    sent = {"piece": piece.pk, "to_stage": "poured", "reason": "Looked at by eye."}
    made = post("gate-passes", sent, Role.MANAGER)
    assert (made.status_code, made.json()["codes"]) == (201, ["form-not-checked"])
    assert Piece.objects.get(pk=piece.pk).stage == Stage.FORMED
    refused(post("gate-passes", {**sent, "reason": " "}, Role.MANAGER), 400, "")
    curing = piece_at(Stage.CURING)
    refused(post("gate-passes", {**sent, "piece": curing.pk, "to_stage": "stripped"}, Role.MANAGER), 409, "Nothing of")
    refused(post("gate-passes", {**sent, "to_stage": "installed"}, Role.MANAGER), 409, "no gate")
    assert GatePass.objects.count() == 1
