"""Readings as rows of a least-squares network: what each computes, and how it depends on the unknowns.

The unknowns stand in one vector: x and y of every hole in ring order, then the extra
ones (hole diameters). Each kind of reading is a group of rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre
from sumpwright.rail.model import RailHole, RailInputs, Reading

GIVEN_DIAMETER_U: Metre = 5e-5
"""Standard uncertainty of a hole diameter given in the job without one: a caliper reading."""

_LOOSE_DIAMETER_U: Metre = 0.05
"""A diameter nothing tells: held so loosely that it cannot bend the pattern."""

GIVEN = -1
LOOSE = -2

# Half diameters that a reading holds beyond the centre distance, at hole a and at hole b.
_EDGE_PARTS: dict[str, tuple[float, float]] = {
    "centre": (0.0, 0.0),
    "inside": (-0.5, -0.5),
    "outside": (0.5, 0.5),
    "same_side": (0.5, -0.5),
}


class Rows(Protocol):
    """Rows of one kind of reading."""

    @property
    def rows(self) -> IntArray:
        """Which rows of the network these are."""

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """What each reading would be for these unknowns [m]."""

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Write the derivatives of these rows into ``J``."""


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

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Centre distance plus the half diameters the jaws took in [m]."""
        x, y = (
            unknowns[2 * self.b] - unknowns[2 * self.a],
            unknowns[2 * self.b + 1] - unknowns[2 * self.a + 1],
        )
        return np.asarray(
            np.hypot(x, y) + self.part_a * unknowns[self.column_a] + self.part_b * unknowns[self.column_b]
        )

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """Direction cosines, and the diameter parts."""
        x, y = (
            unknowns[2 * self.b] - unknowns[2 * self.a],
            unknowns[2 * self.b + 1] - unknowns[2 * self.a + 1],
        )
        d = np.maximum(np.hypot(x, y), 1e-12)
        J[self.rows, self.column_a] += self.part_a
        J[self.rows, self.column_b] += self.part_b
        J[self.rows, 2 * self.a] -= x / d
        J[self.rows, 2 * self.a + 1] -= y / d
        J[self.rows, 2 * self.b] += x / d
        J[self.rows, 2 * self.b + 1] += y / d


@dataclass(frozen=True, slots=True, eq=False)
class DiameterRows:
    """Diameters of single holes."""

    rows: IntArray  # (k,)
    column: IntArray  # (k,)

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """The diameter itself [m]."""
        return np.asarray(unknowns[self.column])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """One in the diameter's column."""
        J[self.rows, self.column] = 1.0


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

    def _offset(
        self, unknowns: FloatArray
    ) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
        xy = unknowns
        ex, ey = xy[2 * self.b] - xy[2 * self.a], xy[2 * self.b + 1] - xy[2 * self.a + 1]
        length = np.maximum(np.hypot(ex, ey), 1e-12)
        ex, ey = ex / length, ey / length
        cx, cy = xy[2 * self.c] - xy[2 * self.a], xy[2 * self.c + 1] - xy[2 * self.a + 1]
        off = ex * cy - ey * cx
        sign = np.where(self.is_one_sided & (off < 0.0), -1.0, 1.0)
        return off * sign, -ey * sign, ex * sign, (ex * cx + ey * cy) / length, sign

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """Perpendicular distance from the line [m]."""
        return np.asarray(self._offset(unknowns)[0])

    def fill(self, J: FloatArray, unknowns: FloatArray) -> None:
        """The line's normal, shared between its ends by the lever."""
        _, nx, ny, along, _ = self._offset(unknowns)
        J[self.rows, 2 * self.c] += nx
        J[self.rows, 2 * self.c + 1] += ny
        J[self.rows, 2 * self.a] -= (1.0 - along) * nx
        J[self.rows, 2 * self.a + 1] -= (1.0 - along) * ny
        J[self.rows, 2 * self.b] -= along * nx
        J[self.rows, 2 * self.b + 1] -= along * ny


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """All rows, with what was read and how sure each is."""

    hole_count: int
    unknown_count: int
    value: FloatArray  # (m,) m
    u: FloatArray  # (m,) m
    source: IntArray  # (m,) index into the readings; GIVEN or LOOSE for a hole's diameter
    about_hole: IntArray  # (m,) the hole of a GIVEN or LOOSE row, else -1
    groups: tuple[Rows, ...]
    diameter_column: IntArray  # (n,) column of each hole's diameter, -1 where none is needed
    diameter_start: FloatArray  # (n,) m, best first guess of every hole's edge diameter
    distances: DistanceRows
    lines: LineRows

    def computed(self, unknowns: FloatArray) -> FloatArray:
        """What every row would read, (m,) [m]."""
        out = np.zeros(self.value.size)
        for group in self.groups:
            out[group.rows] = group.computed(unknowns)
        return out

    def jacobian(self, unknowns: FloatArray) -> FloatArray:
        """Derivative of every row by every unknown, (m, unknowns)."""
        J = np.zeros((self.value.size, self.unknown_count))
        for group in self.groups:
            group.fill(J, unknowns)
        return J

    def start_vector(self, xy: FloatArray) -> FloatArray:
        """Unknowns from hole positions (n, 2) and the first guesses of the rest."""
        unknowns = np.zeros(self.unknown_count)
        unknowns[: 2 * self.hole_count] = xy.ravel()
        has = self.diameter_column >= 0
        unknowns[self.diameter_column[has]] = self.diameter_start[has]
        return unknowns

    def moved(self, unknowns: FloatArray, xy: FloatArray) -> FloatArray:
        """The same unknowns with the holes moved to ``xy`` (n, 2)."""
        out = unknowns.copy()
        out[: 2 * self.hole_count] = xy.ravel()
        return out

    def read_rows(self) -> BoolArray:
        """Which rows tell something: all but the loose diameters, (m,)."""
        return np.asarray(self.source != LOOSE)


