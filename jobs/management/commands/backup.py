"""`manage.py backup FILE`: every row and every file of the shop in one file, while it runs."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from jobs.site import env
from jobs.site.backup import archive, sealed

KEY_VARIABLE = "CAMBERBOOK_BACKUP_KEY"


def key_from(file: str | None) -> str:
    """The text of the key: from the file, or else from the environment; "" for none."""
    if file is None:
        return env.env_text(KEY_VARIABLE)
    try:
        key = Path(file).read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError) as exc:
        raise CommandError(f"The key cannot be read from {file}: {exc}") from exc
    if not key:
        raise CommandError(f"{file} is empty: it must hold the key's text.")
    return key


def add_key_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", type=Path)
    parser.add_argument("--key-file", help=f"file with the key's text; without it, {KEY_VARIABLE} of the environment")


class Command(BaseCommand):
    help = "Write a backup: rows and files, checksummed, encrypted when a key is given. The shop may go on working."

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_key_arguments(parser)

    def handle(self, *args: Any, file: Path, key_file: str | None, **options: Any) -> None:
        key = key_from(key_file)
        if key and len(key) < sealed.SHORTEST_KEY:
            raise CommandError(f"A key has at least {sealed.SHORTEST_KEY} characters; this one has {len(key)}.")
        try:
            counts = archive.write(file.absolute(), data=Path(settings.DATA), key=key)
        except OSError as exc:
            raise CommandError(f"The backup was not written: {exc}") from exc
        kept = "encrypted" if key else "NOT encrypted: keep it where only the shop can read it"
        self.stdout.write(f"{file}: {counts['rows']} rows and {counts['files']} files, {kept}.")
        self.stdout.write("The signing key is in it; a passphrase that the environment gives is not.")
