"""The API does what the pages do: the same acts, gates and words, as JSON."""

from uuid import uuid4

import pytest
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

from engineering.models import JobStatus
from jobs.models import Design, Event, Order, Piece, Release, Revision, Role
from tests.factories import (
    document,
    finished_checks,
    make_design,
    make_mix,
    make_order,
    make_wrench,
    newest,
    person,
    piece_at,
    revise,
    strength_test,
)

pytestmark = pytest.mark.django_db


def client(role: str = Role.MANAGER, **fields) -> APIClient:
    made = APIClient()
    made.force_login(person(role, **fields))
    return made


def post(path: str, body: dict, role: str = Role.MANAGER):
    return client(role).post(f"/api/{path}", body, format="json")


def test_an_order_is_made_read_edited_and_archived():
    api = client()
    made = api.post("/api/orders/", {"number": "O-1", "client": "A", "due_date": "2027-01-31"}, format="json")
    assert made.status_code == 201
    address = f"/api/orders/{made.json()['id']}/"
    assert api.get(address).json()["due_date"] == "2027-01-31"
    assert api.patch(address, {"version": 0, "client": "B"}, format="json").json()["version"] == 1
    assert api.post(f"{address}archive/", {}, format="json").json()["archived_at"]
    assert list(Event.objects.values_list("verb", flat=True)) == ["order-made", "order-edited", "order-archived"]


def test_an_edit_on_an_old_version_is_409_and_says_which_stands():
    api, order = client(), make_order()
    api.patch(f"/api/orders/{order.pk}/", {"version": 0, "client": "Theirs"}, format="json")
    answer = api.patch(f"/api/orders/{order.pk}/", {"version": 0, "client": "Mine"}, format="json")
    assert (answer.status_code, answer.json()["code"], answer.json()["newest"]) == (
        409,
        "edit-conflict",
        {"id": order.pk, "version": 1},
    )
    assert Order.objects.get().client == "Theirs"


