"""The pan above the ground: lowest point, and the slopes and crests it passes over.

Ramp (crest), approach and departure angle are those of ISO 612 (from memory): the sharpest
edge between two planes tangent to the tyres that no part between the axles touches, and the
steepest plane tangent to a tyre that no part beyond that axle touches.
"""

from __future__ import annotations

import numpy as np

from sumpwright.body.clearance import gathered
from sumpwright.body.formulas import slope_beneath
from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.outside import outside_parts
from sumpwright.body.surroundings import Ground, GroundClearance, SlopePassed
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import BoolArray, FloatArray, Metre, frozen_array


def ground_clearance(body: PanBody, cavity: Cavity) -> GroundClearance | None:
    """The lowest point above the ground, at ride height and at full bump, and the slopes that pass."""
    around = body.inputs.surroundings
    if around.ground is None:
        return None
    parts = gathered(outside_parts(body, cavity))
    to_vehicle = np.asarray(around.placement.attitude.matrix())
    corners = parts.surface.triangles.reshape(-1, 3)
    skins = np.repeat(parts.surface.skins, 3)
    heights = corners @ to_vehicle[2] - skins
    k = int(np.argmin(np.round(heights, 9)))
    height = around.placement.datum_height
    lowest = None if height is None else float(heights[k]) + height
    bump = around.ground.bump
    crest, approach, departure = _slopes(around.ground, around.placement, corners, skins)
    return GroundClearance(
        lowest,
        parts.names[int(parts.part[parts.surface.order[k // 3]])],
        frozen_array(corners[k]),
        None if lowest is None or bump is None else lowest - bump,
        crest,
        approach,
        departure,
    )


def _slopes(
    ground: Ground, placement: EnginePlacement, corners: FloatArray, skins: FloatArray
) -> tuple[SlopePassed | None, SlopePassed | None, SlopePassed | None]:
    """Crest between the axles, slope met ahead of the front axle, slope left behind the rear one.

    What lies within a tyre's own circle is left out: no plane that touches the tyre reaches it.
    """
    front, radius, height = ground.front_axle, ground.tyre_radius, placement.datum_height
    if front is None or radius is None or height is None:
        return None, None, None
    in_vehicle = corners @ np.asarray(placement.attitude.matrix()).T
    x = in_vehicle[:, 0] + placement.datum_forward
    z = in_vehicle[:, 2] + height - skins
    approach = _steepest(corners, x - front, radius - z, radius, x > front)
    if ground.wheelbase is None:
        return None, approach, None
    rear = front - ground.wheelbase
    departure = _steepest(corners, rear - x, radius - z, radius, x < rear)
    between = (x > rear) & (x < front)
    for axle in (front, rear):
        between &= np.hypot(x - axle, z - radius) > radius
    if not between.any():
        return None, approach, departure
    total = sum(
        slope_beneath(np.abs(axle - x[between]), radius - z[between], radius) for axle in (front, rear)
    )
    k = int(np.argmin(total))
    return SlopePassed(float(np.asarray(total)[k]), frozen_array(corners[between][k])), approach, departure


def _steepest(
    corners: FloatArray, run: FloatArray, drop: FloatArray, radius: Metre, beyond: BoolArray
) -> SlopePassed | None:
    """The steepest slope that passes under every corner (n, 3) beyond an axle; None where none is there."""
    beyond = beyond & (np.hypot(run, drop) > radius)
    if not beyond.any():
        return None
    slopes = slope_beneath(run[beyond], drop[beyond], radius)
    k = int(np.argmin(slopes))
    return SlopePassed(float(slopes[k]), frozen_array(corners[beyond][k]))
