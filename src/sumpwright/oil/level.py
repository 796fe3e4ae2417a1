"""Volume and level in any attitude, in closed form.

For one direction of up, let every corner have a height h. A triangle of the closed
surface with level (projected) area a, counted positive where it faces up, adds

    -a * mean over the triangle of max(0, level - h)

to the volume below the level. The mean is a cubic in the level between the heights of
the triangle's corners, so the whole volume is a piecewise cubic with knots at the
corners' heights, and a level is found in one stretch by one cubic. Nothing is cut.

Each stretch uses the form of the mean that divides only by height differences at least
as large as the numerator, so faces level with the surface, equal heights and nearly
equal heights need no special case. The derivation stands in docs/theory/oil.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity
from sumpwright.geometry import Surface
from sumpwright.geometry.solid_shapes import cross_rows
from sumpwright.quantities.units import (
    BoolArray,
    CubicMetre,
    FloatArray,
    Metre,
    SquareMetre,
    frozen_array,
    frozen_indices,
)

MANY = 12
"""From this number of attitudes on, ``levels`` uses the compiled path."""

_CHUNK = 400_000  # knot-and-triangle pairs held at once


@dataclass(frozen=True, slots=True, eq=False)
class LevelCurve:
    """Volume against level of one closed surface in one attitude, ready to be asked.

    Levels are ``up . p`` [m] of the oil's surface, in the frame of the surface's vertices.
    """

    up: FloatArray  # (3,) unit vector
    knots: FloatArray  # (k,) m, rising: the heights at which the surface has corners
    volumes: FloatArray  # (k,) m3 below each knot
    areas_above: FloatArray  # (k,) m2, oil surface just above each knot
    areas_below: FloatArray  # (k,) m2, oil surface just below each knot
    surface: Surface

    @staticmethod
    def prepare(surface: Surface | Cavity, up: FloatArray) -> LevelCurve:
        """The curve of a closed surface for one direction of up (3,), any length."""
        closed = surface.surface() if isinstance(surface, Cavity) else surface
        unit = _unit(up)
        heights = closed.vertices @ unit
        corner_heights, level_areas = sorted_heights_and_areas(closed, heights, unit)
        knots = np.unique(heights)
        count = len(knots)
        volumes = np.zeros(count)
        above = np.zeros(count)
        below = np.zeros(count)
        low, middle, high = corner_heights
        stride = max(1, _CHUNK // max(1, len(low)))
        for first in range(0, count, stride):
            at = knots[first : first + stride, None]
            mean, rate = mean_depth(at, low, middle, high)
            volumes[first : first + stride] = -(mean @ level_areas)
            # A face level with the surface starts to count just above its own height.
            flat_here = (low == high) & (at == low)
            below[first : first + stride] = -(np.where(flat_here, 0.0, rate) @ level_areas)
            above[first : first + stride] = -(np.where(flat_here, 1.0, rate) @ level_areas)
        return LevelCurve(
            up=frozen_array(unit),
            knots=frozen_array(knots),
            volumes=frozen_array(volumes),
            areas_above=frozen_array(above),
            areas_below=frozen_array(below),
            surface=closed,
        )

    @property
    def lowest(self) -> Metre:
        """Level of the deepest point."""
        return float(self.knots[0])

    @property
    def highest(self) -> Metre:
        """Level of the highest point."""
        return float(self.knots[-1])

    @property
    def whole(self) -> CubicMetre:
        """Volume of the whole body."""
        return float(self.volumes[-1])

    def volume_below(self, level: Metre) -> CubicMetre:
        """Oil that fills the body up to the level."""
        if level <= self.knots[0]:
            return 0.0
        if level >= self.knots[-1]:
            return self.whole
        k = int(np.searchsorted(self.knots, level, side="right")) - 1
        width, v0, v1, a0, a1 = self._stretch(k)
        t = (level - float(self.knots[k])) / width
        return _cubic(t, v0, v1, a0 * width, a1 * width)[0]

    def wetted_area(self, level: Metre) -> SquareMetre:
        """Area of the oil's surface at the level: what one more metre of level would take in volume."""
        if level < self.knots[0] or level >= self.knots[-1]:
            return 0.0
        k = int(np.searchsorted(self.knots, level, side="right")) - 1
        width, v0, v1, a0, a1 = self._stretch(k)
        t = (level - float(self.knots[k])) / width
        return max(0.0, _cubic(t, v0, v1, a0 * width, a1 * width)[1] / width)

    def level_for(self, volume: CubicMetre) -> Metre:
        """The level at which the body holds the volume.

        Not a number where the body cannot hold it; the lowest point for no oil.
        """
        if not volume <= self.whole:
            # A volume that misses the whole by rounding alone still fits.
            if abs(volume - self.whole) <= 1e-12 * self.whole:
                return self.highest
            return float("nan")
        if volume <= 0.0:
            return self.lowest
        k = int(np.searchsorted(self.volumes, volume, side="left")) - 1
        # Rounding may leave the tabled volumes a hair out of order; step to the stretch that holds it.
        k = min(max(k, 0), len(self.knots) - 2)
        width, v0, v1, a0, a1 = self._stretch(k)
        return float(self.knots[k]) + width * _solve_cubic(volume, v0, v1, a0 * width, a1 * width)

    def centroid_below(self, level: Metre) -> FloatArray:
        """Centroid (3,) [m] of the oil below the level; the deepest point's height where there is none."""
        first = _first_moment(self.surface, self.up, level)
        volume = self.volume_below(level)
        if volume <= 0.0:
            lowest = int(np.argmin(self.surface.vertices @ self.up))
            return frozen_array(self.surface.vertices[lowest])
        return frozen_array(first / volume)

    def _stretch(self, k: int) -> tuple[float, float, float, float, float]:
        """Width, volume at both ends and surface area just inside both ends of stretch k."""
        return (
            float(self.knots[k + 1] - self.knots[k]),
            float(self.volumes[k]),
            float(self.volumes[k + 1]),
            float(self.areas_above[k]),
            float(self.areas_below[k + 1]),
        )


