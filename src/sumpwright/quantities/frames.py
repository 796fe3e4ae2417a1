"""How the engine stands in the vehicle, and how hard both are pushed.

Engine frame: x to the front of the engine, y to its left, z up; the pan hangs
below z = 0. Vehicle frame after ISO 8855: X forward, Y left, Z up.

              z up                 seen from behind, leaned right by a:
              |   x front              the engine's left side rises
              |  /
    y left ---+
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import (
    STANDARD_GRAVITY,
    FloatArray,
    Metre,
    MetrePerSecondSquared,
    Radian,
    frozen_array,
)


@dataclass(frozen=True, slots=True)
class Attitude:
    """Turned to the left, then nose up, then leaned to the right [rad].

    Each is about the axis that the earlier ones left behind (the yaw, pitch,
    roll order of ISO 8855, with pitch counted nose up). Lean is seen from behind.
    """

    turned_left: Radian = 0.0
    nose_up: Radian = 0.0
    lean_right: Radian = 0.0

    def matrix(self) -> FloatArray:
        """Rotation (3, 3): outer coordinates = matrix @ own coordinates."""
        ct, st = math.cos(self.turned_left), math.sin(self.turned_left)
        cn, sn = math.cos(self.nose_up), math.sin(self.nose_up)
        cl, sl = math.cos(self.lean_right), math.sin(self.lean_right)
        turn = np.array([[ct, -st, 0.0], [st, ct, 0.0], [0.0, 0.0, 1.0]])
        # Right-hand rotation about y (left) is nose down, hence the signs here.
        nose = np.array([[cn, 0.0, -sn], [0.0, 1.0, 0.0], [sn, 0.0, cn]])
        lean = np.array([[1.0, 0.0, 0.0], [0.0, cl, -sl], [0.0, sl, cl]])
        return frozen_array(turn @ nose @ lean)


@dataclass(frozen=True, slots=True)
class EnginePlacement:
    """Engine in the vehicle: attitude, and where the datum hole stands [m]."""

    attitude: Attitude = Attitude()
    datum_forward: Metre = 0.0
    datum_left: Metre = 0.0
    datum_height: Metre | None = None  # above level ground at ride height; None = not given

    def up_in_engine(self) -> FloatArray:
        """Unit vector (3,) of the vehicle's up, in engine axes."""
        return frozen_array(self.attitude.matrix().T @ np.array([0.0, 0.0, 1.0]))


@dataclass(frozen=True, slots=True)
class Load:
    """Vehicle on a slope under acceleration.

    ``slope`` is the vehicle against the level world; accelerations are the
    vehicle's own in vehicle axes: forward, to the left (a left turn is
    positive), up.
    """

    slope: Attitude = Attitude()
    forward: MetrePerSecondSquared = 0.0
    left: MetrePerSecondSquared = 0.0
    up: MetrePerSecondSquared = 0.0

    def effective_gravity(self, placement: EnginePlacement) -> FloatArray:
        """What the oil feels [m/s2], (3,) in engine axes: gravity minus acceleration."""
        world_down = np.array([0.0, 0.0, -STANDARD_GRAVITY])
        in_vehicle = self.slope.matrix().T @ world_down - np.array([self.forward, self.left, self.up])
        return frozen_array(placement.attitude.matrix().T @ in_vehicle)
