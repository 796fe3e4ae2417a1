"""Kinds of reading as rows: what each would read for given unknowns, and how that changes.

The unknowns stand in one vector: x and y of every hole in ring order, then the extra
ones: hole diameters, and for each straight edge, circle, mirror axis or set-up where it
lies. A turn is kept as the way of a point one ``ARM`` off, so that every unknown is a
length.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre

ARM: Metre = 0.1


class Rows(Protocol):
    """Rows of one kind of reading."""

    @property
    def rows(self) -> IntArray:
        """Which rows of the network these are."""

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """What each reading would be for these unknowns [m]."""

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Write the derivatives of these rows into ``J``."""

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """Set this kind's own extra unknowns to suit the holes and the readings (all rows)."""


@dataclass(frozen=True, slots=True, eq=False)
class DistanceRows:
    """Distances between two holes, centre to centre or edge to edge."""

    rows: IntArray  # (k,)
    a: IntArray  # (k,) hole
    b: IntArray  # (k,) hole
    part_a: FloatArray  # (k,) diameters of a in the reading
    part_b: FloatArray  # (k,)
    column_a: IntArray  # (k,) column of a's diameter; 0 with part 0 where none
    column_b: IntArray  # (k,)

    def _along(self, unknowns: FloatArray) -> tuple[FloatArray, FloatArray]:
        a, b = 2 * self.a, 2 * self.b
        return unknowns[b] - unknowns[a], unknowns[b + 1] - unknowns[a + 1]

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Centre distance plus the half diameters the jaws took in [m]."""
        x, y = self._along(unknowns)
        return np.asarray(
            np.hypot(x, y) + self.part_a * unknowns[self.column_a] + self.part_b * unknowns[self.column_b]
        )

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Direction cosines, and the diameter parts."""
        x, y = self._along(unknowns)
        d = np.maximum(np.hypot(x, y), 1e-12)
        J[self.rows, self.column_a] += self.part_a
        J[self.rows, self.column_b] += self.part_b
        J[self.rows, 2 * self.a] -= x / d
        J[self.rows, 2 * self.a + 1] -= y / d
        J[self.rows, 2 * self.b] += x / d
        J[self.rows, 2 * self.b + 1] += y / d

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """Nothing of its own: diameters begin with their own rows."""