def levels(surface: Surface | Cavity, ups: FloatArray, volumes: FloatArray | float) -> FloatArray:
    """Level ``up . p`` [m] of each volume in each attitude, (k,).

    ups is (k, 3), any length; volumes is (k,) or one number for all [m3]. Not a number
    where the body cannot hold the volume.
    """
    closed = surface.surface() if isinstance(surface, Cavity) else surface
    directions = np.atleast_2d(np.asarray(ups, dtype=np.float64))
    wanted = np.broadcast_to(np.asarray(volumes, dtype=np.float64), (len(directions),))
    if len(directions) < MANY:
        found = [
            LevelCurve.prepare(closed, up).level_for(float(volume))
            for up, volume in zip(directions, wanted, strict=True)
        ]
        return frozen_array(found)
    from sumpwright.oil.level_compiled import levels_compiled

    lengths = np.linalg.norm(directions, axis=1)
    return frozen_array(
        levels_compiled(
            np.ascontiguousarray(closed.vertices),
            np.ascontiguousarray(closed.triangles),
            np.ascontiguousarray(directions / lengths[:, None]),
            np.ascontiguousarray(wanted),
        )
    )


def carried_up(cavity: Cavity, height: Metre | None = None) -> Surface:
    """The cavity with its walls carried on upwards from the rail: the space above the rail open.

    ``height`` is how far; without it ten times the cavity's largest extent, which holds
    the oil in any attitude up to some 80 degrees from standing.
    """
    if height is None:
        height = 10.0 * float(np.max(np.ptp(cavity.vertices, axis=0)))
    is_rail = np.array([face.role == "rail" for face in cavity.faces], dtype=np.bool_)
    on_rail: BoolArray = is_rail[cavity.face_of_triangle]
    rail = cavity.triangles[on_rail]
    others = cavity.triangles[~on_rail]
    corners = np.unique(rail)
    raised = np.full(len(cavity.vertices), -1, dtype=np.int64)
    raised[corners] = len(cavity.vertices) + np.arange(len(corners))
    vertices = np.vstack([cavity.vertices, cavity.vertices[corners] + np.array([0.0, 0.0, height])])
    walls: list[tuple[int, int, int]] = []
    for a, b in _open_edges(rail):
        # The rail triangle that owned a -> b is gone; the wall below runs b -> a, so the new one runs a -> b.
        walls.append((a, b, int(raised[b])))
        walls.append((a, int(raised[b]), int(raised[a])))
    pieces = [others, raised[rail]]
    if walls:
        pieces.append(np.array(walls, dtype=np.int64))
    return Surface(frozen_array(vertices), frozen_indices(np.vstack(pieces)))


