"""Coordinates of holes in a picture that may be out of shape: wider than high, skewed, seen at an angle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray
from sumpwright.rail.rows import ARM, ReadoutRows


@dataclass(frozen=True, slots=True, eq=False)
class PictureRows(ReadoutRows):
    """Coordinates (x', y') of holes in one picture.

    With (u, v) the holes turned into the picture's directions, q the scale, a the stretch,
    b the skew and k the lean (all columns over ARM):

        w = 1 + (k_x u + k_y v) / ARM
        x' = ((1 + q + a) u + b v) / w + x,  y' = (b u + (1 + q - a) v) / w + y
    """

    stretch: int  # column
    shear: int
    lean_x: int
    lean_y: int

    def _parts(
        self, unknowns: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
        u, v, _, _, size = self._turned(unknowns)
        a, b = unknowns[self.stretch] / ARM, unknowns[self.shear] / ARM
        w = 1.0 + (unknowns[self.lean_x] * u + unknowns[self.lean_y] * v) / ARM**2
        return u, v, (size + a) * u + b * v, b * u + (size - a) * v, w

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """The coordinate in the picture [m]."""
        _, _, top_x, top_y, w = self._parts(unknowns)
        return np.asarray(np.where(self.is_x, top_x / w + unknowns[self.x], top_y / w + unknowns[self.y]))

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """By the chain from holes to turned holes to the picture."""
        u, v, top_x, top_y, w = self._parts(unknowns)
        _, _, c, s, size = self._turned(unknowns)
        hand = unknowns[self.hand]
        a, b = unknowns[self.stretch] / ARM, unknowns[self.shear] / ARM
        top = np.where(self.is_x, top_x, top_y)
        by_u = np.where(self.is_x, size + a, b) / w - top * unknowns[self.lean_x] / (ARM * w) ** 2
        by_v = np.where(self.is_x, b, size - a) / w - top * unknowns[self.lean_y] / (ARM * w) ** 2
        J[self.rows, 2 * self.hole] += by_u * c + by_v * s
        J[self.rows, 2 * self.hole + 1] += hand * (-by_u * s + by_v * c)
        J[self.rows, self.turn] += (-by_u * v + by_v * u) / ARM
        J[self.rows, self.scale] += np.where(self.is_x, u, v) / (ARM * w)
        J[self.rows, self.stretch] += np.where(self.is_x, u, -v) / (ARM * w)
        J[self.rows, self.shear] += np.where(self.is_x, v, u) / (ARM * w)
        J[self.rows, self.lean_x] -= top * u / (ARM * w) ** 2
        J[self.rows, self.lean_y] -= top * v / (ARM * w) ** 2
        J[self.rows, self.x] += np.where(self.is_x, 1.0, 0.0)
        J[self.rows, self.y] += np.where(self.is_x, 0.0, 1.0)

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """As a set-up of true shape."""
        # Not super(): slots make the class anew, and the name inside it is the old one.
        ReadoutRows.begin(self, unknowns, value)
        unknowns[[self.stretch, self.shear, self.lean_x, self.lean_y]] = 0.0
