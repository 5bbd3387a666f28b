"""The OpenAPI document and the page made from it."""

import re

import pytest
from django.core.management import call_command
from drf_spectacular.generators import SchemaGenerator
from rest_framework.test import APIClient

from tests.factories import person

pytestmark = pytest.mark.django_db


def test_the_document_is_valid_and_made_without_a_warning(tmp_path):
    call_command("spectacular", "--fail-on-warn", "--validate", "--file", str(tmp_path / "schema.yaml"))
    assert (tmp_path / "schema.yaml").stat().st_size > 10_000


def test_every_call_says_how_it_refuses():
    schema = SchemaGenerator().get_schema(public=True)
    for path, item in schema["paths"].items():
        for method, call in item.items():
            assert {"400", "401", "403", "404"} <= set(call["responses"]), (method, path)
            if method != "get":
                assert {"409", "413", "415", "422"} <= set(call["responses"]), (method, path)
            assert {"key": []} in call["security"]


@pytest.fixture
def page() -> str:
    browser = APIClient()
    browser.force_login(person())
    answer = browser.get("/api/")
    assert answer.status_code == 200
    assert "unsafe" not in answer["Content-Security-Policy"]
    return answer.content.decode()


def test_the_page_names_every_call_and_every_shape(page):
    schema = SchemaGenerator().get_schema(public=True)
    for path, item in schema["paths"].items():
        for method in item:
            assert f"{method.upper()} {path}</code>" in page
    for name in schema["components"]["schemas"]:
        assert f'id="shape-{name}"' in page


def test_the_page_needs_no_inline_script_or_style_and_no_other_host(page):
    assert not re.search(r"<script(?![^>]*\bsrc=)", page)
    assert not re.search(r"\son[a-z]+\s*=\s*[\"']|<style|\sstyle=", page)
    assert not re.search(r"(?:src|href|action)=[\"'](?:https?:)?//", page)


def test_every_link_inside_the_page_lands(page):
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(ids)


def test_the_document_is_served_as_json_too():
    browser = APIClient()
    browser.force_login(person())
    answer = browser.get("/api/schema/?format=json")
    assert answer.json()["openapi"].startswith("3.")
