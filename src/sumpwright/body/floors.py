"""Floor planes as a fabricator says them: level with the ground, or parallel to the rail."""

from __future__ import annotations

import numpy as np

from sumpwright.geometry import Plane
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


def level_floor(up: FloatArray, point: FloatArray) -> Plane:
    """Floor through ``point`` (3,) that lies level when ``up`` (3,) points up in the vehicle.

    The normal points down, out of the lump.
    """
    normal = -np.asarray(up, dtype=np.float64) / float(np.linalg.norm(up))
    return Plane(frozen_array(normal), float(normal @ np.asarray(point, dtype=np.float64)))


def parallel_floor(depth: Metre) -> Plane:
    """Floor parallel to the rail, ``depth`` below it."""
    return Plane(frozen_array([0.0, 0.0, -1.0]), float(depth))


def falling_floor(up: FloatArray, point: FloatArray, towards: FloatArray, fall: float) -> Plane:
    """Floor through ``point`` that falls towards ``towards`` (3,).

    ``fall`` is rise over run in the vehicle, 0.02 for 2 mm in 100 mm.
    """
    up = np.asarray(up, dtype=np.float64) / float(np.linalg.norm(up))
    away = np.asarray(towards, dtype=np.float64) - point
    run = away - (away @ up) * up
    length = float(np.linalg.norm(run))
    if length == 0.0:
        return level_floor(up, point)
    normal = -(up + fall * run / length)
    normal /= float(np.linalg.norm(normal))
    return Plane(frozen_array(normal), float(normal @ point))


def floor_above_ground(placement: EnginePlacement, height: Metre) -> Plane | None:
    """Floor level with the ground, ``height`` above it at ride height; None without the datum's height."""
    if placement.datum_height is None:
        return None
    normal = -np.asarray(placement.up_in_engine())
    return Plane(frozen_array(normal), placement.datum_height - height)


def vehicle_frame(placement: EnginePlacement) -> tuple[FloatArray, FloatArray]:
    """The vehicle's axes as columns (3, 3) and its origin on the ground (3,) [m], in the engine frame.

    Without the datum hole's height the origin lies at the height of the datum hole.
    """
    to_vehicle = np.asarray(placement.attitude.matrix())
    datum = np.array([placement.datum_forward, placement.datum_left, placement.datum_height or 0.0])
    return frozen_array(to_vehicle.T), frozen_array(-(to_vehicle.T @ datum))
