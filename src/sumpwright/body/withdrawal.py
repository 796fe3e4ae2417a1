"""The way by which the finished pan comes off the engine past everything that stays.

Straight off the rail until the studs and dowels are free, then down; where it is stopped, a
slide to one side is looked for from which it can go on. Only slides are tried, no tipping.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.body.clearance import gathered
from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.outside import inside_parts, outside_parts
from sumpwright.body.surroundings import Withdrawal
from sumpwright.geometry.triangle_distance import group_triangles, least_gap, moved
from sumpwright.quantities.units import FloatArray, Metre

LEAST_STEP: Metre = 0.001
"""What is thinner than this along the way may be stepped over."""
LONGEST_STEP: Metre = 0.02
MOST_SLIDE: Metre = 0.15
SLIDE_STEP: Metre = 0.03
BACK_OFF: Metre = 0.005
"""Lifted by this before it is slid aside."""
MOST_TURNS = 4
FARTHEST: Metre = 0.6
"""Lowered this far it counts as off."""


@dataclass(frozen=True, slots=True, eq=False)
class _Stop:
    came: Metre
    blocked_by: str  # "" = came all the way
    least: Metre


def withdrawal(body: PanBody, cavity: Cavity) -> Withdrawal | None:
    """The way off, or where it is stopped; None where nothing stands round the pan."""
    around = body.inputs.surroundings
    if not around.keep_outs:
        return None
    outside, inside = gathered(outside_parts(body, cavity)), gathered(inside_parts(body, cavity))
    kept = [
        (out.name, inside if out.lies == "inside the pan" else outside, group_triangles(out.triangles))
        for out in around.keep_outs
    ]

    def nearest(place: FloatArray) -> tuple[Metre, str]:
        best: tuple[Metre, str] = (LONGEST_STEP, "")
        for name, parts, groups in kept:
            here = moved(parts.surface, np.eye(3), np.zeros(3), place)
            found = least_gap(here, groups, best[0], 0.0)
            if found is not None and found.gap < best[0]:
                best = found.gap, name
        return best

    up = np.asarray(around.placement.up_in_engine())
    axes = np.asarray(around.placement.attitude.matrix())
    sides = {
        "to the front": axes[0],
        "to the rear": -axes[0],
        "to the left": axes[1],
        "to the right": -axes[1],
    }
    # Once its rail lies below the lowest keep-out, nothing can stop it any more.
    lowest = min(float((out.triangles @ up).min()) for out in around.keep_outs)
    free = min(FARTHEST, max(0.0, float((cavity.vertices @ up).max()) - lowest) + LONGEST_STEP)
    return _way_off(free, nearest, up, sides, around.studs)


def _way_off(
    free: Metre,
    nearest: Callable[[FloatArray], tuple[Metre, str]],
    up: FloatArray,
    sides: dict[str, FloatArray],
    studs: Metre,
) -> Withdrawal:
    place = np.zeros(3)
    way: list[tuple[str, Metre]] = []
    start, _ = nearest(place)
    least = start
    if studs > 0.0:
        stop = _slide(place, np.array([0.0, 0.0, -1.0]), studs, nearest)
        least = min(least, stop.least)
        place = place + np.array([0.0, 0.0, -stop.came])
        if stop.blocked_by:
            return Withdrawal(False, (), stop.blocked_by, stop.came, least)
        way.append(("straight off the rail", stop.came))
    came = 0.0
    for _ in range(MOST_TURNS):
        stop = _slide(place, -up, free - came, nearest)
        place, came = place - stop.came * up, came + stop.came
        least = min(least, stop.least)
        if stop.came > 0.0:
            way.append(("down", stop.came))
        if not stop.blocked_by:
            return Withdrawal(True, tuple(way), "", came, least)
        back = min(BACK_OFF, stop.came)
        place, came = place + back * up, came - back
        if stop.came > 0.0:
            way[-1] = ("down", stop.came - back)
        aside = _shortest_slide(place, up, sides, free - came, nearest)
        if aside is None:
            return Withdrawal(False, tuple(way), stop.blocked_by, came, least)
        word, step = aside
        place = place + step * sides[word]
        way.append((word, step))
    return Withdrawal(False, tuple(way), stop.blocked_by, came, least)


def _shortest_slide(
    place: FloatArray,
    up: FloatArray,
    sides: dict[str, FloatArray],
    left: Metre,
    nearest: Callable[[FloatArray], tuple[Metre, str]],
) -> tuple[str, Metre] | None:
    """The shortest slide to one side from which the pan goes well on down."""
    onward = min(left, 2.0 * LONGEST_STEP)
    reach = {word: _slide(place, side, MOST_SLIDE, nearest).came for word, side in sides.items()}
    for step in np.arange(SLIDE_STEP, MOST_SLIDE + 1e-9, SLIDE_STEP):
        for word, side in sides.items():
            if step > reach[word]:
                continue
            if not _slide(place + step * side, -up, onward, nearest).blocked_by:
                return word, float(step)
    return None


def _slide(
    place: FloatArray,
    way: FloatArray,
    most: Metre,
    nearest: Callable[[FloatArray], tuple[Metre, str]],
) -> _Stop:
    """How far the pan goes one way before something stops it."""
    came, least = 0.0, LONGEST_STEP
    gap, name = nearest(place)
    while came < most:
        step = min(max(gap, LEAST_STEP), most - came)
        gap, name = nearest(place + (came + step) * way)
        if gap <= 0.0:
            return _Stop(came, name, least)
        came += step
        least = min(least, gap)
    return _Stop(came, "", least)
