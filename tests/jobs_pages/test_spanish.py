"""The crew's pages in Spanish: no phrase of the code without a translation, no page with a phrase left in English, the
compiled file as the written one, and the book itself in one language.
"""

from __future__ import annotations

import re
import string
from collections.abc import Callable
from datetime import date, timedelta
from html.parser import HTMLParser
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone, translation

from jobs.actions import planning, production, quality, stock, tablets
from jobs.actions.notices import sweep
from jobs.actions.shop import edit_shop
from jobs.management.commands import crew_words
from jobs.models import Event, Language, Mix, Notice, Order, Person, Piece, Role, Stage, StressingReading
from jobs.notices import found_now
from jobs.site.language import CREW_PAGES
from jobs.views import guide
from jobs.views.production.notice_words import TOLD, notice_text
from jobs.words import say, tell
from tests.factories import (
    document,
    make_attachment,
    make_design,
    make_wrench,
    person,
    piece_at,
    plan_load_test,
    pour_long_ago,
    read,
    read_load,
    start,
    strength_test,
)
from tests.production.test_mix_and_cure import version
from tests.reports.issuing import issued
from tests.security.site_map import places, rows_of_a_shop
from tests.security.test_page_permissions import TABLE

SignIn = Callable[..., Client]
SPANISH = Language.SPANISH
# Read the same in both, or no words at all: names, units, marks.
SAME = {
    "Camberbook", "Torque", "English", "Español", "PIN", "in", "mm", "psi", "MPa", "lbf", "lbf·ft", "kN", "lb/ft³",
    "°F", "°C", "no", "lb", "ASTM", "KB",
}  # fmt: skip


def placeholders(text: str) -> set[str]:
    named = {name for _, name, _, _ in string.Formatter().parse(re.sub(r"%\(\w+\)s", "", text)) if name}
    return named | set(re.findall(r"%\((\w+)\)s", text))


def test_every_phrase_of_the_code_is_translated_and_nothing_else_is_in_the_file() -> None:
    told = crew_words.read(crew_words.PO.read_text("utf-8"))
    found = crew_words.phrases()
    assert sorted(set(found) - set(told)) == []
    assert sorted(set(told) - set(found)) == []
    assert sorted(phrase for phrase, words in told.items() if not words.strip()) == []
    assert len(found) > 400


def test_the_compiled_file_says_what_the_written_one_does() -> None:
    told = crew_words.read(crew_words.PO.read_text("utf-8"))
    assert crew_words.PO.with_suffix(".mo").read_bytes() == crew_words.compiled(told)
    with translation.override(SPANISH):
        assert tell("Rod {rod}", rod="R2") == "Varilla R2"


def test_a_translation_fills_in_the_same_places() -> None:
    for phrase, words in crew_words.read(crew_words.PO.read_text("utf-8")).items():
        extra = placeholders(words) - placeholders(phrase)
        assert extra == set(), phrase
        assert placeholders(phrase) - placeholders(words) <= {"state", "is_at"}, phrase


def test_words_are_english_to_whatever_keeps_them() -> None:
    with translation.override(SPANISH):
        said = say("{words} This is for stripping and lifting.", words=say("The pour is not recorded."))
        assert said == "The pour is not recorded. This is for stripping and lifting."
        assert said.here() == "El colado no está anotado. Es para descimbrar y levantar."


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


@pytest.fixture
def crew(db: None, signed_in: SignIn) -> tuple[Client, Person]:
    made = person("crew")
    return signed_in(made), made


