"""A specification document that somebody sends, pasted or as a file: its text, its JSON, what is wrong with it."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpRequest

from engineering.core.contract import Fault, SpecificationRefused, parse

LARGEST_FILE = 2_000_000


def sent_text(request: HttpRequest) -> tuple[str, tuple[Fault, ...]]:
    sent = request.FILES.get("file")
    if sent is None:
        return request.POST.get("text", ""), ()
    if sent.size is None or sent.size > LARGEST_FILE:
        return "", (
            Fault(
                "", f"The file is larger than {LARGEST_FILE // 1_000_000} MB; a specification is a few pages of text."
            ),
        )
    try:
        return sent.read().decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        return "", (Fault("", f"{sent.name} is not text in UTF-8, so it is no specification document."),)


def read_json(text: str) -> tuple[dict[str, Any] | None, tuple[Fault, ...]]:
    """The document in the text, or what is wrong with the text."""
    if not text.strip():
        return None, (Fault("", "Choose a file, or paste the text of a document."),)
    try:
        document = json.loads(text, object_pairs_hook=_no_double_keys)
    except RecursionError:
        return None, (Fault("", "The document is nested too deeply."),)
    except ValueError as exc:
        return None, (Fault("", f"This is not JSON: {str(exc)[:200]}."),)
    if not isinstance(document, dict):
        return None, (Fault("", "A specification document is a JSON object: it begins with { and ends with }."),)
    return document, ()


def _no_double_keys(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        double = next(key for number, (key, _) in enumerate(pairs) if key in dict(pairs[:number]))
        raise ValueError(f"the key {double[:60]} stands twice in one object")
    return made


def faults_of(document: Any) -> tuple[Fault, ...]:
    try:
        parse(document)
    except SpecificationRefused as refused:
        return refused.faults
    return ()
