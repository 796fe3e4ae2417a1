"""How true the dipstick reads: slopes, hold-up, and the best place for the tube."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import DipstickTube
from sumpwright.geometry import Surface
from sumpwright.oil.dipstick import StickPath, reading_at
from sumpwright.oil.drain import up_at
from sumpwright.oil.level import LevelCurve
from sumpwright.oil.model import HoldUp, StickSlope, StickTruth
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, Radian, frozen_array

DEGREE: Radian = math.radians(1.0)
TABLE: tuple[float, ...] = (-4.0, -2.0, 0.0, 2.0, 4.0)
"""Degrees of nose up and of lean in the correction table."""


def stick_truth(
    tube: DipstickTube,
    open_top: Surface,
    curve: LevelCurve,
    full: CubicMetre,
    hold_up: HoldUp | None,
    placement: EnginePlacement,
) -> StickTruth | None:
    """How the full reading moves; None where there is no full reading."""
    level = curve.level_for(full)
    standing = reading_at(level, tube, curve.up)
    if standing is None:
        return None

    def shown(nose_up: Radian, lean_right: Radian) -> Metre | None:
        up = up_at(placement, nose_up, lean_right)
        return reading_at(LevelCurve.prepare(open_top, up).level_for(full), tube, up)

    def shift(nose_up: Radian, lean_right: Radian) -> Metre | None:
        reading = shown(nose_up, lean_right)
        # The reading counts from the shoulder down: a smaller one looks fuller.
        return None if reading is None else standing - reading

    def per_degree(nose_up: Radian, lean_right: Radian) -> Metre | None:
        one, other = shift(nose_up, lean_right), shift(-nose_up, -lean_right)
        return None if one is None or other is None else 0.5 * (one - other)

    drains_in: Metre | None = None
    if hold_up is not None and full > hold_up.hold_up_most:
        early = reading_at(curve.level_for(full - hold_up.hold_up_most), tube, curve.up)
        drains_in = None if early is None else early - standing
    middle = surface_middle(curve, level)
    meets = StickPath.of(tube).at(standing)
    return StickTruth(
        per_degree_nose=per_degree(DEGREE, 0.0),
        per_degree_lean=per_degree(0.0, DEGREE),
        best_place=(float(middle[0]), float(middle[1]), float(middle[2])),
        off_best=float(np.linalg.norm(meets - middle)),
        drains_in=drains_in,
        slopes=tuple(
            StickSlope(
                nose * DEGREE,
                lean * DEGREE,
                0.0 if nose == lean == 0.0 else shift(nose * DEGREE, lean * DEGREE),
            )
            for nose in TABLE
            for lean in TABLE
        ),
    )


def surface_middle(curve: LevelCurve, level: Metre) -> FloatArray:
    """Centroid (3,) [m] of the oil's surface at a level."""
    step = 1e-5 * (curve.highest - curve.lowest)
    above, below = level + step, level - step
    v1, v0 = curve.volume_below(above), curve.volume_below(below)
    moment = curve.centroid_below(above) * v1 - curve.centroid_below(below) * v0
    middle = moment / (v1 - v0)
    # The slice between the two levels is not quite symmetric about the level; put it back onto it.
    return frozen_array(middle + (level - float(middle @ curve.up)) * curve.up)
