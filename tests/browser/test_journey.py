"""A piece of the demo, from order to install, in a real browser against the real command, as the four roles in turn."""

from __future__ import annotations

import re
import socket
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.site.processes import Process, manage, until

pytestmark = [pytest.mark.browser, pytest.mark.timeout(900)]
SIGN_IN = re.compile(r"^ +(Shop manager|Crew|Engineer|Viewer) +(\S+) +(\S+)$", re.M)


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    folder = tmp_path_factory.mktemp("demo")
    port = free_port()
    with Process(
        manage("demo", "--port", str(port)), log=folder / "log", CAMBERBOOK_DATA=str(folder / "data")
    ) as process:
        until(lambda: "Viewer" in process.said(), "the demo is served", process)
        yield Demo(
            f"http://127.0.0.1:{port}", {role: (name, word) for role, name, word in SIGN_IN.findall(process.said())}
        )


class Demo:
    def __init__(self, address: str, accounts: dict[str, tuple[str, str]]) -> None:
        self.address, self.accounts = address, accounts

    def as_role(self, browser: Browser, role: str, *, width: int = 1280) -> Page:
        """A browser of its own, signed in."""
        page = browser.new_context(base_url=self.address, viewport={"width": width, "height": 1180}).new_page()
        page.goto("/sign-in/")
        name, word = self.accounts[role]
        page.get_by_label("Sign-in name").fill(name)
        page.get_by_label("Password").fill(word)
        page.get_by_role("button", name="Sign in").click()
        expect(page.get_by_role("heading", level=1)).to_be_visible()
        return page


def open_design(page: Page, order: str, mark: str) -> None:
    page.goto("/orders/")
    page.get_by_role("link", name=order).first.click()
    page.get_by_role("link", name=re.compile(rf"^{mark}\b")).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(mark)


def open_piece(page: Page, name: str) -> None:
    expect(page.locator("form[aria-busy]")).to_have_count(0)  # what was tapped is sent, and its next page is there
    page.goto("/board/")
    page.get_by_role("main").get_by_role("link").filter(has_text=name).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text(name)


def mark(page: Page, stage: str) -> None:
    page.get_by_role("button", name=f"Mark {stage}").click()
    expect(page.locator("[aria-current=step]")).to_have_text(re.compile(stage, re.I))


def test_a_piece_goes_from_order_to_install_and_its_record_verifies(
    demo: Demo, browser: Browser, tmp_path: Path
) -> None:
    manager, engineer = demo.as_role(browser, "Shop manager"), demo.as_role(browser, "Engineer")
    crew, viewer = demo.as_role(browser, "Crew", width=820), demo.as_role(browser, "Viewer")

    the_change_makes_the_old_verdict_stale(manager, engineer)
    released_by_the_engineer(engineer, manager)
    cast_and_cured(crew)
    stressing_is_refused_below_strength(crew)
    stressed_rod_by_rod(crew)
    installed(manager, crew)
    nothing_to_write_for_the_viewer(viewer)
    the_record_is_what_it_says(engineer, viewer, tmp_path)


def the_change_makes_the_old_verdict_stale(manager: Page, engineer: Page) -> None:
    """The engineer has revision A before them, ready to release it, while the manager changes the specification."""
    open_design(engineer, "2612-02", "M-5")
    expect(engineer.get_by_role("button", name="Release revision A")).to_be_visible()

    open_design(manager, "2612-02", "M-5")
    manager.get_by_role("link", name="Change the specification").click()
    manager.get_by_label("Title").fill("Tread of the garden stair, wider landing")
    manager.get_by_label("What changed, and why").fill("Client's new landing")
    manager.get_by_role("button", name="Save as the next revision").click()
    expect(
        manager.get_by_text("The checks of revision B are").or_(
            manager.get_by_role("button", name="Release revision B")
        )
    ).to_be_visible()

    engineer.get_by_role("button", name="Release revision A").click()
    expect(engineer.locator("main")).to_contain_text("revision B")
    expect(engineer.locator("main")).not_to_contain_text("is released.")
    engineer.goto(engineer.url.split("release/")[0] + "?revision=A")
    expect(engineer.locator("#stale")).to_contain_text("Superseded")
    expect(engineer.get_by_text("was the verdict of revision A")).to_be_visible()


