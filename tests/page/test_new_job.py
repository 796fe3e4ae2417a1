"""A new job by a few questions: what is missing is said at its question, then the sheet stands there."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Browser, Page

from tests.page.conftest import SETTLED, Served

pytestmark = pytest.mark.browser

ANSWERS = {
    "What is this pan called? (needed)": "Orchard truck, low cross-member",
    "Millimetres or inches? (needed)": "mm",
    "What did the old pan carry, besides holding oil?": "pickup",
    "How does the engine sit along its length, and by how much?": "front raised, 4 deg",
    "How much oil is poured in? (needed)": "5.2 L",
    "What is it for? (needed)": "road",
}


def _answer(page: Page, asks: str, answer: str) -> None:
    box = page.locator(".question", has=page.locator(f":text-is('{asks}')"))
    if box.locator("input[type=radio]").count() and box.locator("input[type=text]").count():
        side, _, angle = answer.partition(", ")
        assert box.locator("input[type=text]").is_disabled()
        box.get_by_label(side, exact=True).check()
        box.locator("input[type=text]").fill(angle)
    elif box.locator("input[type=text]").count():
        box.locator("input[type=text]").fill(answer)
    else:
        box.get_by_label(answer, exact=True).check()


def test_questions_lay_out_a_job(serve: Callable[[str], Served], browser: Browser) -> None:
    empty = serve("")
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    page.goto(empty.address)
    page.wait_for_selector(".new-job form", timeout=SETTLED)
    page.locator("button.main").click()
    page.wait_for_selector(".faults:not(:empty)")
    assert not (empty.folder / "job.toml").exists()
    for asks, answer in ANSWERS.items():
        _answer(page, asks, answer)
    page.locator("button.main").click()
    page.wait_for_selector("#section-rail", timeout=SETTLED)
    assert page.locator("h1").inner_text() == "Orchard truck, low cross-member"
    text = empty.job_text()
    assert '"5.2 L"' in text
    assert '"4 deg"' in text
    page.close()