def test_a_request_id_sent_twice_makes_one_row():
    api, body = client(), {"number": "O-1", "client": "A", "request_id": str(uuid4())}
    answers = [api.post("/api/orders/", body, format="json") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert Order.objects.count() == 1


def test_a_design_is_made_checked_released_and_revised():
    api, order = client(Role.ENGINEER), make_order()
    made = api.post("/api/designs/", {"order": order.pk, "document": document(), "pieces": 2}, format="json")
    assert (made.status_code, made.json()["newest_revision"]) == (201, 1)
    design = Design.objects.get()
    runs = api.get(f"/api/check-runs/?design={design.pk}").json()["results"]
    assert [(run["status"], run["current"]) for run in runs] == [("waiting", False)]
    finished_checks(newest(design), "review")
    assert api.get(f"/api/check-runs/{runs[0]['id']}/").json()["result"]["verdict"] == "review"
    released = api.post(f"/api/specifications/{newest(design).pk}/release/", {"note": "fine"}, format="json")
    assert (released.status_code, released.json()["accepted_as"]) == (201, "engineer")
    revised = api.post(
        f"/api/designs/{design.pk}/revise/", {"document": document(title="B"), "base_revision": 1}, format="json"
    )
    assert (revised.status_code, revised.json()["letter"], revised.json()["document"]["title"]) == (201, "B", "B")


def test_a_refused_specification_answers_with_every_fault():
    order = make_order()
    answer = post(
        "designs/", {"order": order.pk, "document": document(length="12 furlongs", colour="red")}, Role.ENGINEER
    )
    assert answer.status_code == 422
    assert answer.json()["format"] == "check-refusal/1"
    assert {fault["path"] for fault in answer.json()["faults"]} == {"length", "colour"}
    assert all(fault["message"] for fault in answer.json()["faults"])
    assert not Design.objects.exists()


@pytest.mark.parametrize("sent", [[], "text", 5, {}, {"format": "piece-specification/1"}, [[[]]], True])
def test_what_is_no_specification_is_refused_as_one(sent):
    order = make_order()
    answer = post("designs/", {"order": order.pk, "document": sent}, Role.ENGINEER)
    assert (answer.status_code, answer.json()["format"]) == (422, "check-refusal/1")
    assert answer.json()["faults"]


def test_a_revision_from_an_old_one_is_409_and_names_the_newest():
    design = make_design()
    theirs = revise(design)
    answer = post(f"designs/{design.pk}/revise/", {"document": document(title="Mine"), "base_revision": 1})
    assert answer.status_code == 409
    assert answer.json()["newest"] == {"id": theirs.pk, "number": 2, "letter": "B"}
    assert Revision.objects.count() == 2


def test_a_closed_gate_answers_with_its_blockers():
    design = make_design(verdict="fail")
    answer = post(f"specifications/{newest(design).pk}/release/", {})
    assert answer.status_code == 409
    assert answer.json()["code"] == "gate-closed"
    assert answer.json()["blockers"] == [
        {
            "code": "checks-failed",
            "who": "engineer or shop manager",
            "text": "Its checks fail; nobody can release it. Change the specification.",
        }
    ]
    assert not Release.objects.exists()


def test_a_move_goes_through_the_same_gate():
    piece = piece_at("formed")
    answer = post(f"pieces/{piece.pk}/move/", {"to_stage": "poured"}, Role.CREW)
    assert [blocker["code"] for blocker in answer.json()["blockers"]] == ["form-not-checked", "no-pour"]
    assert Piece.objects.get().stage == "formed"
    moves = client(Role.VIEWER).get(f"/api/pieces/{piece.pk}/moves/").json()
    assert [(move["to_stage"], len(move["blockers"])) for move in moves] == [("poured", 2), ("designed", 0)]


def test_a_piece_goes_from_formed_to_stressed_over_the_api_alone():
    piece, wrench, api = piece_at("formed"), make_wrench(), client(Role.CREW)

    def send(path, **body):
        answer = api.post(f"/api/{path}", body, format="json")
        assert answer.status_code in (200, 201), answer.json()
        return answer.json()

    send("form-checks/", piece=piece.pk, core_held=True, sleeves_sealed=True, pockets_set=True)
    pour = send("pours/", pieces=[piece.pk], batch="B-1", slump_in=2, mix=make_mix().pk)
    assert pour["pieces"] == [piece.pk]
    for stage in ("poured", "curing"):
        send(f"pieces/{piece.pk}/move/", to_stage=stage)
    refused = api.post("/api/stressings/", {"piece": piece.pk, "wrench": wrench.pk}, format="json")
    assert (refused.status_code, refused.json()["blockers"][0]["code"]) == (409, "not-stripped")
    send("strength-tests/", pour=pour["id"], kind="cylinder", specimens_psi=[2600, 2600])
    send(f"pieces/{piece.pk}/move/", to_stage="stripped")
    refused = api.post("/api/stressings/", {"piece": piece.pk, "wrench": wrench.pk}, format="json")
    assert {blocker["code"] for blocker in refused.json()["blockers"]} == {"strength-stressing"}
    send("strength-tests/", pour=pour["id"], kind="cylinder", specimens_psi=[5000, 5000])
    coupon = {"yield_lbf": 60, "ultimate_lbf": 120, "span_in": 10, "width_in": 2, "depth_in": 0.5}
    send("coupon-tests/", pour=pour["id"], specimens=[coupon] * 6)
    stressing = send("stressings/", piece=piece.pk, wrench=wrench.pk)
    for step, torque, stretch in ((0, 40, 0.125), (1, 80, 0.25)):
        for rod in ("R2", "R1"):
            reading = send(
                f"stressings/{stressing['id']}/readings/",
                rod=rod,
                step=step,
                torque_lbf_ft=torque,
                elongation_in=stretch,
                crown_in=0.1,
                line_clear=True,
            )
            assert reading["within_tolerance"], reading["findings"]
    assert len(api.get(f"/api/stressings/{stressing['id']}/readings/").json()) == 4
    assert send(f"stressings/{stressing['id']}/finish/")["state"] == "complete"
    assert send(f"pieces/{piece.pk}/move/", to_stage="stressed")["piece"]["stage"] == "stressed"


def test_held_resumed_rejected_and_made_again():
    piece, api = piece_at("curing"), client()
    assert api.post(f"/api/pieces/{piece.pk}/hold/", {"reason": "x"}, format="json").json()["held_from"] == "curing"
    assert api.post(f"/api/pieces/{piece.pk}/resume/", {}, format="json").json()["stage"] == "curing"
    assert api.post(f"/api/pieces/{piece.pk}/reject/", {"reason": "x"}, format="json").json()["stage"] == "rejected"
    assert api.post(f"/api/pieces/{piece.pk}/remake/", {}, format="json").json()["remake_of"] == piece.pk


def test_checks_that_broke_off_are_asked_for_again():
    design = make_design(verdict=None)
    design.revisions.get().specification.check_runs.update(status=JobStatus.BROKEN, problem="no")
    answer = post(f"specifications/{newest(design).pk}/rerun/", {}, Role.ENGINEER)
    assert (answer.status_code, answer.json()["status"]) == (202, "waiting")
    assert post(f"specifications/{newest(design).pk}/rerun/", {}, Role.ENGINEER).json()["code"] == "nothing-changed"


# ---- lists -----------------------------------------------------------------------------------------------------------


def test_lists_come_in_pages_of_a_bounded_size():
    make_design(pieces=200)
    make_design(pieces=60)
    api = client(Role.VIEWER)
    first = api.get("/api/pieces/").json()
    assert (first["count"], len(first["results"])) == (260, 50)
    assert len(api.get("/api/pieces/?page_size=100000").json()["results"]) == 200
    assert api.get("/api/pieces/?page=999").status_code == 404
    assert api.get(first["next"]).json()["previous"]


@pytest.mark.parametrize("query", ["page=0", "page=-1", "page=x", "page=null", f"page={'9' * 5000}", "page=%00"])
def test_a_page_that_is_none_is_404_with_words(query):
    answer = client(Role.VIEWER).get(f"/api/pieces/?{query}")
    assert (answer.status_code, answer.json()["code"]) == (404, "not-found")


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ("pieces/?stage=curing", 1),
        ("pieces/?stage=poured", 0),
        ("orders/?client=mill", 1),
        ("orders/?archived=true", 0),
        ("orders/?archived=false", 1),
        ("events/?verb=order-made", 1),
        ("check-runs/?verdict=pass", 1),
        ("check-runs/?verdict=fail", 0),
        ("specifications/?sha256=sha256:0", 0),
        ("strength-tests/?pour=999", 0),
        ("events/?since=2999-01-01T00:00:00Z", 0),
    ],
)
def test_lists_are_narrowed(query, count):
    piece_at("curing", make_design(make_order(client="Mill Lane")))
    assert client(Role.VIEWER).get(f"/api/{query}").json()["count"] == count


