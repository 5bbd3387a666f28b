"""After each fault: how long until all was well again, without a hand. Printed as a table when the tests end."""

import time
from collections.abc import Callable

import pytest

Recovered = Callable[[str, float], None]
TABLE = pytest.StashKey[list[tuple[str, float]]]()


@pytest.fixture
def recovered(request: pytest.FixtureRequest) -> Recovered:
    """`recovered("what and until when", since)`: note the seconds since the fault, or since what was killed is back."""
    rows = request.config.stash.setdefault(TABLE, [])
    return lambda what, since: rows.append((what, time.monotonic() - since))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    rows = config.stash.get(TABLE, [])
    if not rows:
        return
    terminalreporter.section("recovery")
    for what in dict.fromkeys(what for what, _ in rows):
        took = sorted(seconds for name, seconds in rows if name == what)
        times = f", the longest of {len(took)}" if len(took) > 1 else ""
        terminalreporter.write_line(f"{took[-1]:6.1f} s  {what}{times}")
