"""Calls made up from the OpenAPI document, as each role and as nobody: the answer is one the document names, in the
shape it names, and never a 500. Made up in the same order every time. What does not fit the document is
`jobs/api/test_bad_input.py`.
"""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import urlencode

import jsonschema
import pytest
import schemathesis
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiJsonRenderer
from hypothesis import HealthCheck, Phase, given, settings
from rest_framework.test import APIClient
from schemathesis import GenerationMode
from schemathesis.core import NotSet

from jobs.models import Event, Role
from tests.factories import make_design, make_mix, person, piece_at, start

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db, pytest.mark.timeout(600)]

EXAMPLES: dict[str, int] = {Role.MANAGER: 4}  # of each call; the others, who are mostly turned away, try each twice
PLAIN_WORDS = {"message", "faults"}  # one of them is in every refusal


def fixed(examples: int) -> settings:
    """So many, the same every time."""
    return settings(
        max_examples=examples,
        derandomize=True,
        database=None,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture
def some_rows() -> None:
    """A shop that is not empty: row 1 of most kinds exists."""
    start(piece_at("stripped"))
    make_design()
    make_mix()


def document() -> dict[str, Any]:
    return json.loads(OpenApiJsonRenderer().render(SchemaGenerator().get_schema(public=True)))


def sent(client: APIClient, case: Any) -> Any:
    """The case as a call of the test client: its address and its body. Made-up headers and cookies are left out."""
    body = None if isinstance(case.body, NotSet) else case.body
    address = case.formatted_path
    if case.query:
        address += "?" + urlencode(case.query, doseq=True, errors="replace")
    if body is None:
        return client.generic(case.method, address)
    data = body if isinstance(body, bytes) else json.dumps(body, default=repr).encode()
    return client.generic(case.method, address, data, content_type="application/json")


def objection(raw: dict[str, Any], case: Any, answer: Any) -> str:
    call = raw["paths"][case.operation.path][case.method.lower()]
    named = f"{case.method} {case.operation.path}: {answer.status_code}"
    if answer.status_code >= 500:
        return f"{named} {getattr(answer, 'exc_info', ['', ''])[1]!r} for {case.body!r} {case.query!r}"
    if answer.status_code >= 400:
        if str(answer.status_code) not in call["responses"] and answer.status_code != 405:
            return f"{named} is not in the document"
        return "" if PLAIN_WORDS & set(answer.json()) else f"{named} without words"
    shape = call["responses"].get(str(answer.status_code))
    if shape is None:
        return f"{named} is not in the document"
    schema = shape.get("content", {}).get("application/json", {}).get("schema")
    if schema:
        try:
            jsonschema.validate(answer.json(), {**_plain(schema), "components": _plain(raw["components"])})
        except jsonschema.ValidationError as wrong:
            return f"{named}: {wrong.message[:200]} at {list(wrong.absolute_path)}"
    return ""


def _plain(schema: Any) -> Any:
    """OpenAPI 3.0's `nullable` as JSON Schema says it."""
    if isinstance(schema, list):
        return [_plain(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    plain = {key: _plain(value) for key, value in schema.items() if key != "nullable"}
    return {"anyOf": [plain, {"type": "null"}]} if schema.get("nullable") is True else plain


NOBODY = "nobody"


@pytest.mark.parametrize("role", [*sorted(Role.values), NOBODY])
def test_every_call_answers_as_the_document_says(role: str, some_rows: None) -> None:
    raw, wrong, made, statuses = document(), set(), [], set()
    events = Event.objects.count()
    client = APIClient(raise_request_exception=False)
    if role != NOBODY:
        client.force_login(person(role))
    for operation in schemathesis.openapi.from_dict(raw).get_all_operations():
        call = operation.ok()

        @fixed(EXAMPLES.get(role, 2))
        @given(case=call.as_strategy(generation_mode=GenerationMode.POSITIVE))
        def try_it(case: Any) -> None:
            made.append(case)
            answer = sent(client, case)
            statuses.add(answer.status_code)
            wrong.add(objection(raw, case, answer))

        try_it()
    assert wrong - {""} == set()
    assert len(made) > 100
    if role in (NOBODY, Role.VIEWER):
        assert Event.objects.count() == events      # nothing was written
    if role == NOBODY:
        assert statuses == {401}