@pytest.mark.parametrize(
    "query",
    [
        "pieces/?stage=flying",
        "pieces/?design=x",
        "pieces/?design=1.5",
        f"pieces/?order={'9' * 400}",
        "orders/?due_before=soon",
        "orders/?client=%00",
        "events/?since=never",
        "pieces/?design=1e400",
        "pieces/?design=nan",
    ],
)
def test_a_filter_that_makes_no_sense_is_400_with_the_field(query):
    answer = client(Role.VIEWER).get(f"/api/{query}")
    assert answer.status_code == 400
    assert answer.json()["code"] == "bad-input"
    assert list(answer.json()["fields"]) == [query.partition("?")[2].partition("=")[0]]


def test_lists_are_ordered_by_what_is_allowed_and_nothing_else():
    manager = person()
    for number in ("O-2", "O-1"):
        make_order(manager, number=number)
    api = client(Role.VIEWER)
    assert [row["number"] for row in api.get("/api/orders/?ordering=-number").json()["results"]] == ["O-2", "O-1"]
    assert api.get("/api/orders/?ordering=events__by__password").status_code == 200
    assert [row["number"] for row in api.get("/api/orders/?ordering=events__by__password").json()["results"]] == [
        "O-1",
        "O-2",
    ]


@pytest.mark.parametrize(
    "name", ["orders", "designs", "specifications", "check-runs", "pieces", "pours", "events", "strength-tests"]
)
def test_a_list_takes_the_same_queries_for_few_rows_as_for_many(name):
    from django.db import connection

    api = client(Role.VIEWER)
    strength_test(piece_at("curing"))

    def count() -> int:
        with CaptureQueriesContext(connection) as caught:
            assert api.get(f"/api/{name}/").status_code == 200
        return len(caught)

    few = count()
    for _ in range(2):
        strength_test(piece_at("curing", make_design(pieces=3)))
    assert count() == few <= 8


def test_who_am_i():
    answer = client(Role.CREW, first_name="Ana", last_name="Sol").get("/api/me/").json()
    assert (answer["name"], answer["role"]) == ("Ana Sol", "crew")
    assert "produce" in answer["permissions"]
    assert "release" not in answer["permissions"]


def test_a_row_that_is_not_there_is_404_with_words():
    answer = client().get("/api/pieces/999999999999999999/")
    assert (answer.status_code, answer.json()) == (
        404,
        {"code": "unknown", "message": "There is no piece with that number here.", "blockers": []},
    )


def test_an_address_that_is_none_is_404():
    assert client().get("/api/pieces/99999999999999999999/").status_code == 404
    assert client().get("/api/pieces/x/").status_code == 404
