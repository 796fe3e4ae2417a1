"""The dipstick with its marks, drawn along the stick."""

from __future__ import annotations

from sumpwright.oil import DipMark
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import UnitSystem, write_shop_length, write_value
from sumpwright.quantities.units import Metre


def draw_stick(
    sheet: Sheet,
    length: Metre,
    marks: tuple[DipMark, ...],
    units: UnitSystem,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """The stick lying, shoulder at the left, within a box on the page [mm]."""
    left, right = x + 8.0, x + width - 8.0
    scale = (right - left) / length
    middle = y + height * 0.52
    sheet.box(left, middle - 1.2, length * scale, 2.4, weight=0.3, fill=0.93)
    sheet.box(left - 3.5, middle - 4.0, 3.5, 8.0, weight=0.3, fill=0.75)
    sheet.text(left - 3.5, middle - 8.0, "shoulder", 7.5)
    sheet.text(right, middle - 8.0, "tip", 7.5, align="right")
    readable = sorted(
        (mark for mark in marks if mark.from_stop is not None), key=lambda mark: mark.from_stop or 0.0
    )
    for k, mark in enumerate(readable):
        if mark.from_stop is None:
            continue
        at = left + mark.from_stop * scale
        sheet.line(at, middle - 3.0, at, middle + 3.0, weight=0.7)
        above = k % 2 == 0
        line_y = middle + (7.0 if above else -15.0)
        sheet.line(left, line_y, at, line_y, weight=0.15)
        for px in (left, at):
            sheet.line(px, line_y - 1.2, px, line_y + 1.2, weight=0.15)
        sheet.line(at, middle, at, line_y, weight=0.1, grey=0.5)
        words = (
            f"{mark.name}: {write_shop_length(mark.from_stop, units)} from the shoulder,"
            f" {write_value(mark.volume, 'm3', 'volume', units)} in the pan"
        )
        sheet.text(left + 2.0, line_y + 1.6, words, 9, bold=True, halo=True)
