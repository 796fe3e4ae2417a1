"""The flange's outer edge: exact lines and arcs, and enough metal everywhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from sumpwright.body.flange import opening_outline
from sumpwright.body.solve import solve
from sumpwright.geometry import Outline
from tests.body.hand_lumps import MM, body_of, box, outline, pattern_round, plan
from tests.body.random_bodies import near_real_body, random_body


def dense(line: Outline, step: float = math.radians(0.5)) -> np.ndarray:
    """Points along an outline of lines and arcs, straight from the definition of a bulge."""
    points = []
    for a, b, bulge in zip(line.points, np.roll(line.points, -1, axis=0), line.bulges, strict=True):
        points.append(a)
        if bulge == 0.0:
            continue
        turn = 4.0 * math.atan(bulge)
        chord = b - a
        centre = 0.5 * (a + b) + np.array([-chord[1], chord[0]]) * 0.5 / math.tan(0.5 * turn)
        count = max(2, int(abs(turn) / step))
        for k in range(1, count):
            c, s = math.cos(turn * k / count), math.sin(turn * k / count)
            points.append(centre + np.array([[c, -s], [s, c]]) @ (a - centre))
    return np.array(points)


@pytest.mark.expected_from("closed form", "rounded rectangle: sides plus pi r^2")
def test_ring_of_a_rectangle() -> None:
    body = body_of(plan("tray", box(0, 400, 0, 200), 60))
    line = body.flange_outside
    assert line is not None
    assert len(line.points) == 8
    assert sorted(line.bulges) == pytest.approx([0.0] * 4 + [math.tan(math.pi / 8)] * 4, abs=1e-9)
    # Holes stand 16 mm beside the opening, give or take the millimetre of the pattern.
    holes = body.pattern.xy
    (x0, y0), (x1, y1) = holes.min(axis=0) - 0.011, holes.max(axis=0) + 0.011
    np.testing.assert_allclose(line.points.min(axis=0), [x0, y0], atol=1e-9)
    np.testing.assert_allclose(line.points.max(axis=0), [x1, y1], atol=1e-9)


@pytest.mark.expected_from("published", "shapely: buffer and union with 256 chords a quarter turn")
@pytest.mark.parametrize("generator", [near_real_body, random_body])
def test_outline_as_buffered_union(generator: object) -> None:
    for seed in range(8):
        inputs, pattern = generator(seed)  # type: ignore[operator]
        body = solve(inputs, pattern)
        assert body.cavity is not None
        assert body.flange_outside is not None
        ring = shapely.Polygon(pattern.xy).buffer(inputs.flange.outside, quad_segs=256)
        opening = shapely.Polygon(opening_outline(body.cavity))
        round_it = opening.buffer(inputs.sheet + inputs.beside_opening, quad_segs=256)
        expected = shapely.Polygon(shapely.union(ring, round_it).exterior)
        got = shapely.Polygon(dense(body.flange_outside))
        assert got.is_valid
        assert got.symmetric_difference(expected).area < 1e-5 * expected.area
        # Enough metal beyond every hole's centre and beside every wall.
        for hole in pattern.xy:
            assert got.exterior.distance(shapely.Point(hole)) >= inputs.flange.outside - 2e-6
        assert got.exterior.distance(opening) >= inputs.sheet + inputs.beside_opening - 2e-6


@pytest.mark.expected_from("property", "an offset line touches its arc")
def test_arcs_meet_lines_without_a_kink() -> None:
    inputs, pattern = near_real_body(4)
    line = solve(inputs, pattern).flange_outside
    assert line is not None
    for k, bulge in enumerate(line.bulges):
        if bulge == 0.0:
            continue
        a, b = line.points[k], line.points[(k + 1) % len(line.points)]
        half = 2.0 * math.atan(bulge)
        chord = math.atan2(*(b - a)[::-1])
        before = line.points[k] - line.points[k - 1]
        if line.bulges[k - 1] == 0.0:
            turn = (chord - half - math.atan2(*before[::-1]) + math.pi) % (2.0 * math.pi) - math.pi
            assert abs(turn) < 1e-6


@pytest.mark.expected_from("closed form", "the wall's oil side, one sheet of 2 mm and 8 mm beside it")
def test_a_lump_that_sticks_out_carries_the_flange_with_it() -> None:
    body = body_of(
        plan("tray", box(0, 400, 0, 200), 60),
        plan("bulge", outline((100, -80), (200, -80), (200, 50), (100, 50)), 60),
        pattern=pattern_round(0, 400, 0, 200),
    )
    assert body.flange_outside is not None
    assert body.flange_outside.points[:, 1].min() == pytest.approx(-80 * MM - 0.010, abs=1e-9)