def build_network(inputs: RailInputs) -> Network:
    """Rows for readings that name known holes and hold numbers (see ``faults``)."""
    names = {hole.name: k for k, hole in enumerate(inputs.holes)}
    count = len(inputs.holes)
    edge_holes = sorted(
        {
            names[name]
            for r in inputs.readings
            if r.kind not in ("centre", "in_line")
            for name in ((r.a,) if r.kind == "diameter" else (r.a, str(r.b)))
        }
    )
    column = np.full(count, -1, dtype=np.int64)
    column[edge_holes] = 2 * count + np.arange(len(edge_holes))
    start = np.array([first_diameter(hole, inputs.readings) for hole in inputs.holes])

    value = [r.value for r in inputs.readings]
    u = [r.u for r in inputs.readings]
    source = list(range(len(value)))
    about = [-1] * len(value)
    diameter_rows = [(k, column[names[r.a]]) for k, r in enumerate(inputs.readings) if r.kind == "diameter"]
    for k in edge_holes:
        hole = inputs.holes[k]
        diameter_rows.append((len(value), column[k]))
        about.append(k)
        if hole.edge_diameter is not None:
            value.append(hole.edge_diameter)
            u.append(GIVEN_DIAMETER_U if hole.edge_diameter_u is None else hole.edge_diameter_u)
            source.append(GIVEN)
        else:
            value.append(float(start[k]))
            u.append(_LOOSE_DIAMETER_U)
            source.append(LOOSE)

    distances = _distance_rows(inputs.readings, names, column)
    lines = _line_rows(inputs.readings, names)
    diameters = DiameterRows(
        np.array([row for row, _ in diameter_rows], dtype=np.int64),
        np.array([col for _, col in diameter_rows], dtype=np.int64),
    )
    return Network(
        hole_count=count,
        unknown_count=2 * count + len(edge_holes),
        value=np.array(value, dtype=np.float64),
        u=np.array(u, dtype=np.float64),
        source=np.array(source, dtype=np.int64),
        about_hole=np.array(about, dtype=np.int64),
        groups=tuple(g for g in (distances, diameters, lines) if g.rows.size),
        diameter_column=column,
        diameter_start=start,
        distances=distances,
        lines=lines,
    )


def first_diameter(hole: RailHole, readings: tuple[Reading, ...]) -> Metre:
    """First guess of a hole's edge diameter: given, else read, else its fastener's."""
    if hole.edge_diameter is not None:
        return hole.edge_diameter
    read = [r.value for r in readings if r.kind == "diameter" and r.a == hole.name]
    if read:
        return float(np.median(read))
    return hole.fastener.diameter


def _distance_rows(readings: tuple[Reading, ...], names: dict[str, int], column: IntArray) -> DistanceRows:
    kept = [(k, r, _EDGE_PARTS[r.kind]) for k, r in enumerate(readings) if r.kind in _EDGE_PARTS]
    a = np.array([names[r.a] for _, r, _ in kept], dtype=np.int64)
    b = np.array([names[str(r.b)] for _, r, _ in kept], dtype=np.int64)
    part_a = np.array([parts[0] for *_, parts in kept], dtype=np.float64)
    part_b = np.array([parts[1] for *_, parts in kept], dtype=np.float64)
    return DistanceRows(
        np.array([k for k, *_ in kept], dtype=np.int64),
        a,
        b,
        part_a,
        part_b,
        np.where(part_a == 0.0, 0, column[a]) if a.size else a,
        np.where(part_b == 0.0, 0, column[b]) if b.size else b,
    )


def _line_rows(readings: tuple[Reading, ...], names: dict[str, int]) -> LineRows:
    kept = [(k, r) for k, r in enumerate(readings) if r.kind == "in_line"]

    def column(pick: list[str]) -> IntArray:
        return np.array([names[name] for name in pick], dtype=np.int64)

    return LineRows(
        np.array([k for k, _ in kept], dtype=np.int64),
        column([r.a for _, r in kept]),
        column([str(r.b) for _, r in kept]),
        column([str(r.with_hole) for _, r in kept]),
        np.array([r.value > 0.0 for _, r in kept], dtype=np.bool_),
    )


def without(network: Network, rows: BoolArray) -> FloatArray:
    """Weights of all rows, zero where ``rows`` (m,) says the reading is set aside [1/m2]."""
    return np.where(rows, 0.0, 1.0 / network.u**2)
