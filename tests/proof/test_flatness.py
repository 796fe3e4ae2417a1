"""Least gap between two flats against exhaustive search, and what readings say of a face."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from sumpwright.proof.flatness import fitted, least_gap


def by_search(points: np.ndarray) -> float:
    """Every direction square to three points, and to two pairs of points, tried on all points."""
    best = np.inf
    normals = [np.cross(b - a, c - a) for a, b, c in combinations(points, 3)]
    pairs = list(combinations(range(len(points)), 2))
    for (a, b), (c, d) in combinations(pairs, 2):
        if len({a, b, c, d}) == 4:
            normals.append(np.cross(points[b] - points[a], points[d] - points[c]))
    for normal in normals:
        long = np.linalg.norm(normal)
        if long < 1e-15:
            continue
        along = points @ (normal / long)
        best = min(best, float(along.max() - along.min()))
    return best


@pytest.mark.expected_from("closed form", "exhaustive search over every pair of touching planes, small sets")
def test_least_gap_as_by_exhaustive_search() -> None:
    rng = np.random.default_rng(3)
    for n in (4, 5, 6, 8, 9):
        for _ in range(4):
            points = np.column_stack([rng.uniform(0, 0.4, (n, 2)), rng.uniform(0, 0.0004, n)])
            found = least_gap(points)
            # Directions in the table's plane are no flats of the face, and never win here.
            assert found.gap == pytest.approx(by_search(points), rel=1e-9)
            assert found.gap <= fitted(points).gap + 1e-15


@pytest.mark.expected_from("closed form", "a bowed strip: half the sagitta is not saved, a twist is halved")
def test_a_twist_and_a_tilt() -> None:
    # Four corners, one lifted by h: two flats along the diagonals, h / 2 apart.
    square = np.array([[0, 0, 0], [1, 0, 0], [1, 1, 0.001], [0, 1, 0]], float)
    assert least_gap(square).gap == pytest.approx(0.0005, rel=1e-6)
    tilted = np.array([[0, 0, 0], [1, 0, 0.2], [1, 1, 0.3], [0, 1, 0.1]], float)
    assert least_gap(tilted).gap == pytest.approx(0.0, abs=1e-12)


@pytest.mark.expected_from("property", "tilting or turning the part on the table changes no gap")
def test_how_the_part_lies_does_not_matter() -> None:
    rng = np.random.default_rng(9)
    points = np.column_stack([rng.uniform(0, 0.4, (12, 2)), rng.uniform(0, 0.0004, 12)])
    angle = 0.05
    turn = np.array([[1, 0, 0], [0, np.cos(angle), -np.sin(angle)], [0, np.sin(angle), np.cos(angle)]])
    assert least_gap(points @ turn.T).gap == pytest.approx(least_gap(points).gap, rel=1e-9)


def test_points_in_one_line_have_no_flat() -> None:
    line = np.array([[0.0, 0.0, 0.0], [0.1, 0.1, 0.0001], [0.2, 0.2, 0.0]])
    for way in (least_gap, fitted):
        with pytest.raises(ValueError, match="one line"):
            way(line)
        with pytest.raises(ValueError, match="three points"):
            way(line[:2])
