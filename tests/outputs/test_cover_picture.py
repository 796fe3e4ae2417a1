"""The cover picture shows the map it was given, the right way round."""

from __future__ import annotations

import io
import math
from typing import Any

import numpy as np
import pytest

from sumpwright.motion.model import CoverMap
from sumpwright.outputs.cover_picture import draw_acceleration_cover, draw_slope_cover
from sumpwright.outputs.paper import Sheet, new_canvas
from sumpwright.quantities.units import STANDARD_GRAVITY

MM = 25.4 / 72.0
RINGS, HEADINGS = 9, 24


def _round_map(is_air: Any) -> CoverMap:
    rings = np.repeat(np.linspace(0.0, 1.0, RINGS), HEADINGS)
    headings = np.tile(np.arange(HEADINGS) * 2 * math.pi / HEADINGS, RINGS)
    across, along = rings * np.sin(headings), rings * np.cos(headings)
    cover = np.where(is_air(across, along), -0.01, 0.05)
    return _map(
        "accelerations", across * STANDARD_GRAVITY, along * STANDARD_GRAVITY, (RINGS, HEADINGS), cover
    )


def _map(kind: Any, across: Any, along: Any, shape: tuple[int, int], cover: Any) -> CoverMap:
    none = np.zeros(len(cover))
    return CoverMap(
        kind, across, along, shape, np.zeros((len(cover), 3)), none, cover, cover, none, none.astype(bool)
    )


def _dark(draw: Any, covers: CoverMap) -> list[tuple[float, float]]:
    """Middles of the filled cells, in mm from the picture's middle, y up."""
    import pdfplumber

    buffer = io.BytesIO()
    canvas = new_canvas(buffer, 120.0, 120.0, "map")
    draw(Sheet(canvas, 120.0, 120.0), covers, 0.02, 10.0, 10.0, 100.0, 100.0)
    canvas.showPage()
    canvas.save()
    with pdfplumber.open(io.BytesIO(buffer.getvalue())) as document:
        page = document.pages[0]
        cells = [shape for shape in (*page.curves, *page.rects) if shape["fill"] and shape["stroke"]]
        return [
            (
                (shape["x0"] + shape["x1"]) / 2 * MM - 60.0,
                60.0 - (shape["top"] + shape["bottom"]) / 2 * MM,
            )
            for shape in cells
        ]


@pytest.mark.expected_from("property", "left turns stand left, accelerating above")
@pytest.mark.parametrize(
    ("is_air", "left", "up"),
    [
        (lambda across, along: across > 0.3, -1, 0),
        (lambda across, along: across < -0.3, 1, 0),
        (lambda across, along: along > 0.3, 0, 1),
        (lambda across, along: along < -0.3, 0, -1),
    ],
)
def test_accelerations_are_the_right_way_round(is_air: Any, left: int, up: int) -> None:
    dark = _dark(draw_acceleration_cover, _round_map(is_air))
    assert len(dark) > 5
    assert all(x * left > 0 or y * up > 0 for x, y in dark)


@pytest.mark.expected_from("property", "a map without a bad load leaves the paper white")
def test_covered_everywhere_is_white() -> None:
    assert _dark(draw_acceleration_cover, _round_map(lambda across, along: across > 9)) == []


@pytest.mark.expected_from("property", "nose up stands above, leaned right at the right")
def test_slopes_are_the_right_way_round() -> None:
    lean, nose = np.meshgrid(np.linspace(-0.3, 0.3, 13), np.linspace(-0.3, 0.3, 15), indexing="ij")
    lean, nose = lean.ravel(), nose.ravel()
    cover = np.where((nose > 0.1) & (lean > 0.1), -0.01, 0.05)
    dark = _dark(draw_slope_cover, _map("slopes", lean, nose, (13, 15), cover))
    assert dark
    assert all(x > 0 and y > 0 for x, y in dark)
