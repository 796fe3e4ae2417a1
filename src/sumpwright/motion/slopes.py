"""What the oil would drown on a slope: crank sweep, rear seal, breather and returns."""

from __future__ import annotations

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.motion.loads import pull_of_slopes, slope_loads, slope_words
from sumpwright.motion.model import Envelope, NearestOnSlopes
from sumpwright.oil import OilResult, levels
from sumpwright.oil.model import CrankSweep
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import FloatArray


def nearest_on_slopes(
    oil: OilResult, envelope: Envelope, placement: EnginePlacement, open_top: Surface
) -> tuple[NearestOnSlopes, ...]:
    """For each height that the oil stage judged level: the slope on which least of it is left."""
    if not oil.heights:
        return ()
    nose, lean = slope_loads(envelope)
    up, _ = pull_of_slopes(nose, lean, placement)
    by_volume: dict[float, FloatArray] = {}
    found = []
    for one in oil.heights:
        if one.oil_volume not in by_volume:
            by_volume[one.oil_volume] = levels(open_top, up, max(0.0, one.oil_volume))
        if one.kind == "crank":
            if oil.crank is None:
                continue
            low = lowest_heights(oil.crank, up)
        else:
            low = up @ np.array(one.place)
        left = low - by_volume[one.oil_volume]
        k = int(np.argmin(left))
        found.append(
            NearestOnSlopes(
                name=one.name,
                kind=one.kind,
                words=slope_words(float(nose[k]), float(lean[k])),
                nose_up=float(nose[k]),
                lean_right=float(lean[k]),
                height_left=float(left[k]),
            )
        )
    return tuple(found)


def lowest_heights(crank: CrankSweep, up: FloatArray) -> FloatArray:
    """Height (k,) [m] of the lowest point of a swept cylinder along each up (k, 3)."""
    axis = crank.front - crank.rear
    axis = axis / np.linalg.norm(axis)
    across = np.sqrt(np.maximum(0.0, 1.0 - (up @ axis) ** 2))
    ends = np.minimum(up @ crank.rear, up @ crank.front)
    heights: FloatArray = ends - crank.sweep_radius * across
    return heights
