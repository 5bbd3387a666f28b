"""The pour: the recipe by the manager, the batch weighed, the form checked at every point, one batch into several."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from engineering.core.mix import batch_for
from jobs.models import BatchTicket, FormCheck, MixVersion, Piece, Pour, Stage
from tests.browser.floor.doing import look_for, nothing_called, refuse, refused, row_of, shot, shut, unfold, write
from tests.factories import check_form, document, make_design, make_mix, move, piece_at
from tests.production.test_mix_and_cure import RECIPE, ticket, version

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_manager_writes_the_recipe_and_a_change_is_the_next_version(at_work: Callable[..., Page]) -> None:
    mix = make_mix()
    recipe = f"/shop/mixes/{mix.pk}/recipe/"
    manager = at_work("manager")
    manager.goto(f"/shop/mixes/{mix.pk}/")
    manager.get_by_role("link", name="Recipe and coupons of this mix").click()
    manager.get_by_label("Cement").select_option("portland")
    lines = manager.get_by_label("Ingredients, one on each line")
    lines.fill(RECIPE.replace("sand; sand; 94; 2.65; 1; 0.02", "sand; sand; plenty"))
    manager.get_by_label("Working time").fill("25")
    refuse(manager, "Save as the next version", "Line 2: name; kind; weight")
    expect(lines).to_have_value(re.compile("sand; sand; plenty"))
    assert not MixVersion.objects.exists()
    lines.fill(RECIPE)
    write(manager, "Save as the next version", "is saved.")
    expect(row_of(manager, "lb/ft³")).to_contain_text("0.335")
    shot(manager, "recipe")
    crew = at_work("crew")
    crew.goto("/board/")
    shut(crew, recipe)
    refused(crew, recipe, ingredients="water; water; 1; 1")


def test_a_batch_is_weighed_and_its_share_of_water_and_fibre_follow(at_work: Callable[..., Page]) -> None:
    """Polymer half water: (26 + 11/2)/94 = 0.335; twice the fibre: 14 of 239 lb, 5.86 %."""
    made, piece = version(working_minutes=25), piece_at(Stage.FORMED)
    crew, viewer = at_work("crew"), at_work("viewer")
    crew.goto(f"/pieces/{piece.pk}/")
    unfold(crew)
    crew.get_by_role("link", name="Batch ticket").click()
    crew.get_by_role("link", name=str(made)).click()
    crew.get_by_role("textbox", name="Batch", exact=True).fill("26-114")
    crew.get_by_label("Water added at").fill(f"{timezone.localtime():%Y-%m-%dT%H:%M}")
    exact = {row.name: row.target_lb for row in batch_for(made.recipe, 4.2, 0.1).weighings}
    for name, pounds in exact.items():
        aim = crew.locator("dl.target > div").filter(has_text=name)
        expect(aim.locator("dd")).to_contain_text(f"{pounds:.2f}")
        crew.get_by_label(f"{name}, weighed").fill(f"{(2 if name == 'fibre' else 1) * pounds:.4f}")
    crew.get_by_label("cement, lot").fill("C-881")
    shot(crew, "ticket")
    write(crew, "Write down the batch", "Batch 26-114: OUT OF tolerance, written down.")
    expect(crew.locator(".messages .note.warning")).to_contain_text("water to binder 0.335")
    expect(crew.locator(".messages")).to_contain_text("fibre 5.86 % by weight")
    expect(crew.locator("[data-until]")).to_have_text(re.compile(r"^\s*2[3-5]:\d\d\s*$"))  # counts down the 25 minutes
    row = BatchTicket.objects.get()
    assert (row.within_tolerance, [part["lot"] for part in row.weighings if part["lot"]]) == (False, ["C-881"])
    viewer.goto(f"/pieces/{piece.pk}/")
    nothing_called(viewer, "Batch ticket", "Pour")
    shut(viewer, f"/pieces/{piece.pk}/batch/{made.pk}/")


def test_the_form_is_checked_with_the_rods_height_at_three_points_before_the_pour(
    at_work: Callable[..., Page],
) -> None:
    rods = document()["rods"]
    rods[0]["profile"] = [[3, 1.25], [54, 1.0], [105, 1.25]]
    piece = piece_at(Stage.FORMED, make_design(document=document(rods=rods)))
    crew, engineer = at_work("crew"), at_work("engineer")
    crew.goto(f"/pieces/{piece.pk}/")
    crew.get_by_role("link", name="Check the form").first.click()
    crew.get_by_label("Core held down").check()
    crew.get_by_label("Sleeves straight").check()
    for place, height in (("3 in", "1.28"), ("4 ft 6 in", "1-1/16"), ("8 ft 9 in", "1.25")):
        crew.get_by_label(f"Rod R1 at {place}:").fill(height)
    shot(crew, "form-check")
    write(crew, "Write down the form check", f"The form of {piece} is checked.")
    check = FormCheck.objects.get()
    assert [(row["x_in"], row["measured_in"]) for row in check.rod_heights] == [(3, 1.28), (54, 1.0625), (105, 1.25)]
    expect(crew.locator(".next .blockers")).to_contain_text("Not right at the newest form check: pockets set")
    crew.goto(f"/pieces/{piece.pk}/pour/")
    crew.get_by_role("textbox", name="Batch", exact=True).fill("26-115")
    refuse(crew, "Write down the pour", "pockets set")
    expect(crew.get_by_role("textbox", name="Batch", exact=True)).to_have_value("26-115")
    assert not Pour.objects.exists()
    engineer.goto(f"/pieces/{piece.pk}/")
    nothing_called(engineer, "Check the form", "Pour it")
    shut(engineer, f"/pieces/{piece.pk}/form-check/")
    refused(engineer, f"/pieces/{piece.pk}/form-check/", core_held="on")


def test_one_batch_goes_into_several_pieces_with_slump_weight_and_temperatures(at_work: Callable[..., Page]) -> None:
    design = make_design(pieces=3)
    first = piece_at(Stage.FORMED, design)
    second, third = [move(piece, Stage.FORMED) for piece in Piece.objects.filter(design=design).exclude(pk=first.pk)]
    weighed = ticket(version(), batch="26-116", water_added_at=timezone.now())
    for piece in (first, second):
        check_form(piece)
    crew, manager = at_work("crew"), at_work("manager")
    crew.goto(f"/pieces/{first.pk}/pour/")
    crew.get_by_role("textbox", name="Batch", exact=True).fill("26-116")
    crew.get_by_label("Batch ticket").select_option(str(weighed.pk))
    crew.get_by_label("Slump or flow").fill("7 1/4")
    crew.get_by_label("Unit weight").fill("131.4")
    crew.get_by_label("Temperature of the mix").fill("22 °C")
    crew.get_by_label("Temperature of the air").fill("66")
    for other in (second, third):
        crew.get_by_label(f"{other} ·").check()
    shot(crew, "pour")
    refuse(crew, "Write down the pour", f"{third} may not be poured")
    assert not Piece.objects.exclude(pour=None).exists()
    crew.get_by_label(f"{third} ·").uncheck()
    write(crew, "Write down the pour", f"The pour of {first} is written down.")
    pour = Pour.objects.get()
    assert set(pour.pieces.all()) == {first, second}
    assert (pour.slump_in, pour.unit_weight_pcf, pour.air_temperature_f) == (7.25, 131.4, 66)
    assert pour.mix_temperature_f == pytest.approx(71.6)
    manager.goto(f"/pieces/{second.pk}/")
    expect(manager.locator(".title-block")).to_contain_text("26-116")
    look_for(manager, "26-116")
    expect(row_of(manager, f"{first}, {second}")).to_be_visible()
