"""A document that cannot be taken, with every fault and where it is."""

import json
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

_PLAIN_KEY = re.compile(r"[\w-]{1,60}")


@dataclass(frozen=True)
class Fault:
    path: str  # rods[1].profile[0][1]; empty for the document itself
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}" if self.path else self.message


class SpecificationRefused(ValueError):
    """The document was refused; `faults` lists everything found, in the order of the document."""

    def __init__(self, faults: tuple[Fault, ...]):
        self.faults = faults
        super().__init__("\n".join(str(fault) for fault in faults))


class Faults:
    """Collects faults; the first one said of a path stands, so that one slip is not told twice."""

    def __init__(self) -> None:
        self._by_path: dict[str, Fault] = {}

    def add(self, path: str, message: str) -> None:
        self._by_path.setdefault(path, Fault(path, message))

    def has(self, path: str) -> bool:
        return path in self._by_path

    def __bool__(self) -> bool:
        return bool(self._by_path)

    def as_tuple(self) -> tuple[Fault, ...]:
        return tuple(self._by_path.values())


@lru_cache(maxsize=8192, typed=True)
def child(path: str, key: object) -> str:
    """Path of a key or an index under `path`; a key that is no plain word is quoted."""
    if isinstance(key, int) and not isinstance(key, bool):
        return f"{path}[{key}]"
    if isinstance(key, str) and _PLAIN_KEY.fullmatch(key):
        return f"{path}.{key}" if path else key
    return f"{path}[{shown(key)}]"


def shown(value: Any) -> str:
    """A value as a message shows it: short, printable, whatever it is."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, (list, tuple)):
        return f"a list of {len(value)}"
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    if isinstance(value, int) and abs(value) >= 10**15:
        return "a number of more than 15 digits"
    if isinstance(value, (int, float)):
        return f"{value:.10g}"
    if isinstance(value, str):
        return json.dumps(value if len(value) <= 60 else value[:57] + "...", ensure_ascii=not value.isprintable())
    return f"a {type(value).__name__}"


def refusal_document(refused: SpecificationRefused) -> dict[str, Any]:
    """The answer `check_piece --json` and the API give to a refused document."""
    faults = [{"path": fault.path, "message": fault.message} for fault in refused.faults]
    return {"format": "check-refusal/1", "faults": faults}
