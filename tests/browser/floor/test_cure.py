"""While it cures: the cover looked at, a logger's file, from when it can be stressed, and what was broken."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from jobs.models import CouponTest, CureCheck, Language, Role, Stage, StrengthTest, TemperatureLog
from tests.browser.floor.doing import nothing_called, press, refuse, refused, row_of, shot, shut, write
from tests.factories import person, piece_at
from tests.production.test_maturity_rule import WARM_F, a_tested_batch, cast, warm
from tests.production.test_mix_and_cure import version

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def choose(page: Page, text: str) -> None:
    page.locator("#id_file").set_input_files({"name": "logger.csv", "mimeType": "text/csv", "buffer": text.encode()})


def test_the_cover_is_looked_at_and_everybody_sees_it_was(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    cure = f"/pieces/{piece.pk}/cure/"
    crew, engineer = at_work("crew"), at_work("engineer")
    crew.goto(cure)
    crew.get_by_label("It is covered").check()
    crew.get_by_label("Note").fill("wetted again at noon")
    write(crew, "Write down the look at the cover", "Written down.")
    expect(row_of(crew, "NOT moist")).to_contain_text("covered")
    engineer.goto(cure)
    expect(row_of(engineer, "NOT moist")).to_be_visible()
    nothing_called(engineer, "Write down the look at the cover")
    refused(engineer, cure, covered="on", moist="on")
    assert CureCheck.objects.get().note == "wetted again at noon"


def test_a_loggers_file_with_a_bad_line_keeps_the_form_and_says_which(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    page = f"/pieces/{piece.pk}/cure/temperatures/"
    crew, viewer = at_work("crew"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/cure/")
    crew.get_by_role("link", name="Temperatures").click()
    crew.get_by_label("°C").check()
    crew.get_by_label("Note").fill("logger 3, under the cover")
    choose(crew, "time,temp\n2026-11-20 08:00,20\nyesterday,21\n2026-11-20 10:00,warm\n")
    refuse(crew, "Write down the temperatures", "line 3: a time and a number are wanted")
    expect(crew.locator("main")).to_contain_text("line 4:")
    expect(crew.get_by_label("°C")).to_be_checked()
    expect(crew.get_by_label("Note")).to_have_value("logger 3, under the cover")
    assert not TemperatureLog.objects.exists()
    choose(crew, "time,temp\n2026-11-20 08:00,20\n2026-11-20 09:00,25\n2026-11-20 10:00,30\n")
    write(crew, "Write down the temperatures", "3 temperatures are written down.")
    expect(row_of(crew, "77.0 °F")).to_be_visible()
    expect(row_of(crew, "86.0 °F")).to_be_visible()
    viewer.goto(f"/pieces/{piece.pk}/cure/")
    expect(row_of(viewer, "77.0 °F")).to_be_visible()
    shut(viewer, page)
    refused(viewer, page, value="70", degrees="f")
    assert TemperatureLog.objects.count() == 1


def test_from_when_it_can_be_stressed_stands_there_with_what_it_rests_on(at_work: Callable[..., Page]) -> None:
    """An earlier batch of the mix gives the curve, this one's own temperatures how far it has come."""
    made = version()
    a_tested_batch(made)
    piece, pour = cast(made, "now", 0.5)
    warm(pour, WARM_F, [0, 6, 12])
    crew, engineer = at_work("crew"), at_work("engineer")
    crew.goto(f"/pieces/{piece.pk}/cure/")
    aim = crew.locator("dl.target > div").filter(has_text="to stress (4500 psi) from about")
    expect(aim).to_contain_text("Break specimens first")
    expect(aim).to_contain_text("ASTM C1074")
    maturity = crew.locator("section.leaf").filter(has=crew.get_by_role("heading", name="Maturity", exact=True))
    expect(maturity).to_contain_text("Equivalent age")
    expect(maturity).to_contain_text("91.4 °F")
    plot = crew.locator(".plot").filter(has=crew.get_by_role("slider")).first
    expect(plot.locator("svg").first).to_be_visible()
    shot(crew, "cure")
    crew.goto(f"/pieces/{piece.pk}/stressing/")  # a curve opens no gate
    expect(crew.get_by_role("heading", name="Not yet")).to_be_visible()
    engineer.goto("/schedule/")
    expect(row_of(engineer, "by maturity; break specimens first")).to_contain_text(f"Stress {piece}")


