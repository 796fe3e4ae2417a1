"""How fast this machine runs a free surface, and what a run will take. Never decides a number of the pan."""

from __future__ import annotations

import math
import time

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.domain import make_domain
from sumpwright.motion.free_surface.layout import lay_out
from sumpwright.motion.free_surface.seeding import fill
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.quantities.units import CubicMetre, Metre, Second

PARCELS_A_CELL = 8
STEPS_A_SECOND = 250.0
"""Steps of one simulated second at 8 mm under hard driving, measured; grows as 1 / cell."""
FEWEST_STEPS = 200.0
"""Steps of one simulated second however large the cells, by the longest step."""
USUAL_PACE = 4e6
"""Parcel-steps a second of one small machine."""
FEWEST_TRIED = 12
BESIDES = 1.3
"""Time of a whole run over that of its steps: figures, pump, doors, replay and checkpoints; measured."""
COARSEST: Metre = 0.02
"""Larger cells tell nothing of a pan."""


def seconds_for(
    oil: CubicMetre, length: Second, cell: Metre, parcel_steps_a_second: float = USUAL_PACE
) -> Second:
    """About how long a run of ``length`` [s] takes; parcels grow with 1 / cell^3 and steps with 1 / cell."""
    steps = max(STEPS_A_SECOND * 0.008 / cell, FEWEST_STEPS) * length
    return oil / cell**3 * PARCELS_A_CELL * steps / parcel_steps_a_second


def measured_pace(parcels: int = 30_000, seconds: Second = 2.0) -> float:
    """Parcel-steps a second of the processor engine, from a short trial in a plain box.

    The trial lasts long enough that whatever else this machine is busy with gets its turn in it.
    """
    from sumpwright.motion.free_surface.engine_cpu import CpuEngine

    cell = 0.01
    depth = parcels / PARCELS_A_CELL * cell**3 / (0.4 * 0.25)
    corners = np.array([[x, y, z] for x in (0, 0.4) for y in (0, 0.25) for z in (0, 3 * depth)], float)
    quads = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    box = Surface(corners, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]))
    domain = make_domain(box, cell)
    oil, each = fill(domain, np.array([0.0, 0.0, 1.0]), parcels / PARCELS_A_CELL * cell**3)
    engine = CpuEngine(domain, lay_out(domain), oil, each, 1e-5, 5.0)
    pull = np.array([0.6, 0.2, -1.0]) * STANDARD_GRAVITY
    for _ in range(3):
        engine.step(pull, 0.004)
    started, steps, gone = time.perf_counter(), 0, 0.0
    while gone < seconds or steps < FEWEST_TRIED:
        engine.step(pull if steps % 60 < 30 else pull * [-1.0, -1.0, 1.0], 0.004)
        engine.liquid_speed()
        steps += 1
        gone = time.perf_counter() - started
    return float(engine.count * steps) / (gone * BESIDES)


def cell_for_time(
    oil: CubicMetre, length: Second, allowed: Second, parcel_steps_a_second: float = USUAL_PACE
) -> Metre:
    """Smallest cell [m] with which ``length`` [s] of driving is through in the time allowed [s].

    Raises ValueError where there is nothing to run or no time.
    """
    if not (allowed > 0.0 and length > 0.0 and oil > 0.0):
        raise ValueError("oil, length of the trace and time allowed must all be above nothing")
    low, high = 1e-3, 1.0
    if seconds_for(oil, length, low, parcel_steps_a_second) <= allowed:
        return low
    while high - low > 1e-7:
        middle = math.sqrt(low * high)
        if seconds_for(oil, length, middle, parcel_steps_a_second) > allowed:
            low = middle
        else:
            high = middle
    return high
