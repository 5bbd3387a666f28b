"""What a page says in Spanish, read as a reader meets it; and what of it reads as in English."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser

from django.test import Client

from jobs.actions import tablets
from jobs.models import Language, Person

SignIn = Callable[..., Client]
SPANISH = Language.SPANISH
# Read the same in both, or no words at all: names, units, marks.
SAME = {
    "Camberbook", "Torque", "English", "Español", "PIN", "in", "mm", "psi", "MPa", "lbf", "lbf·ft", "kN", "lb/ft³",
    "°F", "°C", "no", "lb", "ASTM", "KB",
}  # fmt: skip


class Texts(HTMLParser):
    """Text that a reader of the page meets and that says it is Spanish: no scripts, nothing under another lang."""

    VOID = {"meta", "link", "input", "br", "hr", "img", "path", "line", "rect", "circle"}

    def __init__(self) -> None:
        super().__init__()
        self.stack: list[tuple[str, bool]] = []
        self.found: list[str] = []
        self.lang = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = dict(attrs)
        if tag == "html":
            self.lang = facts.get("lang") or ""
        skip = (self.stack[-1][1] if self.stack else False) or tag in ("script", "style")
        skip = skip or (tag != "html" and (facts.get("lang") or "es-mx") != "es-mx")
        if not skip:
            self.found += [facts.get(name) or "" for name in ("aria-label", "title", "placeholder", "alt")]
        if tag not in self.VOID:
            self.stack.append((tag, skip))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.stack.pop()

    def handle_endtag(self, tag: str) -> None:
        while tag not in self.VOID and self.stack and self.stack.pop()[0] != tag:
            pass

    def handle_data(self, data: str) -> None:
        if not (self.stack and self.stack[-1][1]):
            self.found.append(" ".join(data.split()))


def words_of(html: str) -> tuple[str, set[str]]:
    page = Texts()
    page.feed(html)
    return page.lang, {text for text in page.found if re.search(r"[A-Za-z]{2}", text)}


def left_in_english(client: Client, who: Person, address: str, data: set[str]) -> list[str]:
    """Texts that read the same in both languages, less what is nobody's phrase: names, marks, dates, numbers."""
    both = []
    for language in (Language.ENGLISH, SPANISH):
        tablets.choose_language(who, by=who, language=language)
        answer = client.get(address)
        assert answer.status_code == 200, address
        lang, words = words_of(answer.content.decode())
        assert lang == language, address
        both.append(words)
    same = both[0] & both[1]

    def bare(text: str) -> str:
        for known in sorted(data, key=len, reverse=True):
            text = text.replace(known, " ")
        text = re.sub(r"\d+ [A-Z][a-z]{2}\.? [\d:]+", "", text)  # a date and time: Nov is Nov
        return " ".join(word for word in re.findall(r"[A-Za-zÀ-ÿ·/°³]+", text) if word not in SAME and len(word) > 1)

    return [f"{address}: {text}" for text in sorted(same) if bare(text)]


def in_spanish(client: Client, who: Person) -> None:
    tablets.choose_language(who, by=who, language=SPANISH)
