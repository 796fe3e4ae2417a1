"""Typing, dragging, taking back: the file says what the page says, and two hands are asked in words."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page

from tests.page.conftest import SETTLED, Served, near, settle, until

pytestmark = pytest.mark.browser


def _field(page: Page, group: str, label: str) -> Locator:
    box = page.locator("fieldset.group", has=page.locator(f"legend:text-is('{group}')"))
    return box.locator(".field", has=page.locator(f"label:text-is('{label}')")).locator(
        "input, select, textarea"
    )


def until_written(served: Served, name: str, text: str) -> None:
    """Until the file holds the text."""
    end = time.monotonic() + SETTLED / 1e3
    while text not in (served.folder / name).read_text("utf-8"):
        assert time.monotonic() < end, f"{name} never held {text[:80]!r}"
        time.sleep(0.1)


def test_typed_value_goes_to_the_file_and_comes_back_by_undo(
    own: Served, open_sheet: Callable[..., Page]
) -> None:
    page = open_sheet(own)
    before = own.job_text()
    depth = _field(page, "Lump: sump", "depth")
    depth.fill("4 7/8 in")
    depth.press("Enter")
    until(
        page,
        "document.querySelector('.paper.stale') !== null"
        " || document.querySelector('.did:not(:empty)') !== null",
    )
    settle(page)
    # As typed, everything round it as it was.
    typed = own.job_text()
    assert typed == before.replace(
        'depth = "118 mm"\ndepth_at = ["300 mm", "-100 mm"]\n\n[[lumps]]\nname = "kick-out"',
        'depth = "4 7/8 in"\ndepth_at = ["300 mm", "-100 mm"]\n\n[[lumps]]\nname = "kick-out"',
    )
    assert page.locator(".did:visible").first.inner_text()
    page.locator("summary", has_text="Changes since the job was opened").click()
    assert "lumps.sump.depth" in page.locator(".changes li").last.inner_text()
    page.locator(".standing button", has_text="undo").click()
    until_written(own, "job.toml", before)
    settle(page)
    assert _field(page, "Lump: sump", "depth").input_value() == "118 mm"
    page.locator(".standing button", has_text="redo").click()
    until_written(own, "job.toml", typed)


def test_unreadable_value_is_not_written_and_named_at_its_field(
    own: Served, open_sheet: Callable[..., Page]
) -> None:
    page = open_sheet(own)
    sheet = _field(page, "Pan", "sheet")
    sheet.fill("three")
    sheet.press("Enter")
    note = page.locator(".field.faulty .note")
    note.wait_for(timeout=SETTLED)
    assert "between 0.5 mm and 12.7 mm" in note.inner_text()
    assert sheet.get_attribute("aria-invalid") == "true"
    assert sheet.input_value() == "three"
    assert 'sheet = "3 mm"' in own.job_text()
    sheet.press("Escape")
    assert sheet.input_value() == "3 mm"
    assert page.locator(".field.faulty").count() == 0


def test_two_hands_on_one_place_are_asked(own: Served, open_sheet: Callable[..., Page]) -> None:
    first, second = open_sheet(own), open_sheet(own)
    slow = _field(second, "Pan", "washer")
    slow.press_sequentially("2")  # begins to type on what it sees
    quick = _field(first, "Pan", "washer")
    quick.fill("2.5 mm")
    quick.press("Enter")
    until(second, "document.querySelector('.standing button').disabled === false")
    slow.fill("2 mm")
    slow.press("Enter")
    dialog = second.locator("dialog")
    dialog.wait_for(timeout=SETTLED)
    assert "2.5 mm" in dialog.inner_text()
    assert "you typed" in dialog.inner_text()
    assert 'washer = "2.5 mm"' in own.job_text()
    dialog.locator("button", has_text="write what I typed").click()
    second.wait_for_selector("dialog", state="detached")
    until(second, "document.querySelector('.working').textContent === ''")
    until_written(own, "job.toml", 'washer = "2 mm"')


def test_outside_editor_is_noticed(own: Served, open_sheet: Callable[..., Page]) -> None:
    page = open_sheet(own)
    text = own.job_text().replace('washer = "1.6 mm"', 'washer = "3 mm"')
    (own.folder / "job.toml").write_text(text, "utf-8")
    until(
        page,
        "[...document.querySelectorAll('.field input')].some((one) => one.value === '3 mm'"
        " && one.closest('.field').textContent.includes('washer'))",
    )
    assert "outside" in page.locator(".spoken").inner_text()


def test_dragged_floor_writes_a_typed_value(own: Served, open_sheet: Callable[..., Page]) -> None:
    page = open_sheet(own)
    near(page, "body")
    before = own.job_text()
    handle = page.locator("#section-body .handle[aria-label^='floor of sump']")
    handle.wait_for(state="attached")
    handle.focus()
    for _ in range(4):
        page.keyboard.press("ArrowDown")
    until(
        page,
        "[...document.querySelectorAll('.field input')].some((one) => one.value === '120 mm')",
    )
    settle(page)
    # One drag is one step.
    page.locator(".standing button", has_text="undo").click()
    until_written(own, "job.toml", before)


def test_reading_is_typed_into_the_table(own: Served, open_sheet: Callable[..., Page]) -> None:
    page = open_sheet(own)
    cell = page.locator("#section-rail input.reading").nth(3)
    line = cell.get_attribute("data-place")
    before = (own.folder / "rail.csv").read_text("utf-8")
    cell.fill("999")
    cell.press("Enter")
    until_written(own, "rail.csv", "999")
    settle(page)
    text = (own.folder / "rail.csv").read_text("utf-8").splitlines()
    number = int((line or "0").split()[0])
    assert ",999" in text[number - 1].replace(" ", "")
    assert page.locator("#section-rail tr.set-aside, #section-rail tr.faulty").count() > 0
    page.locator(".standing button", has_text="undo").click()
    until_written(own, "rail.csv", before)
