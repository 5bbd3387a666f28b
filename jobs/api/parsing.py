"""JSON as it comes from outside: strict, bounded, and refused with words before anything else looks at it."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import IO, Any

from django.core.exceptions import RequestDataTooBig, TooManyFieldsSent, TooManyFilesSent
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import BaseParser, MultiPartParser

LARGEST_BODY = 2 * 1024 * 1024
DEEPEST = 40
LONGEST_NUMBER = 40  # characters
LARGEST_WHOLE = 10**18  # fits the integer columns of both databases


class BodyTooLarge(APIException):
    status_code, default_code = 413, "too-large"
    default_detail = f"The body is larger than {LARGEST_BODY // (1024 * 1024)} MB. Send less at once."


class StrictJSONParser(BaseParser):
    """application/json in UTF-8. No NaN or Infinity, no number that overflows, no key twice, no NUL, no deep
    nesting.
    """

    media_type = "application/json"

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        body = stream.read(LARGEST_BODY + 1)
        if len(body) > LARGEST_BODY:
            raise BodyTooLarge
        return read_json(body)


class UploadParser(MultiPartParser):
    """multipart/form-data, for a file. More parts than the site takes, or more text in them, is told in words."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Mapping[str, Any] | None = None) -> Any:
        try:
            return super().parse(stream, media_type=media_type, parser_context=parser_context)
        except RequestDataTooBig as exc:
            raise BodyTooLarge from exc
        except (TooManyFieldsSent, TooManyFilesSent) as exc:
            raise ParseError("The form has too many parts.") from exc


def read_json(body: bytes) -> Any:
    """The document. ParseError (400) with what is wrong and where."""
    try:
        text = body.decode("utf-8-sig")
        value = json.loads(
            text, parse_constant=_constant, parse_float=_float, parse_int=_int, object_pairs_hook=_object
        )
    except UnicodeDecodeError as exc:
        raise ParseError("The body is not UTF-8 text.") from exc
    except json.JSONDecodeError as exc:
        raise ParseError(f"The body is not JSON: {exc.msg} at line {exc.lineno}, column {exc.colno}.") from exc
    except RecursionError as exc:
        raise ParseError("The body is nested too deeply.") from exc
    _look_over(value)
    return value


def _constant(name: str) -> Any:
    raise ParseError(f"The body has {name} in it, which is no number of JSON.")


def _float(text: str) -> float:
    value = float(text) if len(text) <= LONGEST_NUMBER else math.inf
    if not math.isfinite(value):
        raise ParseError(f"The body has a number in it that is too long or too large: {text[:LONGEST_NUMBER]}.")
    return value


def _int(text: str) -> int:
    value = int(text) if len(text) <= LONGEST_NUMBER else LARGEST_WHOLE
    if abs(value) >= LARGEST_WHOLE:
        raise ParseError(f"The body has a number in it that is too large: {text[:LONGEST_NUMBER]}.")
    return value


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ParseError(f"The body has the key {twice[:60]!r} twice in one object.")
    return made


def _look_over(value: Any) -> None:
    """Refuse what is nested too deeply and text that no database keeps; without recursion, level by level."""
    level, depth = [value], 0
    while level:
        if (depth := depth + 1) > DEEPEST:
            raise ParseError("The body is nested too deeply.")
        below: list[Any] = []
        for item in level:
            if isinstance(item, str):
                _text(item)
            elif isinstance(item, dict):
                below += [*item.keys(), *item.values()]
            elif isinstance(item, list):
                below += item
        level = below


def _text(text: str) -> None:
    if "\0" in text or any("\ud800" <= letter <= "\udfff" for letter in text):
        raise ParseError("The body has a character in it that cannot be stored (NUL, or half of a pair).")
