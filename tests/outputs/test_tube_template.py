"""The wrap templates read back in millimetres on the page, and what the sheet says of the inside."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sumpwright.body.pickup_line import PickupLine, TubeCorner, TubeSection
from sumpwright.job.model import JobResults
from sumpwright.kit.internals_model import Internals
from sumpwright.kit.pickup_tube import pickup_tube
from sumpwright.outputs.tube_template import tube_template_pdf
from sumpwright.quantities.units import frozen_array
from tests.outputs import sample

MM = 25.4 / 72.0
PLUMBER = "pdfplumber: millimetres on the page, independent of the writer"


def results(turn: float, shape: str = "round") -> JobResults:
    """The sample's results with a tube of 25 mm that turns once."""
    end = [0.1 + 0.08 * math.cos(turn), 0.0, 0.08 * math.sin(turn)]
    path = frozen_array([[0.0, 0.0, 0.0], [0.1, 0.0, 0.0], end])
    section = TubeSection(shape, 0.022, 0.022, 0.0015)  # type: ignore[arg-type]
    tube = pickup_tube(PickupLine(section, path, (TubeCorner("mitre", None),), path[-1]))
    before = sample.results()
    assert before.kit is not None
    return replace(before, kit=replace(before.kit, internals=Internals((), (), tube=tube)))


def page_of(made: bytes | None) -> Any:
    import pdfplumber

    assert made is not None
    (page,) = pdfplumber.open(io.BytesIO(made)).pages
    return page


def heavy_line(page: Any) -> np.ndarray:
    """Points of the saw line [mm]: the curve with the most points."""
    curve = max(page.curves, key=lambda c: len(c["pts"]))
    return np.array([(x * MM, (page.height - y) * MM) for x, y in curve["pts"]])


@pytest.mark.expected_from(
    "closed form", f"y = r tan(theta/2) (1 + cos(phi)), girth 2 pi r, r = 12.5 mm; {PLUMBER}"
)
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_saw_line_is_a_true_cosine_on_paper(paper: str) -> None:
    turn = math.radians(70)
    page = page_of(tube_template_pdf(sample.job(paper=paper), results(turn)))
    line = heavy_line(page)
    away = line - line[0]
    assert away[-1, 0] == pytest.approx(2 * math.pi * 12.5, abs=0.02)
    around = away[:, 0] / 12.5 - math.pi
    np.testing.assert_allclose(away[:, 1], 12.5 * math.tan(turn / 2) * (1 + np.cos(around)), atol=0.02)


@pytest.mark.expected_from("published", f"{PLUMBER}; 4 in = 101.6 mm (NIST SP 811)")
def test_the_page_has_true_bars() -> None:
    page = page_of(tube_template_pdf(sample.job(), results(1.0)))
    lengths = [abs(line["x1"] - line["x0"]) * MM for line in page.lines]
    for wanted in (100.0, 101.6):
        assert min(abs(length - wanted) for length in lengths) < 0.02


@pytest.mark.expected_from("property", "a tube without a mitre needs no template")
def test_without_a_mitre_there_is_no_template() -> None:
    assert tube_template_pdf(sample.job(), results(0.0)) is None
    assert tube_template_pdf(sample.job(), sample.results()) is None
