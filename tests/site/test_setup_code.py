"""The code on the console, and nothing else, opens the page that makes the first account."""

import stat
from pathlib import Path

import pytest

from jobs.site import setup_code


@pytest.fixture(autouse=True)
def _own_folder(settings, tmp_path: Path) -> None:
    settings.DATA = tmp_path


def test_the_code_opens_once(settings) -> None:
    code = setup_code.make()
    assert setup_code.make() == code
    assert setup_code.verify(code.lower().replace("-", " "))
    setup_code.use_up()
    assert not setup_code.verify(code)
    assert setup_code.make() != code


@pytest.mark.parametrize("text", ["", "   ", "-", "AAAA-AAAA-AAAA", "café", "\x00"])
def test_anything_else_does_not(text: str) -> None:
    assert not setup_code.verify(text)  # none made yet
    setup_code.make()
    assert not setup_code.verify(text)


def test_it_is_the_owners_to_read(tmp_path: Path) -> None:
    setup_code.make()
    assert stat.S_IMODE((tmp_path / setup_code.FILE).stat().st_mode) == 0o600
