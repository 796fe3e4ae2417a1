"""Pools that stay back, against flooding a fine grid and pockets worked by hand."""

from __future__ import annotations

import heapq
import math

import manifold3d as m3
import numpy as np
import pytest

from sumpwright.geometry import Surface
from sumpwright.oil.dipstick import crossings
from sumpwright.oil.level import LevelCurve
from sumpwright.oil.pools import (
    NO_LINKS,
    Neighbours,
    held_back,
    held_back_volume,
    levels_at,
    pools,
    triangle_below,
)
from sumpwright.oil.pools_compiled import levels_at_compiled
from sumpwright.quantities.units import FloatArray
from tests.oil.oil_shapes import LEVEL, box, direction, surface_of


def flooded_by_brute_force(surface: Surface, sink: FloatArray, cells: int) -> float:
    """Volume that stays back when everything runs to ``sink``: z up, flat bricks, priority flood."""
    low, high = surface.vertices.min(axis=0), surface.vertices.max(axis=0)
    side = float(np.max(high - low)) / cells
    size = np.array([side, side, side / 6.0])
    step = float(size[2])
    count = np.maximum(1, np.ceil((high - low) / size - 1e-9)).astype(int)
    inside = np.zeros(count, dtype=bool)
    zs = low[2] + (np.arange(count[2]) + 0.5) * step
    for i in range(count[0]):
        for j in range(count[1]):
            start = np.array([low[0] + (i + 0.5137) * side, low[1] + (j + 0.4871) * side, low[2] - 1.0])
            hits = sorted(length - 1.0 + low[2] for length, _ in crossings(surface, start, LEVEL))
            for bottom, top in zip(hits[::2], hits[1::2], strict=False):
                inside[i, j, (zs > bottom) & (zs < top)] = True
    reached = np.full(count, np.inf)
    at = np.argwhere(inside)
    nearest = at[np.argmin(np.linalg.norm(low + (at + 0.5) * size - sink, axis=1))]
    queue = [(float(zs[nearest[2]]), *map(int, nearest))]
    while queue:
        height, i, j, k = heapq.heappop(queue)
        if reached[i, j, k] <= height:
            continue
        reached[i, j, k] = height
        for di, dj, dk in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)):
            a, b, c = i + di, j + dj, k + dk
            if not (0 <= a < count[0] and 0 <= b < count[1] and 0 <= c < count[2]) or not inside[a, b, c]:
                continue
            reach = max(height, float(zs[c]))
            if reach < reached[a, b, c]:
                heapq.heappush(queue, (reach, a, b, c))
    wet = inside & np.isfinite(reached) & (reached > zs[None, None, :] + 0.5 * step)
    return float(np.count_nonzero(wet) * np.prod(size))


def pockets(rng: np.random.Generator) -> m3.Manifold:
    """A pan with uneven pockets, humps, a hanging baffle and a notch from above, randomly turned."""
    solid = box(0.4, 0.3, 0.05)
    for corner in ((0.0, 0.0), (0.2, 0.0), (0.0, 0.15), (0.2, 0.15)):
        # At least 24 mm of wall between two pockets, so that the grid cannot leak through one.
        width, length, depth = rng.uniform(0.05, 0.1), rng.uniform(0.05, 0.17), rng.uniform(0.06, 0.15)
        solid = solid + box(length, width, depth).translate(
            (corner[0] + 0.012, corner[1] + rng.uniform(0.012, 0.138 - width), 0.0)
        )
    wall_at = rng.uniform(0.1, 0.3)
    solid = solid - m3.Manifold.cube((0.012, 0.4, 0.4)).translate((wall_at, -0.05, -0.03))
    hump = m3.Manifold.hull_points(
        [[x, y, z] for x, z in ((-0.02, -0.2), (0.22, -0.2), (0.09, -0.02)) for y in (-0.1, 0.4)]
    )
    solid = (solid - hump) + box(0.02, 0.3, 0.03).translate((0.08, 0.0, 0.0))
    angle = rng.uniform(-12.0, 12.0, 2)
    return solid.rotate((float(angle[0]), float(angle[1]), float(rng.uniform(0.0, 360.0))))


def low_corner(surface: Surface, up: FloatArray) -> tuple[tuple[int, float], ...]:
    heights = surface.vertices @ up
    lowest = int(np.argmin(heights))
    return ((lowest, float(heights[lowest])),)


