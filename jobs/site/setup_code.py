"""The one-time code that lets the first visitor make the manager's account: whoever can read the console has it."""

import secrets

from django.conf import settings

from jobs.site import private_files

FILE = "setup-code"
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"    # none that look alike


def make() -> str:
    """The code, such as `K7QM-2XWP-9HTD`; the same until it is used."""
    return private_files.kept_once(settings.DATA / FILE, _fresh)


def verify(text: str) -> bool:
    """True if `text` is the code, whatever its case, blanks and dashes. False when there is none."""
    try:
        kept = (settings.DATA / FILE).read_text(encoding="utf-8")
    except OSError:
        return False
    return bool(_bare(kept)) and secrets.compare_digest(_bare(text).encode(), _bare(kept).encode())


def use_up() -> None:
    """Forget the code. Called in the same breath as the account is made."""
    (settings.DATA / FILE).unlink(missing_ok=True)


def _fresh() -> str:
    return "-".join("".join(secrets.choice(LETTERS) for _ in range(4)) for _ in range(3))


def _bare(text: str) -> str:
    return "".join(text.split()).replace("-", "").upper()
