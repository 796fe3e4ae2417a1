"""The free surface on a graphics card: 3 mm cells, parcel-steps a second, share of the card's bandwidth.

Run: python -m benchmarks free_surface_card, or, on a machine with numpy and CuPy alone,
PYTHONPATH=src:. python -m benchmarks.free_surface_card
"""

from __future__ import annotations

import math
import time

import numpy as np

from benchmarks import Row
from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.constants import COURANT, LONGEST_STEP
from sumpwright.motion.free_surface.domain import make_domain
from sumpwright.motion.free_surface.layout import lay_out
from sumpwright.motion.free_surface.seeding import fill
from sumpwright.motion.free_surface.spin import Spin

G = 9.80665
PARCEL_BYTES = 4 * (3 + 6)
"""Read and written of each parcel in a step, at least; what it reads and adds on the grid is not counted."""
WORK = "free surface on a graphics card, {cell:g} mm cells, 5 L, hard driving"


def run(cells: tuple[float, ...] = (0.008, 0.005, 0.003), seconds: float = 0.5) -> list[Row]:
    """5 L in 600 x 250 x 150 mm, 1.3 g to the sides and 1 g fore and aft, hot oil."""
    try:
        import cupy

        cards = cupy.cuda.runtime.getDeviceCount()
    except Exception as error:
        why = f"not measured: {type(error).__name__}"
        return [Row(WORK.format(cell=3), ours=None, target="half real time", note=why)]
    if not cards:
        return [Row(WORK.format(cell=3), ours=None, target="half real time", note="not measured: no card")]
    peak = bandwidth(cupy)
    return [one(cupy, cell, seconds, peak) for cell in cells]


def bandwidth(cupy) -> float:  # type: ignore[no-untyped-def]
    """Bytes a second that a plain copy on the card reads and writes."""
    source = cupy.zeros(1 << 28, np.float32)
    target = cupy.empty_like(source)
    for _ in range(3):
        target[...] = source
    cupy.cuda.Device().synchronize()
    start = time.perf_counter()
    for _ in range(10):
        target[...] = source
    cupy.cuda.Device().synchronize()
    rate = 2 * 10 * source.nbytes / (time.perf_counter() - start)
    del source, target
    cupy.get_default_memory_pool().free_all_blocks()
    return rate


def box(length: float, width: float, height: float) -> Surface:
    """A box with a corner at the origin."""
    corners = np.array([[x, y, z] for x in (0, length) for y in (0, width) for z in (0, height)], float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return Surface(corners, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]))


