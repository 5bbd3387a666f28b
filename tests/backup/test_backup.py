"""A backup holds everything, opens only whole and under its key, and goes only into an empty shop."""

import hashlib
import io
import json
import os
import stat
import tarfile
from pathlib import Path

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError

from jobs import event_chain
from jobs.actions.orders import create_order
from jobs.models import Event, Order, Role, Stage
from jobs.site.backup import archive, rows, sealed
from tests.factories import person, piece_at, token

pytestmark = pytest.mark.django_db(transaction=True)
KEY = "a key of some length"


@pytest.fixture
def shop(settings, tmp_path: Path) -> Path:
    """A shop with a stressed piece, a key and a signed file; its data folder."""
    data = tmp_path / "data"
    for folder in ("records", "signing/certificates"):
        (data / folder).mkdir(parents=True)
    (data / "records" / "a.pdf").write_bytes(os.urandom(3_000_000))
    (data / "records" / ".half-written").write_bytes(b"no")
    (data / "signing" / "certificates" / "1.pem").write_text("certificate")
    (data / "secret-key").write_text("of this installation")
    settings.DATA = data
    piece_at(Stage.STRESSED)
    token(person(Role.CREW))
    return data


def everything() -> dict[str, list[bytes]]:
    return {kind._meta.label: list(rows.written(kind)) for kind in rows.tables()}


def empty_shop(settings, tmp_path: Path, name: str = "another") -> Path:
    call_command("flush", interactive=False, verbosity=0)
    settings.DATA = tmp_path / name
    settings.DATA.mkdir()
    return settings.DATA


@pytest.mark.parametrize("key", ["", KEY])
def test_what_comes_back_is_what_was_there(shop: Path, settings, tmp_path: Path, monkeypatch, key: str) -> None:
    monkeypatch.setenv("CAMBERBOOK_BACKUP_KEY", key)
    before, file = everything(), tmp_path / "one.backup"
    assert sum(len(lines) for lines in before.values()) > 30
    call_command("backup", str(file))
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    data = empty_shop(settings, tmp_path)
    call_command("restore", str(file))
    assert everything() == before
    assert list(event_chain.faults()) == []
    assert (data / "records" / "a.pdf").read_bytes() == (shop / "records" / "a.pdf").read_bytes()
    found = sorted(path.relative_to(data).as_posix() for path in data.rglob("*") if path.is_file())
    assert [name for name in found if name != "in-use"] == ["records/a.pdf", "signing/certificates/1.pem"]
    assert stat.S_IMODE((data / "records" / "a.pdf").stat().st_mode) == 0o600


def test_the_shop_goes_on_with_new_numbers(shop: Path, settings, tmp_path: Path) -> None:
    call_command("backup", str(tmp_path / "b"))
    newest = Order.objects.latest("pk").pk
    empty_shop(settings, tmp_path)
    call_command("restore", str(tmp_path / "b"))
    assert create_order(person(), number="after", client="after").pk > newest
    assert list(event_chain.faults()) == []


def test_an_encrypted_backup_shows_nothing(shop: Path, tmp_path: Path) -> None:
    archive.write(tmp_path / "plain", data=shop, key="")
    archive.write(tmp_path / "sealed", data=shop, key=KEY)
    with tarfile.open(tmp_path / "plain", "r:gz") as tar:
        assert "rows/jobs.Order.jsonl" in tar.getnames()
    assert not tarfile.is_tarfile(tmp_path / "sealed")


def damaged(file: Path, how: str) -> bytes:
    whole = file.read_bytes()
    middle = len(whole) // 2
    return {
        "cut short": whole[:middle],
        "cut at a piece": whole[: len(sealed.MAGIC) + sealed.SALT + sealed.PIECE + sealed.TAG],
        "one bit": whole[:middle] + bytes([whole[middle] ^ 1]) + whole[middle + 1 :],
        "no backup": b"something else entirely",
        "nothing": b"",
    }[how]


