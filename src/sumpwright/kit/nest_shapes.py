"""The pieces to be nested: outer shape, hole-filled company, and the ways each may be turned."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.geometry.arcs import outline_box
from sumpwright.kit.metal import CHORD_SAGITTA, chords, metal_of
from sumpwright.kit.model import FlatPart
from sumpwright.kit.nest_model import Placement
from sumpwright.quantities.units import FloatArray, Metre, Radian, SquareMetre, frozen_array

MANY_CORNERS = 24
"""From so many corners on a piece is nested by a plainer shape that encloses it."""

PLAINER: Metre = 2.5e-4
"""How far the plainer shape may stand off the piece."""


SMALL_NOTCHES = 0.02
"""Notches that make up less than this share of a piece are not worth nesting into."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """One piece of metal to place, in its flat's own axes, with what already lies in its cut-outs."""

    part: str
    copy: int
    shape: Polygon  # encloses the piece; cut-outs are filled
    metal: SquareMetre  # of the piece alone
    grain: Radian | None  # direction in the flat that must run along the sheet; None = any
    guests: tuple[Placement, ...] = ()  # in this flat's axes
    angles: tuple[Radian, ...] = ()  # ways it may be turned

    def box(self, angle: Radian) -> tuple[Metre, Metre]:
        """Length and width of the box round it when turned."""
        ring = turned(shapely.get_coordinates(self.shape.exterior), angle)
        return float(np.ptp(ring[:, 0])), float(np.ptp(ring[:, 1]))

    def least_box(self) -> tuple[Metre, Metre]:
        """The flattest box round it among the ways it may be turned."""
        return min((self.box(a) for a in self.angles), key=lambda size: (round(size[1], 9), size[0]))


def turned(points: FloatArray, angle: Radian) -> FloatArray:
    """Points (n, 2) turned about the origin; quarter turns stay exact."""
    quarters = angle / (0.5 * math.pi)
    if abs(quarters - round(quarters)) < 1e-12:
        c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[round(quarters) % 4]
    else:
        c, s = math.cos(angle), math.sin(angle)
    return frozen_array(
        np.stack([c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]], 1)
    )


def placed(points: FloatArray, placement: Placement) -> FloatArray:
    """Points (n, 2) of a flat as they lie on the blank."""
    return frozen_array(turned(points, placement.angle) + np.array([placement.dx, placement.dy]))


def placed_metal(part: FlatPart, placement: Placement) -> Polygon:
    """The part's metal as it lies on the blank."""
    shape = metal_of(part)
    rings = [
        placed(shapely.get_coordinates(ring)[:-1], placement) for ring in (shape.exterior, *shape.interiors)
    ]
    return Polygon(rings[0], rings[1:])


def pieces_of_part(part: FlatPart, grain: Radian | None) -> tuple[Piece, ...]:
    """Every copy of a part as a piece; none where it has no whole outline."""
    outer = Polygon(chords(part.outline))
    if not outer.is_valid or outer.is_empty or outer.area <= 0.0:
        return ()
    low, high = outline_box(part.outline)
    shape = plain_enough(outer, shapely.box(*low, *high))
    metal = float(metal_of(part).area)
    angles = ways_to_turn(shape, grain)
    return tuple(Piece(part.name, k, shape, metal, grain, (), angles) for k in range(1, part.quantity + 1))


def plain_enough(shape: Polygon, box: Polygon) -> Polygon:
    """The shape, or a plainer one that encloses it where it has small notches or very many corners.

    Chords on arcs lie inside the metal by up to their sagitta: shapes with many corners are
    grown by that much and the plainer line's own slack before corners are dropped. The true
    box round the part clips the growth, or a part as wide as the sheet would not fit it.
    """
    hull = shape.convex_hull
    is_nearly_whole = hull.area - shape.area <= SMALL_NOTCHES * shape.area
    if isinstance(hull, Polygon) and is_nearly_whole and len(hull.exterior.coords) <= MANY_CORNERS:
        return hull
    if len(shape.exterior.coords) <= MANY_CORNERS:
        return Polygon(shape.exterior)
    grown = shape.buffer(PLAINER + CHORD_SAGITTA, join_style="mitre", mitre_limit=1.5)
    plain = grown.simplify(PLAINER)
    if not isinstance(plain, Polygon) or not plain.covers(shape.buffer(CHORD_SAGITTA)):
        plain = grown
    assert isinstance(plain, Polygon)
    clipped = shapely.intersection(Polygon(plain.exterior), box)
    return clipped if isinstance(clipped, Polygon) else plain


def ways_to_turn(shape: Polygon, grain: Radian | None) -> tuple[Radian, ...]:
    """Angles to try: grain along the sheet either way, else the four sides of the tightest box."""
    if grain is not None:
        return (-grain, math.pi - grain)
    ring = shapely.get_coordinates(shape.convex_hull)
    sides = np.diff(ring, axis=0)
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    best = (math.inf, 0.0)
    for side in sides[lengths > 1e-6]:
        tilt = math.atan2(side[1], side[0]) % (0.5 * math.pi)
        if min(tilt, 0.5 * math.pi - tilt) < 1e-9:
            tilt = 0.0
        points = turned(ring, -tilt)
        area = float(np.ptp(points[:, 0]) * np.ptp(points[:, 1]))
        if area < best[0] * (1.0 - 1e-9):
            best = (area, tilt)
    return tuple(-best[1] + quarter * 0.5 * math.pi for quarter in range(4))
