"""The page of symbols says what the code says: its names are there, the ends of names that carry units are on it."""

import re
from dataclasses import fields, is_dataclass
from pathlib import Path

import pytest

from engineering.core import batching, quantities

CORE = Path(quantities.__file__).parent
PAGE = (CORE / "NOMENCLATURE.md").read_text("utf-8")
CODE = "\n".join(path.read_text("utf-8") for path in sorted(CORE.rglob("*.py")))
NAMES = sorted(set(re.findall(r"`([a-z][a-z0-9_]{2,})(?:\[[a-z, ]+\])?`", PAGE)))
UNITS = {"in", "in2", "in3", "in4", "lbf", "psi", "ft3", "days", "pcf"}


@pytest.mark.parametrize("name", NAMES)
def test_a_name_on_the_page_stands_in_the_code(name: str) -> None:
    assert re.search(rf"\b{name}\b", CODE)


def test_the_ends_of_names_are_explained() -> None:
    """Every unit at the end of a field of the analysis or a batch is one of those that the page names."""
    classes = [one for module in (quantities, batching) for one in vars(module).values() if is_dataclass(one)]
    ends = {field.name.rsplit("_", 1)[-1] for one in classes for field in fields(one) if "_" in field.name}
    used = ends & UNITS
    assert {"in", "lbf", "psi", "days"} <= used
    assert all(f"`_{end}`" in PAGE for end in used)


def test_there_are_enough_of_them() -> None:
    assert len(NAMES) > 80
