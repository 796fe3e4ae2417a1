"""What must stand clear of the oil: the crank's sweep, the rear seal, breather and returns."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.oil.level import LevelCurve
from sumpwright.oil.model import CrankSweep, HeightKind, HeightLeft, OilInputs
from sumpwright.quantities.units import CubicMetre, FloatArray


def lowest_of_sweep(crank: CrankSweep, up: FloatArray) -> FloatArray:
    """Lowest point (3,) [m] of the swept cylinder along up."""
    axis = crank.front - crank.rear
    axis = axis / np.linalg.norm(axis)
    down = -up + float(up @ axis) * axis  # the steepest way down across the axis
    size = float(np.linalg.norm(down))
    reach = crank.sweep_radius * down / size if size > 1e-12 else np.zeros(3)
    ends = (crank.rear + reach, crank.front + reach)
    return min(ends, key=lambda point: float(up @ point))


def heights_left(
    inputs: OilInputs, curve: LevelCurve, running: CubicMetre | None, stopped: CubicMetre | None
) -> tuple[HeightLeft, ...]:
    """Crank and returns against the running oil, seal and breather against the stopped engine's; both hot.

    ``running`` is the full oil less the least hold-up, ``stopped`` the full oil.
    """
    found = []
    if inputs.crank is not None and running is not None:
        low = lowest_of_sweep(inputs.crank, curve.up)
        found.append(_left("crank sweep", "crank", low, curve, running))
    for port in inputs.ports:
        volume = running if port.port == "return" else stopped
        if volume is not None:
            found.append(_left(port.name, port.port, port.lowest, curve, volume))
    return tuple(found)


def _left(
    name: str, kind: HeightKind, point: FloatArray, curve: LevelCurve, volume: CubicMetre
) -> HeightLeft:
    level = curve.level_for(volume) if volume > 0.0 else curve.lowest
    return HeightLeft(
        name=name,
        kind=kind,
        oil_volume=volume,
        height_left=float(curve.up @ point) - level if not math.isnan(level) else -math.inf,
        place=(float(point[0]), float(point[1]), float(point[2])),
    )
