"""`manage.py renew_signing_key [--pkcs12 FILE]`: sign with a new key from now on; older records still verify."""

import getpass
import os
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from jobs.models import Shop
from reports.signing import SigningKeyUnreadable, renew_key

GIVEN_PASSPHRASE = "CAMBERBOOK_PKCS12_PASSPHRASE"  # noqa: S105 - the name of the variable, not a secret


class Command(BaseCommand):
    help = (
        "Make a new signing key, or take one from a PKCS#12 file, and sign with it from now on. The passphrase of the "
        f"file is read from {GIVEN_PASSPHRASE} or asked for; it is never an argument, which others on the machine see."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--pkcs12", type=Path, help="file with key and certificate; without it a key is made here")

    def handle(self, *args: Any, **options: Any) -> None:
        shop = Shop.objects.filter(pk=1).first() or Shop()
        try:
            given = options["pkcs12"].read_bytes() if options["pkcs12"] else None
            fingerprint = renew_key(shop.name, given, self._passphrase() if given else b"")
        except (SigningKeyUnreadable, OSError) as problem:
            self.stderr.write(str(problem))
            sys.exit(1)
        self.stdout.write(f"New records are signed with the certificate {fingerprint} (SHA-256) from now on.")
        self.stdout.write("Records signed so far still verify: their certificates are kept.")

    def _passphrase(self) -> bytes:
        given = os.environ.get(GIVEN_PASSPHRASE)
        return (getpass.getpass("Passphrase of the file: ") if given is None else given).encode()
