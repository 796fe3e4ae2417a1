"""The flange's outer edge: straight pieces and arcs round the holes and round the opening."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body.model import BodyInputs, Cavity
from sumpwright.geometry.plane_shapes import Outline
from sumpwright.geometry.polygons import is_simple, signed_area
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    start: FloatArray
    along: FloatArray  # unit, metal on its left


@dataclass(frozen=True, slots=True, eq=False)
class _Arc:
    centre: FloatArray
    radius: Metre


_Piece = _Line | _Arc


def opening_outline(cavity: Cavity) -> FloatArray:
    """The largest opening at the rail, (n, 2), anticlockwise seen from above."""
    openings = [face for face in cavity.faces if face.role == "rail"]
    widest = max(openings, key=lambda face: abs(face.area))
    return cavity.vertices[widest.loops[0]][:, :2]


def flange_outside(holes: FloatArray, cavity: Cavity, inputs: BodyInputs) -> Outline | None:
    """Outer edge round the ring of holes and round the opening; None where the two lie apart.

    Metal reaches ``inputs.flange.outside`` beyond the holes' centres, and one sheet plus
    ``inputs.beside_opening`` beyond the oil side of the walls.
    """
    opening = opening_outline(cavity)
    beside = inputs.sheet + inputs.beside_opening
    sources = [(opening, beside)]
    if len(holes) >= 3 and abs(signed_area(holes)) > 0.0:
        ring = holes if signed_area(holes) > 0.0 else holes[::-1]
        sources.append((ring if is_simple(ring) else _hull(ring), inputs.flange.outside))
    return _union_of_offsets(sources)


def _hull(points: FloatArray) -> FloatArray:
    """Outermost points (m, 2), anticlockwise: what is left to go by where the order of the holes is wrong."""
    import manifold3d

    outer = manifold3d.CrossSection.hull_points(1e3 * points).to_polygons()[0]
    return 1e-3 * np.asarray(outer, dtype=np.float64)


def _union_of_offsets(sources: list[tuple[FloatArray, Metre]]) -> Outline | None:
    """Rounded offsets of closed lines, joined, as exact lines and arcs."""
    import manifold3d

    joined = manifold3d.CrossSection()
    pieces: list[_Piece] = []
    for points, reach in sources:
        # Millimetres inside, because the plane-shape library rounds to fixed decimals.
        shape = manifold3d.CrossSection([1e3 * points])
        joined = joined + shape.offset(1e3 * reach, manifold3d.JoinType.Round, 2.0, 720)
        pieces += _offset_pieces(points, reach)
    outer = [loop for loop in joined.to_polygons() if signed_area(np.asarray(loop)) > 0.0]
    if len(outer) != 1:
        return None
    return _refit(1e-3 * np.asarray(outer[0], dtype=np.float64), pieces)


def _offset_pieces(points: FloatArray, reach: Metre) -> list[_Piece]:
    pieces: list[_Piece] = []
    along = np.roll(points, -1, axis=0) - points
    along = along / np.hypot(along[:, 0], along[:, 1])[:, None]
    for point, direction in zip(points, along, strict=True):
        outwards = np.array([direction[1], -direction[0]])
        pieces.append(_Line(point + reach * outwards, direction))
        pieces.append(_Arc(point, reach))
    return pieces


def _misfits(piece: _Piece, starts: FloatArray, ends: FloatArray) -> FloatArray:
    """How far each chord of the rough outline is from lying on a piece (n,) [m]."""
    chords = ends - starts
    if isinstance(piece, _Line):
        square = np.array([-piece.along[1], piece.along[0]])
        off = np.maximum(np.abs((starts - piece.start) @ square), np.abs((ends - piece.start) @ square))
        return np.where(chords @ piece.along > 0.0, off, math.inf)
    a, b = starts - piece.centre, ends - piece.centre
    turns_left = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] > 0.0
    off = np.maximum(np.abs(np.hypot(*a.T) - piece.radius), np.abs(np.hypot(*b.T) - piece.radius))
    return np.where(turns_left, off, math.inf)


def _refit(rough: FloatArray, pieces: list[_Piece]) -> Outline:
    """The exact line or arc under every chord of a rough outline, and their exact junctions."""
    following = np.roll(rough, -1, axis=0)
    misfits = np.stack([_misfits(piece, rough, following) for piece in pieces])
    # The first piece that fits as well as the best: a line before the arc that it touches.
    fitting = misfits <= misfits.min(axis=0) + 1e-8
    crumbs = np.hypot(*(following - rough).T) < 2e-7
    chosen = np.where(crumbs, -1, np.argmax(fitting, axis=0)).tolist()
    runs: list[tuple[int, int]] = []  # piece, first chord
    for k, piece in enumerate(chosen):
        if piece >= 0 and (not runs or runs[-1][0] != piece):
            runs.append((piece, k))
    if len(runs) > 1 and runs[0][0] == runs[-1][0]:
        runs = [*runs[1:-1], runs[-1]]
    corners = [
        _junction(pieces[runs[k - 1][0]], pieces[runs[k][0]], rough[runs[k][1]]) for k in range(len(runs))
    ]
    bulges = []
    for k, (piece, _) in enumerate(runs):
        shape = pieces[piece]
        if isinstance(shape, _Line):
            bulges.append(0.0)
            continue
        a, b = corners[k] - shape.centre, corners[(k + 1) % len(corners)] - shape.centre
        turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b)) % (2.0 * math.pi)
        bulges.append(math.tan(0.25 * turn))
    return Outline(frozen_array(corners), frozen_array(bulges))


def _junction(before: _Piece, after: _Piece, near: FloatArray) -> FloatArray:
    """Where two pieces meet, nearest to a rough place."""
    if isinstance(before, _Line) and isinstance(after, _Line):
        matrix = np.stack([before.along, -after.along], axis=1)
        if abs(float(np.linalg.det(matrix))) < 1e-9:
            return near
        share = float(np.linalg.solve(matrix, after.start - before.start)[0])
        return np.asarray(before.start + share * before.along)
    if isinstance(before, _Arc) and isinstance(after, _Arc):
        between = after.centre - before.centre
        distance = float(np.hypot(*between))
        if distance < 1e-9:
            return near
        along = between / distance
        foot = (distance**2 + before.radius**2 - after.radius**2) / (2.0 * distance)
        height = math.sqrt(max(before.radius**2 - foot**2, 0.0))
        square = np.array([-along[1], along[0]])
        options = [before.centre + foot * along + sign * height * square for sign in (1.0, -1.0)]
        return min(options, key=lambda p: float(np.hypot(*(p - near))))
    line, arc = (before, after) if isinstance(before, _Line) else (after, before)
    assert isinstance(line, _Line)
    assert isinstance(arc, _Arc)
    away = arc.centre - line.start
    foot = float(away @ line.along)
    square = away - foot * line.along
    height = math.sqrt(max(arc.radius**2 - float(square @ square), 0.0))
    options = [line.start + (foot + sign * height) * line.along for sign in (1.0, -1.0)]
    return min(options, key=lambda p: float(np.hypot(*(p - near))))
