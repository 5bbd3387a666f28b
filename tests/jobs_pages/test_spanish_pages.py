"""No page that the crew may open has a phrase left in English, unless it stands here as an English one."""

from __future__ import annotations

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse

from jobs.actions import planning, production, quality, stock
from jobs.actions.notices import sweep
from jobs.actions.shop import edit_shop
from jobs.management.commands import crew_words
from jobs.models import Mix, Order, Person, Piece, Role, Stage
from jobs.site.language import CREW_PAGES
from jobs.views import guide
from tests.factories import (
    make_attachment,
    make_wrench,
    person,
    piece_at,
    plan_load_test,
    read,
    read_load,
    start,
    strength_test,
)
from tests.jobs_pages.spanish_reading import SPANISH, SignIn, in_spanish, left_in_english
from tests.production.test_mix_and_cure import version
from tests.reports.issuing import issued
from tests.security.site_map import places, rows_of_a_shop
from tests.security.test_page_permissions import TABLE


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
    chipped, where, mended = "canto roto", "esquina izquierda", "rellenar y lijar"  # what people type is not translated
    waiting = quality.raise_non_conformance(formed, by=who, what=chipped)
    settled = quality.raise_non_conformance(stressed, by=who, what=chipped, place=where)
    engineer = person(Role.ENGINEER)
    quality.decide_non_conformance(settled, by=engineer, decision="repair", note=mended)
    planning.plan_pour(formed, by=person(), on=date(2031, 3, 4))
    production.lay_on_bed(formed, by=who, bed="Mesa 1")
    record = issued()
    data |= {own.name, lot.lot, lot.description, chipped, where, mended, engineer.display_name, engineer.jurisdiction}
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
