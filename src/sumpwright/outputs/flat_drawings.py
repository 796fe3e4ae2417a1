"""The flat parts with their sizes and marks, as the cutter will see them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import arc_of, chorded, outline_box
from sumpwright.kit import FlatPart
from sumpwright.kit.model import is_flange
from sumpwright.outputs.paper import BOLD, Sheet, text_width
from sumpwright.outputs.parts_list import seen_from
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_shop_length
from sumpwright.quantities.units import FloatArray

_SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0)

Place = Callable[[float, float], tuple[float, float]]


@dataclass(slots=True)
class _Taken:
    """Boxes of paper that words already stand on."""

    boxes: list[tuple[float, float, float, float]]
    lines: FloatArray  # (n, 2) points along every drawn line, 1 mm apart or less

    def is_free(self, x: float, y: float, half_width: float, half_height: float) -> bool:
        near = np.abs(self.lines - (x, y))
        on_a_line = (near[:, 0] < half_width) & (near[:, 1] < half_height)
        return not on_a_line.any() and all(
            abs(x - bx) >= half_width + bw or abs(y - by) >= half_height + bh for bx, by, bw, bh in self.boxes
        )

    def take(self, x: float, y: float, half_width: float, half_height: float) -> None:
        self.boxes.append((x, y, half_width, half_height))


def drawing_scale(part: FlatPart, width: float, height: float) -> float:
    """1 : this, the largest usual scale at which the part fits the room [mm]."""
    low, high = outline_box(part.outline)
    wanted = max(float(high[0] - low[0]) * 1e3 / width, float(high[1] - low[1]) * 1e3 / height)
    return next((scale for scale in _SCALES if scale >= wanted), math.ceil(wanted))


_BESIDE, _OVER, _UNDER = 21.0, 17.0, 20.0  # room round the drawing for sizes and words, mm


def drawing_height(part: FlatPart, width: float, tallest: float) -> float:
    """How high the box must be on the page for a part that fills its width [mm]."""
    scale = drawing_scale(part, width - 2 * _BESIDE, tallest - _OVER - _UNDER)
    low, high = outline_box(part.outline)
    return float(high[1] - low[1]) * 1e3 / scale + _OVER + _UNDER


def draw_flat(
    sheet: Sheet,
    part: FlatPart,
    number: int,
    units: UnitSystem,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """One part within a box on the page [mm]: name and stock above, drawing with sizes below."""
    sheet.box(x, y, width, height, weight=0.25)
    sheet.box(x, y + height - 7.0, 8.0, 7.0, weight=0.25, fill=0.9)
    sheet.text(x + 4.0, y + height - 5.2, str(number), 11, bold=True, align="middle")
    sheet.text(x + 10.0, y + height - 5.2, part.name, 11, bold=True)
    thickness = write_length(part.thickness, units)
    stock = f"{part.material}, {thickness}, {part.quantity} off. Seen from {seen_from(part)}."
    size = 7.5
    while text_width(stock, size) > width - 4.0 and size > 5.5:
        size -= 0.25
    sheet.text(x + 2.0, y + height - 10.8, stock, size)
    room_x, room_y = x + _BESIDE, y + _UNDER
    room_width, room_height = width - 2 * _BESIDE, height - _OVER - _UNDER
    scale = drawing_scale(part, room_width, room_height)
    low, high = outline_box(part.outline)
    factor = 1e3 / scale
    left = room_x + (room_width - float(high[0] - low[0]) * factor) / 2
    bottom = room_y + (room_height - float(high[1] - low[1]) * factor) / 2

    def place(u: float, v: float) -> tuple[float, float]:
        return left + (u - float(low[0])) * factor, bottom + (v - float(low[1])) * factor

    sheet.polyline([place(u, v) for u, v in chorded(part.outline, 2e-5)], close=True, weight=0.45, fill=0.95)
    for cut_out in part.cut_outs:
        sheet.polyline([place(u, v) for u, v in chorded(cut_out, 2e-5)], close=True, weight=0.45, fill=1.0)
    for mark in part.marks:
        for stroke in mark.strokes:
            sheet.polyline(
                [place(u, v) for u, v in stroke.points], weight=0.15, grey=0.55 if is_flange(part) else 0.2
            )
    taken = _Taken([], _along([part.outline, *part.cut_outs], place))
    for hole in part.holes:
        hx, hy = place(hole.x, hole.y)
        sheet.circle(hx, hy, hole.diameter / 2 * factor, weight=0.35, fill=1.0)
        taken.take(hx, hy, hole.diameter / 2 * factor + 0.6, hole.diameter / 2 * factor + 0.6)
    _overall(sheet, part, units, place, taken, x, y)
    taken.take(x + width / 2, y + height - 6.5, width / 2, 6.5)  # name and stock
    left_out = _sides(sheet, part, units, place, taken)
    _hole_words(sheet, part, units, place, taken)
    note = f"scale 1 : {write_number(scale, 1).removesuffix('.0')}"
    rounds = _radii(part)
    if rounds:
        note += (
            f"; round corners R {', '.join(write_shop_length(r, units).partition(' (')[0] for r in rounds)}"
        )
    if left_out:
        note += f"; {left_out} {'side' if left_out == 1 else 'sides'} not written here: see the cut file"
    sheet.text(x + 2.0, y + 1.8, note, 6.5, grey=0.3)
    if part.note:
        words, room = part.note, width - text_width(note, 6.5) - 8.0
        if text_width(words, 6.5) > room:
            while text_width(words + "…", 6.5) > room and words:
                words = words[:-1].rstrip()
            words += "…"
        sheet.text(x + width - 2.0, y + 1.8, words, 6.5, align="right")


def _along(outlines: list[Outline], place: Place) -> FloatArray:
    """Points along the outlines on the page, 1 mm apart or less."""
    points = []
    for outline in outlines:
        corners = [place(float(u), float(v)) for u, v in chorded(outline, 1e-4)]
        for (ax, ay), (bx, by) in zip(corners, corners[1:] + corners[:1], strict=True):
            count = max(1, math.ceil(math.hypot(bx - ax, by - ay)))
            points += [(ax + (bx - ax) * k / count, ay + (by - ay) * k / count) for k in range(count)]
    return np.array(points).reshape(-1, 2)


def _overall(
    sheet: Sheet, part: FlatPart, units: UnitSystem, place: Place, taken: _Taken, x: float, y: float
) -> None:
    """Length and width over all, below and at the left."""
    low, high = outline_box(part.outline)
    x1, y1 = place(float(low[0]), float(low[1]))
    x2, y2 = place(float(high[0]), float(high[1]))
    line_y, line_x = max(y + 7.5, y1 - 11.5), max(x + 4.0, x1 - 15.5)
    sheet.line(x1, line_y, x2, line_y, weight=0.15)
    sheet.line(line_x, y1, line_x, y2, weight=0.15)
    for px in (x1, x2):
        sheet.line(px, line_y - 1.3, px, line_y + 1.3, weight=0.15)
    for py in (y1, y2):
        sheet.line(line_x - 1.3, py, line_x + 1.3, py, weight=0.15)
    across = write_shop_length(float(high[0] - low[0]), units)
    up = write_shop_length(float(high[1] - low[1]), units)
    sheet.text((x1 + x2) / 2, line_y - 1.1, across, 8.5, bold=True, align="middle", halo=True)
    if y2 - y1 > text_width(up, 8.5, BOLD) + 4.0:
        sheet.text(line_x + 1.1, (y1 + y2) / 2, up, 8.5, bold=True, align="middle", turn=90, halo=True)
    else:
        half = text_width(up, 8.5, BOLD) / 2 + 1.0
        sheet.text(max(line_x + 2.0, x + half), y1 - 4.4, up, 8.5, bold=True, align="middle")
    taken.take((x1 + x2) / 2, line_y, (x2 - x1) / 2, 2.0)
    taken.take(line_x, (y1 + y2) / 2, 2.0, (y2 - y1) / 2)


def _sides(sheet: Sheet, part: FlatPart, units: UnitSystem, place: Place, taken: _Taken) -> int:
    """The length of each straight side; returns how many found no room."""
    if is_flange(part):
        # The outer line follows the bolts, hole by hole; what one measures is the opening.
        return sum(_side_words(sheet, cut_out, set(), units, place, taken) for cut_out in part.cut_outs)
    low, high = outline_box(part.outline)
    seen_sizes = {round(float(high[0] - low[0]), 7), round(float(high[1] - low[1]), 7)}
    return _side_words(sheet, part.outline, seen_sizes, units, place, taken)


def _side_words(
    sheet: Sheet,
    outline: Outline,
    seen_sizes: set[float],
    units: UnitSystem,
    place: Place,
    taken: _Taken,
) -> int:
    """Words beside each straight side whose size does not stand there yet."""
    left_out = 0
    points, bulges = outline.points, outline.bulges
    for k in range(len(points)):
        p, q = points[k], points[(k + 1) % len(points)]
        length = math.hypot(float(q[0] - p[0]), float(q[1] - p[1]))
        is_upright = min(abs(float(q[0] - p[0])), abs(float(q[1] - p[1]))) < 1e-9
        if bulges[k] != 0.0 or (is_upright and round(length, 7) in seen_sizes):
            continue
        words = write_shop_length(length, units).partition(" (")[0]
        middle = 0.5 * (p + q)
        along = (q - p) / length
        mx, my = place(float(middle[0]), float(middle[1]))
        half_width, half_height = text_width(words, 7.0) / 2 + 0.4, 1.4
        outward = (float(along[1]), -float(along[0]))
        for reach in (0.8, 3.5, -0.8, 6.5):
            distance = math.copysign(
                abs(reach) + abs(outward[0]) * half_width + abs(outward[1]) * half_height, reach
            )
            tx, ty = mx + outward[0] * distance, my + outward[1] * distance
            if taken.is_free(tx, ty, half_width, half_height):
                sheet.text(tx, ty - 0.9, words, 7.0, align="middle")
                taken.take(tx, ty, half_width, half_height)
                break
        else:
            left_out += 1
    return left_out


def _radii(part: FlatPart) -> list[float]:
    """Every radius among the outline's arcs once, largest first [m]."""
    points, bulges = part.outline.points, part.outline.bulges
    radii = {
        round(arc_of(points[k], points[(k + 1) % len(points)], float(bulges[k])).radius, 6)
        for k in range(len(points))
        if bulges[k] != 0.0
    }
    return sorted(radii, reverse=True)[:4]


def _hole_words(sheet: Sheet, part: FlatPart, units: UnitSystem, place: Place, taken: _Taken) -> None:
    for hole in part.holes:
        hx, hy = place(hole.x, hole.y)
        # The flange has a table of its holes; elsewhere the size stands beside the hole.
        size = "" if is_flange(part) else f"Ø {write_shop_length(hole.diameter, units).partition(' (')[0]}"
        words = f"{hole.label} {size}".strip()
        half_width = text_width(words, 7.0) / 2 + 0.4
        radius = abs(place(hole.x + hole.diameter / 2, hole.y)[0] - hx)
        options = [
            at
            for further in (0.0, 3.5, 7.0)
            for at in (
                (hx + radius + half_width + 0.8 + further, hy),
                (hx - radius - half_width - 0.8 - further, hy),
                (hx, hy + radius + 2.2 + further),
                (hx, hy - radius - 2.2 - further),
            )
        ]
        at = next((option for option in options if taken.is_free(*option, half_width, 1.4)), options[0])
        sheet.text(at[0], at[1] - 0.9, words, 7.0, align="middle")
        taken.take(*at, half_width, 1.4)