@dataclass(frozen=True, slots=True, eq=False)
class OwnRows:
    """A reading, or a loose hold, of one extra unknown by itself."""

    rows: IntArray  # (k,)
    column: IntArray  # (k,)

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """The unknown itself [m]."""
        return np.asarray(unknowns[self.column])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """One in the unknown's column."""
        J[self.rows, self.column] = 1.0

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """Nothing of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class LineRows:
    """Distance of hole c from the straight line through holes a and b.

    A reading of zero may fall to either side; one above zero keeps to the side on
    which the hole lies.
    """

    rows: IntArray  # (k,)
    a: IntArray  # (k,)
    b: IntArray  # (k,)
    c: IntArray  # (k,)
    is_one_sided: BoolArray  # (k,) the reading is above zero

    def _offset(self, unknowns: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        a, b, c = 2 * self.a, 2 * self.b, 2 * self.c
        ex, ey = unknowns[b] - unknowns[a], unknowns[b + 1] - unknowns[a + 1]
        length = np.maximum(np.hypot(ex, ey), 1e-12)
        ex, ey = ex / length, ey / length
        cx, cy = unknowns[c] - unknowns[a], unknowns[c + 1] - unknowns[a + 1]
        off = ex * cy - ey * cx
        sign = np.where(self.is_one_sided & (off < 0.0), -1.0, 1.0)
        return off * sign, -ey * sign, ex * sign, (ex * cx + ey * cy) / length

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Perpendicular distance from the line [m]."""
        return np.asarray(self._offset(unknowns)[0])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """The line's normal, shared between its ends by the lever."""
        _, nx, ny, along = self._offset(unknowns)
        for hole, share in ((self.c, 1.0), (self.a, along - 1.0), (self.b, -along)):
            J[self.rows, 2 * hole] += share * nx
            J[self.rows, 2 * hole + 1] += share * ny

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """Nothing of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class SquareRows:
    """How far hole c leans towards hole b where the line a-c should stand square on a-b."""

    rows: IntArray  # (k,)
    a: IntArray  # (k,) corner
    b: IntArray  # (k,)
    c: IntArray  # (k,)

    def _lean(self, unknowns: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        xy = unknowns[: 2 * (unknowns.size // 2)].reshape(-1, 2)
        e = xy[self.b] - xy[self.a]
        length = np.maximum(np.hypot(e[:, 0], e[:, 1]), 1e-12)
        e = e / length[:, None]
        f = xy[self.c] - xy[self.a]
        lean = np.einsum("ki,ki->k", e, f)
        return lean, e, (f - lean[:, None] * e) / length[:, None]

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Part of a-c that runs along a-b [m]."""
        return np.asarray(self._lean(unknowns)[0])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Along a-b for c, across a-b by the lever for b, and both back for a."""
        _, e, across = self._lean(unknowns)
        for hole, slope in ((self.c, e), (self.b, across), (self.a, -e - across)):
            J[self.rows, 2 * hole] += slope[:, 0]
            J[self.rows, 2 * hole + 1] += slope[:, 1]

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """Nothing of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class OffsetRows:
    """Distance of holes, or of their edges, from one straight edge laid along the rail.

    The edge is the line n . x = p with n turned by ``turn / ARM`` from x; all its holes
    lie on the side that n points to.
    """

    rows: IntArray  # (k,)
    hole: IntArray  # (k,)
    part: FloatArray  # (k,) diameters in the reading
    column: IntArray  # (k,) column of the hole's diameter; 0 with part 0 where none
    turn: int  # column
    shift: int  # column of p

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Distance from the straight edge [m]."""
        angle = unknowns[self.turn] / ARM
        x, y = unknowns[2 * self.hole], unknowns[2 * self.hole + 1]
        return np.asarray(
            np.cos(angle) * x + np.sin(angle) * y - unknowns[self.shift] + self.part * unknowns[self.column]
        )

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """The normal for the hole, the lever for the turn, minus one for the shift."""
        angle = unknowns[self.turn] / ARM
        c, s = np.cos(angle), np.sin(angle)
        x, y = unknowns[2 * self.hole], unknowns[2 * self.hole + 1]
        J[self.rows, self.column] += self.part
        J[self.rows, 2 * self.hole] += c
        J[self.rows, 2 * self.hole + 1] += s
        J[self.rows, self.turn] += (c * y - s * x) / ARM
        J[self.rows, self.shift] -= 1.0

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """The line that suits the readings best, of every direction tried."""
        x, y = unknowns[2 * self.hole], unknowns[2 * self.hole + 1]
        read = value[self.rows] - self.part * unknowns[self.column]
        angles = np.linspace(-np.pi, np.pi, 181)[:-1]
        off = np.cos(angles)[:, None] * x + np.sin(angles)[:, None] * y - read
        spread = off.var(axis=1)
        best = int(np.argmin(spread))
        unknowns[self.turn] = ARM * angles[best]
        unknowns[self.shift] = off[best].mean()


@dataclass(frozen=True, slots=True, eq=False)
class CircleRows:
    """How far outside one circle each hole lies."""

    rows: IntArray  # (k,)
    hole: IntArray  # (k,)
    x: int  # column of the circle's centre
    y: int
    radius: int  # column

    def _out(self, unknowns: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        dx = unknowns[2 * self.hole] - unknowns[self.x]
        dy = unknowns[2 * self.hole + 1] - unknowns[self.y]
        d = np.maximum(np.hypot(dx, dy), 1e-12)
        return d, dx / d, dy / d

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Distance from the centre less the radius [m]."""
        return np.asarray(self._out(unknowns)[0] - unknowns[self.radius])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Outwards for the hole, back for the centre, minus one for the radius."""
        _, ex, ey = self._out(unknowns)
        J[self.rows, 2 * self.hole] += ex
        J[self.rows, 2 * self.hole + 1] += ey
        J[self.rows, self.x] -= ex
        J[self.rows, self.y] -= ey
        J[self.rows, self.radius] -= 1.0

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """The circle through the holes as they lie."""
        from sumpwright.rail.circle_fit import taubin_circle

        x, y = unknowns[2 * self.hole], unknowns[2 * self.hole + 1]
        circle = taubin_circle(np.stack((x, y), axis=1)) if self.hole.size >= 3 else None
        if circle is None:
            unknowns[self.x], unknowns[self.y] = x.mean() + ARM, y.mean()
            unknowns[self.radius] = np.hypot(x - x.mean() - ARM, y - y.mean()).mean()
        else:
            unknowns[[self.x, self.y, self.radius]] = circle


@dataclass(frozen=True, slots=True, eq=False)
class MirrorRows:
    """Pairs of holes that mirror each other about one axis.

    The axis is the line n . x = p with n turned by ``turn / ARM`` from x. Half of the
    rows are distances of the pairs' middles from it, half how far the pairs' lines
    are out of square to it.
    """

    rows: IntArray  # (k,)
    a: IntArray  # (k,)
    b: IntArray  # (k,)
    is_middle: BoolArray  # (k,)
    turn: int  # column
    shift: int  # column of p

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Middle from the axis, or run of the pair along the axis [m]."""
        angle = unknowns[self.turn] / ARM
        c, s = np.cos(angle), np.sin(angle)
        ax, ay = unknowns[2 * self.a], unknowns[2 * self.a + 1]
        bx, by = unknowns[2 * self.b], unknowns[2 * self.b + 1]
        middle = (c * (ax + bx) + s * (ay + by)) / 2.0 - unknowns[self.shift]
        along = -s * (bx - ax) + c * (by - ay)
        return np.asarray(np.where(self.is_middle, middle, along))

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Half the normal for both holes, or the axis for one and back for the other."""
        angle = unknowns[self.turn] / ARM
        c, s = np.cos(angle), np.sin(angle)
        ax, ay = unknowns[2 * self.a], unknowns[2 * self.a + 1]
        bx, by = unknowns[2 * self.b], unknowns[2 * self.b + 1]
        m = self.is_middle
        J[self.rows, 2 * self.a] += np.where(m, c / 2.0, s)
        J[self.rows, 2 * self.a + 1] += np.where(m, s / 2.0, -c)
        J[self.rows, 2 * self.b] += np.where(m, c / 2.0, -s)
        J[self.rows, 2 * self.b + 1] += np.where(m, s / 2.0, c)
        turned = np.where(m, (-s * (ax + bx) + c * (ay + by)) / 2.0, -c * (bx - ax) - s * (by - ay))
        J[self.rows, self.turn] += turned / ARM
        J[self.rows, self.shift] -= np.where(m, 1.0, 0.0)

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """The axis that suits the pairs best, of every direction tried."""
        ax, ay = unknowns[2 * self.a], unknowns[2 * self.a + 1]
        bx, by = unknowns[2 * self.b], unknowns[2 * self.b + 1]
        angles = np.linspace(0.0, np.pi, 181)[:-1]
        c, s = np.cos(angles)[:, None], np.sin(angles)[:, None]
        middle = (c * (ax + bx) + s * (ay + by)) / 2.0
        along = -s * (bx - ax) + c * (by - ay)
        cost = middle.var(axis=1) + (along**2).mean(axis=1)
        best = int(np.argmin(cost))
        unknowns[self.turn] = ARM * angles[best]
        unknowns[self.shift] = middle[best].mean()


@dataclass(frozen=True, slots=True, eq=False)
class ReadoutRows:
    """Coordinates of holes in one set-up: turned, shifted, perhaps seen from the other side.

    read = (1 + scale / ARM) R(turn / ARM) (x, hand y) + shift. The hand is no unknown: it
    is chosen by the holes at the start and held.
    """

    rows: IntArray  # (k,)
    hole: IntArray  # (k,)
    is_x: BoolArray  # (k,)
    turn: int  # column
    x: int  # column of the shift
    y: int
    hand: int  # column, 1 or -1, held
    scale: int  # column; held at zero where the set-up's scale is trusted

    def _turned(self, unknowns: FloatArray) -> tuple[FloatArray, FloatArray, float, float, float]:
        angle = unknowns[self.turn] / ARM
        c, s = float(np.cos(angle)), float(np.sin(angle))
        x, y = unknowns[2 * self.hole], unknowns[self.hand] * unknowns[2 * self.hole + 1]
        size = float(1.0 + unknowns[self.scale] / ARM)
        return c * x - s * y, s * x + c * y, c, s, size

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """The coordinate on the readout [m]."""
        u, v, _, _, size = self._turned(unknowns)
        return np.asarray(np.where(self.is_x, size * u + unknowns[self.x], size * v + unknowns[self.y]))

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """The turn's matrix for the hole, the lever for the turn, one for the shift."""
        u, v, c, s, size = self._turned(unknowns)
        hand = unknowns[self.hand]
        J[self.rows, 2 * self.hole] += size * np.where(self.is_x, c, s)
        J[self.rows, 2 * self.hole + 1] += size * hand * np.where(self.is_x, -s, c)
        J[self.rows, self.turn] += size * np.where(self.is_x, -v, u) / ARM
        J[self.rows, self.scale] += np.where(self.is_x, u, v) / ARM
        J[self.rows, self.x] += np.where(self.is_x, 1.0, 0.0)
        J[self.rows, self.y] += np.where(self.is_x, 0.0, 1.0)

    def places(self, value: FloatArray) -> dict[int, FloatArray]:
        """Where the readout puts each hole of which it tells both figures (mean of repeats) [m]."""
        told: dict[int, FloatArray] = {}
        for hole in np.unique(self.hole).tolist():
            mine = self.hole == hole
            x, y = value[self.rows[mine & self.is_x]], value[self.rows[mine & ~self.is_x]]
            if x.size and y.size:
                told[hole] = np.array([np.median(x), np.median(y)])
        return told

    def begin(self, unknowns: FloatArray, value: FloatArray) -> None:
        """The turn, shift and hand that suit the holes best."""
        told = self.places(value)
        unknowns[self.scale] = 0.0
        unknowns[self.hand] = 1.0
        if len(told) < 2:
            return
        holes = np.array(sorted(told))
        read = np.stack([told[h] for h in holes.tolist()])
        lie = np.stack((unknowns[2 * holes], unknowns[2 * holes + 1]), axis=1)
        best = np.inf
        for hand in (1.0, -1.0):
            own = lie * np.array([1.0, hand])
            a, b = own - own.mean(axis=0), read - read.mean(axis=0)
            angle = float(np.arctan2(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]), np.sum(a * b)))
            c, s = np.cos(angle), np.sin(angle)
            turned = own @ np.array([[c, s], [-s, c]])
            miss = float(np.sum((b - (turned - turned.mean(axis=0))) ** 2))
            if miss < best:
                best = miss
                unknowns[self.hand], unknowns[self.turn] = hand, ARM * angle
                unknowns[[self.x, self.y]] = np.median(read - turned, axis=0)
