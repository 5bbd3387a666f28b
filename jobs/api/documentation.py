"""The API described for people: a page of our own, made from the OpenAPI document, with no script and no other host."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from drf_spectacular.generators import SchemaGenerator

SENT_AS = ("application/json", "multipart/form-data")
METHODS = ("get", "post", "patch", "put", "delete")


@require_safe
def api_page(request: HttpRequest) -> HttpResponse:
    schema = SchemaGenerator().get_schema(public=True)
    return render(
        request, "jobs/api/page.html", {"info": schema["info"], "sections": sections(schema), "shapes": shapes(schema)}
    )


def sections(schema: dict[str, Any]) -> list[dict[str, Any]]:
    """The calls, by the first word of their path, in the order of the document."""
    found: dict[str, list[dict[str, Any]]] = {}
    for path, item in schema["paths"].items():
        for method in METHODS:
            if method in item:
                found.setdefault(_section(path), []).append(_call(path, method, item[method]))
    return [
        {"name": name.replace("-", " "), "anchor": f"calls-{name}", "calls": calls} for name, calls in found.items()
    ]


def _section(path: str) -> str:
    parts = [part for part in path.split("/") if part]
    return parts[1] if len(parts) > 1 else parts[0]


def _call(path: str, method: str, operation: dict[str, Any]) -> dict[str, Any]:
    content = operation.get("requestBody", {}).get("content", {})
    body = next((part.get("schema") for kind, part in content.items() if kind in SENT_AS), None)
    return {
        "method": method.upper(),
        "path": path,
        "anchor": operation["operationId"].replace("_", "-"),
        "text": operation.get("description", ""),
        "parameters": [_parameter(one) for one in operation.get("parameters", [])],
        "body": _type(body) if body else None,
        "answers": [{"code": code, **_answer(answer)} for code, answer in sorted(operation["responses"].items())],
    }


def _parameter(parameter: dict[str, Any]) -> dict[str, Any]:
    return {
        "name": parameter["name"],
        "place": parameter["in"],
        "required": parameter.get("required", False),
        "type": _type(parameter["schema"]),
        "text": parameter.get("description", ""),
    }


def _answer(answer: dict[str, Any]) -> dict[str, Any]:
    body = answer.get("content", {}).get("application/json", {}).get("schema")
    return {"type": _type(body) if body else None, "text": answer.get("description", "")}


def shapes(schema: dict[str, Any]) -> list[dict[str, Any]]:
    """Every shape of the document with its fields."""
    return [
        {
            "name": name,
            "anchor": f"shape-{name}",
            "text": shape.get("description", ""),
            "type": _type(shape),
            "fields": _shape_fields(shape),
        }
        for name, shape in schema["components"]["schemas"].items()
    ]


def _shape_fields(shape: dict[str, Any]) -> list[dict[str, Any]]:
    required = shape.get("required", [])
    return [
        {"name": name, "type": _type(part), "required": name in required, "text": part.get("description", "")}
        for name, part in shape.get("properties", {}).items()
    ]


def _type(part: dict[str, Any]) -> dict[str, str]:
    """{"text": in words, "shape": name of the shape it refers to, or ""}."""
    if "$ref" in part:
        name = part["$ref"].rpartition("/")[2]
        return {"text": name, "shape": name}
    for key in ("allOf", "oneOf", "anyOf"):
        if key in part:
            inner = [_type(one) for one in part[key]]
            return {
                "text": " or ".join(one["text"] for one in inner),
                "shape": inner[0]["shape"] if len(inner) == 1 else "",
            }
    if part.get("type") == "array":
        inner_type = _type(part["items"])
        return {"text": f"list of {inner_type['text']}", "shape": inner_type["shape"]}
    if "enum" in part:
        return {"text": "one of " + ", ".join(str(value) or "(empty)" for value in part["enum"]), "shape": ""}
    words = [str(part.get("type", "any JSON value")), str(part.get("format", ""))]
    bounds = [
        f"{word} {part[key]}"
        for key, word in (("minimum", "from"), ("maximum", "to"), ("maxLength", "at most, characters:"))
        if key in part
    ]
    return {"text": ", ".join(word for word in [*words, *bounds] if word), "shape": ""}
