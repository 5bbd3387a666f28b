"""The environment decides which tests run: those that need PostgreSQL, Redis or a browser are left out, and counted,
where DATABASE_URL, REDIS_URL or CHROMIUM is not set. Where it is set and the server does not answer, they fail."""

import os

import pytest
from hypothesis import HealthCheck, settings

# No test asserts a time, and a machine may be busy. In CI the cases are the same each time: a red run can be run again.
NO_HURRY = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("here", **NO_HURRY)
settings.register_profile("ci", derandomize=True, **NO_HURRY)
settings.load_profile("ci" if os.environ.get("CI") else "here")

NEEDS = {
    "postgres": "DATABASE_URL",
    "redis": "REDIS_URL",
    "browser": "CHROMIUM",
    "proxy": "CADDY",
    "poppler": "PDFSIG",
    "square_code": "ZBARIMG",
    "qpdf": "QPDF",
    "faketime": "LIBFAKETIME",
    "mount": "MOUNTS",
    "fuzz": "CI",
}


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect, and so count in the closing line, what this environment cannot run. Browser tests come last: from the
    first of them on an event loop runs in this thread, in which nothing can be signed."""
    missing = {marker for marker, name in NEEDS.items() if not os.environ.get(name)}
    out = [item for item in items if any(item.get_closest_marker(marker) for marker in missing) or _is_left_out(item)]
    if out:
        config.hook.pytest_deselected(items=out)
        left_out = set(out)
        items[:] = [item for item in items if item not in left_out]
    items.sort(key=lambda item: item.get_closest_marker("browser") is not None)


def _is_left_out(item: pytest.Item) -> bool:
    return "tests/faults/" in item.nodeid and not _with_faults(item.config)


def _with_faults(config: pytest.Config) -> bool:
    """The fault tests kill servers of their own for minutes: FAULTS=1 chooses them, or naming their folder."""
    named = any(str(argument).startswith("tests/faults") for argument in config.invocation_params.args)
    return named or bool(os.environ.get("FAULTS"))


def pytest_report_header(config: pytest.Config) -> list[str]:
    chosen = {marker: bool(os.environ.get(name)) for marker, name in NEEDS.items()} | {"fault": _with_faults(config)}
    names = NEEDS | {"fault": "FAULTS"}
    return [
        f"{marker} tests: {'run' if run else f'left out ({names[marker]} is not set)'}"
        for marker, run in chosen.items()
    ]
