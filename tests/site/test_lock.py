"""The lock pins everything, by hash, and says nothing of where it was made."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PIN = re.compile(r"^([a-z0-9][a-z0-9.-]*)(?:\[[a-z,]+\])?==(\S+) \\$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}(?: \\)?$")


def pins(file: str) -> dict[str, str]:
    """Name → version; every line of the file is a pin, one of its hashes, or a comment on who asked for it."""
    found, hashes = {}, 0
    for line in (ROOT / file).read_text().splitlines():
        if match := PIN.match(line):
            assert not found or hashes, f"{list(found)[-1]} has no hash"
            found[match[1]], hashes = match[2], 0
        elif HASH.match(line):
            hashes += 1
        else:
            assert re.match(r"^    # +(via|[a-z0-9.-]+|camberbook \(pyproject\.toml\)|via .*|-c .*)", line), line
    assert hashes
    return found


def asked(extra: str | None = None) -> dict[str, str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    lines = project["optional-dependencies"][extra] if extra else project["dependencies"]
    return dict(re.sub(r"\[.*\]", "", line).split("==") for line in lines)


@pytest.mark.parametrize("file", ["requirements.txt", "requirements-dev.txt"])
def test_no_host_and_no_path_is_named(file: str) -> None:
    text = (ROOT / file).read_text()
    assert not re.search(r"https?:|file:|index-url|find-links|trusted-host|^/|\s/", text, re.MULTILINE)


def test_the_lock_is_of_what_the_project_asks_for() -> None:
    run = pins("requirements.txt")
    assert asked().items() <= run.items()


def test_the_extras_only_add() -> None:
    run, dev = pins("requirements.txt"), pins("requirements-dev.txt")
    assert run.items() <= dev.items()
    assert asked("test").items() <= dev.items()
    assert not {"pytest", "mypy", "playwright"} & set(run)
