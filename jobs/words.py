"""Words that are English wherever they are kept and the reader's language wherever they are read.

What is written into the book (events, findings, records) stays in one language; a crew member reads the same words in
theirs. `say` makes text that is plain English to everything that stores or compares it and that still knows the phrase
it was made from.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext

from jobs.stages import Stage

STAGES = ("stage", "to_stage")  # parts of a phrase that are stages


class Words(str):
    """English, made from `phrase` and `parts`; a part may be Words too."""

    phrase: str
    parts: dict[str, Any]

    def here(self) -> str:
        """The same in the language that is active now; the English where it has no translation."""
        parts = {name: _part(name, part) for name, part in self.parts.items()}
        return gettext(self.phrase).format(**parts) if self.phrase else ""  # of "" gettext tells its own heading


def _part(name: str, part: Any) -> Any:
    """Words and stages in the reader's language; marks, names, notes and numbers as they are."""
    if name in STAGES and part in Stage.values:
        return gettext(str(Stage(part).label)).lower()
    return part.here() if isinstance(part, Words) else part


def say(phrase: str, /, **parts: Any) -> Words:
    """`say("{piece} is held.", piece=piece)`. The phrase stands in the translations as it stands here."""
    made = Words(phrase.format(**parts))
    made.phrase, made.parts = phrase, parts
    return made


def listed(parts: Sequence[str], between: str = ", ") -> Words:
    """Several words as one text, each of them still to be said in the reader's language."""
    phrase = between.join(f"{{part_{number}}}" for number in range(len(parts)))
    return say(phrase, **{f"part_{number}": part for number, part in enumerate(parts)})


def here(text: Any) -> str:
    """Any words of the house in the language that is active now; what is in no translation stays as it is."""
    if isinstance(text, Words):
        return text.here()
    return gettext(str(text)) if text else str(text)


def tell(phrase: str, /, **parts: Any) -> str:
    """For a page about to be drawn: the phrase with its parts, in the language that is active now."""
    return say(phrase, **parts).here()
