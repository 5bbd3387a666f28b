"""One process alone serves a data folder in embedded mode: its worker may then take up whatever the last one left."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings

FILE = "in-use"


class InUse(Exception):
    """Another process has the folder; the text is for the screen."""

    def __init__(self, folder: Path, who: str) -> None:
        super().__init__(
            f"The data folder {folder} is in use by another process of Camberbook{who}, and two would do each other's "
            "work. Stop that one first (Ctrl-C, or its service), or set CAMBERBOOK_DATA to another folder."
        )


def folders() -> tuple[Path, ...]:
    """The folders that one process alone may serve: none with PostgreSQL or a queue of its own."""
    database = settings.DATABASES["default"]
    if settings.REDIS_URL or not database["ENGINE"].endswith("sqlite3"):
        return ()
    if str(database["NAME"]).startswith("file:"):
        return (Path(settings.DATA),)       # a database in memory, of the tests, lies in no folder
    return Path(settings.DATA), Path(database["NAME"]).absolute().parent


@contextmanager
def alone(*folders: Path) -> Iterator[None]:
    """Hold the folders for as long as the block runs. The system lets go of them however the process ends."""
    held: list[int] = []
    try:
        for folder in sorted(set(folders)):
            held.append(_take(folder))
        yield
    finally:
        for handle in held:
            os.close(handle)


def _take(folder: Path) -> int:
    handle = os.open(folder / FILE, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as exc:
        who = os.read(handle, 20).decode("ascii", "replace").strip()
        os.close(handle)
        raise InUse(folder, f" (number {who})" if who.isdigit() else "") from exc
    os.ftruncate(handle, 0)
    os.write(handle, f"{os.getpid()}\n".encode())
    return handle
