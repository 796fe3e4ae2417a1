"""The free surface under hard driving: simulated seconds a second, and parcel-steps a second.

Run: python -m benchmarks free_surface
"""

from __future__ import annotations

import math
import time

import numpy as np

from benchmarks import Row
from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.constants import COURANT, LONGEST_STEP
from sumpwright.motion.free_surface.domain import make_domain
from sumpwright.motion.free_surface.engine_cpu import CpuEngine
from sumpwright.motion.free_surface.engine_numpy import ArrayEngine
from sumpwright.motion.free_surface.layout import lay_out
from sumpwright.motion.free_surface.seeding import fill

G = 9.80665
SECONDS = 1.0
TWIN_STEPS = 5


def run() -> list[Row]:
    """5 L in 600 x 250 x 150 mm, 8 mm cells, 1.3 g to the sides and 1 g fore and aft, hot oil."""
    corners = np.array([[x, y, z] for x in (0, 0.6) for y in (0, 0.25) for z in (0, 0.15)], float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    surface = Surface(corners, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]))
    domain = make_domain(surface, 0.008)
    parcels, each = fill(domain, np.array([0.0, 0.0, 1.0]), 0.005)
    engine = CpuEngine(domain, lay_out(domain), parcels, each, 1e-5, 5.0)
    for _ in range(10):
        engine.step(np.array([0.0, 0.0, -G]), 0.002)
    now, steps, start = 0.0, 0, time.perf_counter()
    while now < SECONDS:
        dt = min(LONGEST_STEP, COURANT / max(engine.liquid_speed(), 1e-6))
        pull = [-G * math.sin(math.pi * now), -1.3 * G * math.sin(2.0 * math.pi * now), -G]
        engine.step(np.array(pull), dt)
        now += dt
        steps += 1
    took = time.perf_counter() - start
    pace = engine.count * steps / took
    # The plain twin takes the same step from the same state; a few are enough to know its pace.
    twin = ArrayEngine(domain, lay_out(domain), engine.host("parcels"), each, 1e-5, 5.0)
    twin.set_faces(engine.faces(), engine.host("pressure"))
    started = time.process_time()
    for _ in range(TWIN_STEPS):
        twin.step(np.array([0.0, 0.0, -G]), 0.004)
    plain = (time.process_time() - started) / TWIN_STEPS * steps
    return [
        Row(
            work=f"free surface, 8 mm cells, 5 L, {SECONDS:g} s of hard driving",
            ours=took,
            reference=plain,
            ratio=plain / took,
            reference_name="the same method in plain numpy",
            target="real time",
            note=f"{now / took:.2f} of real time on {engine.lanes} threads, "
            f"{pace / 1e6:.2f} M parcel-steps/s",
        ),
    ]
