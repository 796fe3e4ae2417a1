"""Corner angles against the regular solids, and against corners turned by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.body.formulas import corner_angle, outside_angle

PHI = (1.0 + math.sqrt(5.0)) / 2.0


def shared_edge(points: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Normals of two neighbouring faces of a regular solid given by its corners, and their edge."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(points)
    faces: dict[tuple[float, ...], set[int]] = {}
    for plane, simplex in zip(hull.equations, hull.simplices, strict=True):
        faces.setdefault(tuple(np.round(plane, 6)), set()).update(simplex.tolist())
    (na, a), *rest = faces.items()
    nb, common = next((n, sorted(a & b)) for n, b in rest if len(a & b) == 2)
    along = points[common[1]] - points[common[0]]
    along = along / np.linalg.norm(along)
    normal_a = np.array(na[:3])
    inside = points[sorted(a)].mean(axis=0) - points[common[0]]
    if np.cross(normal_a, along) @ inside < 0.0:  # anticlockwise round the first face
        along = -along
    return normal_a, np.array(nb[:3]), along


SOLIDS = {
    "tetrahedron": (np.array([[1, 1, 1], [1, -1, -1], [-1, 1, -1], [-1, -1, 1]], float), 70.528779),
    "octahedron": (
        np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]], float),
        109.471221,
    ),
    "cube": (np.array([[x, y, z] for x in (-1, 1) for y in (-1, 1) for z in (-1, 1)], float), 90.0),
    "icosahedron": (
        np.array([p for s in (-1, 1) for t in (-PHI, PHI) for p in ([0, s, t], [s, t, 0], [t, 0, s])], float),
        138.189685,
    ),
}


@pytest.mark.expected_from(
    "published", "dihedral angles of the regular solids (Coxeter, Regular Polytopes, table I), six decimals"
)
@pytest.mark.parametrize("name", SOLIDS)
def test_corner_angle_of_regular_solids(name: str) -> None:
    points, degrees = SOLIDS[name]
    normal_a, normal_b, along = shared_edge(points)
    assert math.degrees(corner_angle(normal_a, normal_b, along)) == pytest.approx(degrees, abs=2e-4)


@pytest.mark.expected_from("closed form", "a face folded about the x axis by a known angle, either way")
def test_corner_angle_either_way_of_flat() -> None:
    along = np.array([1.0, 0.0, 0.0])
    up = np.array([0.0, 0.0, 1.0])
    for turn in np.radians([-170.0, -90.0, -30.0, -0.01, 0.0, 0.01, 45.0, 120.0, 170.0]):
        other = np.array([0.0, -math.sin(turn), math.cos(turn)])
        theta = corner_angle(up, other, along)
        assert theta == pytest.approx(math.pi - turn, abs=1e-12)
        assert theta + outside_angle(theta) == pytest.approx(2.0 * math.pi, abs=1e-12)
