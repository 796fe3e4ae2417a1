"""The sheet as a form: order, words, widths, keys, paper, and that everybody can read it."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from urllib.parse import urlsplit

import pdfplumber
import pytest
from playwright.sync_api import Page

from tests.page.conftest import ROOT, Served, near

pytestmark = pytest.mark.browser


@pytest.fixture
def page(sheet: Page) -> Page:
    """The page that is only looked at, from its top."""
    sheet.evaluate("() => { scrollTo(0, 0); document.activeElement.blur(); }")
    return sheet


SECTIONS = ["Rail", "Shape", "Oil", "Motion", "Suction", "Parts", "Welding", "Proof"]
AXE = ROOT / "page" / "node_modules" / "axe-core" / "axe.min.js"


def test_sections_stand_in_the_order_of_the_work(page: Page) -> None:
    headings = page.locator("main h2:visible").all_inner_texts()
    assert headings == [f"{number} {words}" for number, words in enumerate(SECTIONS, 1)]
    for strip in page.locator("main section[id^=section-]:not(#section-job):not(#section-explored)").all():
        words = [text for text in strip.locator("h3:visible").all_inner_texts()]
        assert words[0] == "What you enter"
        assert words[-1] == "What it says"


def test_every_verdict_stays_in_view_as_a_word(page: Page) -> None:
    page.locator("#section-kit").scroll_into_view_if_needed()
    for place in page.locator(".verdicts button").all():
        words = place.inner_text()
        assert words.endswith(("holds", "close", "fails", "cannot say", "not yet")), words
        box = place.bounding_box()
        assert box is not None
        assert 0 <= box["y"] < 120


def test_verdicts_differ_without_colour(page: Page) -> None:
    """Frame, weight and ground tell them apart; no tone is needed."""
    looks = page.evaluate(
        """() => ['holds', 'close', 'fails', 'cannot-say'].map((word) => {
            const one = document.createElement('span');
            one.className = `stamp ${word}`;
            document.querySelector('main').append(one);
            const style = getComputedStyle(one);
            const dark = style.backgroundColor !== 'rgba(0, 0, 0, 0)';
            return [style.borderTopStyle, style.borderTopWidth, style.fontWeight, dark].join(' ');
        })"""
    )
    assert len(set(looks)) == 4


def test_worst_finding_comes_first(page: Page) -> None:
    order = ["fails", "cannot say", "close", "holds"]
    for section in page.locator("main section[id^=section-]:not(#section-job):not(#section-explored)").all():
        words = section.locator(".finding .stamp").all_text_contents()
        ranks = [order.index(word) for word in words]
        assert ranks == sorted(ranks)


@pytest.mark.parametrize("width", [1280, 820, 600])
def test_nothing_runs_off_the_side(hillclimb: Served, open_sheet: Callable[..., Page], width: int) -> None:
    page = open_sheet(hillclimb, width=width)
    for section in ("rail", "oil", "kit"):
        near(page, section)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_nothing_is_asked_of_another_machine(
    hillclimb: Served, open_sheet: Callable[..., Page], browser: object
) -> None:
    page = open_sheet(hillclimb)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.reload()
    page.wait_for_selector("#section-rail")
    for section in ("rail", "body", "oil", "motion", "suction", "kit"):
        near(page, section)
    here = urlsplit(hillclimb.address).netloc
    assert asked
    assert {urlsplit(url).netloc for url in asked if not url.startswith(("blob:", "data:"))} == {here}


def test_page_holds_no_script_or_style_of_its_own() -> None:
    """What the content-security policy forbids is not in the page in the first place."""
    text = (ROOT / "page" / "index.html").read_text("utf-8")
    assert "<style" not in text
    assert "style=" not in text
    assert text.count("<script") == text.count("<script type=")


def test_no_hindrance_for_anybody(page: Page) -> None:
    """Judged by the rules of an open accessibility library, with everything folded out."""
    if not AXE.is_file():
        pytest.skip("not run: the accessibility rules are missing (in page/: npm ci)")
    for section in ("rail", "body", "oil", "motion", "suction", "kit"):
        near(page, section)
    page.wait_for_timeout(1500)
    page.evaluate("() => { for (const box of document.querySelectorAll('details')) box.open = true; }")
    found = _judged(page)
    assert [f"{one['id']}: {one['help']} {one['nodes']}" for one in found] == []


def _judged(page: Page) -> list[dict[str, object]]:
    """Run by the browser's own hand, past the page's policy, which lets nothing foreign in."""
    session = page.context.new_cdp_session(page)
    session.send("Runtime.evaluate", {"expression": AXE.read_text("utf-8")})
    answer = session.send(
        "Runtime.evaluate",
        {
            "expression": """axe.run(document, {resultTypes: ['violations']}).then((found) => found.violations
                .map(({id, help, nodes}) => ({id, help,
                    nodes: nodes.slice(0, 4).map((one) => one.html.slice(0, 160))})))""",
            "awaitPromise": True,
            "returnByValue": True,
        },
    )
    assert "value" in answer["result"], answer
    found: list[dict[str, object]] = answer["result"]["value"]
    return found


def test_each_section_begins_a_page_on_paper(
    hillclimb: Served, open_sheet: Callable[..., Page], tmp_path: Path
) -> None:
    page = open_sheet(hillclimb)
    for section in ("rail", "body", "oil", "motion", "suction", "kit"):
        near(page, section)
    page.wait_for_timeout(1000)
    with pdfplumber.open(BytesIO(page.pdf(format="A4"))) as paper:
        tops = [(sheet.extract_text() or "").lstrip().splitlines()[:1] for sheet in paper.pages]
    firsts = [line[0] for line in tops if line]
    for number, words in enumerate(SECTIONS, 1):
        assert any(line.startswith(f"{number} {words}") for line in firsts), (words, firsts)


def test_first_key_leads_past_the_line_to_the_sheet(
    hillclimb: Served, open_sheet: Callable[..., Page]
) -> None:
    page = open_sheet(hillclimb)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "to the sheet"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "sheet"


def test_a_section_is_reached_by_keys(page: Page) -> None:
    page.locator(".verdicts button", has_text="Suction").focus()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "heading-suction"
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('section').id") == "section-suction"
