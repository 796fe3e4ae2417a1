"""All readings of the rail's plane as one least-squares network."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Kelvin, Metre, Ratio
from sumpwright.rail.formulas import tool_scale
from sumpwright.rail.model import RailHole, RailInputs, Reading
from sumpwright.rail.picture_rows import PictureRows
from sumpwright.rail.rows import (
    ARM,
    CircleRows,
    DistanceRows,
    LineRows,
    MirrorRows,
    OffsetRows,
    OwnRows,
    ReadoutRows,
    Rows,
    SquareRows,
)
from sumpwright.rail.scan_model import SetUpShape

GIVEN_DIAMETER_U: Metre = 5e-5
"""Standard uncertainty of a hole diameter given in the job without one: a caliper reading."""

_LOOSE_DIAMETER_U: Metre = 0.05
"""A diameter nothing tells: held so loosely that it cannot bend the pattern."""
_LOOSE_U: Metre = 10.0
"""The same for where a straight edge, circle, axis or set-up lies."""

GIVEN = -1
LOOSE = -2
SHAPE = -3
"""A set-up's own word on how far it is out of shape: tells something, and is no reading."""

GRADUATED_AT: Kelvin = 293.15
"""Temperature at which calipers, rules and tapes are right (ISO 1)."""

OUT_OF_PLANE = ("height", "chord", "rise")
WITH_EDGES = ("inside", "outside", "same_side")

# Half diameters that a reading holds beyond the centre distance, at hole a and at hole b.
_DISTANCES: dict[str, tuple[float, float]] = {
    "centre": (0.0, 0.0),
    "inside": (-0.5, -0.5),
    "outside": (0.5, 0.5),
    "same_side": (0.5, -0.5),
}
_OFFSET_PARTS = {"": 0.0, "near": -0.5, "far": 0.5}


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """All rows, with what was read and how sure each is."""

    hole_count: int
    unknown_count: int
    value: FloatArray  # (m,) m, at the block's temperature
    u: FloatArray  # (m,) m
    scale: FloatArray  # (m,) value = scale * figure read
    source: IntArray  # (m,) index into the readings; GIVEN, LOOSE or SHAPE for an unknown held by itself
    about_hole: IntArray  # (m,) the hole of a GIVEN or loose diameter row, else -1
    groups: tuple[Rows, ...]
    held: IntArray  # columns that never move
    diameter_column: IntArray  # (n,) column of each hole's diameter, -1 where none is needed
    diameter_start: FloatArray  # (n,) m, best first guess of every hole's edge diameter
    distances: DistanceRows
    lines: LineRows
    readouts: tuple[ReadoutRows, ...]

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
        has = self.diameter_column >= 0
        unknowns[self.diameter_column[has]] = self.diameter_start[has]
        return self.moved(unknowns, xy)

    def moved(self, unknowns: FloatArray, xy: FloatArray) -> FloatArray:
        """The same diameters with the holes moved to ``xy`` (n, 2), and everything else to suit them."""
        out = unknowns.copy()
        out[: 2 * self.hole_count] = xy.ravel()
        for group in self.groups:
            group.begin(out, self.value)
        return out

    def read_rows(self) -> BoolArray:
        """Which rows tell something: all but the loose ones, (m,)."""
        return np.asarray(self.source != LOOSE)


class _Builder:
    """Rows while they are gathered."""

    def __init__(self, inputs: RailInputs) -> None:
        self.inputs = inputs
        self.hole = {hole.name: k for k, hole in enumerate(inputs.holes)}
        self.columns = 2 * len(inputs.holes)
        self.value: list[Metre] = []
        self.u: list[Metre] = []
        self.scale: list[Ratio] = []
        self.source: list[int] = []
        self.about: list[int] = []
        self.held: list[int] = []
        self.own: list[tuple[int, int]] = []  # (row, column)

    def row(self, value: Metre, u: Metre, source: int, about: int = -1, scale: Ratio = 1.0) -> int:
        self.value.append(value * scale)
        self.u.append(u)
        self.scale.append(scale)
        self.source.append(source)
        self.about.append(about)
        return len(self.value) - 1

    def column(self) -> int:
        """A new extra unknown that nothing but its readings hold."""
        self.columns += 1
        at = self.columns - 1
        self.own.append((self.row(0.0, _LOOSE_U, LOOSE), at))
        return at

    def shape_column(self, u: Ratio | None) -> int:
        """A new extra unknown that is nought, as sure as told; None = nothing tells it."""
        if u is None:
            return self.column()
        if u == 0.0:
            return self.held_column()
        self.columns += 1
        self.own.append((self.row(0.0, u * ARM, SHAPE), self.columns - 1))
        return self.columns - 1

    def held_column(self) -> int:
        self.columns += 1
        self.held.append(self.columns - 1)
        return self.columns - 1


