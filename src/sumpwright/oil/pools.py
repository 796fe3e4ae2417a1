"""Pools: where oil stays back behind a hump when the rest runs to one place.

Height along up is linear, so pools are born at corners of the surface, join at corners of
the surface, and every path between them can follow its edges. The lowest crest on the best
path from a corner to the place the oil runs to is the level up to which oil stays back
there; one shortest-path search over the corners finds it for all of them.

A corner that hangs down into the oil (the foot of a wall that ends above the floor) is no
pool: the way from there goes straight down.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.geometry.solid_shapes import cross_rows
from sumpwright.oil.level import mean_depth, sorted_heights_and_areas
from sumpwright.quantities.units import CubicMetre, FloatArray, IntArray, Metre, frozen_array

TOUCHING: Metre = 1e-9
"""Faces this near to each other lie in one plane."""

NO_LINKS: IntArray = np.empty((0, 2), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class PoolPlace:
    """One pool that stays back."""

    deepest: tuple[Metre, Metre, Metre]
    crest: tuple[Metre, Metre, Metre]  # where it runs over
    level: Metre  # of its surface, along up
    pool_depth: Metre
    pool_volume: CubicMetre
    lowest_triangle: int  # a triangle at the deepest point


@dataclass(frozen=True, slots=True, eq=False)
class Neighbours:
    """The corners that share an edge with each corner of a surface, and the part each belongs to."""

    starts: IntArray  # (n + 1,) where each corner's list starts in ``others``
    others: IntArray
    part_of_triangle: IntArray  # (m,) surfaces laid side by side are parts of their own
    part_of_corner: IntArray  # (n,) -1 = of no triangle

    @staticmethod
    def of(surface: Surface, part_of_triangle: IntArray | None = None) -> Neighbours:
        """From the triangles; without parts all are one."""
        t = surface.triangles
        parts = np.zeros(len(t), dtype=np.int64) if part_of_triangle is None else part_of_triangle
        of_corner = np.full(len(surface.vertices), -1, dtype=np.int64)
        of_corner[t.ravel()] = np.repeat(parts, 3)
        pairs = np.unique(np.vstack([t[:, [0, 1]], t[:, [1, 2]], t[:, [2, 0]]]), axis=0)
        both = np.unique(np.vstack([pairs, pairs[:, ::-1]]), axis=0)
        starts = np.searchsorted(both[:, 0], np.arange(len(surface.vertices) + 1))
        return Neighbours(
            np.ascontiguousarray(starts),
            np.ascontiguousarray(both[:, 1]),
            np.ascontiguousarray(parts),
            of_corner,
        )


def triangle_below(surface: Surface, point: FloatArray, up: FloatArray) -> int:
    """The floor triangle straight below a point in the oil, or -1 where the point is not in the oil."""
    return _first_below(surface, surface.triangles, point, up, -1e-12)


def _first_below(
    surface: Surface, triangles: IntArray, point: FloatArray, up: FloatArray, least_drop: Metre
) -> int:
    """Row of the first of ``triangles`` straight below, if it looks down: the point lies in the oil."""
    a, b, c = (surface.vertices[triangles[:, k]] - point for k in range(3))
    # Seen along up, the point lies in the triangle if it is on the same side of all three edges.
    sides = np.stack([cross_rows(a, b) @ up, cross_rows(b, c) @ up, cross_rows(c, a) @ up])
    area = np.sum(sides, axis=0)
    hair = 1e-12 * np.abs(area)
    faces_up = (area > 0.0) & np.all(sides >= -hair, axis=0)
    faces_down = (area < 0.0) & np.all(sides <= hair, axis=0)
    hit = faces_up | faces_down
    if not np.any(hit):
        return -1
    safe = np.where(area == 0.0, 1.0, area)
    drop = -(sides[1] * (a @ up) + sides[2] * (b @ up) + sides[0] * (c @ up)) / safe
    drop = np.where(hit & (drop > least_drop), drop, np.inf)
    nearest = float(np.min(drop))
    if not np.isfinite(nearest):
        return -1
    # The two sides of an inner wall lie in one plane: out through one, in through the other.
    found = np.flatnonzero(faces_down & (drop <= nearest + TOUCHING))
    return int(found[0]) if len(found) else -1


def held_back(
    surface: Surface,
    neighbours: Neighbours,
    up: FloatArray,
    starts: tuple[tuple[int, Metre], ...],
    links: IntArray = NO_LINKS,
    ways: dict[int, tuple[int, ...]] | None = None,
) -> tuple[FloatArray, IntArray]:
    """Level up to which oil stays back at each corner (n,), and the corner over which it runs (n,).

    ``starts`` are corners from which the oil runs away, with the level it runs away at;
    ``links`` (l, 2) are further ways that oil can run, from and to. ``ways`` are those from
    corners that hang in the oil, where they are known already.
    """
    heights = surface.vertices @ up
    extra = dict(_ways_down(surface, neighbours, heights, up) if ways is None else ways)
    for start, end in links.tolist():
        # The search runs against the oil: from where it ends to where it comes from.
        extra[end] = (*extra.get(end, ()), start)
    level = np.full(len(heights), np.inf)
    crest = np.full(len(heights), -1, dtype=np.int64)
    queue: list[tuple[float, int, int]] = []
    for corner, at in starts:
        heapq.heappush(queue, (max(at, float(heights[corner])), corner, corner))
    while queue:
        at, corner, over = heapq.heappop(queue)
        if level[corner] <= at:
            continue
        level[corner], crest[corner] = at, over
        near = neighbours.others[neighbours.starts[corner] : neighbours.starts[corner + 1]]
        for other in (*near.tolist(), *extra.get(corner, ())):
            reach = max(at, float(heights[other]))
            if reach < level[other]:
                heapq.heappush(queue, (reach, other, other if heights[other] > at else over))
    return frozen_array(level), crest


def held_back_volume(surface: Surface, up: FloatArray, level: FloatArray) -> CubicMetre:
    """Oil that stays back under the levels of ``held_back``."""
    (low, middle, high), areas, at = _levels_of_triangles(surface, up, level)
    mean, _ = mean_depth(at, low, middle, high)
    return max(0.0, -float(mean @ areas))


def pools(
    surface: Surface,
    up: FloatArray,
    starts: tuple[tuple[int, Metre], ...],
    least_volume: CubicMetre = 1e-9,
    links: IntArray = NO_LINKS,
) -> tuple[PoolPlace, ...]:
    """Every pool that stays back when the oil runs to ``starts``, largest first."""
    neighbours = Neighbours.of(surface)
    heights = surface.vertices @ up
    ways = _ways_down(surface, neighbours, heights, up)
    level, crest = held_back(surface, neighbours, up, starts, links, ways)
    (low, middle, high), areas, at = _levels_of_triangles(surface, up, level)
    mean, _ = mean_depth(at, low, middle, high)
    share = -mean * areas
    lowest = surface.triangles[
        np.arange(len(surface.triangles)), np.argmin(heights[surface.triangles], axis=1)
    ]
    group = _group(neighbours, heights, level, links, ways)
    found = []
    for label in sorted({int(group[v]) for v in lowest if group[v] >= 0}):
        of_pool = group[lowest] == label
        volume = float(np.sum(share[of_pool]))
        if volume <= least_volume:
            continue
        corners = np.flatnonzero(group == label)
        deepest = int(corners[np.argmin(heights[corners])])
        over = int(crest[deepest])
        found.append(
            PoolPlace(
                deepest=_place(surface, deepest),
                crest=_place(surface, over),
                level=float(level[deepest]),
                pool_depth=float(level[deepest] - heights[deepest]),
                pool_volume=volume,
                lowest_triangle=int(np.flatnonzero(of_pool & (lowest == deepest))[0])
                if np.any(of_pool & (lowest == deepest))
                else int(np.flatnonzero(of_pool)[0]),
            )
        )
    return tuple(sorted(found, key=lambda pool: (-pool.pool_volume, pool.deepest)))


def _levels_of_triangles(
    surface: Surface, up: FloatArray, level: FloatArray
) -> tuple[tuple[FloatArray, FloatArray, FloatArray], FloatArray, FloatArray]:
    """Sorted heights, level areas and the level that stands over each triangle: its lowest corner's."""
    heights = surface.vertices @ up
    sorted_heights, areas = sorted_heights_and_areas(surface, heights, up)
    rows = np.arange(len(surface.triangles))
    lowest = surface.triangles[rows, np.argmin(heights[surface.triangles], axis=1)]
    return sorted_heights, areas, level[lowest]