def released_by_the_engineer(engineer: Page, manager: Page) -> None:
    open_design(engineer, "2612-02", "M-5")
    engineer.get_by_role("button", name="Release revision B").click(timeout=60_000)
    expect(engineer.get_by_text("revision B was released", exact=False).first).to_be_visible()
    open_piece(manager, "M-5/1")
    expect(manager.locator("[aria-current=step]")).to_have_text("Released")


def cast_and_cured(crew: Page) -> None:
    open_piece(crew, "M-5/1")
    mark(crew, "formed")
    crew.get_by_role("link", name="Check the form").first.click()
    for words in ("Core held down", "Sleeves straight", "Pockets and plates"):
        crew.get_by_label(words).check()
    crew.get_by_role("button", name="Write down the form check").click()
    open_piece(crew, "M-5/1")
    crew.get_by_role("link", name="Pour it").first.click()
    crew.get_by_role("textbox", name="Batch", exact=True).fill("26-101")
    crew.get_by_role("combobox", name="Mix").first.select_option(label="House mix")
    crew.get_by_role("button", name="Write down the pour").click()
    open_piece(crew, "M-5/1")
    mark(crew, "poured")
    mark(crew, "curing")
    strength(crew, "22", "23")
    open_piece(crew, "M-5/1")
    mark(crew, "stripped")


def strength(crew: Page, *specimens: str) -> None:
    open_piece(crew, "M-5/1")
    asked_for = crew.get_by_role("link", name=re.compile("Break specimens"))
    if not asked_for.is_visible():
        crew.get_by_text("Other things to do").click()
    asked_for.or_(crew.get_by_role("link", name="Write down a strength test")).first.click()
    for number, value in enumerate(specimens, start=1):
        crew.get_by_label(f"Specimen {number}").fill(value)
    crew.get_by_role("button", name="Write down the strength test").click()
    expect(crew.get_by_role("heading", level=1)).to_be_visible()


def stressing_is_refused_below_strength(crew: Page) -> None:
    """22.5 MPa on the cylinders, 35 needed: the page says so, and there is no way to begin."""
    open_piece(crew, "M-5/1")
    crew.goto(crew.url + "stressing/")
    expect(crew.get_by_role("heading", name="Not yet")).to_be_visible()
    expect(crew.locator("main")).to_contain_text("35 MPa")
    expect(crew.get_by_role("button", name="Begin")).to_have_count(0)
    strength(crew, "36.5", "37.5")


def stressed_rod_by_rod(crew: Page) -> None:
    open_piece(crew, "M-5/1")
    crew.goto(crew.url + "stressing/")
    crew.get_by_label("Smallest step").fill("0.01 mm")
    crew.get_by_label("Smallest step the stretch gauge shows").fill("0.02 mm")
    crew.get_by_role("button", name="Begin").click()
    expect(crew.locator("form[data-begin]")).to_have_count(0)
    turn = crew.get_by_role("button", name=re.compile("Write down rod"))
    one_reading(crew, off=1.25)  # a quarter too long: out of tolerance, and told so
    expect(crew.locator("#answer")).to_contain_text("OUT of tolerance")
    for _ in range(40):
        if not turn.is_visible():
            break
        one_reading(crew)
        expect(crew.locator("#answer")).to_contain_text("IN tolerance")
    crew.get_by_role("button", name="Finish the stressing").click()
    expect(crew.locator("form[aria-busy]")).to_have_count(0)
    open_piece(crew, "M-5/1")
    mark(crew, "stressed")
    crew.get_by_role("link", name="Cut tails").first.click()
    for words in ("Tails cut", "Ends capped", "Ends greased", "Pockets filled"):
        crew.get_by_label(words).check()
    crew.get_by_role("button", name="Write it down").click()
    open_piece(crew, "M-5/1")
    mark(crew, "finished")


