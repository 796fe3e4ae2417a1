"""The pan with its oil: what is drawn is what was worked out, and the sliders move it."""

from __future__ import annotations

import math

import pytest
from playwright.sync_api import Page

from tests.page.conftest import SETTLED, near, until

pytestmark = pytest.mark.browser


@pytest.fixture
def page(sheet: Page) -> Page:
    """The page that is only looked at, from its top."""
    sheet.evaluate("() => { scrollTo(0, 0); document.activeElement.blur(); }")
    return sheet


HOLDER = "#section-oil .holder"


def _stand(page: Page, **values: float) -> None:
    """Move sliders as a hand would: by their events."""
    page.evaluate(
        """(values) => {
            for (const [name, value] of Object.entries(values)) {
                const label = [...document.querySelectorAll('#section-oil .slider label')]
                    .find((one) => one.textContent === name);
                const slider = document.getElementById(label.htmlFor);
                slider.value = String(value);
                slider.dispatchEvent(new Event('input', {bubbles: true}));
            }
        }""",
        {name.replace("_", " "): value for name, value in values.items()},
    )


def _drawn(page: Page, litres: float) -> float:
    """Litres in the picture, once the answer for so many has come."""
    until(
        page,
        """([holder, litres]) => {
            const drawn = Number(document.querySelector(holder).dataset.litresDrawn);
            return Math.abs(drawn - litres) < 0.02;
        }""",
        [HOLDER, litres],
    )
    return float(page.locator(HOLDER).get_attribute("data-litres-drawn") or "nan")


@pytest.fixture
def oil_page(page: Page) -> Page:
    near(page, "oil")
    page.wait_for_selector(f"{HOLDER}[data-litres-drawn]")
    page.locator("#section-oil button", has_text="level, standing still").click()
    return page


@pytest.mark.expected_from("property", "the drawn solid holds the litres asked for, at any slope")
@pytest.mark.parametrize(
    ("nose", "lean", "litres"), [(0, 0, 3.0), (12, 0, 2.4), (0, -20, 3.6), (-9, 14, 4.0), (6, -8, 1.2)]
)
def test_drawn_oil_holds_the_litres(oil_page: Page, nose: int, lean: int, litres: float) -> None:
    _stand(oil_page, nose_up=nose, lean=lean, oil_in_the_pan=litres)
    # Levels come rounded to a tenth of a micrometre: over 0.1 m2 that is 1e-5 L.
    assert _drawn(oil_page, litres) == pytest.approx(litres, abs=2e-3)


@pytest.mark.expected_from("closed form", "on a slope the surface is level; braking tilts it by atan(a/g)")
def test_surface_is_level_on_slopes_and_tilts_under_braking(oil_page: Page) -> None:
    _stand(oil_page, nose_up=10, lean=-12, braking=0, turning=0, oil_in_the_pan=2.2)
    _drawn(oil_page, 2.2)
    assert float(oil_page.locator(HOLDER).get_attribute("data-surface-slope") or "nan") < 0.01
    _stand(oil_page, nose_up=0, lean=0, braking=0.5, oil_in_the_pan=1.4)
    _drawn(oil_page, 1.4)
    slope = float(oil_page.locator(HOLDER).get_attribute("data-surface-slope") or "nan")
    assert slope == pytest.approx(math.degrees(math.atan(0.5)), abs=0.01)


def test_sliders_work_by_keys_and_say_where_they_stand(oil_page: Page) -> None:
    slider = oil_page.locator("#section-oil .slider", has_text="nose up").locator("input")
    slider.focus()
    for _ in range(3):
        oil_page.keyboard.press("ArrowRight")
    assert slider.get_attribute("aria-valuetext") == "3° up"
    until(oil_page, "document.querySelector('#section-oil .answer').textContent.includes('3.0° up')")


def test_four_worded_looks_and_no_more(oil_page: Page) -> None:
    for section in ("body", "oil", "kit"):
        words = oil_page.locator(f"#section-{section} .looks .picture .views button").all_inner_texts()
        assert words == ["from below", "from the left", "from the front", "turn"]


def test_nothing_is_drawn_while_nothing_changes(oil_page: Page) -> None:
    oil_page.wait_for_timeout(1500)
    count = oil_page.evaluate(
        """async () => {
            let drawn = 0;
            for (const holder of document.querySelectorAll('.holder')) {
                holder.addEventListener('drawn', () => drawn++);
            }
            await new Promise((go) => setTimeout(go, 2500));
            return drawn;
        }"""
    )
    assert count == 0


@pytest.mark.expected_from("property", "the place of a finding stands in the middle of its picture")
def test_show_me_brings_the_place_into_the_middle(page: Page) -> None:
    near(page, "body")
    page.evaluate("() => { for (const box of document.querySelectorAll('details')) box.open = true; }")
    button = page.locator("#section-body .show-me").first
    button.scroll_into_view_if_needed()
    button.click()
    pointer = page.locator("#section-body .pointer")
    pointer.wait_for(state="visible")
    page.wait_for_timeout(800)
    holder = page.locator("#section-body .holder").bounding_box()
    spot = page.evaluate(
        """() => { const box = document.querySelector('#section-body .pointer').getBoundingClientRect();
            const style = getComputedStyle(document.querySelector('#section-body .pointer'));
            return [box.x - parseFloat(style.marginLeft), box.y - parseFloat(style.marginTop)]; }"""
    )
    assert holder is not None
    assert spot[0] == pytest.approx(holder["x"] + holder["width"] / 2, abs=4)
    assert spot[1] == pytest.approx(holder["y"] + holder["height"] / 2, abs=4)


def test_distance_between_two_corners_by_keys(page: Page) -> None:
    near(page, "body")
    page.wait_for_selector("#section-body .holder canvas")
    page.locator("#section-body button", has_text="from the left").click()
    page.locator("#section-body button", has_text="distance between two points").click()
    holder = page.locator("#section-body .holder")
    says = page.locator("#section-body .controls .readout").last
    holder.focus()
    page.keyboard.press("Enter")
    page.wait_for_timeout(200)
    for _ in range(6):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    assert "apart:" in says.inner_text()
    assert "mm" in says.inner_text()


def test_cut_away_opens_the_pan(page: Page) -> None:
    near(page, "body")
    holder = page.locator("#section-body .holder")
    holder.locator("canvas").wait_for(timeout=SETTLED)
    page.wait_for_timeout(1500)
    whole = holder.screenshot()
    page.select_option("#section-body .controls select", "the left side")
    page.wait_for_timeout(1500)
    cut = holder.screenshot()
    assert cut != whole
    page.select_option("#section-body .controls select", "nothing")
    page.wait_for_timeout(1500)
    assert holder.screenshot() == whole