def rail_lowest_level(cavity: Cavity, up: FloatArray) -> Metre:
    """Level ``up . p`` [m] at which a rising surface first touches the rail opening; nan without one."""
    lowest = rail_lowest_point(cavity, up)
    return float("nan") if lowest is None else float(lowest @ _unit(up))


def rail_lowest_point(cavity: Cavity, up: FloatArray) -> FloatArray | None:
    """Corner (3,) [m] of the rail opening over which oil first runs; None without an opening."""
    corners = sorted(
        {int(v) for face in cavity.faces if face.role == "rail" for loop in face.loops for v in loop}
    )
    if not corners:
        return None
    return frozen_array(cavity.vertices[corners[int(np.argmin(cavity.vertices[corners] @ _unit(up)))]])


def _unit(up: FloatArray) -> FloatArray:
    length = float(np.linalg.norm(up))
    if not length > 0.0:
        raise ValueError("up must be a direction, not zero")
    return np.asarray(up, dtype=np.float64) / length


def _open_edges(triangles: np.ndarray) -> Iterable[tuple[int, int]]:
    """Directed edges that no neighbour runs the other way."""
    seen: dict[tuple[int, int], int] = {}
    for a, b, c in triangles.tolist():
        for edge in ((a, b), (b, c), (c, a)):
            seen[edge] = seen.get(edge, 0) + 1
    return [edge for edge in seen if (edge[1], edge[0]) not in seen]


def sorted_heights_and_areas(
    surface: Surface, heights: FloatArray, up: FloatArray
) -> tuple[tuple[FloatArray, FloatArray, FloatArray], FloatArray]:
    """Sorted corner heights and signed level area of each triangle."""
    corners = surface.vertices[surface.triangles]  # (m, 3, 3)
    level_areas = 0.5 * (cross_rows(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) @ up)
    sorted_heights = np.sort(heights[surface.triangles], axis=1)
    return (sorted_heights[:, 0], sorted_heights[:, 1], sorted_heights[:, 2]), level_areas


