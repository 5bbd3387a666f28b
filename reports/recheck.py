"""A record's own evidence run again: what agrees, figure by figure. Needs no database and no key."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from engineering.core.contract import canonical_hash
from engineering.core.contract.json_text import from_json
from engineering.core.pipeline import run_checks
from reports.evidence import RESULT, SPECIFICATION, NoEvidence, attached
from reports.verification import look_before_parsing
from reports.words import number_text

NEAR = 1e-9  # relative: the last digits of another machine's arithmetic


@dataclass(frozen=True)
class Compared:
    """One value of the record beside the one found now."""

    name: str
    recorded: Any
    found: Any
    agrees: bool

    def line(self) -> str:
        if self.agrees:
            return f"agrees   {self.name}: {_text(self.recorded)}"
        return f"DIFFERS  {self.name}: in the record {_text(self.recorded)}, now {_text(self.found)}"


@dataclass(frozen=True)
class Recheck:
    recorded_engine: str
    engine: str
    result_is_of_this_specification: bool
    compared: tuple[Compared, ...]

    @property
    def agrees(self) -> bool:
        return self.result_is_of_this_specification and all(each.agrees for each in self.compared)


def recheck(pdf: bytes) -> Recheck:
    """Take specification and result out of the PDF and run this engine on the specification.

    Raises NotReadable, NoEvidence, or the contract's refusal where the specification is not accepted (any more).
    """
    look_before_parsing(pdf)
    files = attached(pdf)
    if missing := [name for name in (SPECIFICATION, RESULT) if name not in files]:
        raise NoEvidence(f"This PDF carries no {' and no '.join(missing)}, so there is nothing to run again.")
    document, recorded = from_json(files[SPECIFICATION]), from_json(files[RESULT])
    if not isinstance(recorded, dict) or not {"figures", "checks", "verdict", "engine"} <= recorded.keys():
        raise NoEvidence(f"The {RESULT} in this PDF is no result of the checks.")
    found = run_checks(document)
    return Recheck(
        recorded_engine=str(recorded["engine"]),
        engine=str(found["engine"]),
        result_is_of_this_specification=recorded.get("specification") == canonical_hash(document),
        compared=tuple(_compared(recorded, found)),
    )


def _compared(recorded: Mapping[str, Any], found: Mapping[str, Any]) -> Iterator[Compared]:
    yield _one("verdict", recorded["verdict"], found["verdict"])
    old, new = ({c["name"]: c for c in result["checks"]} for result in (recorded, found))
    for name in dict.fromkeys((*old, *new)):
        for key in ("verdict", "demand", "capacity", "ratio"):
            yield _one(f"check {name}, {key}", old.get(name, {}).get(key), new.get(name, {}).get(key))
    for name in dict.fromkeys((*recorded["figures"], *found["figures"])):
        pair = (result["figures"].get(name, {}) for result in (recorded, found))
        yield _one(f"figure {name}", *(figure.get("value") for figure in pair))
    for name in dict.fromkeys((*recorded.get("series", {}), *found["series"])):
        pair = (result.get("series", {}).get(name, {}) for result in (recorded, found))
        yield _one(f"curve {name}", *([*curve.get("x", []), *curve.get("y", [])] for curve in pair))


def _one(name: str, recorded: Any, found: Any) -> Compared:
    return Compared(name, recorded, found, _agree(recorded, found))


def _agree(one: Any, other: Any) -> bool:
    if isinstance(one, list) and isinstance(other, list):
        # A curve agrees as a whole: what is nothing beside its greatest value is rounding.
        floor = max((abs(v) for v in (*one, *other) if isinstance(v, int | float)), default=0.0) * NEAR
        return len(one) == len(other) and all(_near(a, b, floor) for a, b in zip(one, other, strict=True))
    return _near(one, other, 1e-12)


def _near(one: Any, other: Any, floor: float) -> bool:
    numbers = isinstance(one, int | float) and isinstance(other, int | float)
    if numbers and not isinstance(one, bool) and not isinstance(other, bool):
        return math.isclose(one, other, rel_tol=NEAR, abs_tol=floor)
    return type(one) is type(other) and bool(one == other)


def _text(value: Any) -> str:
    return f"{len(value) // 2} points" if isinstance(value, list) else number_text(value)
