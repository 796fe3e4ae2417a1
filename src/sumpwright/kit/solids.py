"""Sheets as solids: prisms in space, and the shadow a body throws into a sheet's thickness."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from manifold3d import Manifold, Mesh64, OpType, triangulate
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.geometry import FlatFrame
from sumpwright.quantities.units import FloatArray, IntArray, Metre

SKIN: Metre = 1e-8
"""Thickness shaved off both skins before two bodies are called colliding; touching skins must not count."""

CLIPPER_SCALE = 1e3
"""The plane clipper behind ``project`` rounds to 1e-8 of its unit; in thousandths that is 1e-11 m."""


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One flat piece of metal at its place while it is being shaped.

    Metal fills ``outline`` from height 0 (the oil side, the plane of ``frame``) to
    ``thickness`` along ``frame.normal``. The flange is a sheet too: its height 0 is the
    rail plane and its normal points down.
    """

    name: str
    face: int | None  # cavity face; None for the flange
    frame: FlatFrame
    thickness: Metre
    outline: BaseGeometry  # one or more polygons, m, in the frame
    block: FloatArray | None = None  # (n, 3) m: a facet of a bend is the convex body over these points
    _cache: dict[str, Manifold] = field(default_factory=dict, repr=False)

    def with_outline(self, outline: BaseGeometry) -> Sheet:
        """The same sheet with another outline."""
        return replace(self, outline=outline, _cache={})

    def solid(self) -> Manifold:
        """The metal in the engine frame."""
        if "solid" not in self._cache:
            self._cache["solid"] = (
                prism(self.outline, self.frame, 0.0, self.thickness)
                if self.block is None
                else Manifold.hull_points(self.block)
            )
        return self._cache["solid"]


def rings(shape: BaseGeometry) -> list[FloatArray]:
    """Open rings (n, 2) of a plane shape: outer ones anticlockwise, holes clockwise."""
    found = []
    for polygon in polygons_of(shape):
        oriented = shapely.orient_polygons(polygon)
        for ring in (oriented.exterior, *oriented.interiors):
            found.append(np.ascontiguousarray(shapely.get_coordinates(ring)[:-1]))
    return found


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a plane shape, largest first; lines and points are dropped."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    found = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]
    return sorted(found, key=lambda part: -part.area)


GRID: Metre = 1e-9
"""Plane shapes are snapped to a nanometre where the plain operation gets lost between near-equal lines."""


def less(shape: BaseGeometry, away: BaseGeometry) -> BaseGeometry:
    """What is left of a plane shape."""
    try:
        return shape.difference(away)
    except shapely.GEOSException:
        return shapely.difference(shape.buffer(0.0), away.buffer(0.0), grid_size=GRID)


def common(shape: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two plane shapes share."""
    try:
        return shape.intersection(other)
    except shapely.GEOSException:
        return shapely.intersection(shape.buffer(0.0), other.buffer(0.0), grid_size=GRID)


def joined(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """All plane shapes as one."""
    try:
        return shapely.union_all(list(shapes))
    except shapely.GEOSException:
        return shapely.union_all([shape.buffer(0.0) for shape in shapes], grid_size=GRID)


def prism(shape: BaseGeometry, frame: FlatFrame, low: Metre, high: Metre) -> Manifold:
    """The solid over a plane shape between two heights along the frame's normal."""
    loops = rings(shape)
    flat = np.concatenate(loops)
    count = len(flat)
    caps = np.asarray(triangulate(loops), dtype=np.int64)
    sides = []
    first = 0
    for loop in loops:
        here = np.arange(first, first + len(loop))
        there = np.roll(here, -1)
        sides += [
            np.stack([here, there, there + count], axis=1),
            np.stack([here, there + count, here + count], axis=1),
        ]
        first += len(loop)
    normal = frame.normal
    ground = frame.to_space(flat)
    vertices = np.concatenate([ground + low * normal, ground + high * normal])
    triangles = np.concatenate([caps[:, ::-1], caps + count, *sides])
    return Manifold(Mesh64(vertices, triangles.astype(np.uint64)))


def into_frame(frame: FlatFrame, scale: float = 1.0) -> FloatArray:
    """The affine map (3, 4) from the engine frame to flat coordinates and height, times ``scale``."""
    turn = np.stack([frame.x_axis, frame.y_axis, frame.normal]) * scale
    return np.column_stack([turn, -turn @ frame.origin])


def shadow(bodies: Sequence[Manifold], frame: FlatFrame, thickness: Metre) -> BaseGeometry:
    """Where a square-cut sheet of this thickness would hit one of the bodies, in the sheet's frame [m]."""
    found: list[Polygon] = []
    into = into_frame(frame, CLIPPER_SCALE)
    top = CLIPPER_SCALE * (thickness - SKIN)
    bottom = CLIPPER_SCALE * SKIN
    for body in bodies:
        local = body.transform(into)
        box = local.bounding_box()
        if box[2] >= top or box[5] <= bottom:
            continue
        if box[5] > top:
            local = local.trim_by_plane((0.0, 0.0, -1.0), -top)
        if box[2] < bottom:
            local = local.trim_by_plane((0.0, 0.0, 1.0), bottom)
        if local.is_empty():
            continue
        found += _even_polygons(local.project().to_polygons())
    if not found:
        return Polygon()
    return joined(found)


def _even_polygons(loops: Iterable[FloatArray]) -> list[Polygon]:
    """Rings of the clipper as polygons [m]; clockwise rings are holes of the ring that holds them."""
    outer: list[FloatArray] = []
    holes: list[FloatArray] = []
    for loop in loops:
        ring = np.asarray(loop) / CLIPPER_SCALE
        x, y = ring[:, 0], ring[:, 1]
        twice = float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
        if abs(twice) > 1e-14:
            (outer if twice > 0.0 else holes).append(ring)
    if not holes:
        return [Polygon(ring) for ring in outer]
    solid = shapely.union_all([Polygon(ring) for ring in outer])
    empty = shapely.union_all([Polygon(ring) for ring in holes])
    return polygons_of(solid.difference(empty))


def common_volume(one: Manifold, other: Manifold) -> float:
    """Volume [m3] that two bodies share."""
    a, b = one.bounding_box(), other.bounding_box()
    if any(a[k] >= b[k + 3] or b[k] >= a[k + 3] for k in range(3)):
        return 0.0
    return max(0.0, float((one ^ other).volume()))


def surface_solid(vertices: FloatArray, triangles: IntArray) -> Manifold:
    """A closed triangle surface as a solid."""
    return Manifold(Mesh64(np.array(vertices, order="C"), np.array(triangles, dtype=np.uint64, order="C")))


def union(bodies: Sequence[Manifold]) -> Manifold:
    """All bodies as one."""
    return Manifold.batch_boolean(list(bodies), OpType.Add)
