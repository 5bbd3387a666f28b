"""Every action writes its event, and nothing but an action writes: read from the code itself, so a new one is in it."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

import jobs.actions
import reports.actions
import reports.sharing
import reports.signed_copies
from jobs import gates

HERE = Path(__file__).resolve().parents[2]
# They make no act of their own: the log itself, and the wrapper of all acts.
NOT_ACTIONS = {"jobs.actions.events", "jobs.actions.transactions"}
WRITES = {"save", "create", "bulk_create", "bulk_update", "update_or_create", "get_or_create", "delete"}
OF_RECORDS = (reports.actions, reports.sharing, reports.signed_copies)
READ_ONLY = ("jobs/views", "jobs/api", "jobs/forms", "jobs/templatetags", "reports/views*.py", "reports/drawing")


def modules() -> list[ModuleType]:
    found = pkgutil.walk_packages(jobs.actions.__path__, "jobs.actions.")
    names = sorted({module.name for module in found} - NOT_ACTIONS)
    return [*(importlib.import_module(name) for name in names), *OF_RECORDS]


def acts() -> list[Any]:
    """Each function that is wrapped as one act, once, where it is written."""
    found = {}
    for module in modules():
        for _, function in inspect.getmembers(module, inspect.isfunction):
            if hasattr(function, "__wrapped__") and function.__module__ == module.__name__:
                found[f"{function.__module__}.{function.__qualname__}"] = function
    return list(found.values())


def names_called(function: Any) -> set[str]:
    """`events.record`, `_moved`, …: what is called or handed on in the function's own lines."""
    tree = ast.parse(inspect.getsource(inspect.unwrap(function)))
    return {ast.unparse(node) for node in ast.walk(tree) if isinstance(node, ast.Name | ast.Attribute)}


def records(function: Any, seen: frozenset[str] = frozenset()) -> bool:
    """Whether an event is written by the function or by something of the house that it calls."""
    called = names_called(function)
    if "events.record" in called:
        return True
    space = inspect.unwrap(function).__globals__
    for name in called - seen:
        first, _, rest = name.partition(".")
        of_module = rest and inspect.ismodule(space.get(first))
        other = getattr(space[first], rest, None) if of_module else space.get(name)
        ours = inspect.isfunction(other) and other.__module__.startswith(("jobs.", "reports."))
        if ours and records(other, seen | called):
            return True
    return False


def test_the_walk_finds_the_actions() -> None:
    names = {act.__name__ for act in acts()}
    assert {"create_order", "release", "move", "record_pour", "record_reading", "issue_token"} <= names
    assert "request_record" in names


def test_the_walk_can_say_no() -> None:
    assert not records(gates.blockers)
    assert writes("Piece.objects.filter(pk=1).update(stage='x')\npiece.save()") != []


@pytest.mark.parametrize("act", acts(), ids=lambda act: f"{act.__module__}.{act.__name__}")
def test_every_act_writes_an_event(act: Any) -> None:
    assert records(act), f"{act.__qualname__} writes no event"


def test_every_public_function_of_an_action_file_is_one_act_or_writes_nothing() -> None:
    loose = []
    for module in modules():
        for name, function in inspect.getmembers(module, inspect.isfunction):
            own = function.__module__ == module.__name__ and not name.startswith("_")
            if not own or hasattr(function, "__wrapped__"):
                continue
            if writes(inspect.getsource(function)) and not records(function):
                loose.append(f"{module.__name__}.{name}")
    # Notices are nobody's act: they follow from what others wrote down. A look through a shared link is nobody's of the
    # shop: it stands in the link's own log, so that strangers cannot fill the event log.
    nobodys = ["jobs.actions.notices.send", "jobs.actions.notices.sweep", "reports.sharing.note_look"]
    assert sorted(loose) == nobodys


def writes(source: str) -> list[str]:
    """Calls that write a row: `x.save()`, `rows.create(…)`, `rows.update(field=…)`; not a dictionary's update."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if ast.unparse(node.func).startswith("self."):
                continue
            of_rows = "objects" in ast.unparse(node.func.value) or node.func.attr in ("save", "delete")
            if of_rows and node.func.attr in WRITES | {"update"}:
                found.append(ast.unparse(node)[:80])
    return found


def test_pages_and_the_api_write_nothing_themselves() -> None:
    found = []
    for place in READ_ONLY:
        files = (HERE / place).rglob("*.py") if "*" not in place else HERE.glob(place)
        for file in files:
            found += [f"{file.relative_to(HERE)}: {call}" for call in writes(file.read_text("utf-8"))]
    assert found == []
