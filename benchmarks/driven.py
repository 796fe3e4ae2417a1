"""Eight compartments with doors, driven: how many times faster than the clock.

Run: python -m benchmarks.driven
"""

from __future__ import annotations

import resource
import time

import numpy as np

from benchmarks import Row
from sumpwright.geometry import Surface
from sumpwright.motion.chambers import enclosed
from sumpwright.motion.driven import drive
from sumpwright.motion.driven_model import Chambers, DrivenOil, PumpDemand, Trace, Way
from sumpwright.motion.loads import envelope_of
from sumpwright.motion.logs import Log, trace_of
from sumpwright.motion.manoeuvres import manoeuvres
from sumpwright.motion.model import Loads
from sumpwright.quantities import EnginePlacement

G = 9.80665


def _box(x0: float, x1: float, y0: float, y1: float) -> Surface:
    corners = np.array([[x, y, z] for x in (x0, x1) for y in (y0, y1) for z in (-0.15, 0.3)])
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return Surface(corners, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]))


def _door(a: int, b: int, centre: np.ndarray, normal: int) -> Way:
    across = np.eye(3)[1 - normal]
    up = np.array([0.0, 0.0, 1.0])
    grid = [(i, j) for i in range(6) for j in range(6)]
    spots = np.array([centre + (i - 2.5) * 0.01 * across + (j - 2.5) * 0.01 * up for i, j in grid])
    return Way(
        name=f"door {a}-{b}",
        between=(a, b),
        centre=centre,
        patches=spots,
        patch_areas=np.full(36, 1e-4),
        patch_sides=np.tile(np.stack([0.005 * across, 0.005 * up]), (36, 1, 1)),
        hydraulic_diameter=0.06,
        thickness=0.002,
        girth=0.24,
        passes=1,
        is_door=True,
        lag=0.03,
        leak_gap=2e-4,
        overlap=5e-3,
    )


def eight() -> Chambers:
    """Four by two compartments, ten doors."""
    surfaces, ways = [], []
    for i in range(4):
        for j in range(2):
            surfaces.append(_box(0.15 * i, 0.15 * (i + 1), 0.125 * j, 0.125 * (j + 1)))
    for i in range(3):
        for j in range(2):
            spot = np.array([0.15 * (i + 1), 0.125 * j + 0.0625, -0.115])
            ways.append(_door(2 * i + j, 2 * (i + 1) + j, spot, 0))
    for i in range(4):
        ways.append(_door(2 * i, 2 * i + 1, np.array([0.15 * i + 0.075, 0.125, -0.115]), 1))
    return Chambers(
        names=tuple(f"c{k}" for k in range(8)),
        surfaces=tuple(surfaces),
        capacities=np.array([enclosed(s) for s in surfaces]),
        axes=np.tile(np.eye(3), (8, 1, 1)),
        lengths=np.tile([0.15, 0.125], (8, 1)),
        ways=tuple(ways),
        mouth=np.array([0.52, 0.19, -0.14]),
        mouth_axis=np.array([0.0, 0.0, 1.0]),
        mouth_radius=0.016,
        home=7,
        returns=np.full(8, 0.125),
        crank=np.empty((0, 4)),
        rail_points=np.empty((0, 3)),
    )


def run() -> list[Row]:
    """One minute of hard driving."""
    step = 0.004
    times = np.arange(0.0, 60.0, step)
    pulls = np.stack(
        [
            -G * np.sin(2 * np.pi * 0.3 * times),
            -1.3 * G * np.sin(2 * np.pi * 0.7 * times),
            np.full_like(times, -G),
        ],
        axis=1,
    )
    trace = Trace("hard", "hard driving", step, pulls, np.full(len(times), 100.0), 0.3)
    oil = DrivenOil(4e-3, 9e-4, 1.0, 820.0, 0.01, 0.05)
    pan, pump = eight(), PumpDemand(9e-4, 100.0)
    drive(pan, trace, oil, pump)
    start = time.process_time()
    drive(pan, trace, oil, pump)
    taken = time.process_time() - start
    envelope = envelope_of(Loads(use="summer tyres"))
    traces = manoeuvres(envelope, EnginePlacement(), 100.0, 15.0, is_afloat=False)
    start = time.process_time()
    for k in range(100):
        drive(pan, traces[k % len(traces)], oil, pump)
    hundred = time.process_time() - start
    seconds = sum(traces[k % len(traces)].length for k in range(100))
    long_log = _half_hour()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    start = time.process_time()
    drive(pan, trace_of(long_log, EnginePlacement(), 100.0), oil, pump)
    half_hour = time.process_time() - start
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    return [
        Row(
            "8 compartments, 10 doors: a minute of hard driving",
            taken,
            60.0,
            60.0 / taken,
            "the clock",
            "200 times faster than real time",
            "processor time of one core",
        ),
        Row(
            "100 manoeuvres, 8 compartments",
            hundred,
            seconds,
            seconds / hundred,
            "the clock",
            "under 10 s",
            "processor time of one core",
        ),
        Row(
            "a 30-minute log at 100 lines a second, 8 compartments",
            half_hour,
            1800.0,
            1800.0 / half_hour,
            "the clock",
            "under 20 s and 500 MB",
            f"processor time; {grown:.0f} MB more memory",
        ),
    ]


def _half_hour() -> Log:
    times = np.arange(0.0, 1800.0, 0.01)
    wave = np.sin(2 * np.pi * times / 9.0)
    return Log("long", times, 0.4 * G * np.cos(times), 0.9 * G * wave, np.full_like(times, G), True)


if __name__ == "__main__":
    for row in run():
        print(row)
