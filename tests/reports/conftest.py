"""Records in a data folder of their own, so that every test makes its own shop key."""

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_data_folder(settings, tmp_path: Path) -> Path:
    settings.DATA = tmp_path
    return tmp_path
