"""What oil feels in a pan that turns: for all engines alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.motion.free_surface.domain import Domain
from sumpwright.quantities.units import FloatArray, Second

NO_SPIN = np.zeros((6, 3), dtype=np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Spin:
    """The pan's turning at one moment, along the grid's axes.

    In the pan's own frame oil at r from the origin, moving at v, feels
    -2 w x v - w x (w x r) - w' x r beside the pull at the origin.
    """

    rate: FloatArray  # (3,) rad/s
    change: FloatArray  # (3,) rad/s2

    def _by_place(self) -> FloatArray:
        """What the place takes part in (3, 3) [1/s2]: a = this @ r."""
        w = across(self.rate)
        return np.asarray(-(w @ w) - across(self.change))

    def table(self, dt: Second) -> np.ndarray:
        """Gain of velocity in a step (6, 3): by place (from the grid's corner) and by velocity."""
        return np.concatenate([dt * self._by_place(), -2.0 * dt * across(self.rate)]).astype(np.float32)

    def at_corner(self, domain: Domain, dt: Second) -> FloatArray:
        """Gain of velocity (3,) [cells/s] in a step at the grid's corner."""
        return np.asarray(dt * self._by_place() @ (domain.origin / domain.cell))


def spin_at(turning: FloatArray, row: int, part: float, step: Second) -> Spin:
    """The turning (k, 3) [rad/s] of a trace between ``row`` and the next, and its change."""
    here = np.asarray(turning[row], dtype=float)
    change = np.asarray(turning[min(row + 1, len(turning) - 1)], dtype=float) - here
    return Spin(here + part * change, change / step)


def across(w: FloatArray) -> FloatArray:
    """The matrix that takes r to w x r."""
    x, y, z = (float(c) for c in w)
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