@pytest.mark.expected_from("convergence", "priority flood of a grid of bricks, 44 along the longest side")
def test_random_pockets_against_brute_force() -> None:
    rng = np.random.default_rng(41)
    for _ in range(4):
        solid = max(pockets(rng).decompose(), key=lambda part: part.volume())
        surface = surface_of(solid)
        starts = low_corner(surface, LEVEL)
        level, _ = held_back(surface, Neighbours.of(surface), LEVEL, starts)
        ours = held_back_volume(surface, LEVEL, level)
        brute = flooded_by_brute_force(surface, surface.vertices[starts[0][0]], 44)
        # The grid cannot see half a brick around the wet edges.
        assert ours == pytest.approx(brute, abs=0.005 * solid.volume() + 0.05 * brute)
        assert sum(pool.pool_volume for pool in pools(surface, LEVEL, starts)) == pytest.approx(ours)


@pytest.mark.expected_from("closed form", "a 100 x 80 mm pocket 10 mm below a floor that is level, by hand")
def test_pocket_by_hand() -> None:
    solid = box(0.3, 0.2, 0.1) + box(0.1, 0.08, 0.11).translate((0.15, 0.05, 0.0))
    solid = solid + box(0.05, 0.05, 0.14)  # the drain sits in the deep corner
    surface = surface_of(solid)
    (pool,) = pools(surface, LEVEL, low_corner(surface, LEVEL))
    assert pool.pool_volume == pytest.approx(0.1 * 0.08 * 0.01)
    assert pool.pool_depth == pytest.approx(0.01)
    assert pool.level == pytest.approx(-0.1)
    assert pool.crest[2] == pytest.approx(-0.1)


@pytest.mark.expected_from(
    "closed form", "the same pocket with the pan leaned 8 degrees: wedge against its lower wall"
)
def test_leaned_pocket_by_hand() -> None:
    depth, length, width = 0.01, 0.1, 0.08
    solid = box(0.3, 0.2, 0.1) + box(length, width, 0.1 + depth).translate((0.15, 0.05, 0.0))
    slope = math.radians(8.0)
    up = np.array([math.sin(slope), 0.0, math.cos(slope)])  # the floor falls towards x = 0
    surface = surface_of(solid)
    near_zero = int(np.argmin(surface.vertices @ up))
    starts = ((near_zero, float(surface.vertices[near_zero] @ up)),)
    (pool,) = pools(surface, up, starts)
    # Filled to the lip at the lower side; the surface falls 8 degrees against the pocket's floor.
    assert pool.pool_volume == pytest.approx(width * (depth**2 / (2 * math.tan(slope))), rel=1e-9)
    assert depth / math.tan(slope) < length


@pytest.mark.expected_from(
    "closed form", "a wall that hangs 10 mm above the floor holds nothing back; one that stands does"
)
def test_hanging_and_standing_walls() -> None:
    pan = box(0.3, 0.2, 0.1)
    wall = m3.Manifold.cube((0.004, 0.4, 0.4)).translate((0.15, -0.1, -0.09))
    hanging = surface_of(pan - wall)
    starts = low_corner(hanging, LEVEL)
    assert pools(hanging, LEVEL, starts) == ()
    # A foot that hangs in the middle of the oil, not touching the sides.
    foot = m3.Manifold.cube((0.02, 0.02, 0.4)).translate((0.1, 0.1, -0.06))
    surface = surface_of(pan - foot)
    level, _ = held_back(surface, Neighbours.of(surface), LEVEL, low_corner(surface, LEVEL))
    assert held_back_volume(surface, LEVEL, level) == pytest.approx(0.0, abs=1e-15)
    standing = surface_of(pan - m3.Manifold.cube((0.004, 0.4, 0.04)).translate((0.15, -0.1, -0.1)))
    corner = int(np.argmin(standing.vertices @ np.array([1.0, 1.0, 1.0])))
    (pool,) = pools(standing, LEVEL, ((corner, -0.1),))
    assert pool.pool_volume == pytest.approx((0.15 - 0.004) * 0.2 * 0.04)
    assert pool.crest[2] == pytest.approx(-0.06)