def agreement(steps: int = 12) -> str:
    """Cold oil in a turning box with a shut wall half way up its middle: the card beside plain arrays."""
    from sumpwright.motion.free_surface.engine_gpu import CardEngine
    from sumpwright.motion.free_surface.engine_numpy import ArrayEngine

    domain = make_domain(box(0.3, 0.1, 0.15), 0.02)
    parcels, each = fill(domain, np.array([0.0, 0.0, 1.0]), 0.3 * 0.1 * 0.06)
    shut = [np.zeros(s, np.uint8) for s in (domain.open_x.shape, domain.open_y.shape, domain.open_z.shape)]
    shut[0][domain.shape[0] // 2, :, : domain.shape[2] // 2] = 1
    pair = [make(domain, lay_out(domain), parcels, each, 5e-4, 9.0) for make in (ArrayEngine, CardEngine)]
    for engine in pair:
        engine.set_shut(shut)
        for step in range(steps):
            pull = np.array([0.6 * G * math.sin(0.3 * step), 0.2 * G, -G])
            engine.step(pull, 0.005, Spin(np.array([0.0, 0.3, 2.0]), np.array([0.0, 0.0, 5.0])))
    places = [engine.host("parcels")[:3].astype(float).mean(axis=1) for engine in pair]
    speeds = [math.sqrt(float((engine.host("parcels")[3:6] ** 2).sum(axis=0).mean())) for engine in pair]
    kinds = float((pair[0].host("kind") != pair[1].host("kind")).mean())
    return (
        f"after {steps} hard steps: the oil's middle {np.abs(places[0] - places[1]).max():.4f} cells apart, "
        f"speed {speeds[1] / speeds[0]:.4f} of the other's, {100 * kinds:.2f} % of the cells of another kind"
    )


def moving(engine, cell: float, steps: int):  # type: ignore[no-untyped-def]
    """An engine with the oil some steps under way."""
    domain = make_domain(box(0.6, 0.25, 0.15), cell)
    parcels, each = fill(domain, np.array([0.0, 0.0, 1.0]), 0.005)
    made = engine(domain, lay_out(domain), parcels, each, 1e-5, 5.0)
    for _ in range(steps):
        made.step(np.array([0.3 * G, 0.2 * G, -G]), 0.001)
    return made


def one(cupy, cell: float, seconds: float, peak: float) -> Row:  # type: ignore[no-untyped-def]
    from sumpwright.motion.free_surface.engine_gpu import CardEngine, card_name

    engine = moving(CardEngine, cell, 10)
    each = cell**3 / engine.per_cell
    now, steps, kept, iterations = 0.0, 0, [], 0
    engine.occupied()  # compiled before the clock starts
    cupy.cuda.Device().synchronize()
    start = time.perf_counter()
    while now < seconds:
        dt = min(LONGEST_STEP, COURANT / max(engine.liquid_speed(), 1e-6))
        phase = now + 0.25
        pull = [-G * math.sin(math.pi * phase), -1.3 * G * math.sin(2.0 * math.pi * phase), -G]
        engine.step(np.array(pull), dt)
        now += dt
        steps += 1
        if steps % 20 == 0:
            iterations = max(iterations, int(engine.found[0]))
            kept.append(engine.occupied() * cell**3 / (engine.count * each))
    cupy.cuda.Device().synchronize()
    took = time.perf_counter() - start
    pace = engine.count * steps / took
    share = pace * PARCEL_BYTES / peak
    return Row(
        work=WORK.format(cell=1e3 * cell),
        ours=took / now,
        target="half real time at 3 mm",
        note=(
            f"{card_name()}: {now / took:.2f} of real time, {engine.count:,} parcels, "
            f"{steps / now:.0f} steps a simulated second, {pace / 1e6:.0f} M parcel-steps/s, "
            f"at least {100 * share:.1f} % of the "
            f"{peak / 1e12:.2f} TB/s that a plain copy reaches; up to {iterations} iterations; "
            f"volume kept {min(kept, default=1.0):.3f} to {max(kept, default=1.0):.3f}; "
            f"{cupy.get_default_memory_pool().total_bytes() / 2**20:.0f} MB on the card"
        ),
    )


def shares(cell: float = 0.003, steps: int = 40) -> list[tuple[str, float]]:
    """Milliseconds a step in each kernel, the longest first, each waited for by itself."""
    import cupy

    from sumpwright.motion.free_surface.engine_gpu import CardEngine

    engine, taken = moving(CardEngine, cell, 30), {}
    call = engine._call

    def timed(name: str, *arguments: object, **more: object) -> None:
        cupy.cuda.Device().synchronize()
        start = time.perf_counter()
        call(name, *arguments, **more)
        cupy.cuda.Device().synchronize()
        taken[name] = taken.get(name, 0.0) + time.perf_counter() - start

    engine._call = timed
    for _ in range(steps):
        engine.step(np.array([-G, -1.3 * G, -G]), 0.0011)
    return sorted(((name, 1e3 * t / steps) for name, t in taken.items()), key=lambda pair: -pair[1])


if __name__ == "__main__":
    for row in run():
        print(row.work, "|", row.ours, "s a simulated second |", row.target, "|", row.note)
    if len(run(cells=(), seconds=0.0)) == 0:
        print(agreement())
        print("ms a step at 3 mm:", ", ".join(f"{name} {ms:.3f}" for name, ms in shares()))
