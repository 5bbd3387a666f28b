"""From the text of a file to a document, or to what is wrong with the text: line, column, and keys given twice."""

import json
import math
from collections import Counter
from collections.abc import Iterator
from typing import Any

from engineering.core.contract.parse import parse
from engineering.core.contract.refusal import Fault, SpecificationRefused, child

LARGEST_TEXT_BYTES = 4_000_000
_LONGEST_INTEGER = 400            # digits; a double holds no more than 309


class _Doubled(dict[str, Any]):
    """An object of which some keys were given more than once."""

    twice: tuple[str, ...] = ()


def from_json(text: str | bytes) -> Any:
    """The document in `text`. Raises SpecificationRefused: no JSON (line and column), no UTF-8, or a key given twice.

    NaN, Infinity and numbers beyond a double are let through as such numbers, so that `parse` can name the key.
    Where a key is given twice, the faults that `parse` finds are told with it.
    """
    document = _read(_decoded(text))
    doubled = tuple(
        Fault(child(path, key), "is given twice; every key should be given once")
        for path, found in _doubled_objects(document)
        for key in found.twice
    )
    if doubled:
        raise SpecificationRefused((*doubled, *_other_faults(document, {fault.path for fault in doubled})))
    return document


def _other_faults(document: Any, told: set[str]) -> tuple[Fault, ...]:
    try:
        parse(document)
    except SpecificationRefused as refused:
        return tuple(fault for fault in refused.faults if fault.path not in told)
    return ()


def _decoded(text: str | bytes) -> str:
    if len(text) > LARGEST_TEXT_BYTES:
        raise _refused(f"the text is larger than {LARGEST_TEXT_BYTES // 1_000_000} MB; no piece needs that")
    if isinstance(text, str):
        return text.removeprefix("\ufeff")
    try:
        return text.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise _refused(f"not UTF-8 text: byte {problem.start + 1} cannot be read; save the file as UTF-8") from None


def _read(text: str) -> Any:
    if not text.strip():
        raise _refused("the text is empty; it should be a JSON document")
    try:
        return json.loads(text, object_pairs_hook=_object, parse_int=_integer)
    except json.JSONDecodeError as problem:
        raise _refused(f"not JSON: line {problem.lineno}, column {problem.colno}: {_plainly(problem.msg)}") from None
    except RecursionError:
        raise _refused("lists and objects lie too deep inside one another") from None


def _plainly(message: str) -> str:
    return message[:1].lower() + message[1:]


def _integer(digits: str) -> int | float:
    """An integer, or infinity for one that no double holds: Python itself refuses to read very long ones."""
    if len(digits) > _LONGEST_INTEGER:
        return -math.inf if digits.startswith("-") else math.inf
    return int(digits)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain = dict(pairs)
    if len(plain) == len(pairs):
        return plain
    doubled = _Doubled(plain)
    counts = Counter(key for key, _ in pairs)
    doubled.twice = tuple(key for key, count in counts.items() if count > 1)
    return doubled


def _doubled_objects(document: Any) -> Iterator[tuple[str, _Doubled]]:
    """Every object with a key given twice, and its path. Without recursion: the text says how deep it goes."""
    waiting: list[tuple[str, Any]] = [("", document)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, _Doubled):
            yield path, value
        if isinstance(value, dict):
            waiting += [(child(path, key), item) for key, item in value.items()]
        elif isinstance(value, list):
            waiting += [(child(path, index), item) for index, item in enumerate(value)]


def _refused(message: str) -> SpecificationRefused:
    return SpecificationRefused((Fault("", message),))
