"""`manage.py erase_person NAME --for-good`: a person's data removed, what they entered left as a former person's."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.actions import erasing
from jobs.errors import ShopError
from jobs.models import Person


class Command(BaseCommand):
    help = (
        "Remove a person's name, e-mail, licence, password, PIN, keys, sessions and log of signing in. Entries, events "
        "and signed records stay, under “a former person” and a number; records keep the name printed in them."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("name", help="the sign-in name")
        parser.add_argument("--for-good", action="store_true", help="do it; without this nothing is changed")

    def handle(self, *args: Any, name: str, for_good: bool, **options: Any) -> None:
        person = Person.objects.filter(username__iexact=name).first()
        if person is None:
            raise CommandError(f"Nobody signs in as {name}.")
        if not for_good:
            raise CommandError(f"This would remove the data of {person} for good. Say --for-good to do it.")
        try:
            gone = erasing.erase_from_console(person)
        except ShopError as refused:
            raise CommandError(refused.message) from refused
        self.stdout.write(f"Done: it is {gone} now.")
