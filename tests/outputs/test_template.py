"""The template read back as vectors by pdfplumber, in millimetres on the page."""

from __future__ import annotations

import io
import math
from typing import Any

import pytest

from sumpwright.outputs.template import OVERLAP, SEEN, template_pdf, tiling
from tests.outputs import sample

PLUMBER = "pdfplumber: millimetres on the page, independent of the writer"
MM = 25.4 / 72.0


def _pages(paper: str = "A4", units: str = "mm") -> list[Any]:
    import pdfplumber

    made = template_pdf(sample.job(paper=paper, units=units), sample.results())
    assert made is not None
    return pdfplumber.open(io.BytesIO(made)).pages


def _lines(page: Any) -> list[tuple[float, float, float, float]]:
    """Straight lines (x0, y0, x1, y1) in mm from the lower left."""
    out = []
    for line in page.lines:
        (ax, ay), (bx, by) = line["pts"]
        out.append((ax * MM, (page.height - ay) * MM, bx * MM, (page.height - by) * MM))
    return out


def _length(line: tuple[float, float, float, float]) -> float:
    return math.hypot(line[2] - line[0], line[3] - line[1])


@pytest.mark.expected_from("published", f"{PLUMBER}; 4 in = 101.6 mm (NIST SP 811)")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_page_has_true_bars_both_ways(paper: str) -> None:
    for page in _pages(paper):
        for length in (100.0, 101.6):
            bars = [line for line in _lines(page) if abs(_length(line) - length) < 0.02]
            assert any(abs(line[1] - line[3]) < 1e-6 for line in bars)
            assert any(abs(line[0] - line[2]) < 1e-6 for line in bars)


def _crosses(page: Any) -> list[tuple[float, float]]:
    """Centres of the hole crosses: equal lines lying and standing that halve each other."""
    lines = _lines(page)
    lying = [line for line in lines if abs(line[1] - line[3]) < 1e-3 and 9.0 < _length(line) < 17.0]
    standing = [line for line in lines if abs(line[0] - line[2]) < 1e-3 and 9.0 < _length(line) < 17.0]
    out = []
    for a in lying:
        x, y = (a[0] + a[2]) / 2, a[1]
        for b in standing:
            if abs(b[0] - x) < 1e-3 and abs((b[1] + b[3]) / 2 - y) < 1e-3 and abs(_length(a) - 10.0) > 0.2:
                out.append((x, y))
    return out


@pytest.mark.expected_from("published", f"{PLUMBER}; hole pairs of the pattern itself, within 0.02 mm")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_hole_pairs_on_each_page_are_true(paper: str) -> None:
    pattern = sample.pattern()
    where = {(round(x * 1e3, 3), round(-y * 1e3, 3)) for x, y in pattern.xy}
    found = 0
    for page in _pages(paper)[1:]:
        crosses = _crosses(page)
        # One cross fixes the page; then every other must stand on a hole.
        best = 0
        for hole in where:
            shift = (crosses[0][0] - hole[0], crosses[0][1] - hole[1])
            hits = [
                any(math.hypot(x - shift[0] - hx, y - shift[1] - hy) < 0.02 for hx, hy in where)
                for x, y in crosses
            ]
            best = max(best, sum(hits))
        assert best == len(crosses)
        found += len(crosses)
    assert found >= len(pattern.names)


@pytest.mark.expected_from("property", "from below the engine's left points down and its front to the right")
def test_plan_is_seen_from_below_not_mirrored() -> None:
    page = _pages()[1]
    words = {word["text"]: word for word in page.extract_words(y_tolerance=1)}
    # h1 is rear left, h15 rear right: from below, left stands lower on the page.
    assert words["h1"]["top"] > words["h15"]["top"]
    last = _pages()[-1]
    words = {word["text"]: word for word in last.extract_words(y_tolerance=1)}
    assert words["h7"]["top"] > words["h9"]["top"]
    assert words["h8"]["x0"] > words["h6"]["x0"]


def test_every_page_says_the_side_and_the_scale() -> None:
    for page in _pages():
        text = page.extract_text()
        assert SEEN.split(",")[0] in text
        assert "100 %" in text


def test_file_asks_for_no_scaling_and_embeds_its_font() -> None:
    import pypdfium2

    made = template_pdf(sample.job(), sample.results())
    assert made is not None
    assert b"/PrintScaling /None" in made
    assert b"/FontFile2" in made
    assert len(pypdfium2.PdfDocument(made)) == 4


def test_same_job_same_bytes() -> None:
    assert template_pdf(sample.job(), sample.results()) == template_pdf(sample.job(), sample.results())


def test_without_holes_there_is_no_template() -> None:
    assert template_pdf(sample.job(), sample.nothing()) is None


@pytest.mark.expected_from("property", "windows overlap by the stated strip and cover the whole box")
@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    "size", [(100.0, 80.0), (298.0, 212.0), (487.0, 238.0), (812.0, 246.0), (1500.0, 900.0)]
)
def test_pages_cover_the_plan(paper: str, size: tuple[float, float]) -> None:
    grid = tiling((-20.0, -12.0, -20.0 + size[0], -12.0 + size[1]), paper)
    first, last = grid.tiles[0], grid.tiles[-1]
    assert first.u < -20.0
    assert first.v < -12.0
    assert last.u + last.width > -20.0 + size[0]
    assert last.v + last.height > -12.0 + size[1]
    for a in grid.tiles:
        for b in grid.tiles:
            if a.row == b.row and b.column == a.column + 1:
                assert a.u + a.width - b.u == pytest.approx(OVERLAP)
