"""The metal of a flat part as a plane shape: chords for arcs, exact distances to edges.

Outlines keep their arcs; where a plane-shape library needs straight sides, arcs become
chords on the side that the caller can stand: never more than ``sagitta`` off.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.geometry import Circle, Outline
from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

if TYPE_CHECKING:
    from shapely import Polygon

CHORD_SAGITTA: Metre = 2e-5
"""How far a chord may stand off its arc where shapes are only compared, not cut."""


def arc_of(start: FloatArray, end: FloatArray, bulge: float) -> tuple[FloatArray, Metre, Radian, Radian]:
    """Centre (2,), radius, start angle and signed sweep of the arc from start to end.

    Valid for a bulge other than zero: tan of a quarter of the sweep, positive to the left.
    """
    chord = end - start
    sweep = 4.0 * math.atan(bulge)
    # The centre lies left of the chord for a left turn below a half circle.
    height = (1.0 - bulge * bulge) / (4.0 * bulge)
    centre = 0.5 * (start + end) + height * np.array([-chord[1], chord[0]])
    away = start - centre
    return centre, math.hypot(*away), math.atan2(away[1], away[0]), sweep


def chords(outline: Outline, sagitta: Metre = CHORD_SAGITTA) -> FloatArray:
    """The outline's corners (n, 2) m with every arc broken into chords."""
    if not np.any(outline.bulges):
        return frozen_array(np.array(outline.points))
    points: list[FloatArray] = []
    count = len(outline.points)
    for k in range(count):
        start, end = outline.points[k], outline.points[(k + 1) % count]
        points.append(np.asarray(start))
        bulge = float(outline.bulges[k])
        if bulge == 0.0:
            continue
        centre, radius, first, sweep = arc_of(start, end, bulge)
        step = 2.0 * math.acos(max(0.0, 1.0 - sagitta / radius)) if sagitta < radius else math.pi / 2
        pieces = max(2, math.ceil(abs(sweep) / step))
        for j in range(1, pieces):
            angle = first + sweep * j / pieces
            points.append(centre + radius * np.array([math.cos(angle), math.sin(angle)]))
    return frozen_array(np.array(points))


def circle_chords(circle: Circle, sagitta: Metre = CHORD_SAGITTA) -> FloatArray:
    """Corners (n, 2) m of a many-sided hole that encloses the round one."""
    radius = 0.5 * circle.diameter
    pieces = max(12, math.ceil(math.pi / math.acos(radius / (radius + sagitta))))
    angles = 2.0 * math.pi * (np.arange(pieces) + 0.5) / pieces
    outer = radius / math.cos(math.pi / pieces)
    return frozen_array(
        np.stack([circle.x + outer * np.cos(angles), circle.y + outer * np.sin(angles)], axis=1)
    )


def metal_of(part: FlatPart) -> Polygon:
    """The part's metal: outline less cut-outs and holes, arcs as chords."""
    from shapely import Polygon, get_parts, union_all

    voids = [Polygon(chords(cut)) for cut in part.cut_outs]
    voids += [Polygon(circle_chords(hole)) for hole in part.holes]
    left = Polygon(chords(part.outline)).difference(union_all(voids))
    pieces = [piece for piece in get_parts(left) if isinstance(piece, Polygon)]
    return max(pieces, key=lambda piece: float(piece.area), default=Polygon())


def mirrored(outline: Outline) -> Outline:
    """The outline seen from the other side: y turned over, still running the same way round."""
    turned = np.asarray(outline.points)[::-1] * np.array([1.0, -1.0])
    # Piece j of the new line is piece n-2-j of the old one; turning over and running
    # backwards each change the sign of an arc, together they leave it.
    return Outline(frozen_array(turned), frozen_array(np.roll(np.asarray(outline.bulges)[::-1], -1)))


def reversed_outline(outline: Outline) -> Outline:
    """The same line run the other way round."""
    return Outline(
        frozen_array(np.asarray(outline.points)[::-1]),
        frozen_array(-np.roll(np.asarray(outline.bulges)[::-1], -1)),
    )


def distance_to_outline(outline: Outline, place: FloatArray) -> Metre:
    """Least distance [m] from a place (2,) to the line, arcs taken exactly."""
    count = len(outline.points)
    best = math.inf
    for k in range(count):
        start, end = np.asarray(outline.points[k]), np.asarray(outline.points[(k + 1) % count])
        bulge = float(outline.bulges[k])
        if bulge == 0.0:
            along = end - start
            length2 = float(along @ along)
            share = 0.0 if length2 == 0.0 else min(1.0, max(0.0, float((place - start) @ along) / length2))
            best = min(best, math.hypot(*(place - start - share * along)))
            continue
        centre, radius, first, sweep = arc_of(start, end, bulge)
        away = place - centre
        angle = math.atan2(away[1], away[0])
        turned = (angle - first) % (2.0 * math.pi) if sweep > 0.0 else (first - angle) % (2.0 * math.pi)
        if turned <= abs(sweep):
            best = min(best, abs(math.hypot(*away) - radius))
        else:
            best = min(best, math.hypot(*(place - start)), math.hypot(*(place - end)))
    return best
