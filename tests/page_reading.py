"""An HTML page as tests read it: elements with their attributes, in order, and what a reader of the
markup may object to.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

LONE = {"meta", "link", "input", "br", "hr", "img", "path", "rect", "line", "circle", "area", "col"}
NAMELESS_INPUTS = {"hidden", "submit", "button"}


def as_read(answer: Any) -> str:
    """The markup of an answer with each run of white space as one blank, as a browser lays it out."""
    return " ".join(answer.content.decode().split())


@dataclass
class Element:
    tag: str
    attributes: dict[str, str]
    text: str = ""
    inside: list[Element] = field(default_factory=list)

    def get(self, name: str) -> str:
        return self.attributes.get(name, "")


class Page(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[Element] = []
        self.stack: list[Element] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.elements.append(element)
        if self.stack:
            self.stack[-1].inside.append(element)
        if tag not in LONE:
            self.stack.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        while self.stack and self.stack[-1].tag != tag:
            self.stack.pop()
        if self.stack:
            self.stack.pop()

    def handle_data(self, data: str) -> None:
        for element in self.stack:
            element.text += data

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.elements if element.tag in tags]

    def text_of(self, *tags: str) -> str:
        """The words of all such elements, blanks as one."""
        return " | ".join(" ".join(element.text.split()) for element in self.all(*tags))

    def field(self, name: str) -> Element:
        return next(element for element in self.all("input", "select", "textarea") if element.get("name") == name)

    def values(self) -> dict[str, str]:
        """What the page's forms would send, buttons left out."""
        sent = {}
        for element in self.all("input", "textarea", "select"):
            if (
                element.tag == "input"
                and element.get("type") in ("checkbox", "radio")
                and "checked" not in element.attributes
            ):
                continue
            sent[element.get("name")] = self._value(element)
        return sent

    def _value(self, element: Element) -> str:
        if element.tag == "textarea":
            return element.text.removeprefix("\n")
        if element.tag == "select":
            options = [option for option in element.inside if option.tag == "option"]
            chosen = [option for option in options if "selected" in option.attributes] or options[:1]
            return chosen[0].get("value") if chosen else ""
        return element.get("value")


def objections(html: str) -> list[str]:
    """What breaks the house's rules for pages: inline style or script, no name, no label, headings out of order."""
    page = Page(html)
    found = []
    for element in page.elements:
        found += [
            f"<{element.tag}> has {name}" for name in element.attributes if name == "style" or name.startswith("on")
        ]
        if element.tag == "style" or (element.tag == "script" and not element.get("src")):
            found.append(f"inline <{element.tag}>")
        if element.get("href").startswith("javascript:"):
            found.append("a link runs a script")
    if "<html" not in html:
        return found
    found += _of_the_whole(page) + _of_the_controls(page)
    return found


def _of_the_whole(page: Page) -> list[str]:
    found = []
    if not page.all("html")[0].get("lang"):
        found.append("no language")
    if not page.all("title")[0].text.strip(" ·"):
        found.append("no title")
    if len(page.all("main")) != 1 or len(page.all("h1")) != 1:
        found.append(f"{len(page.all('main'))} main, {len(page.all('h1'))} h1")
    levels = [int(element.tag[1]) for element in page.all("h1", "h2", "h3", "h4", "h5", "h6")]
    found += [f"h{after} follows h{before}" for before, after in itertools.pairwise(levels) if after > before + 1]
    ids = [element.get("id") for element in page.elements if element.get("id")]
    found += [f"id {name} twice" for name in sorted(set(ids)) if ids.count(name) > 1]
    return found


def _of_the_controls(page: Page) -> list[str]:
    labelled = {element.get("for") for element in page.all("label")}
    ids = {element.get("id") for element in page.elements}
    found = []
    for element in page.all("input", "select", "textarea"):
        if element.tag == "input" and element.get("type") in NAMELESS_INPUTS:
            continue
        if not (element.get("aria-label") or element.get("id") in labelled):
            found.append(f"no label: {element.get('name')}")
        found += [
            f"{element.get('name')} is described by {name}, which is not there"
            for name in element.get("aria-describedby").split()
            if name not in ids
        ]
    for element in page.all("button", "a"):
        if not (element.text.strip() or element.get("aria-label")):
            found.append(f"<{element.tag}> without words: {element.attributes}")
    return found
