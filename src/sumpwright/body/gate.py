"""The feature gate: can sheet of this thickness follow the shape at all."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body.formulas import outside_angle
from sumpwright.body.model import Cavity, Face, GateBreach
from sumpwright.geometry.polygons import segment_distance
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.quantities.units import FloatArray, Metre, Radian

EDGE_THICKNESSES = 4.0
FACE_THICKNESSES = 4.0
LEAST_OUTSIDE_ANGLE: Radian = math.radians(50.0)
LEAST_FACE_CORNER: Radian = math.radians(15.0)
_ANGLE_SLACK: Radian = 1e-6
_LENGTH_SLACK: Metre = 1e-9
"""A corner or an edge drawn right at a limit is not refused for its rounding."""


def gate_breaches(cavity: Cavity, sheet: Metre) -> tuple[GateBreach, ...]:
    """Every place where the shape is too small or too sharp for this sheet."""
    return (
        *_openings(cavity),
        *_short_edges(cavity, EDGE_THICKNESSES * sheet),
        *_narrow_faces(cavity, FACE_THICKNESSES * sheet),
        *_tight_inward_corners(cavity),
        *_needle_corners(cavity),
    )


def _place(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])


def _openings(cavity: Cavity) -> list[GateBreach]:
    """A pan has one opening at the rail, and no tube runs through it."""
    openings = [face for face in cavity.faces if face.role == "rail"]
    breaches: list[GateBreach] = []
    if len(openings) > 1:
        breaches.append(
            GateBreach(
                "solid",
                "rail opening",
                float(len(openings)),
                1.0,
                "1",
                _place(cavity.vertices[openings[1].loops[0][0]]),
                "let the lumps meet at the rail, so that one flange goes round one opening",
            )
        )
    for face in openings:
        if len(face.loops) > 1:
            breaches.append(
                GateBreach(
                    "solid",
                    f"{face.name}: an island stands inside it",
                    float(len(face.loops) - 1),
                    0.0,
                    "1",
                    _place(cavity.vertices[face.loops[1]].mean(axis=0)),
                    "start the cutting lump below the rail, or let it reach the opening's edge",
                )
            )
    return breaches


def _short_edges(cavity: Cavity, least: Metre) -> list[GateBreach]:
    breaches = []
    for edge in cavity.edges:
        if edge.length < least - _LENGTH_SLACK:
            a, b = cavity.faces[edge.face_a].name, cavity.faces[edge.face_b].name
            breaches.append(
                GateBreach(
                    "edge",
                    f"edge between {a} and {b}",
                    edge.length,
                    least,
                    "m",
                    _place(0.5 * (cavity.vertices[edge.start] + cavity.vertices[edge.end])),
                    "make the two lumps flush here, or move them further apart",
                )
            )
    return breaches


def _flat_loops(cavity: Cavity, face: Face) -> tuple[list[FloatArray], FloatArray]:
    x_axis, y_axis = axes_in_plane(face.plane.normal)
    axes = np.stack([x_axis, y_axis], axis=1)
    return [cavity.vertices[loop] @ axes for loop in face.loops], axes


@dataclass(frozen=True, slots=True, eq=False)
class _Strip:
    """Two sides of a face that come too close."""

    between: tuple[str, ...]  # the faces beyond the two sides
    gap: Metre
    alongside: Metre  # over which the two sides run beside each other
    middle: FloatArray  # (2,) m, of the closest place
    first: tuple[FloatArray, FloatArray]
    second: tuple[FloatArray, FloatArray]

    def is_end_of(self, other: _Strip, least: Metre) -> bool:
        """Whether this is only the end of another strip, seen from a side that closes it."""
        return all(
            segment_distance(self.middle, self.middle, *side)[0] < least
            for side in (other.first, other.second)
        )


def _narrow_faces(cavity: Cavity, least: Metre) -> list[GateBreach]:
    """Sides of one face that are no neighbours and yet too close, the worst place of each pair of faces."""
    beyond = {}
    for edge in cavity.edges:
        beyond[edge.face_a, edge.start, edge.end] = cavity.faces[edge.face_b].name
        beyond[edge.face_b, edge.end, edge.start] = cavity.faces[edge.face_a].name
    breaches = []
    for face in cavity.faces:
        loops, axes = _flat_loops(cavity, face)
        worst: dict[tuple[str, ...], _Strip] = {}
        sides = [(k, i, (i + 1) % len(points)) for k, points in enumerate(loops) for i in range(len(points))]
        for n, (ka, a0, a1) in enumerate(sides):
            pa, qa = loops[ka][a0], loops[ka][a1]
            for kb, b0, b1 in sides[n + 1 :]:
                pb, qb = loops[kb][b0], loops[kb][b1]
                if (ka == kb and len({a0, a1, b0, b1}) < 4) or _apart_at_least(pa, qa, pb, qb, least):
                    continue
                gap, at, other = segment_distance(pa, qa, pb, qb)
                if gap >= least - _LENGTH_SLACK or _is_short_side_between(loops, ka, kb, a0, a1, b0, b1, gap):
                    continue
                ends = ((ka, a0, a1), (kb, b0, b1))
                pair = tuple(
                    sorted(
                        beyond.get((face.index, int(face.loops[k][i]), int(face.loops[k][j])), "?")
                        for k, i, j in ends
                    )
                )
                if pair not in worst or gap < worst[pair].gap - 1e-9:
                    beside = _alongside(pa, qa, pb, qb)
                    worst[pair] = _Strip(pair, gap, beside, 0.5 * (at + other), (pa, qa), (pb, qb))
        told: list[_Strip] = []
        for strip in sorted(worst.values(), key=lambda one: (round(one.gap, 9), -round(one.alongside, 6))):
            if any(strip.is_end_of(other, least) for other in told):
                continue
            told.append(strip)
            breaches.append(
                GateBreach(
                    "face",
                    f"strip of {face.name} between {strip.between[0]} and {strip.between[1]}",
                    strip.gap,
                    least,
                    "m",
                    _place(axes @ strip.middle + face.plane.offset * face.plane.normal),
                    "widen the strip, or make the lumps flush so that it goes away",
                )
            )
    return breaches


def _alongside(pa: FloatArray, qa: FloatArray, pb: FloatArray, qb: FloatArray) -> Metre:
    """Length over which one side runs beside the other."""
    along = (qa - pa) / max(float(np.hypot(*(qa - pa))), 1e-300)
    own, other = (
        sorted((0.0, float((qa - pa) @ along))),
        sorted((float((pb - pa) @ along), float((qb - pa) @ along))),
    )
    return max(0.0, min(own[1], other[1]) - max(own[0], other[0]))


def _apart_at_least(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray, least: Metre) -> bool:
    """Cheap look at the bounding boxes first."""
    for axis in (0, 1):
        if min(c[axis], d[axis]) - max(a[axis], b[axis]) >= least:
            return True
        if min(a[axis], b[axis]) - max(c[axis], d[axis]) >= least:
            return True
    return False


def _is_short_side_between(
    loops: list[FloatArray], ka: int, kb: int, a0: int, a1: int, b0: int, b1: int, gap: Metre
) -> bool:
    """Whether the two sides are close only because one short side joins them (told as an edge)."""
    if ka != kb:
        return False
    points = loops[ka]
    for near, far in ((a1, b0), (b1, a0)):
        if (near + 1) % len(points) == far and abs(
            float(np.hypot(*(points[near] - points[far]))) - gap
        ) < 1e-9:
            return True
    return False


def _tight_inward_corners(cavity: Cavity) -> list[GateBreach]:
    breaches = []
    for edge in cavity.edges:
        phi = outside_angle(edge.corner_angle)
        if edge.is_inward and phi < LEAST_OUTSIDE_ANGLE - _ANGLE_SLACK:
            a, b = cavity.faces[edge.face_a].name, cavity.faces[edge.face_b].name
            breaches.append(
                GateBreach(
                    "angle",
                    f"inward corner between {a} and {b}",
                    phi,
                    LEAST_OUTSIDE_ANGLE,
                    "rad",
                    _place(0.5 * (cavity.vertices[edge.start] + cavity.vertices[edge.end])),
                    "open the corner up, or fill it with a lump",
                )
            )
    return breaches


def _needle_corners(cavity: Cavity) -> list[GateBreach]:
    breaches = []
    for face in cavity.faces:
        loops, _ = _flat_loops(cavity, face)
        for points, ring in zip(loops, face.loops, strict=True):
            to_next = np.roll(points, -1, axis=0) - points
            to_last = np.roll(points, 1, axis=0) - points
            cross = to_next[:, 0] * to_last[:, 1] - to_next[:, 1] * to_last[:, 0]
            angles = np.arctan2(cross, np.einsum("ij,ij->i", to_next, to_last)) % (2.0 * math.pi)
            for k in np.flatnonzero(angles < LEAST_FACE_CORNER - _ANGLE_SLACK):
                breaches.append(
                    GateBreach(
                        "corner",
                        f"needle corner of {face.name}",
                        float(angles[k]),
                        LEAST_FACE_CORNER,
                        "rad",
                        _place(cavity.vertices[ring[k]]),
                        "cut the tip off with a small side, or turn one of its two sides",
                    )
                )
    return breaches
