"""Canonical JSON and its hash: RFC 8785, so that two writings of one document have one name.

Keys sorted by UTF-16 code units, no white space, UTF-8; numbers as ECMAScript writes a double (ECMA-262
Number::toString).
"""

import hashlib
import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from json.encoder import encode_basestring
from typing import Any


def canonical_hash(document: Any) -> str:
    """`sha256:` and 64 hexadecimal digits. Raises ValueError for what JSON cannot say."""
    return "sha256:" + hashlib.sha256(canonical_json(document)).hexdigest()


def canonical_json(value: Any) -> bytes:
    return _written(value).encode("utf-8")


def _written(value: Any) -> str:
    """Texts by RFC 8785 3.2.2.2: as the json module writes them, DEL and all beyond left as they are."""
    if isinstance(value, str):
        return encode_basestring(value)
    if value is None or isinstance(value, bool):
        return {None: "null", True: "true", False: "false"}[value]
    if isinstance(value, (int, float)):
        return canonical_number(float(value))
    if isinstance(value, (list, tuple)):
        return "[" + ",".join(map(_written, value)) + "]"
    if isinstance(value, (dict, Mapping)):
        return "{" + ",".join([f"{encode_basestring(key)}:{_written(value[key])}" for key in _in_order(value)]) + "}"
    raise ValueError(f"not JSON: {type(value).__name__}")


def _in_order(keys: Iterable[str]) -> list[str]:
    """By UTF-16 code units, which for ASCII keys is as Python sorts texts."""
    ordered = sorted(keys)
    if "".join(ordered).isascii():
        return ordered
    return sorted(ordered, key=lambda key: key.encode("utf-16-be", "surrogatepass"))


@lru_cache(maxsize=4096)
def canonical_number(number: float) -> str:
    """The double as ECMAScript writes it: shortest digits that read back, an exponent under 1e-6 and from 1e21 on."""
    if not math.isfinite(number):
        raise ValueError("JSON has no such number")
    if number == 0:
        return "0"
    sign = "-" if number < 0 else ""
    digits, point = _shortest(abs(number))
    if 0 < point <= 21:
        body = digits.ljust(point, "0") if len(digits) <= point else f"{digits[:point]}.{digits[point:]}"
    elif -6 < point <= 0:
        body = "0." + "0" * -point + digits
    else:
        power = point - 1
        body = digits[0] + ("." + digits[1:] if len(digits) > 1 else "") + f"e{'+' if power > 0 else '-'}{abs(power)}"
    return sign + body


def _shortest(number: float) -> tuple[str, int]:
    """(digits, place of the point): number = 0.digits times ten to that place. Python's repr finds the same digits."""
    mantissa, _, power = repr(number).partition("e")
    whole, _, part = mantissa.partition(".")
    digits = (whole + part).lstrip("0")
    lost = len(whole + part) - len(digits)
    return digits.rstrip("0") or "0", len(whole) - lost + int(power or 0)
