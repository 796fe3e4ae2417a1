"""Where on a part a mark of a given size fits, wholly in metal and clear of edges and holes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, Radian

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def upright(angle: Radian) -> Radian:
    """The same direction of a line, read from left to right or upwards: in (-90, 90] degrees."""
    turned = (angle + math.pi / 2) % math.pi - math.pi / 2
    return math.pi / 2 if turned <= -math.pi / 2 + 1e-9 else turned


def reading_angles(outline: FloatArray, most: int = 4) -> tuple[Radian, ...]:
    """Directions to try for a line of letters: level, along the longest sides, upwards."""
    sides = np.roll(outline, -1, axis=0) - outline
    lengths = np.hypot(sides[:, 0], sides[:, 1])
    wanted = [0.0]
    for k in np.argsort(-lengths, kind="stable")[: 2 * most]:
        wanted.append(upright(math.atan2(sides[k, 1], sides[k, 0])))
    wanted.append(math.pi / 2)
    found: list[Radian] = []
    for angle in wanted:
        apart = [abs((angle - known + math.pi / 2) % math.pi - math.pi / 2) for known in found]
        if min(apart, default=1.0) > math.radians(2.0):
            found.append(angle)
    return tuple(found[: most + 1])


def box(middle: FloatArray, width: Metre, height: Metre, angle: Radian) -> FloatArray:
    """Corners (4, 2) of a rectangle about its middle."""
    across = 0.5 * width * np.array([math.cos(angle), math.sin(angle)])
    up = 0.5 * height * np.array([-math.sin(angle), math.cos(angle)])
    return np.array([middle - across - up, middle + across - up, middle + across + up, middle - across + up])


def place_box(
    free: BaseGeometry, width: Metre, height: Metre, angle: Radian, near: FloatArray
) -> FloatArray | None:
    """Middle (2,) of a rectangle that fits into the free metal, as near to ``near`` as can be.

    The middles that fit are the free shape less all rectangles that would touch its edge:
    each straight piece of edge swept by the turned rectangle is a hexagon.
    """
    import shapely

    if free.is_empty or free.area < width * height:
        return None
    if free.contains(shapely.Polygon(box(near, width, height, angle))):
        return near
    corners = box(np.zeros(2), width, height, angle)
    starts, ends = [], []
    for ring in _rings(free):
        starts.append(ring[:-1])
        ends.append(ring[1:])
    first, last = np.concatenate(starts), np.concatenate(ends)
    swept = np.concatenate([first[:, None, :] + corners, last[:, None, :] + corners], axis=1)
    hulls = shapely.convex_hull(shapely.multipoints(swept))
    fits = free.difference(shapely.union_all(hulls))
    if fits.is_empty:
        return None
    here = shapely.Point(*near)
    if shapely.contains_properly(fits, here):
        return near
    nearest = shapely.get_coordinates(shapely.shortest_line(fits, here))[0]
    return np.asarray(nearest, dtype=np.float64)


def room_for_box(free: BaseGeometry) -> tuple[Metre, Metre]:
    """The widest a box's narrow side, and the longest its diagonal, can be in the free metal.

    No box beyond either can fit; many that keep both do not fit either.
    """
    import shapely

    if free.is_empty:
        return 0.0, 0.0
    low_x, low_y, high_x, high_y = free.bounds
    tolerance = 2e-4
    circle: Any = shapely.maximum_inscribed_circle(free, tolerance=tolerance)  # type: ignore[call-overload]
    broadest = 2.0 * (float(circle.length) + tolerance)
    return broadest, math.hypot(high_x - low_x, high_y - low_y)


def without(free: BaseGeometry, taken: Iterable[FloatArray], room: Metre) -> BaseGeometry:
    """The free metal less what marks already cover, with some room about each."""
    import shapely

    polygons = [shapely.Polygon(ring).buffer(room, join_style="mitre") for ring in taken]
    return free.difference(shapely.union_all(polygons)) if polygons else free


def _rings(shape: BaseGeometry) -> list[FloatArray]:
    import shapely

    found: list[FloatArray] = []
    for part in shapely.get_parts(shape):
        if isinstance(part, shapely.Polygon):
            found += [np.array(ring.coords) for ring in (part.exterior, *part.interiors)]
    return found