def one_reading(crew: Page, off: float = 1.0) -> None:
    """Read what the page asks for, times `off` for the stretch."""
    shown = {
        block.locator("dt").inner_text().lower(): block.locator("dd").inner_text()
        for block in crew.locator("dl.target > div").all()
    }
    crew.get_by_label("Nobody stands in the line of this rod").check()
    for name, label, factor in (
        ("torque", "Torque read", 1.0),
        ("stretch", "Stretch measured", off),
        ("crown", "Crown measured", 1.0),
    ):
        value = next((text for title, text in shown.items() if name in title), None)
        if value is not None:
            crew.get_by_label(label).fill(f"{float(re.findall(r'-?[0-9.]+', value)[0]) * factor:.3f}")
    crew.get_by_role("button", name=re.compile("Write down rod")).click()
    expect(crew.locator("form[aria-busy]")).to_have_count(0)  # the page with its answer is there
    expect(crew.locator("#answer")).to_be_visible()


def installed(manager: Page, crew: Page) -> None:
    open_piece(manager, "M-5/1")
    mark(manager, "delivered")
    open_piece(crew, "M-5/1")
    crew.get_by_role("link", name="Write down the install").first.click()
    expect(crew.get_by_role("heading", level=1)).to_contain_text("Install of")
    for support, at in zip(crew.get_by_label(re.compile(r"^\s*Support")).all(), ("47", "1203"), strict=True):
        support.fill(at)
    crew.get_by_role("button", name="Write down the install").click()  # the cautions are not confirmed yet
    expect(crew.get_by_role("button", name="Write down the install")).to_be_visible()
    crew.get_by_label("I have read these cautions").check()
    crew.get_by_role("button", name="Write down the install").click()
    open_piece(crew, "M-5/1")
    mark(crew, "installed")
    expect(crew.locator("[aria-current=step]")).to_have_text("Installed")


def nothing_to_write_for_the_viewer(viewer: Page) -> None:
    open_design(viewer, "2612-02", "M-5")
    expect(viewer.get_by_role("link", name="Change the specification")).to_have_count(0)
    open_piece(viewer, "M-5/1")
    expect(viewer.get_by_role("button", name=re.compile("Mark|Write down|Hold"))).to_have_count(0)


def the_record_is_what_it_says(engineer: Page, viewer: Page, tmp_path: Path) -> None:
    open_design(engineer, "2612-02", "M-5")
    engineer.get_by_role("link", name=re.compile("Records of")).click()
    engineer.get_by_role("button", name=re.compile("Design record of revision")).click()
    download = engineer.get_by_role("link", name=re.compile("Download the PDF"))
    expect(download).to_be_visible(timeout=60_000)
    with engineer.expect_download() as coming:
        download.click()
    file = tmp_path / "record.pdf"
    coming.value.save_as(file)

    said = subprocess.run(["pdfsig", str(file)], capture_output=True, text=True, check=False).stdout
    assert "Signature is Valid" in said, said
    expect(compared(viewer, file)).to_contain_text("on record")
    expect(viewer.locator(".note.success").first).to_be_visible()

    forged = tmp_path / "forged.pdf"
    forged.write_bytes(one_byte_changed(file.read_bytes()))
    assert (
        "Signature is Valid"
        not in subprocess.run(["pdfsig", str(forged)], capture_output=True, text=True, check=False).stdout
    )
    compared(viewer, forged)
    expect(viewer.locator(".note.error").first).to_be_visible()
    expect(viewer.locator(".note.success")).to_have_count(0)


def compared(page: Page, file: Path) -> Locator:
    page.goto("/verify/")
    page.get_by_label("The record's PDF file").set_input_files(file)
    page.get_by_role("button", name="Say what it is").click()
    expect(page.get_by_role("heading", name="What was found in the file")).to_be_visible()
    return page.locator("main")


def one_byte_changed(whole: bytes) -> bytes:
    """One byte inside the first stream, which is part of what was signed."""
    at = whole.index(b"stream\n") + 40
    return whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :]
