"""Does the sum again that a working prints: every part between equals signs that is plain arithmetic must give the
next."""

import math
import re
from itertools import pairwise

UNITS = {
    "lbf·in": 1.0,
    "lbf·ft": 12.0,
    "lbf": 1.0,
    "psi": 1.0,
    "in⁴": 1.0,
    "in³": 1.0,
    "in²": 1.0,
    "in": 1.0,
    "psf": 1 / 144,
    "N·mm": 1 / 4.4482216152605 / 25.4,
    "N·m": 1000 / 4.4482216152605 / 25.4,
    "N": 1 / 4.4482216152605,
    "kPa": 1 / 6.894757293168,
    "MPa": 1 / 0.006894757293168,
    "mm⁴": 25.4**-4,
    "mm³": 25.4**-3,
    "mm²": 25.4**-2,
    "mm": 1 / 25.4,
}
UNIT = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
TOKEN = re.compile(
    rf"\s*(?:(?P<number>\d+(?:\.\d+)?)(?:\s(?P<unit>{UNIT})(?![A-Za-z·]))?|(?P<word>min|max|√|π)|(?P<power>[²³])|(?P<sign>[-+×/(),]))"
)


def python_of(text: str) -> str | None:
    """The Python expression of a part that is nothing but numbers, units and signs; None for any other."""
    parts, place = [], 0
    text = text.strip()
    while place < len(text):
        token = TOKEN.match(text, place)
        if token is None or token.end() == place:
            return None
        place = token.end()
        if token["number"]:
            parts.append(f"({token['number']}*{UNITS[token['unit']] if token['unit'] else 1.0!r})")
        elif token["word"]:
            parts.append({"√": "sqrt", "π": "pi"}.get(token["word"], token["word"]))
        elif token["power"]:
            parts.append("**2" if token["power"] == "²" else "**3")
        else:
            parts.append({"×": "*"}.get(token["sign"], token["sign"]))
    return "".join(parts) or None


def value_of(expression: str) -> float:
    return float(eval(expression, {"__builtins__": {}}, {"sqrt": math.sqrt, "pi": math.pi, "min": min, "max": max}))


def sums(line: str) -> list[tuple[str, float, float, float]]:
    """(text, value of the sum, printed value, scale) of every pair of neighbouring arithmetic parts of a line."""
    found = []
    for clause in re.split(r"; |: ", line):
        parts = [(part, python_of(part)) for part in clause.split(" = ")]
        for (text, first), (_, second) in pairwise(parts):
            if first is not None and second is not None:
                value = value_of(first)
                scale = max(abs(value), _size(first))
                found.append((f"{text} = ...", value, value_of(second), scale))
    return found


def _size(expression: str) -> float:
    """How large the terms are that a difference was taken of."""
    try:
        return abs(value_of(expression.replace("-", "+")))
    except (ValueError, ZeroDivisionError):
        return 0.0
