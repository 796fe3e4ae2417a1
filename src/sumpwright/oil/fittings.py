"""What an extraction tube leaves behind, and at how much oil a level sensor switches."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.fittings import Fitting
from sumpwright.oil.dipstick import is_inside
from sumpwright.oil.drain import held_pool, pools_left
from sumpwright.oil.joined import oil_space
from sumpwright.oil.level import LevelCurve
from sumpwright.oil.model import Extraction, SensorReach
from sumpwright.oil.pools import triangle_below
from sumpwright.quantities.units import CubicMetre, FloatArray


def extractions(body: PanBody, up: FloatArray) -> tuple[Extraction, ...]:
    """What each extraction tube leaves in the pan, the vehicle standing level."""
    tubes = [one for one in body.inputs.fittings if one.kind == "extraction tube" and one.inside is not None]
    return tuple(_extraction(body, tube, up) for tube in tubes)


def _extraction(body: PanBody, tube: Fitting, up: FloatArray) -> Extraction:
    assert tube.inside is not None
    end = np.asarray(tube.inside)[-1]
    place = (float(end[0]), float(end[1]), float(end[2]))
    across = tube.boss_diameter if tube.inside_diameter is None else tube.inside_diameter
    assert body.cavity is not None
    if not is_inside(body.cavity.surface(), end):
        return Extraction(tube.name, place, False, None, (), None, across)
    space = oil_space(body, open_top=False)
    floor = triangle_below(space.surface, end, up)
    if floor < 0:
        return Extraction(tube.name, place, False, None, (), None, across)
    corners = tuple(int(corner) for corner in space.surface.triangles[floor])
    left = pools_left(space, up, corners, end)
    a, b, c = space.surface.vertices[space.surface.triangles[floor]]
    normal = np.cross(b - a, c - a)
    drop = float(normal @ (end - a)) / float(normal @ up)
    return Extraction(
        tube.name,
        place,
        True,
        math.fsum(pool.pool_volume for pool in left),
        tuple(held_pool(body, pool, up, end) for pool in left),
        drop,
        across,
    )


def sensor_reaches(
    body: PanBody,
    curve: LevelCurve,
    low: CubicMetre | None,
    most_hold_up: CubicMetre | None,
) -> tuple[SensorReach, ...]:
    """At how much oil each sensor switches, against the low mark and the pickup's mouth."""
    found = []
    for one in body.inputs.fittings:
        if one.kind != "sensor" or one.inside is None:
            continue
        point = np.asarray(one.inside)[-1]
        height = float(curve.up @ point)
        volume = curve.volume_below(height)
        running = None if low is None or most_hold_up is None else low - most_hold_up
        found.append(
            SensorReach(
                name=one.name,
                place=(float(point[0]), float(point[1]), float(point[2])),
                switches_at=volume,
                under_low=None if low is None else low - volume,
                under_low_running=None if running is None else running - volume,
                over_mouth=None
                if body.inputs.pickup is None
                else height - float(curve.up @ body.inputs.pickup.mouth),
            )
        )
    return tuple(found)