def test_no_crew_page_has_a_phrase_left_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    make_wrench(name="W-7")
    released, formed, curing, stripped, under_way, stressed, delivered = (
        piece_at(stage) for stage in (Stage.RELEASED, Stage.FORMED, Stage.CURING, Stage.STRIPPED, Stage.STRIPPED,
                                      Stage.STRESSED, Stage.DELIVERED)
    )  # fmt: skip
    strength_test(curing)
    read(start(under_way), "R2", 0, by=who, elongation_in=0.2)
    read_load(plan_load_test(stressed, by=who), 1216.5, 0.1, hours=0, by=who)
    sweep()
    pieces = (released, formed, curing, stripped, under_way, stressed, delivered)
    pages = [("piece", piece) for piece in pieces]
    pages += [("form_check", formed), ("pour", formed), ("strength", curing), ("stressing", stripped)]
    pages += [("stressing", under_way), ("lift_off", stressed), ("restressing", stressed), ("finishing", stressed)]
    pages += [(name, curing) for name in ("cure", "temperatures", "coupons", "washout")]
    edit_shop(by=person(), beds=["Mesa 1", "Mesa 2"])
    pages += [("bed", formed), ("load_test_plan", stressed), ("load_test_run", stressed)]
    pages += [("load_test", stressed), ("install", delivered), ("non_conformance_new", formed), ("photo_new", formed)]
    data = {str(piece) for piece in pieces} | {piece.design.mark for piece in pieces} | {"W-7", "Counter"}
    data |= {str(piece.design.order) for piece in pieces} | {piece.design.order.client for piece in pieces}
    data |= {row.display_name for row in Person.objects.all()} | {"R1", "R2"}
    data |= {row.name for row in Mix.objects.all()}
    data |= {"Mesa", "P L/(b d²)", "left third", "right third", "middle", "all along"}
    data |= {piece.pour.batch for piece in pieces if piece.pour}
    pages += [("tickets", formed), ("piece_lots", curing)]
    addresses = [reverse(name, args=[piece.pk]) for name, piece in pages]
    recipe = version()
    data |= {str(recipe), recipe.mix.name, "Portland", "20 min", *(part["name"] for part in recipe.ingredients)}
    addresses.append(reverse("ticket", args=[formed.pk, recipe.pk]))
    addresses += [reverse("incident", args=[stripped.pk, kind]) for kind in ("slackened", "broken-rod", "incident")]
    plain = (
        "tablet",
        "change_over",
        "pin",
        "board",
        "today",
        "needs_you",
        "schedule",
        "schedule_beds",
        "calendar",
        "lots",
        "non_conformances",
    )
    plain += ("order_list", "password_change", "guide", "search")
    addresses += [reverse(name) for name in plain]
    addresses += [reverse("board_stage", args=["curing"]), reverse("board") + "?q=nothing-of-the-kind"]
    addresses += [
        reverse("schedule") + "?by=week",
        reverse("schedule") + "?by=day",
        reverse("search") + f"?q={formed.design.mark}",
    ]
    addresses += of_the_office_too(who, formed, stressed, data)
    seen = {name for name, _ in pages} | {"incident", "ticket", "board_stage", *plain, *OFFICE_TOO}
    assert seen >= CREW_PAGES - POSTED
    found = [text for address in addresses for text in left_in_english(client, who, address, data)]
    assert found == [], "\n".join(found)


OFFICE_TOO = {
    "order", "order_files", "piece_files", "attachment_take_off", "non_conformance", "guide_page", "piece_records",
    "record",
}  # fmt: skip


def of_the_office_too(who: Person, formed: Piece, stressed: Piece, data: set[str]) -> list[str]:
    """Addresses of pages that crew and office share, with something on each; what is a person's own goes to `data`."""
    order = formed.design.order
    own = make_attachment(order, by=who, piece=formed)
    lot = stock.save_lot(by=person(), kind="rod", lot="H-1", description="1/2-13 UNC")
    stock.use_lot(formed, by=who, lot=lot)
    waiting = quality.raise_non_conformance(formed, by=who, what="XXX")
    settled = quality.raise_non_conformance(stressed, by=who, what="XXX", place="YYY")
    engineer = person(Role.ENGINEER)
    quality.decide_non_conformance(settled, by=engineer, decision="repair", note="ZZZ")
    planning.plan_pour(formed, by=person(), on=date(2031, 3, 4))
    production.lay_on_bed(formed, by=who, bed="Mesa 1")
    record = issued()
    data |= {own.name, lot.lot, lot.description, "XXX", "YYY", "ZZZ", engineer.display_name, engineer.jurisdiction}
    data |= {engineer.licence_number, record.number, str(record.revision.design.order), record.revision.design.mark}
    data |= {someone.display_name for someone in Person.objects.all()} | {"PDF", "SHA-256"}
    data |= {text for row in Order.objects.all() for text in (str(row), row.number, row.client)}
    data |= {record.revision.design.order.number, record.sha256}
    return [
        reverse("order", args=[order.pk]),
        reverse("order_files", args=[order.pk]),
        reverse("piece_files", args=[formed.pk]),
        reverse("attachment_take_off", args=[own.pk]),
        *(reverse("non_conformance", args=[row.pk]) for row in (waiting, settled)),
        *(reverse("guide_page", args=[name]) for name in guide.PAGES),
        reverse("piece_records", args=[formed.pk]),
        reverse("record", args=[record.number]),
    ]