@pytest.mark.parametrize("how", ["cut short", "cut at a piece", "one bit", "no backup", "nothing"])
@pytest.mark.parametrize("key", ["", KEY])
def test_a_damaged_backup_changes_nothing(shop, settings, tmp_path, monkeypatch, how: str, key: str) -> None:
    monkeypatch.setenv("CAMBERBOOK_BACKUP_KEY", key)
    archive.write(tmp_path / "whole", data=shop, key=key)
    (tmp_path / "bad").write_bytes(damaged(tmp_path / "whole", how))
    data = empty_shop(settings, tmp_path)
    empty = everything()
    with pytest.raises(CommandError):
        call_command("restore", str(tmp_path / "bad"))
    assert everything() == empty
    assert [path for path in data.rglob("*") if path.is_file() and path.name != "in-use"] == []


def rewritten(source: Path, target: Path, change) -> None:
    """The same backup with `change(name, data)` on each part and its sums made to fit again."""
    sums, parts = {}, []
    with tarfile.open(source, "r:gz") as tar:
        for entry in tar:
            for name, data in change(entry.name, tar.extractfile(entry).read()):
                parts.append((name, data))
                sums[name] = hashlib.sha256(data).hexdigest()
    with tarfile.open(target, "w:gz") as tar:
        sums.pop(archive.SUMS)
        parts = [(n, d) for n, d in parts if n != archive.SUMS] + [(archive.SUMS, json.dumps(sums).encode())]
        for name, data in parts:
            entry = tarfile.TarInfo(name)
            entry.size = len(data)
            tar.addfile(entry, io.BytesIO(data))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda name, data: [(name, data.replace(b'"verb":"order-made"', b'"verb":"order-edited"'))], "does not fit"),
        (lambda name, data: [(name.replace("files/records/", "files/../"), data)], "leads out of the data folder"),
        (lambda name, data: [(name, data.replace(b"0001_initial", b"0001_other"))], "another version"),
        (lambda name, data: [(name.replace("rows/jobs.Order", "rows/jobs.Invoice"), data)], "cannot be read"),
    ],
)
def test_a_forged_backup_is_refused(shop: Path, settings, tmp_path: Path, change, said: str) -> None:
    archive.write(tmp_path / "whole", data=shop, key="")
    rewritten(tmp_path / "whole", tmp_path / "forged", change)
    data = empty_shop(settings, tmp_path)
    with pytest.raises(archive.NotRestored, match=said):
        archive.restore(tmp_path / "forged", data=data, key="")
    assert not Event.objects.exists()
    assert list(data.rglob("*.pdf")) == []


def test_only_an_empty_shop_takes_a_backup(shop: Path, tmp_path: Path) -> None:
    archive.write(tmp_path / "b", data=shop, key="")
    before = everything()
    with pytest.raises(CommandError, match="not empty"):
        call_command("restore", str(tmp_path / "b"))
    assert everything() == before


def test_a_wrong_key_and_a_missing_one_are_told(shop: Path, settings, tmp_path: Path, monkeypatch) -> None:
    archive.write(tmp_path / "b", data=shop, key=KEY)
    empty_shop(settings, tmp_path)
    with pytest.raises(CommandError, match="is encrypted"):
        call_command("restore", str(tmp_path / "b"))
    monkeypatch.setenv("CAMBERBOOK_BACKUP_KEY", KEY + "!")
    with pytest.raises(CommandError, match="another one"):
        call_command("restore", str(tmp_path / "b"))


def test_a_backup_never_replaces_a_file_and_a_short_key_is_refused(shop: Path, tmp_path: Path, monkeypatch) -> None:
    (tmp_path / "there").write_text("precious")
    with pytest.raises(CommandError, match="not written"):
        call_command("backup", str(tmp_path / "there"))
    assert (tmp_path / "there").read_text() == "precious"
    monkeypatch.setenv("CAMBERBOOK_BACKUP_KEY", "short")
    with pytest.raises(CommandError, match="at least 12"):
        call_command("backup", str(tmp_path / "new"))
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["there"]


def test_every_table_of_the_shop_is_in_it(shop: Path) -> None:
    ours = {kind for label in rows.APPS for kind in apps.get_app_config(label).get_models()}
    assert set(rows.tables()) == ours