def _ways_down(
    surface: Surface, neighbours: Neighbours, heights: FloatArray, up: FloatArray
) -> dict[int, tuple[int, ...]]:
    """Corners that hang in the oil, joined both ways with the lowest corner of the floor below."""
    ways: dict[int, tuple[int, ...]] = {}
    for corner in range(len(heights)):
        near = neighbours.others[neighbours.starts[corner] : neighbours.starts[corner + 1]]
        if len(near) == 0 or np.any(heights[near] < heights[corner]):
            continue
        own = surface.triangles[neighbours.part_of_triangle == neighbours.part_of_corner[corner]]
        own = own[~np.any(own == corner, axis=1)]
        below = _first_below(surface, own, surface.vertices[corner], up, TOUCHING)
        if below < 0:
            continue
        foot = own[below]
        foot_low = int(foot[np.argmin(heights[foot])])
        ways[corner] = (*ways.get(corner, ()), foot_low)
        ways[foot_low] = (*ways.get(foot_low, ()), corner)
    return ways


def _group(
    neighbours: Neighbours,
    heights: FloatArray,
    level: FloatArray,
    links: IntArray,
    ways: dict[int, tuple[int, ...]],
) -> IntArray:
    """Which pool each wet corner belongs to, -1 where it is dry; ``ways`` as ``_ways_down`` has them."""
    extra = dict(ways)
    for one, other in links.tolist():
        # A door that is shut against a pool parts it from the pool behind.
        if level[one] == level[other]:
            extra[one] = (*extra.get(one, ()), other)
            extra[other] = (*extra.get(other, ()), one)
    wet = heights < level
    group = np.full(len(heights), -1, dtype=np.int64)
    for start in np.flatnonzero(wet):
        if group[start] >= 0:
            continue
        group[start] = start
        stack = [int(start)]
        while stack:
            corner = stack.pop()
            near = neighbours.others[neighbours.starts[corner] : neighbours.starts[corner + 1]]
            for other in (*near.tolist(), *extra.get(corner, ())):
                if wet[other] and group[other] < 0:
                    group[other] = start
                    stack.append(other)
    return group


