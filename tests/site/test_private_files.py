"""Secrets are made once and are nobody else's to read."""

import stat
import threading
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from jobs.site import private_files


def mode(file: Path) -> int:
    return stat.S_IMODE(file.stat().st_mode)


def test_the_folder_and_what_is_in_it_are_the_owners_only(tmp_path: Path) -> None:
    folder = private_files.data_folder(str(tmp_path / "a" / "data"), default=tmp_path)
    assert private_files.kept_once(folder / "key", lambda: "made") == "made"
    assert (mode(folder), mode(folder / "key")) == (0o700, 0o600)
    assert [file.name for file in folder.iterdir()] == ["key"]


def test_a_secret_is_made_once(tmp_path: Path) -> None:
    assert private_files.kept_once(tmp_path / "key", lambda: "first") == "first"
    assert private_files.kept_once(tmp_path / "key", lambda: "second") == "first"


def test_of_many_makers_at_once_one_wins_and_all_agree(tmp_path: Path) -> None:
    gate, got = threading.Barrier(8), []

    def make(number: int) -> None:
        gate.wait()
        got.append(private_files.kept_once(tmp_path / "key", lambda: f"made by {number}"))

    makers = [threading.Thread(target=make, args=(number,)) for number in range(8)]
    for maker in makers:
        maker.start()
    for maker in makers:
        maker.join()
    assert len(got) == 8
    assert set(got) == {(tmp_path / "key").read_text()}


def test_an_empty_or_unreachable_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "key").write_text("")
    with pytest.raises(ImproperlyConfigured, match=r"is empty\. Delete it"):
        private_files.kept_once(tmp_path / "key", lambda: "new")
    with pytest.raises(ImproperlyConfigured, match="cannot be made: Not a directory"):
        private_files.data_folder(str(tmp_path / "key" / "below"), default=tmp_path)
