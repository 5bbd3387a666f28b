"""The data folder and the secrets in it: readable by their owner only, made once, safe against two makers at once."""

import os
import secrets
from collections.abc import Callable
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured


def data_folder(text: str, *, default: Path) -> Path:
    """The folder for database, uploads and keys, made with mode 0700 if it is not there."""
    folder = Path(text).expanduser().absolute() if text else default
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as exc:
        raise ImproperlyConfigured(f"The data folder {folder} cannot be made: {exc.strerror}. "
                                   "Set CAMBERBOOK_DATA to a folder that this user can write.") from exc
    return folder


def kept_once(file: Path, make: Callable[[], str]) -> str:
    """The text in `file`; if there is none, what `make` gives, kept with mode 0600. Of two makers at once one wins."""
    if not file.exists():
        fresh = file.with_name(f".{file.name}.{os.getpid()}.{secrets.token_hex(4)}")
        try:
            write_private(fresh, make())
            os.link(fresh, file)        # fails, whole, if another process was first
        except FileExistsError:
            pass
        except OSError as exc:
            raise ImproperlyConfigured(f"{file} cannot be written: {exc.strerror}. "
                                       "Set CAMBERBOOK_DATA to a folder that this user can write.") from exc
        finally:
            fresh.unlink(missing_ok=True)
    try:
        text = file.read_text(encoding="utf-8").strip()
    except OSError as exc:
        raise ImproperlyConfigured(f"{file} cannot be read: {exc.strerror}. "
                                   "It must belong to the user that runs the site.") from exc
    if not text:
        raise ImproperlyConfigured(f"{file} is empty. Delete it to have a new one made.")
    return text


def write_private(file: Path, text: str) -> None:
    """Write a new file with mode 0600 and see it to the disk."""
    _to_disk(file, text.encode())


def write_whole(file: Path, data: bytes) -> None:
    """The whole file with mode 0600 or none of it, in place of one of that name; meanwhile its begins with a dot."""
    fresh = file.with_name(f".{file.name}.{secrets.token_hex(4)}")
    try:
        _to_disk(fresh, data)
        fresh.replace(file)
    finally:
        fresh.unlink(missing_ok=True)


def _to_disk(file: Path, data: bytes) -> None:
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
