"""The rail as it was measured: holes, readings, how far each hole could be off."""

from __future__ import annotations

import math
from contextlib import nullcontext

from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.plan import RailPlan
from sumpwright.outputs.words import UnitSystem, write_length
from sumpwright.rail import ReadingCheck

_STEPS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)


def exaggeration(plan: RailPlan, scale: float) -> int:
    """How many times too big the ellipses are drawn: a round number, the longest about 5 mm on paper.

    ``scale`` is paper millimetres a metre.
    """
    longest = max((hole.off_by.long for hole in plan.holes), default=0.0)
    if longest <= 0.0:
        return 1
    fitting = [step for step in _STEPS if longest * scale * step <= 5.0]
    return max(fitting, default=1)


_FOOT, _OVER = 18.0, 8.0  # below and above the plan, mm


def sketch_height(plan: RailPlan, width: float, tallest: float) -> float:
    """How high the sketch must be on the page when the plan fills its width [mm]."""
    low_u, low_v, high_u, high_v = plan.box()
    scale = (width - 16.0) / (high_u - low_u + 1e-9)
    return min(tallest, (high_v - low_v) * scale + _FOOT + _OVER + 8.0)


def draw_rail_sketch(
    sheet: Sheet,
    plan: RailPlan,
    checks: tuple[ReadingCheck, ...],
    not_told_apart: tuple[tuple[int, ...], ...],
    datum: str,
    units: UnitSystem,
    x: float,
    y: float,
    width: float,
    height: float,
) -> None:
    """The sketch within a box on the page [mm], seen from below, front to the right."""
    low_u, low_v, high_u, high_v = plan.box()
    room = height - _FOOT - _OVER
    scale = min((width - 16.0) / (high_u - low_u + 1e-9), room / (high_v - low_v + 1e-9))
    left = x + (width - (high_u - low_u) * scale) / 2
    top = y + height - _OVER

    def place(u: float, v: float) -> tuple[float, float]:
        return left + (u - low_u) * scale, top - (v - low_v) * scale

    for line in (*plan.outside, *plan.inside):
        sheet.polyline([place(u, v) for u, v in line], close=True, weight=0.18, grey=0.6)
    where = {hole.name: place(hole.u, hole.v) for hole in plan.holes}
    open_ones = {index for group in not_told_apart for index in group}
    for index, check in enumerate(checks):
        a, b = check.reading.a, check.reading.b
        if b is None or a not in where or b not in where or check.set_aside or index in open_ones:
            continue
        nobody_checks = check.normalised is None
        with sheet.dashed(0.8, 1.0) if nobody_checks else nullcontext():
            sheet.line(*where[a], *where[b], weight=0.12, grey=0.45 if nobody_checks else 0.72)
    _ellipses(sheet, plan, scale, where)
    for hole in plan.holes:
        hx, hy = where[hole.name]
        sheet.circle(hx, hy, 1.1, weight=0.3, fill=1.0)
        if hole.name == datum:
            sheet.circle(hx, hy, 2.0, weight=0.3)
    for index, check in enumerate(checks):
        if check.set_aside or index in open_ones:
            _suspect(sheet, check, where, units)
    _names(sheet, plan, where, scale)
    sheet.arrow(x + width - 24.0, y + 9.5, x + width - 6.0, y + 9.5)
    sheet.text(x + width - 26.0, y + 8.6, "front", 8, align="right")
    times = exaggeration(plan, scale)
    sheet.text(x, y + 8.6, "Seen from below; the engine's left points down the page.", 8, bold=True)
    sheet.text(
        x,
        y + 4.8,
        f"Ellipses: the true centre lies inside 95 times of 100, drawn {times} times too big"
        f" against the rail. Double circle: datum hole {datum}.",
        7.2,
    )
    sheet.text(
        x,
        y + 1.2,
        "Grey: readings that agree. Dashed grey: nothing checks it. Thick, crossed: does not agree.",
        7.2,
    )


def _ellipses(sheet: Sheet, plan: RailPlan, scale: float, where: dict[str, tuple[float, float]]) -> None:
    times = exaggeration(plan, scale)
    for hole in plan.holes:
        hx, hy = where[hole.name]
        long, short = hole.off_by.long * scale * times, hole.off_by.short * scale * times
        c, s = math.cos(hole.off_by.turn), math.sin(hole.off_by.turn)
        points = []
        for k in range(48):
            p, q = long * math.cos(k * math.pi / 24), short * math.sin(k * math.pi / 24)
            points.append((hx + p * c - q * s, hy - (p * s + q * c)))
        sheet.polyline(points, close=True, weight=0.22, fill=0.9)


def _suspect(
    sheet: Sheet, check: ReadingCheck, where: dict[str, tuple[float, float]], units: UnitSystem
) -> None:
    a, b = check.reading.a, check.reading.b
    if b is None or a not in where or b not in where:
        return
    (ax, ay), (bx, by) = where[a], where[b]
    with sheet.dashed(2.4, 1.2):
        sheet.line(ax, ay, bx, by, weight=0.6)
    mx, my = (ax + bx) / 2, (ay + by) / 2
    for sign in (1, -1):
        sheet.line(mx - 3, my - 3 * sign, mx + 3, my + 3 * sign, weight=0.9)
    words = f"read {write_length(check.reading.value, units, 2)}"
    if check.should_have_been is not None:
        words += f", should be {write_length(check.should_have_been, units, 2)}"
    middle = sum(x for x, _ in where.values()) / len(where)
    if mx > middle:
        sheet.text(mx - 5.0, my - 1.0, words, 8, bold=True, halo=True, align="right")
    else:
        sheet.text(mx + 5.0, my - 1.0, words, 8, bold=True, halo=True)


def _names(sheet: Sheet, plan: RailPlan, where: dict[str, tuple[float, float]], scale: float) -> None:
    """Each name outside its hole, away from the middle of the rail, clear of its ellipse."""
    low_u, low_v, high_u, high_v = plan.box()
    middle_u, middle_v = (low_u + high_u) / 2, (low_v + high_v) / 2
    half_u = max(abs(hole.u - middle_u) for hole in plan.holes) or 1.0
    half_v = max(abs(hole.v - middle_v) for hole in plan.holes) or 1.0
    times = exaggeration(plan, scale)
    for hole in plan.holes:
        hx, hy = where[hole.name]
        du, dv = hole.u - middle_u, hole.v - middle_v
        long, short = hole.off_by.long * scale * times, hole.off_by.short * scale * times
        c, s = math.cos(hole.off_by.turn), math.sin(hole.off_by.turn)
        reach_x = max(2.2, math.hypot(long * c, short * s)) + 1.2
        reach_y = max(2.2, math.hypot(long * s, short * c)) + 1.2
        if abs(dv) / half_v >= abs(du) / half_u:
            sheet.text(
                hx, hy + (reach_y if dv < 0 else -reach_y - 2.4), hole.name, 8, bold=True, align="middle"
            )
        elif du > 0:
            sheet.text(hx + reach_x, hy - 1.0, hole.name, 8, bold=True)
        else:
            sheet.text(hx - reach_x, hy - 1.0, hole.name, 8, bold=True, align="right")