# What the crew may open and stays English; each answers that it is English, so that no reader mispronounces it.
ENGLISH = {
    # drawings, checks and studies: the engine's working and the clauses it goes by are English
    "design", "design_checks", "design_help", "design_help_part", "field_help", "standard_pieces", "standard_piece",
    "standard_under_way", "what_if", "what_if_studies", "compared_revisions", "compared_studies", "learned",
    "revision_records", "revision_drawing", "revision_plots", "stressing_plots", "piece_plots",
    # for programs, and for somebody who takes data elsewhere
    "tokens", "token_page", "export_lists",
    # for anybody, signed in or not: whose language is not known
    "login", "first_account", "trust", "verify", "verify_record", "shared", "shared_piece", "shared_record", "health",
}  # fmt: skip


def test_every_page_that_the_crew_may_open_is_spanish_or_stands_here_as_english(crew: tuple[Client, Person]) -> None:
    """The table of who may open what names them all: one that is added is translated, or written down here."""
    client, who = crew
    in_spanish(client, who)
    rows, wrong, met = rows_of_a_shop(), [], set()
    for place in places():
        if "crew" not in TABLE[place.name][0] or place.name in POSTED:
            continue
        answer = client.get(place.address(rows))
        page = answer["Content-Type"].startswith("text/html") if answer.status_code in (200, 409, 422) else False
        if not page:
            continue  # led on, a file, or not there for the crew
        met.add(place.name)
        lang = re.search(r"<html lang=\"([^\"]+)\"", answer.content.decode())
        wanted = SPANISH if place.name in CREW_PAGES else "en" if place.name in ENGLISH else "translated, or in ENGLISH"
        if (lang is not None and lang[1] != wanted) or wanted not in (SPANISH, "en"):
            wrong.append(f"{place.name}: {lang and lang[1]}, should be {wanted}")
    assert wrong == []
    assert len(met) > 50
    assert sorted(ENGLISH & CREW_PAGES) == []


def test_each_page_of_the_guide_in_spanish_has_what_the_english_one_has() -> None:
    """As many headings, paragraphs, points and stressed words, in the same order: nothing was left out."""
    folder = crew_words.JOBS / "templates" / "jobs" / "guide"
    for name in guide.IN_BOTH:
        texts = [(part / f"{name}.html").read_text("utf-8") for part in (folder, folder / "es")]
        english, spanish = (re.findall(r"<(h2|p|li|ol|ul)\b", text) for text in texts)
        assert english == spanish, name
        assert len(english) > 10
    assert {path.stem for path in (folder / "es").iterdir()} == set(guide.IN_BOTH)


POSTED = {
    "piece_move", "piece_hold", "piece_resume", "piece_reject", "reading", "reading_take_back", "stressing_finish",
    "stressing_stop", "refusal_dismiss", "load_test_conclude", "request_piece_record",
    "offline",  # the device shows it to whoever holds it, signed in or not: in both languages

}  # fmt: skip


def in_spanish(client: Client, who: Person) -> None:
    tablets.choose_language(who, by=who, language=SPANISH)


def test_reasons_of_a_gate_and_findings_are_said_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRIPPED)
    start(piece)
    sent = {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "elongation_in": "0.2", "line_clear": "on"}
    page = client.post(reverse("reading", args=[piece.pk]), sent | {"request_id": str(uuid4())}, follow=True)
    text = page.content.decode()
    assert "FUERA de tolerancia" in text
    assert "Deténgase, afloje y busque una varilla que cede" in text
    kept = StressingReading.objects.get()
    assert "Stop, slacken, and look for a yielding rod" in kept.findings[0]
    assert "OUT OF tolerance" in Event.objects.get(verb="rod-read").text
    formed = piece_at(Stage.FORMED)
    refused = client.post(reverse("piece_move", args=[formed.pk]), {"to_stage": "poured", "request_id": str(uuid4())})
    assert refused.status_code == 409
    assert "El colado no está anotado." in refused.content.decode()