def test_two_specimens_are_wanted_and_cubes_count_less(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    page = f"/pieces/{piece.pk}/strength/"
    crew, engineer = at_work("crew"), at_work("engineer")
    crew.goto(page)
    expect(crew.locator("main")).to_contain_text("At least two specimens")
    crew.get_by_label("Specimen 1").fill("5200")
    expect(crew.locator("#mean")).to_contain_text("two specimens or more")
    write(crew, "Write down the strength test", "is written down.")
    expect(crew.locator(".next .blockers")).to_contain_text("Only 1 specimen was broken; 2 or more")
    nothing_called(crew, "Mark stripped")
    crew.goto(page)
    crew.get_by_label("Cube").check()
    crew.get_by_label("Specimen 1").fill("6000")
    crew.get_by_label("Specimen 2").fill("6100")
    expect(crew.locator("#mean output")).to_have_text("4,840")  # 0.8 of their mean
    shot(crew, "strength")
    write(crew, "Write down the strength test", "is written down.")
    test = StrengthTest.objects.latest("pk")
    assert (test.kind, test.factor, round(test.mean_psi)) == ("cube", 0.8, 4840)
    engineer.goto(f"/pieces/{piece.pk}/")
    expect(engineer.locator("main")).to_contain_text("4840 psi")
    shut(engineer, page)
    refused(engineer, page, kind="cylinder", specimen_0="9000", specimen_1="9000")
    crew.goto(f"/pieces/{piece.pk}/")
    write(crew, "Mark stripped", "is now stripped")


def test_what_the_page_says_while_specimens_are_typed_is_said_in_the_readers_language(
    at_work: Callable[..., Page],
) -> None:
    piece, crew = piece_at(Stage.CURING), at_work(person(Role.CREW, language=Language.SPANISH))
    crew.goto(f"/pieces/{piece.pk}/strength/")
    crew.get_by_label("Probeta 1").fill("5200")
    line = crew.locator("#mean [data-needed]").first
    expect(line).to_have_text("✗ no alcanza para descimbrar y levantar (dos probetas o más)")
    crew.get_by_label("Probeta 2").fill("5300")
    expect(line).to_have_text("✓ alcanza para descimbrar y levantar")


def test_a_coupon_that_is_not_complete_is_refused_and_a_whole_one_is_worked_out(at_work: Callable[..., Page]) -> None:
    """ASTM C947: P L/(b d²) = 50·10/(2·0.5²) = 1,000 psi."""
    piece = piece_at(Stage.CURING)
    page = f"/pieces/{piece.pk}/cure/coupons/"
    crew, viewer = at_work("crew"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/cure/")
    crew.get_by_role("link", name="Coupons").click()
    crew.get_by_label("Span between the supports").fill("10")
    for number, values in ((1, ("50", "90", "2", "1/2")), (2, ("52", "", "", ""))):
        for words, value in zip(("load where it bends", "greatest load", "width", "depth"), values, strict=True):
            crew.get_by_label(f"Coupon {number}: {words}").fill(value)
    refuse(crew, "Write down the coupons", "Coupon 2 is not complete.")
    expect(crew.get_by_label("Coupon 2: load where it bends")).to_have_value("52")
    assert not CouponTest.objects.exists()
    crew.get_by_label("Coupon 2: load where it bends").fill("")
    write(crew, "Write down the coupons", "1 coupon is written down.")
    expect(row_of(crew, "1000 psi")).to_contain_text("1800 psi")
    viewer.goto(f"/pieces/{piece.pk}/cure/")
    expect(row_of(viewer, "1000 psi")).to_be_visible()
    shut(viewer, page)
    refused(viewer, page, span_in="10")


def test_what_the_washout_left_is_the_share_of_fibre(at_work: Callable[..., Page]) -> None:
    piece = piece_at(Stage.CURING)
    crew = at_work("crew")
    crew.goto(f"/pieces/{piece.pk}/cure/washout/")
    crew.get_by_label("Fresh sample").fill("3 lb")
    crew.get_by_label("Dry fibre washed out of it").fill("40.8233 g")  # 0.09 lb
    press(crew, "Write down the washout")
    expect(crew.locator(".messages")).to_contain_text("Fibre 3.00 %")
