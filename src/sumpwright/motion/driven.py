"""Drive the compartments of a pan through a trace."""

from __future__ import annotations

import numpy as np

from sumpwright.motion.driven_model import Chambers, Driven, DrivenOil, PumpDemand, Stuck, Trace
from sumpwright.oil.level import LevelCurve
from sumpwright.quantities.units import FloatArray, Second, frozen_array

RECORD_EACH: Second = 0.02

_STUCK: dict[Stuck, int] = {"works": 0, "stuck open": 1, "stuck shut": 2, "fitted backwards": 0}


def level_volumes(chambers: Chambers, in_pan: float, up: FloatArray) -> FloatArray:
    """How a volume [m3] lies in the compartments (c,) when all stand at one level along ``up``."""
    curves = [LevelCurve.prepare(surface, up) for surface in chambers.surfaces]
    low = min(curve.lowest for curve in curves)
    high = max(curve.highest for curve in curves)
    for _ in range(60):  # halvings, down to rounding
        middle = 0.5 * (low + high)
        if sum(curve.volume_below(middle) for curve in curves) > in_pan:
            high = middle
        else:
            low = middle
    found = np.array([curve.volume_below(0.5 * (low + high)) for curve in curves])
    # The halving stops at rounding; the oil is shared out exactly.
    return np.asarray(found * (in_pan / found.sum()))


def drive(
    chambers: Chambers,
    trace: Trace,
    oil: DrivenOil,
    pump: PumpDemand,
    is_lagged: bool = True,
    stuck: tuple[tuple[str, Stuck], ...] = (),
    volumes: FloatArray | None = None,
) -> Driven:
    """One run. ``volumes`` (c,) [m3] is the start; None = level under the first pull.

    ``stuck`` names doors that do not do what they should. The oil is conserved to rounding;
    the error stands in the result.
    """
    from sumpwright.motion.driven_compiled import FIXED
    from sumpwright.motion.driven_compiled import drive as run

    count, ways = len(chambers.surfaces), chambers.ways
    vertex_start = np.cumsum([0, *(len(s.vertices) for s in chambers.surfaces)])
    triangle_start = np.cumsum([0, *(len(s.triangles) for s in chambers.surfaces)])
    patch_start = np.cumsum([0, *(len(w.patches) for w in ways)])
    failing = dict(stuck)
    unknown = set(failing) - {way.name for way in ways if way.is_door}
    if unknown:
        raise ValueError(f"no door is called {', '.join(sorted(unknown))}")
    if not oil.in_pan > 0.0:
        raise ValueError("there is no oil in the pan to drive about")
    first = np.asarray(trace.pulls[0], dtype=np.float64)
    start = level_volumes(chambers, oil.in_pan, -first) if volumes is None else np.array(volumes)
    every = max(1, round(RECORD_EACH / trace.step))
    rows = (len(trace.pulls) + every - 1) // every
    record = np.zeros((rows, FIXED + 5 * count + len(ways)))
    demand = pump.flow * np.asarray(trace.speeds) / pump.at_speed
    error = run(
        np.ascontiguousarray(trace.pulls),
        np.ascontiguousarray(demand),
        trace.step,
        every,
        is_lagged,
        np.concatenate([s.vertices for s in chambers.surfaces]),
        vertex_start,
        np.concatenate([s.triangles for s in chambers.surfaces]),
        triangle_start,
        np.asarray(chambers.capacities),
        np.asarray(chambers.axes),
        np.asarray(chambers.lengths),
        oil.damping,
        _stack([np.column_stack([w.patches, w.patch_areas]) for w in ways], 4),
        _stack([w.patch_sides.reshape(len(w.patches), 6) for w in ways], 6),
        patch_start,
        np.array([w.between for w in ways], dtype=np.int64).reshape(-1, 2),
        np.array([[w.hydraulic_diameter, w.thickness] for w in ways]).reshape(-1, 2),
        np.array([w.centre for w in ways]).reshape(-1, 3),
        np.array(
            [-w.passes if failing.get(w.name) == "fitted backwards" else w.passes for w in ways],
            dtype=np.int64,
        ),
        np.array([[float(w.is_door), w.lag, w.leak_gap, w.overlap] for w in ways]).reshape(-1, 4),
        np.array([w.girth for w in ways], dtype=np.float64),
        np.array([_STUCK[failing.get(w.name, "works")] for w in ways], dtype=np.int64),
        oil.density,
        oil.viscosity,
        np.asarray(chambers.mouth),
        np.asarray(chambers.mouth_axis),
        chambers.mouth_radius,
        chambers.home,
        np.asarray(chambers.returns),
        oil.return_time,
        oil.held_up,
        start,
        np.asarray(chambers.crank),
        np.asarray(chambers.rail_points),
        record,
    )
    if not np.isfinite(record[:, 1]).all():
        raise FloatingPointError("the run lost its oil: a level could not be found")
    return Driven(
        trace=trace.name,
        is_lagged=is_lagged,
        times=frozen_array(record[:, 0]),
        cover=frozen_array(record[:, 1]),
        reserve=frozen_array(record[:, 2]),
        oil_taken=frozen_array(record[:, 3]),
        air_taken=frozen_array(record[:, 4]),
        held_up=frozen_array(record[:, 5]),
        crank_gap=frozen_array(record[:, 6]),
        rail_gap=frozen_array(record[:, 7]),
        volumes=frozen_array(record[:, FIXED : FIXED + count]),
        levels=frozen_array(record[:, FIXED + count : FIXED + 2 * count]),
        ways=frozen_array(record[:, FIXED + 2 * count :][:, : len(ways)]),
        balance_error=float(error),
        ups=frozen_array(record[:, FIXED + 2 * count + len(ways) :].reshape(rows, count, 3)),
        stuck=stuck,
    )


def _stack(parts: list[FloatArray], width: int) -> FloatArray:
    return np.ascontiguousarray(np.concatenate(parts)) if parts else np.empty((0, width))