def _place(surface: Surface, corner: int) -> tuple[Metre, Metre, Metre]:
    x, y, z = surface.vertices[corner].tolist()
    return x, y, z


@dataclass(frozen=True, slots=True)
class TwoLevels:
    """Where oil can stand at one place of the pan in one attitude."""

    shared: Metre  # all oil under one surface
    cut_off: Metre  # every other pool filled to its crest first; never above ``shared``


def levels_at(
    surface: Surface,
    neighbours: Neighbours,
    up: FloatArray,
    volume: CubicMetre,
    place: FloatArray,
    shared: Metre,
    links: IntArray = NO_LINKS,
) -> TwoLevels | None:
    """The level at a place when all other pools keep what they can, beside the one shared level.

    None where the place is not in the oil space. A pool without oil stands at its deepest point.
    """
    heights = surface.vertices @ up
    below = triangle_below(surface, place, up)
    if below < 0:
        return None
    sink = _basin(surface, neighbours, heights, up, below)
    level, _ = held_back(surface, neighbours, up, ((sink, float(heights[sink])),), links)
    (low, middle, high), areas, held = _levels_of_triangles(surface, up, level)

    def oil(at: float) -> float:
        mean, _ = mean_depth(np.maximum(held, at), low, middle, high)
        return -float(mean @ areas)

    bottom, top = float(heights[sink]), shared
    if oil(bottom) >= volume or top <= bottom:
        return TwoLevels(shared, min(bottom, shared))
    for _ in range(100):
        middle_level = 0.5 * (bottom + top)
        if oil(middle_level) < volume:
            bottom = middle_level
        else:
            top = middle_level
    return TwoLevels(shared, top)


def _basin(
    surface: Surface, neighbours: Neighbours, heights: FloatArray, up: FloatArray, triangle: int
) -> int:
    """The corner to which oil on a floor triangle runs down."""
    extra = _ways_down(surface, neighbours, heights, up)
    corners = surface.triangles[triangle]
    corner = int(corners[np.argmin(heights[corners])])
    while True:
        near = neighbours.others[neighbours.starts[corner] : neighbours.starts[corner + 1]]
        candidates = (*near.tolist(), *extra.get(corner, ()))
        lowest = min(candidates, key=lambda other: (float(heights[other]), other))
        if heights[lowest] >= heights[corner]:
            return corner
        corner = int(lowest)
