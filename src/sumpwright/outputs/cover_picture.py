"""Where the pickup stays covered: over all corners and braking, and over all slopes.

White is covered as wanted, grey is covered less than wanted, black draws air.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.motion.model import CoverMap
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import write_number
from sumpwright.quantities.units import STANDARD_GRAVITY, Metre

_THIN = 2  # every second line of the map is drawn; the darkest of what lies between counts
_GREY, _BLACK = 0.72, 0.12


def draw_acceleration_cover(
    sheet: Sheet, covers: CoverMap, wanted: Metre, x: float, y: float, width: float, height: float
) -> None:
    """Left turns to the left, right turns to the right, accelerating up, braking down."""
    rings, headings = covers.shape
    across = covers.across.reshape(rings, headings) / STANDARD_GRAVITY
    along = covers.along.reshape(rings, headings) / STANDARD_GRAVITY
    cover = covers.cover.reshape(rings, headings)
    most = max(float(np.abs(across).max()), float(np.abs(along).max()), 0.1)
    middle_x, middle_y = x + width / 2, y + height / 2
    scale = (min(width, height) / 2 - 9.0) / most

    def place(left: float, forward: float) -> tuple[float, float]:
        return middle_x - left * scale, middle_y + forward * scale

    outer = rings - 1
    for low in range(0, outer, _THIN):
        high = min(low + _THIN, outer)
        for first in range(0, headings, _THIN):
            turns = [(first + k) % headings for k in range(_THIN + 1)]
            corners = [(low, t) for t in turns] + [(high, t) for t in reversed(turns)]
            worst = float(cover[low : high + 1][:, turns].min())
            _cell(sheet, [place(float(across[r, t]), float(along[r, t])) for r, t in corners], worst, wanted)
    rim = [place(float(across[outer, t]), float(along[outer, t])) for t in range(headings)]
    sheet.polyline(rim, close=True, weight=0.5)
    step = 0.5 if most > 0.6 else 0.1
    for k in range(1, math.floor(most / step + 1e-9) + 1):
        with sheet.dashed(0.8, 0.8):
            sheet.circle(middle_x, middle_y, k * step * scale, weight=0.1, grey=0.45)
        sheet.text(
            middle_x + 0.8, middle_y + k * step * scale - 2.2, f"{write_number(k * step, 1)} g", 6, halo=True
        )
    _axes(
        sheet,
        (middle_x, middle_y, most * scale),
        ("accelerating", "braking", "left turn", "right turn"),
    )


def draw_slope_cover(
    sheet: Sheet, covers: CoverMap, wanted: Metre, x: float, y: float, width: float, height: float
) -> None:
    """Nose up above, nose down below, leaned left to the left, leaned right to the right."""
    leans, noses = covers.shape
    across = np.degrees(covers.across.reshape(leans, noses))
    along = np.degrees(covers.along.reshape(leans, noses))
    cover = covers.cover.reshape(leans, noses)
    most = max(float(np.abs(across).max()), float(np.abs(along).max()), 1.0)
    middle_x, middle_y = x + width / 2, y + height / 2
    scale = (min(width, height) / 2 - 9.0) / most

    def place(right: float, up: float) -> tuple[float, float]:
        return middle_x + right * scale, middle_y + up * scale

    for a in range(0, leans - 1, _THIN):
        b = min(a + _THIN, leans - 1)
        for c in range(0, noses - 1, _THIN):
            d = min(c + _THIN, noses - 1)
            corners = [(a, c), (b, c), (b, d), (a, d)]
            worst = float(cover[a : b + 1, c : d + 1].min())
            _cell(sheet, [place(float(across[i, j]), float(along[i, j])) for i, j in corners], worst, wanted)
    low, high = place(float(across.min()), float(along.min())), place(float(across.max()), float(along.max()))
    sheet.box(*low, high[0] - low[0], high[1] - low[1], weight=0.5)
    for value, at in ((float(along.max()), high[1] + 1.2), (float(along.min()), low[1] - 3.2)):
        sheet.text(middle_x + 1.0, at, f"{write_number(abs(value), 1)}°", 6, halo=True)
    least, greatest = abs(float(across.min())), abs(float(across.max()))
    sheet.text(low[0] + 1.0, middle_y + 1.0, f"{write_number(least, 1)}°", 6, halo=True)
    sheet.text(high[0] - 1.0, middle_y + 1.0, f"{write_number(greatest, 1)}°", 6, align="right", halo=True)
    _axes(sheet, (middle_x, middle_y, most * scale), ("nose up", "nose down", "leaned left", "leaned right"))


def _cell(sheet: Sheet, corners: list[tuple[float, float]], cover: Metre, wanted: Metre) -> None:
    if cover >= wanted:
        return
    fill = _BLACK if cover < 0.0 else _GREY
    sheet.polyline(corners, close=True, weight=0.12, grey=fill, fill=fill)


def _axes(sheet: Sheet, where: tuple[float, float, float], words: tuple[str, str, str, str]) -> None:
    x, y, reach = where
    sheet.line(x - reach, y, x + reach, y, weight=0.15)
    sheet.line(x, y - reach, x, y + reach, weight=0.15)
    top, bottom, left, right = words
    sheet.text(x, y + reach + 4.6, top, 8, bold=True, align="middle")
    sheet.text(x, y - reach - 6.6, bottom, 8, bold=True, align="middle")
    sheet.text(x - reach - 2.0, y - 1.0, left, 8, bold=True, turn=90, align="middle", halo=True)
    sheet.text(x + reach + 4.0, y - 1.0, right, 8, bold=True, turn=90, align="middle", halo=True)