def test_notices_are_told_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.CURING)
    strength_test(piece)
    sweep()
    kept = Notice.objects.get(kind="strength-reached")
    assert kept.text == f"{piece} has reached the strength to be stripped."
    page = client.get(reverse("today")).content.decode()
    assert f"{piece} ya tiene la resistencia para descimbrarla." in page
    assert "resistencia alcanzada" in page
    assert kept.text not in page
    Notice.objects.filter(pk=kept.pk).update(text="Words of an older release.")
    assert "Words of an older release." in client.get(reverse("today")).content.decode()


def test_whatever_the_crew_is_told_of_is_told_in_spanish(db: None) -> None:
    """Each kind of notice that goes to the crew, as it is really made: none of them falls back to its English."""
    drawn = document(stressing={**document()["stressing"], "restress": [28]})
    tight = pour_long_ago(piece_at(Stage.STRESSED, make_design(document=drawn)), days=40)
    wrong = quality.raise_non_conformance(tight, by=person("crew"), what="a chip")
    quality.decide_non_conformance(wrong, by=person(Role.ENGINEER), decision="repair", note="fill it")
    for stage in (Stage.CURING, Stage.STRIPPED):
        strength_test(piece_at(stage))
    found = [row for row in found_now(timezone.now() + timedelta(days=2)) if Role.CREW in row.roles]
    assert {row.kind for row in found} == {kind for kind, _ in TOLD}
    with translation.override(SPANISH):
        told = {row.text: notice_text(Notice(kind=row.kind, text=row.text)) for row in found}
    assert [text for text, here in told.items() if text == here] == []


def test_what_a_load_test_misses_is_told_in_spanish_and_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRESSED)
    plan = plan_load_test(piece, by=who)
    read_load(plan, 600, 0.05, hours=0, by=who)
    refused = client.post(reverse("load_test_conclude", args=[piece.pk]), {"request_id": str(uuid4())})
    assert refused.status_code == 409
    assert "Todavía no llega a la carga completa" in refused.content.decode()
    read_load(plan, 1216.5, 0.1, hours=1, by=who, crack_seen=True)
    page = client.get(reverse("load_test_run", args=[piece.pk])).content.decode()
    assert "Nadie pasa por debajo." in page
    client.post(reverse("load_test_conclude", args=[piece.pk]), {"request_id": str(uuid4())})
    assert "A crack was seen: not accepted" in piece.load_tests.get().note


def test_a_queued_refusal_is_told_in_spanish_and_its_fact_kept_in_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    piece = piece_at(Stage.STRIPPED)
    production.stop_stressing(start(piece), by=person("crew"), reason="grieta")
    sent = {"rod": "R2", "step": "0", "torque_lbf_ft": "40", "line_clear": "on", "request_id": str(uuid4())}
    told = client.post(reverse("reading", args=[piece.pk]), sent, headers={"X-Entry": "queued"}).json()
    assert told["entry"] == "refused"
    fact = piece.kept_facts.get()
    assert fact.refusal == f"No stressing of {piece} is under way."
    assert ["Torque read", "40 lbf·ft"] in fact.typed


def test_pages_of_the_office_and_the_api_stay_english(crew: tuple[Client, Person]) -> None:
    client, who = crew
    in_spanish(client, who)
    lang, words = words_of(client.get(reverse("standard_pieces")).content.decode())
    assert lang == "en"
    assert "Standard pieces" in words
    answer: Any = client.get("/api/pieces/999999/")
    assert "There is no" in answer.json()["message"] if "message" in answer.json() else answer.status_code == 404


def test_the_language_is_ones_own_to_choose(crew: tuple[Client, Person], signed_in: SignIn) -> None:
    client, who = crew
    assert client.post(reverse("language"), {"language": "es-mx", "back": "/tablet/"})["Location"] == "/tablet/"
    assert Person.objects.get(pk=who.pk).language == SPANISH
    event = Event.objects.get(verb="language-chosen")
    assert (event.by, event.detail["before"]) == (who, "en")
    assert client.post(reverse("language"), {"language": "xx"}).status_code == 422
    assert Person.objects.get(pk=who.pk).language == SPANISH
    away = signed_in(Role.VIEWER).post(reverse("language"), {"language": "en", "back": "//else.where/"})
    assert away["Location"] == "/"