def build_network(inputs: RailInputs) -> Network:
    """Rows for readings that name known holes and hold numbers (see ``faults``)."""
    b = _Builder(inputs)
    count = len(inputs.holes)
    edge_holes = _edge_holes(inputs, b.hole)
    diameter = np.full(count, -1, dtype=np.int64)
    diameter[edge_holes] = 2 * count + np.arange(len(edge_holes))
    b.columns += len(edge_holes)
    start = np.array([first_diameter(hole, inputs.readings) for hole in inputs.holes])

    row_of: dict[int, int] = {}
    for k, reading in enumerate(inputs.readings):
        if reading.kind not in OUT_OF_PLANE:
            row_of[k] = b.row(reading.value, reading.u, k, scale=reading_scale(inputs, reading))
    for k, reading in enumerate(inputs.readings):
        if reading.kind == "diameter":
            b.own.append((row_of[k], int(diameter[b.hole[reading.a]])))
    for k in edge_holes:
        hole = inputs.holes[k]
        if hole.edge_diameter is not None:
            u = GIVEN_DIAMETER_U if hole.edge_diameter_u is None else hole.edge_diameter_u
            row = b.row(hole.edge_diameter, u, GIVEN, k)
        else:
            row = b.row(float(start[k]), _LOOSE_DIAMETER_U, LOOSE, k)
        b.own.append((row, int(diameter[k])))

    picked = _Picked(inputs.readings, row_of, b.hole)
    distances = _distance_rows(picked, diameter)
    lines = _line_rows(picked)
    readouts = tuple(_readouts(picked, b))
    others: tuple[Rows, ...] = (
        _square_rows(picked),
        *_offsets(picked, b, diameter),
        *_circles(picked, b),
        *_mirrors(picked, b),
    )
    own = OwnRows(_whole([row for row, _ in b.own]), _whole([column for _, column in b.own]))
    groups: tuple[Rows, ...] = (distances, own, lines, *readouts, *others)
    return Network(
        hole_count=count,
        unknown_count=b.columns,
        value=np.array(b.value, dtype=np.float64),
        u=np.array(b.u, dtype=np.float64),
        scale=np.array(b.scale, dtype=np.float64),
        source=_whole(b.source),
        about_hole=_whole(b.about),
        groups=tuple(group for group in groups if group.rows.size),
        held=_whole(b.held),
        diameter_column=diameter,
        diameter_start=start,
        distances=distances,
        lines=lines,
        readouts=readouts,
    )


def first_diameter(hole: RailHole, readings: tuple[Reading, ...]) -> Metre:
    """First guess of a hole's edge diameter: given, else read, else its fastener's."""
    if hole.edge_diameter is not None:
        return hole.edge_diameter
    read = [r.value for r in readings if r.kind == "diameter" and r.a == hole.name]
    if read:
        return float(np.median(read))
    return hole.fastener.diameter


def reading_scale(inputs: RailInputs, reading: Reading) -> Ratio:
    """Length at the block for each unit of length read with a tool of another temperature."""
    if inputs.tool_temperature is None or reading.tool not in ("caliper", "rule", "tape"):
        return 1.0
    return tool_scale(inputs.tool_temperature)


def _whole(values: list[int]) -> IntArray:
    return np.array(values, dtype=np.int64)


def _edge_holes(inputs: RailInputs, hole: dict[str, int]) -> list[int]:
    """Holes whose diameter has a part in some reading."""
    found: set[int] = set()
    for r in inputs.readings:
        if r.kind in WITH_EDGES:
            found |= {hole[r.a], hole[str(r.b)]}
        elif r.kind == "diameter" or (r.kind == "offset" and r.part):
            found.add(hole[r.a])
    return sorted(found)