@pytest.mark.expected_from("property", "what stays back is never more than lies below the highest crest")
def test_held_back_is_bounded_by_the_highest_crest() -> None:
    rng = np.random.default_rng(42)
    for _ in range(5):
        surface = surface_of(max(pockets(rng).decompose(), key=lambda part: part.volume()))
        up = direction(rng)
        level, _ = held_back(surface, Neighbours.of(surface), up, low_corner(surface, up))
        curve = LevelCurve.prepare(surface, up)
        assert 0.0 <= held_back_volume(surface, up, level) <= curve.volume_below(float(np.max(level))) + 1e-15


@pytest.mark.expected_from("closed form", "points in and out of a box")
def test_triangle_below() -> None:
    surface = surface_of(box(0.3, 0.2, 0.1))
    found = triangle_below(surface, np.array([0.1, 0.1, -0.05]), LEVEL)
    assert np.all(surface.vertices[surface.triangles[found], 2] == -0.1)
    assert triangle_below(surface, np.array([0.1, 0.1, 0.05]), LEVEL) == -1
    assert triangle_below(surface, np.array([0.4, 0.1, -0.05]), LEVEL) == -1
    assert triangle_below(surface, np.array([0.1, 0.1, -0.2]), LEVEL) == -1


@pytest.mark.expected_from("property", "the compiled search and the plain one find the same two levels")
def test_compiled_levels_at_a_place_agree_with_the_plain_ones() -> None:
    rng = np.random.default_rng(43)
    split = 0
    for _ in range(6):
        surface = surface_of(max(pockets(rng).decompose(), key=lambda part: part.volume()))
        neighbours = Neighbours.of(surface)
        ups = np.array([direction(rng) for _ in range(25)])
        ups[:, 2] = np.abs(ups[:, 2])
        ups /= np.linalg.norm(ups, axis=1)[:, None]
        volume = 0.12 * LevelCurve.prepare(surface, LEVEL).whole
        place = surface.vertices[int(np.argmin(surface.vertices @ LEVEL))] + np.array([0.0, 0.0, 0.02])
        if triangle_below(surface, place, LEVEL) < 0:
            continue
        found = levels_at_compiled(
            surface.vertices,
            surface.triangles,
            neighbours.starts,
            neighbours.others,
            neighbours.part_of_triangle,
            neighbours.part_of_corner,
            NO_LINKS,
            ups,
            volume,
            place,
        )
        for up, (shared, cut_off) in zip(ups, found, strict=True):
            assert shared == pytest.approx(LevelCurve.prepare(surface, up).level_for(volume), abs=1e-12)
            plain = levels_at(surface, neighbours, up, volume, place, shared)
            if plain is None:
                assert math.isnan(cut_off)
                continue
            assert cut_off == pytest.approx(plain.cut_off, abs=1e-9)
            assert cut_off <= shared
            split += cut_off < shared - 1e-6
    assert split > 20


@pytest.mark.expected_from("closed form", "two equal pockets under a tray, 1 L in all, by hand")
def test_levels_at_a_place_cut_off_by_a_hump() -> None:
    left, right = box(0.1, 0.1, 0.1), box(0.1, 0.1, 0.1).translate((0.3, 0.0, 0.0))
    surface = surface_of(left + right + box(0.4, 0.1, 0.04))
    neighbours = Neighbours.of(surface)
    place = np.array([0.05, 0.05, -0.09])
    for volume, shared, cut_off in (
        (1.0e-3, -0.05, -0.06),  # 0.6 L stay in the right pocket, 0.4 L are left here
        (0.5e-3, -0.075, -0.1),  # all of it may stay in the right pocket
        (1.6e-3, -0.03, -0.03),  # above the hump one surface
    ):
        curve = LevelCurve.prepare(surface, LEVEL)
        assert curve.level_for(volume) == pytest.approx(shared)
        plain = levels_at(surface, neighbours, LEVEL, volume, place, shared)
        assert plain is not None
        assert plain.cut_off == pytest.approx(cut_off)
        (compiled,) = levels_at_compiled(
            surface.vertices,
            surface.triangles,
            neighbours.starts,
            neighbours.others,
            neighbours.part_of_triangle,
            neighbours.part_of_corner,
            NO_LINKS,
            LEVEL[None, :],
            volume,
            place,
        )
        assert compiled == pytest.approx([shared, cut_off])