def mean_depth(
    level: FloatArray, low: FloatArray, middle: FloatArray, high: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Mean over each triangle of max(0, level - h), and its rate of change with the level.

    Below the middle corner only a corner triangle is wet: its depth falls linearly from
    ``level - low`` to nothing. Above it only a corner triangle is dry. Every ratio here
    lies between 0 and 1.
    """
    depth = level - low
    dry = high - level
    is_low = (level > low) & (level <= middle)
    is_high = (level > middle) & (level < high)
    is_full = level >= high
    span_low = np.where(is_low, middle - low, 1.0)
    span_high = np.where(is_high, high - middle, 1.0)
    span = np.where(is_low | is_high, high - low, 1.0)
    corner = np.where(is_low, (depth / span_low) * (depth / span), 0.0)
    far = np.where(is_high, (dry / span_high) * (dry / span), 0.0)
    whole = level - (low + middle + high) / 3.0
    above = np.where(is_high, whole + far * dry / 3.0, np.where(is_full, whole, 0.0))
    mean = np.where(is_low, corner * depth / 3.0, above)
    rate = np.where(is_low, corner, np.where(is_high, 1.0 - far, np.where(is_full, 1.0, 0.0)))
    return mean, rate


def _cubic(t: float, v0: float, v1: float, s0: float, s1: float) -> tuple[float, float]:
    """Value and slope at t of the cubic with values v0, v1 and slopes s0, s1 at t = 0 and 1."""
    rise = v1 - v0
    b = 3.0 * rise - 2.0 * s0 - s1
    c = s0 + s1 - 2.0 * rise
    return v0 + t * (s0 + t * (b + t * c)), s0 + t * (2.0 * b + 3.0 * t * c)


def _solve_cubic(wanted: float, v0: float, v1: float, s0: float, s1: float) -> float:
    """Where in 0..1 that never-falling cubic reaches ``wanted``: Newton kept between its own brackets."""
    lower, upper = 0.0, 1.0
    rise = v1 - v0
    t = 0.5 if rise <= 0.0 else min(1.0, max(0.0, (wanted - v0) / rise))
    for _ in range(100):
        value, slope = _cubic(t, v0, v1, s0, s1)
        error = value - wanted
        if error == 0.0:
            return t
        if error > 0.0:
            upper = t
        else:
            lower = t
        step = t - error / slope if slope > 0.0 else -1.0
        if not lower < step < upper:
            step = 0.5 * (lower + upper)
        if abs(step - t) <= 1e-16 or upper - lower <= 1e-16:
            return step
        t = step
    return t


def _first_moment(surface: Surface, up: FloatArray, level: float) -> FloatArray:
    """Integral of position over the oil below the level, (3,) [m4].

    As for the volume, with the mean over each triangle of max(0, level - h) times a
    linear function: position across the surface, and (level + h) / 2 along up.
    """
    corners = surface.vertices[surface.triangles]
    level_areas = 0.5 * (cross_rows(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) @ up)
    heights = corners @ up  # (m, 3)
    order = np.argsort(heights, axis=1, kind="stable")
    h = np.take_along_axis(heights, order, axis=1)
    p = np.take_along_axis(corners, order[:, :, None], axis=1)  # (m, 3, 3)
    # Swap the height part of each position for (level + h) / 2; the rest stays.
    weight = p + (0.5 * (level - h))[:, :, None] * up
    low, middle, high = h[:, 0], h[:, 1], h[:, 2]
    is_low = (level > low) & (level <= middle)
    is_high = (level > middle) & (level < high)
    is_full = level >= high
    total = np.zeros(3)

    def corner_part(tip: int, one: int, two: int, chosen: BoolArray) -> FloatArray:
        """Mean of (tip's height difference to the level, falling to 0) times weight over a cut-off corner."""
        d = np.where(chosen, np.abs(level - h[:, tip]), 0.0)
        r1 = d / np.where(chosen, np.abs(h[:, one] - h[:, tip]), 1.0)
        r2 = d / np.where(chosen, np.abs(h[:, two] - h[:, tip]), 1.0)
        w0, w1, w2 = weight[:, tip], weight[:, one], weight[:, two]
        summed = 4.0 * w0 + r1[:, None] * (w1 - w0) + r2[:, None] * (w2 - w0)
        part: FloatArray = (r1 * r2 * d / 12.0)[:, None] * summed
        return part

    depth = level - h
    whole = (
        np.sum(depth, axis=1)[:, None] * np.sum(weight, axis=1) + np.einsum("mi,mik->mk", depth, weight)
    ) / 12.0
    mean = np.where((is_high | is_full)[:, None], whole, 0.0)
    mean = mean + corner_part(0, 1, 2, is_low) + corner_part(2, 1, 0, is_high)
    total -= level_areas @ mean
    return total