class _Picked:
    """The readings of one kind with their rows."""

    def __init__(self, readings: tuple[Reading, ...], row_of: dict[int, int], hole: dict[str, int]) -> None:
        self.readings = readings
        self.row_of = row_of
        self.hole = hole

    def of(self, *kinds: str) -> list[tuple[int, Reading]]:
        return [(row, self.readings[k]) for k, row in self.row_of.items() if self.readings[k].kind in kinds]

    def by_group(self, *kinds: str) -> list[list[tuple[int, Reading]]]:
        groups: dict[tuple[str, str], list[tuple[int, Reading]]] = {}
        for row, r in self.of(*kinds):
            groups.setdefault((r.kind, r.group), []).append((row, r))
        return list(groups.values())

    def holes(self, names: list[str | None]) -> IntArray:
        return _whole([self.hole[str(name)] for name in names])


def _distance_rows(picked: _Picked, diameter: IntArray) -> DistanceRows:
    kept = picked.of(*_DISTANCES)
    a, b = picked.holes([r.a for _, r in kept]), picked.holes([r.b for _, r in kept])
    part_a = np.array([_DISTANCES[r.kind][0] for _, r in kept], dtype=np.float64)
    part_b = np.array([_DISTANCES[r.kind][1] for _, r in kept], dtype=np.float64)
    return DistanceRows(
        _whole([row for row, _ in kept]),
        a,
        b,
        part_a,
        part_b,
        np.where(part_a == 0.0, 0, diameter[a]),
        np.where(part_b == 0.0, 0, diameter[b]),
    )


def _line_rows(picked: _Picked) -> LineRows:
    kept = picked.of("in_line")
    return LineRows(
        _whole([row for row, _ in kept]),
        picked.holes([r.a for _, r in kept]),
        picked.holes([r.b for _, r in kept]),
        picked.holes([r.with_hole for _, r in kept]),
        np.array([r.value > 0.0 for _, r in kept], dtype=np.bool_),
    )


def _square_rows(picked: _Picked) -> SquareRows:
    kept = picked.of("square")
    return SquareRows(
        _whole([row for row, _ in kept]),
        picked.holes([r.a for _, r in kept]),
        picked.holes([r.b for _, r in kept]),
        picked.holes([r.with_hole for _, r in kept]),
    )


def _offsets(picked: _Picked, b: _Builder, diameter: IntArray) -> list[OffsetRows]:
    out = []
    for kept in picked.by_group("offset"):
        hole = picked.holes([r.a for _, r in kept])
        part = np.array([_OFFSET_PARTS[r.part] for _, r in kept])
        rows = _whole([row for row, _ in kept])
        out.append(
            OffsetRows(rows, hole, part, np.where(part == 0.0, 0, diameter[hole]), b.column(), b.column())
        )
    return out


def _circles(picked: _Picked, b: _Builder) -> list[CircleRows]:
    return [
        CircleRows(
            _whole([row for row, _ in kept]),
            picked.holes([r.a for _, r in kept]),
            b.column(),
            b.column(),
            b.column(),
        )
        for kept in picked.by_group("on_one_circle")
    ]


def _mirrors(picked: _Picked, b: _Builder) -> list[MirrorRows]:
    return [
        MirrorRows(
            _whole([row for row, _ in kept]),
            picked.holes([r.a for _, r in kept]),
            picked.holes([r.b for _, r in kept]),
            np.array([r.part == "middle" for _, r in kept], dtype=np.bool_),
            b.column(),
            b.column(),
        )
        for kept in picked.by_group("mirrored")
    ]


def _readouts(picked: _Picked, b: _Builder) -> list[ReadoutRows]:
    shapes = {shape.group: shape for shape in b.inputs.setups}
    return [
        _readout(kept, picked, b, shapes.get(kept[0][1].group) if kept[0][1].kind == "scan" else None)
        for kept in picked.by_group("readout", "scan")
    ]


def _readout(
    kept: list[tuple[int, Reading]], picked: _Picked, b: _Builder, shape: SetUpShape | None
) -> ReadoutRows:
    rows = ReadoutRows(
        _whole([row for row, _ in kept]),
        picked.holes([r.a for _, r in kept]),
        np.array([r.part == "x" for _, r in kept], dtype=np.bool_),
        b.column(),
        b.column(),
        b.column(),
        b.held_column(),
        b.column() if kept[0][1].kind == "scan" else b.held_column(),
    )
    if shape is None or (shape.stretch, shape.shear, shape.lean) == (0.0, 0.0, 0.0):
        return rows
    given = [getattr(rows, field.name) for field in fields(rows)]
    shaped = [b.shape_column(u) for u in (shape.stretch, shape.shear, shape.lean, shape.lean)]
    return PictureRows(*given, *shaped)
