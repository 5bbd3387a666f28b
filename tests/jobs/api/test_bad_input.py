"""Whatever is sent: an answer from 400 on with words, nothing half written, never a 500."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient

from jobs.api.parsing import LARGEST_BODY
from jobs.models import Event
from tests.factories import document, make_design, make_order, person, piece_at, start

pytestmark = pytest.mark.django_db


@pytest.fixture
def api() -> APIClient:
    made = APIClient()
    made.force_login(person())
    return made


def send(api: APIClient, body: bytes | str, path: str = "/api/orders/", kind: str = "application/json"):
    return api.generic("POST", path, body, content_type=kind)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (" ", "not JSON"),
        ("{", "not JSON: Expecting property name enclosed in double quotes at line 1, column 2"),
        ("{'a': 1}", "not JSON"),
        ('{"number": NaN}', "has NaN in it"),
        ('{"number": Infinity}', "has Infinity"),
        ('{"number": -Infinity}', "has -Infinity"),
        ('{"a": 1e400}', "too long or too large"),
        ('{"a": -1e999}', "too long or too large"),
        ('{"a": ' + "9" * 5000 + "}", "too large"),
        ('{"a": 1.' + "0" * 5000 + "}", "too long or too large"),
        ('{"a": 1, "a": 2}', "key 'a' twice"),
        ('{"number": "a\\u0000b"}', "cannot be stored"),
        ('{"a\\u0000": 1}', "cannot be stored"),
        ('{"number": "\\ud800"}', "cannot be stored"),
        (b"\xff\xfe{}", "not UTF-8"),
        ("[" * 100_000 + "]" * 100_000, "nested too deeply"),
        ("[" * 60 + "]" * 60, "nested too deeply"),
        ('{"a":' * 5000 + "1" + "}" * 5000, "nested too deeply"),
    ],
)
def test_what_is_not_json_is_400_and_says_why(api, body, words):
    answer = send(api, body)
    assert (answer.status_code, answer.json()["code"]) == (400, "parse-error")
    assert words in answer.json()["message"]
    assert not Event.objects.exists()


def test_a_pair_of_surrogates_is_a_letter(api):
    answer = send(api, '{"number": "O-1", "client": "\\ud834\\udd1e"}')
    assert (answer.status_code, answer.json()["client"]) == (201, "𝄞")


@pytest.mark.parametrize("body", ["[]", "null", "5", '"text"', "true", "[1, 2]"])
def test_json_that_is_no_object_is_400(api, body):
    answer = send(api, body)
    assert (answer.status_code, answer.json()["code"]) == (400, "bad-input")
    assert answer.json()["fields"]


def test_a_body_over_the_limit_is_413(api):
    answer = send(api, b'{"number": "' + b"x" * LARGEST_BODY + b'"}')
    assert (answer.status_code, answer.json()["code"]) == (413, "too-large")
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    "kind",
    ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/xml", ""],
)
def test_another_kind_of_body_is_415(api, kind):
    answer = send(api, b"number=O-1&client=A", kind=kind)
    assert answer.status_code == 415
    assert not Event.objects.exists()


@pytest.mark.parametrize(
    ("fields", "name"),
    [
        ({"number": 5}, "number"),
        ({"number": ["O-1"]}, "number"),
        ({"number": {}}, "number"),
        ({"number": None}, "number"),
        ({"number": "x" * 21}, "number"),
        ({"number": " "}, "number"),
        ({"due_date": "tomorrow"}, "due_date"),
        ({"due_date": 20270101}, "due_date"),
        ({"request_id": "x"}, "request_id"),
        ({"request_id": []}, "request_id"),
        ({"notes": "x" * 10_001}, "notes"),
    ],
)
def test_a_wrong_type_is_400_and_names_the_field(api, fields, name):
    answer = api.post("/api/orders/", {"number": "O-1", "client": "A", **fields}, format="json")
    assert answer.status_code == 400
    assert list(answer.json()["fields"]) == [name]
    assert not Event.objects.exists()


def test_a_specification_of_ten_thousand_zones_is_refused_in_words(api):
    order = make_order()
    zones = [{"to": n * 0.01, "shape": {"type": "solid", "width": 25, "depth": 3}} for n in range(1, 10_001)]
    answer = api.post(
        "/api/designs/", {"order": order.pk, "document": document(zones=zones, length=100)}, format="json"
    )
    assert answer.status_code == 422
    assert answer.json()["faults"]


@pytest.mark.parametrize("path", ["/api/nothing/", "/api/orders/1/2/3/", "/api/orders//", "/api/orders/a.b/c%00/"])
@pytest.mark.parametrize("method", ["GET", "POST", "DELETE"])
def test_an_address_with_nothing_at_it_says_so_in_json(api, path, method):
    answer = api.generic(method, path)
    assert (answer.status_code, answer.json()["code"]) == (404, "unknown")
    assert APIClient().generic(method, path).status_code == 401


NASTY = [
    None,
    True,
    -1,
    0,
    10**17,
    1.5,
    1e300,
    -0.0,
    "",
    " ",
    "x" * 300,
    "'; DROP TABLE jobs_piece; --",
    "1",
    "NaN",
    "٣",
    [],
    [None],
    [[]],
    {},
    {"a": 1},
    "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:59-23:59",
    "2026-02-30",
    "<script>",
    "\u202e",
]


SENT_AS = {"application/json": "json", "multipart/form-data": "multipart"}


def posts() -> list[tuple[str, str, list[str], str]]:
    """(method, path, names of fields, json or multipart) of every call that takes a body."""
    schema = SchemaGenerator().get_schema(public=True)
    found = []
    for path, item in schema["paths"].items():
        for method in ("post", "patch"):
            if method in item:
                (kind, part), *more = item[method]["requestBody"]["content"].items()
                assert more == []
                name = part["schema"]["$ref"].rpartition("/")[2]
                names = list(schema["components"]["schemas"][name]["properties"])
                found.append(
                    (method, path, names, {"application/json": "json", "multipart/form-data": "multipart"}[kind])
                )
    return found


def as_form(body: dict[str, object]) -> dict[str, object]:
    """The same as parts of a form: text of whatever it was, and for a file one that holds it."""
    told = {name: value if isinstance(value, str) else json.dumps(value) for name, value in body.items()}
    nasty = str(told.pop("file", "")).encode("utf-8", "replace")
    return {**told, "file": SimpleUploadedFile("a\x01/../b.pdf", nasty)}


def good(rows: dict[str, int]) -> dict[str, object]:
    """A value for every field of every call that would do, so that one nasty field is met alone."""
    return {
        "order": rows["orders"],
        "piece": rows["pieces"],
        "pieces": [rows["pieces"]],
        "pour": rows["pours"],
        "number": "O-N",
        "client": "A",
        "version": 0,
        "document": document(title="other"),
        "base_revision": 1,
        "count": 1,
        "to_stage": "curing",
        "reason": "x",
        "core_held": True,
        "sleeves_sealed": True,
        "pockets_set": True,
        "batch": "B",
        "kind": "cube",
        "specimens_psi": [1, 2],
        "rod": "R2",
        "step": 0,
        "line_clear": True,
        "load_lbf": 1,
        "deflection_in": 1,
        "cracks_seen": False,
        "accepted": True,
        "supports_in": [4, 104],
        "cautions_confirmed": True,
        "torque_lbf_ft": 40,
        "elongation_in": 0.1,
        "crown_in": 0.1,
    }


@pytest.mark.fuzz  # thousands of calls
@pytest.mark.parametrize(
    ("method", "path", "names", "kind"), posts(), ids=lambda part: part if isinstance(part, str) else ""
)
def test_no_value_of_any_field_makes_a_500(api, method, path, names, kind):
    open_ = start(piece_at("stripped"))
    design = make_design()
    rows = {
        "orders": design.order.pk,
        "designs": design.pk,
        "specifications": design.revisions.get().pk,
        "pieces": open_.piece.pk,
        "pours": open_.piece.pour.pk,
        "stressings": open_.pk,
    }
    address, broken = path.replace("{id}", str(rows.get(path.split("/")[2], 1))), []
    for name in names:
        for value in NASTY:
            body = {key: kept for key, kept in good(rows).items() if key in names} | {name: value}
            sent = body if kind == "json" else as_form(body)
            answer = getattr(api, method)(address, sent, format=kind)
            shaped = answer.status_code < 400 or {"code", "message"} <= set(answer.json()) or "faults" in answer.json()
            if answer.status_code >= 500 or not shaped:
                broken.append((name, value, answer.status_code))
    assert broken == []


def test_evidence_of_any_depth_is_stored_or_refused(api):
    piece = piece_at("poured")
    for evidence in ({"a": {"b": [1, 2.5, None]}}, {"a": [[[[[[1]]]]]]}):
        answer = api.post(f"/api/pieces/{piece.pk}/move/", {"to_stage": "curing", "evidence": evidence}, format="json")
        assert answer.status_code in (200, 409)
    assert json.dumps(Event.objects.get(verb="piece-moved", detail__to="curing").detail["evidence"])
