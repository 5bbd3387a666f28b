import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from engineering.core.contract import SpecificationRefused, parse

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def data_folder() -> Path:
    return DATA


@pytest.fixture(scope="session")
def accepted() -> dict[str, dict[str, Any]]:
    """The documents of `data/accepted` by file name. Read only: tests that change one take `counter` or copy."""
    return {path.stem: json.loads(path.read_text("utf-8")) for path in sorted((DATA / "accepted").glob("*.json"))}


@pytest.fixture
def counter(accepted: dict[str, dict[str, Any]]) -> dict[str, Any]:
    """A cored counter with two rods, the second `like` the first; free to change."""
    return copy.deepcopy(accepted["01-counter-cored"])


@pytest.fixture(scope="session")
def faults_of() -> Callable[[Any], dict[str, str]]:
    """Paths and messages of what is wrong with a document; empty for one that is accepted."""

    def find(document: Any) -> dict[str, str]:
        try:
            parse(document)
        except SpecificationRefused as refused:
            return {fault.path: fault.message for fault in refused.faults}
        return {}

    return find
