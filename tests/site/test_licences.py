"""What the shop installs comes under licences that let it, and `licences.txt` in `.deploy` says which."""

import re
from importlib import metadata
from pathlib import Path

from tests.site.test_lock import pins

ROOT = Path(__file__).resolve().parents[2]
LIST = ROOT / ".deploy" / "licences.txt"
# Words of the licences known to allow use in a shop and on its server without a duty towards anybody but to keep the
# notices. LGPL covers psycopg and what it is used through unchanged; MPL covers files nobody here changes.
ALLOWED = re.compile(
    r"MIT|BSD|Apache|PSF|Python Software Foundation|ISC|Zlib|HPND|LGPL|Lesser General Public|MPL|Mozilla|OFL|0BSD"
)


def licence_of(name: str) -> str:
    """The licence a distribution declares: expression, else classifiers, else the first line of the free text."""
    said = metadata.metadata(name)
    kinds = [text for text in said.get_all("Classifier", []) if text.startswith("License ::")]
    classifiers = [text.rpartition(" :: ")[2] for text in kinds]
    text = (said.get("License") or "").strip().splitlines()
    return said.get("License-Expression") or "; ".join(sorted(classifiers)) or (text[0] if text else "")


def listed() -> str:
    lines = [f"{name} {version}: {licence_of(name)}" for name, version in sorted(pins("requirements.txt").items())
             if installed(name)]
    return "\n".join(lines) + "\n"


def installed(name: str) -> bool:
    """Some pins are for other systems or older Pythons only."""
    try:
        return bool(metadata.version(name))
    except metadata.PackageNotFoundError:
        return False


def test_every_package_is_installed_as_pinned_and_under_a_licence_that_lets_a_shop_use_it() -> None:
    missing = [name for name in pins("requirements.txt") if not installed(name)]
    assert set(missing) <= {"async-timeout", "tzdata", "colorama", "importlib-metadata", "typing-extensions"}
    unknown = {name: licence_of(name) for name in pins("requirements.txt")
               if installed(name) and not ALLOWED.search(licence_of(name))}
    assert unknown == {}


def test_the_list_is_of_what_is_pinned() -> None:
    """On a mismatch: python -c "from tests.site.test_licences import LIST, listed; LIST.write_text(listed())\""""
    assert LIST.read_text() == listed()
