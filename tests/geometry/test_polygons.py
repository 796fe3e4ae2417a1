"""Closed lines against closed forms and an independent plane-geometry library."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from sumpwright.geometry.polygons import (
    contains,
    is_simple,
    nearest_on_outline,
    segment_distance,
    signed_area,
)
from sumpwright.geometry.solid_shapes import axes_in_plane


def star(rng: np.random.Generator, corners: int) -> np.ndarray:
    angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
    return rng.uniform(0.2, 1.0, corners)[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)


@pytest.mark.expected_from("published", "shapely: area, contains, distance, is_valid, an independent library")
def test_polygons_as_shapely() -> None:
    rng = np.random.default_rng(5)
    for _ in range(40):
        points = star(rng, int(rng.integers(4, 12)))
        other = shapely.Polygon(points)
        if not other.is_valid:
            continue
        assert is_simple(points)
        assert abs(signed_area(points)) == pytest.approx(other.area, rel=1e-12)
        assert signed_area(points) == pytest.approx(-signed_area(points[::-1]), rel=1e-12)
        places = rng.uniform(-1.1, 1.1, (50, 2))
        expected = [other.contains(shapely.Point(place)) for place in places]
        assert contains(points, places).tolist() == expected
        for place in places[:10]:
            distance, nearest, _ = nearest_on_outline(points, place)
            assert distance == pytest.approx(other.exterior.distance(shapely.Point(place)), abs=1e-12)
            assert other.exterior.distance(shapely.Point(nearest)) < 1e-12


@pytest.mark.expected_from("published", "shapely: distance between two straight lines")
def test_segment_distance_as_shapely() -> None:
    rng = np.random.default_rng(6)
    for _ in range(300):
        a, b, c, d = rng.integers(-4, 5, (4, 2)) * 0.25 + rng.choice([0.0, 0.01])
        distance, first, second = segment_distance(a, b, c, d)
        expected = shapely.LineString([a, b]).distance(shapely.LineString([c, d]))
        assert distance == pytest.approx(expected, abs=1e-12)
        assert float(np.hypot(*(first - second))) == pytest.approx(distance, abs=1e-12)


def test_crossing_and_touching_outlines_are_not_simple() -> None:
    assert not is_simple(np.array([[0, 0], [1, 1], [1, 0], [0, 1]], float))
    assert not is_simple(np.array([[0, 0], [2, 0], [2, 2], [1, 0], [0, 2]], float))
    assert not is_simple(np.array([[0, 0], [2, 0], [1, 0], [1, 2]], float))
    assert is_simple(np.array([[0, 0], [2, 0], [2, 2], [1, 0.1], [0, 2]], float))


@pytest.mark.expected_from(
    "property", "two unit axes square to each other, x cross y = normal, steady under rounding"
)
def test_axes_in_plane() -> None:
    rng = np.random.default_rng(8)
    for _ in range(50):
        normal = rng.normal(size=3)
        normal /= np.linalg.norm(normal)
        x_axis, y_axis = axes_in_plane(normal)
        np.testing.assert_allclose(np.cross(x_axis, y_axis), normal, atol=1e-14)
        assert abs(float(x_axis @ y_axis)) < 1e-15
    for normal in np.concatenate([np.eye(3), -np.eye(3)]):
        x_axis, _ = axes_in_plane(normal)
        again, _ = axes_in_plane(normal + rng.normal(size=3) * 1e-12)
        np.testing.assert_allclose(again, x_axis, atol=1e-10)
