"""Plates that bulge beyond half their thickness, against published tables and what cannot be otherwise."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from shapely import Point, Polygon, box

from sumpwright.geometry.meshing import TriangleMesh, mesh_polygon
from sumpwright.proof.formulas import plate_stiffness
from sumpwright.proof.plate_edges import Edges
from sumpwright.proof.plates import unit_plates
from sumpwright.proof.stretched_panels import PanelMetal, stretch_of
from sumpwright.proof.stretching import Stretched, stretched_plates

E, T, SIDE = 70e9, 1e-3, 0.5


@pytest.fixture(scope="module")
def square() -> TriangleMesh:
    return mesh_polygon(box(0, 0, SIDE, SIDE), SIDE / 13)


def at_loads(
    mesh: TriangleMesh, loads: tuple[float, ...], nu: float, edges: Edges, *, draws_in: bool, a: float = SIDE
) -> list[Stretched]:
    """The plate at dimensionless loads q a^4 / (E t^4)."""
    pressures = tuple(load * E * T**4 / a**4 for load in loads)
    found = stretched_plates(mesh, E, nu, T, pressures, edges, draws_in=draws_in)
    assert all(one is not None for one in found)
    return [one for one in found if one is not None]


@pytest.mark.expected_from(
    "published",
    "S. Levy, NACA report 740 (1942), from memory: clamped square that does not draw in, nu = 0.316",
)
def test_a_clamped_square(square: TriangleMesh) -> None:
    loads = (17.79, 38.3, 63.4, 95.0, 134.9, 184.0, 245.0, 318.0, 402.0)
    bulge = (0.237, 0.471, 0.695, 0.912, 1.121, 1.323, 1.521, 1.714, 1.902)
    found = at_loads(square, loads, 0.316, "clamped", draws_in=False)
    np.testing.assert_allclose([one.bulge / T for one in found], bulge, rtol=0.012)


@pytest.mark.expected_from(
    "published",
    "Roark, large deflections of plates, from memory: square held all round, free to turn, nu = 0.316",
)
def test_a_held_square_that_turns_freely(square: TriangleMesh) -> None:
    loads = (25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 175.0, 200.0)
    bulge = (0.650, 0.930, 1.13, 1.26, 1.37, 1.47, 1.56, 1.63)
    stress = (5.80, 8.70, 10.90, 12.80, 14.30, 15.60, 17.0, 18.2)
    found = at_loads(square, loads, 0.316, "supported", draws_in=False)
    np.testing.assert_allclose([one.bulge / T for one in found], bulge, rtol=0.025)
    np.testing.assert_allclose([one.inside * SIDE**2 / (E * T**2) for one in found], stress, rtol=0.05)


@pytest.mark.expected_from(
    "published",
    "S. Levy, NACA report 737 (1942), from memory: edges that draw in but stay straight lie between the two",
)
def test_straight_edges_lie_between(square: TriangleMesh) -> None:
    loads, bulge = (12.1, 29.4, 56.9, 99.4), (0.486, 0.962, 1.424, 1.870)
    stiff = at_loads(square, loads, 0.316, "supported", draws_in=False)
    soft = at_loads(square, loads, 0.316, "supported", draws_in=True)
    for least, true, most in zip(stiff, bulge, soft, strict=True):
        assert least.bulge / T < true < most.bulge / T


@pytest.mark.expected_from(
    "published",
    "timoshenko-plates, table 82, from memory: w + A w^3 = B q a^4 / (E t^4) for round plates, nu = 0.3",
)
@pytest.mark.parametrize(
    ("edges", "draws_in", "cubic", "linear", "pull", "bend"),
    [
        ("clamped", False, 0.471, 0.171, 0.976, 2.86),
        ("clamped", True, 0.146, 0.171, 0.500, 2.86),
        ("supported", False, 1.852, 0.696, 0.905, 1.778),
        ("supported", True, 0.262, 0.696, 0.295, 1.778),
    ],
)
def test_round_plates(
    edges: Edges, *, draws_in: bool, cubic: float, linear: float, pull: float, bend: float
) -> None:
    mesh = mesh_polygon(Point(0, 0).buffer(SIDE, quad_segs=16), 2 * SIDE / 13)
    bulge = np.array([0.5, 1.0])
    loads = (bulge + cubic * bulge**3) / linear
    found = at_loads(mesh, tuple(loads.tolist()), 0.3, edges, draws_in=draws_in)
    np.testing.assert_allclose([one.bulge / T for one in found], bulge, rtol=0.03)
    stress = pull * bulge**2 + bend * bulge
    # The table's own shape of the bulge is an approximation: its stresses are good to a tenth.
    np.testing.assert_allclose([one.inside * SIDE**2 / (E * T**2) for one in found], stress, rtol=0.1)


@pytest.mark.expected_from("property", "at a small load it is the linear plate, whatever the outline's state")
@pytest.mark.parametrize("edges", ["clamped", "supported"])
def test_a_small_load_is_the_linear_plate(edges: Edges) -> None:
    ell = Polygon([(0, 0), (0.3, 0), (0.3, 0.1), (0.12, 0.1), (0.12, 0.25), (0, 0.25)])
    mesh = mesh_polygon(ell, 0.015)
    clamped, supported = unit_plates(mesh, 0.3, corner_reach=T)
    linear = clamped if edges == "clamped" else supported
    for draws_in in (False, True):
        (found,) = stretched_plates(mesh, E, 0.3, T, (10.0,), edges, draws_in=draws_in, corner_reach=T)
        assert found is not None
        assert found.bulge == pytest.approx(
            10.0 * linear.worst_deflection / plate_stiffness(E, T, 0.3), rel=1e-3
        )
        if edges == "clamped":
            assert found.at_edge == pytest.approx(60.0 * linear.worst_at_edge / T**2, rel=0.01)


@pytest.mark.expected_from("convergence", "an L with a hole: a finer mesh changes the bulge ever less")
def test_it_settles_with_the_mesh() -> None:
    ell = Polygon([(0, 0), (0.3, 0), (0.3, 0.1), (0.12, 0.1), (0.12, 0.25), (0, 0.25)]).difference(
        Point(0.06, 0.16).buffer(0.02, quad_segs=4)
    )
    assert isinstance(ell, Polygon)
    bulges = []
    for size in (0.040, 0.020, 0.012):
        (found,) = stretched_plates(
            mesh_polygon(ell, size), E, 0.3, 2e-4, (400.0,), "clamped", draws_in=False
        )
        assert found is not None
        bulges.append(found.bulge)
    assert bulges[2] > 1e-4
    assert abs(bulges[2] - bulges[1]) < 0.6 * abs(bulges[1] - bulges[0])
    assert bulges[2] == pytest.approx(bulges[1], rel=0.02)


@pytest.mark.expected_from("property", "bulge and stress grow with pressure, ever more slowly")
def test_it_stiffens(square: TriangleMesh) -> None:
    loads = (20.0, 40.0, 60.0, 80.0)
    for edges in ("clamped", "supported"):
        found = at_loads(square, loads, 0.3, edges, draws_in=False)
        steps = [two.bulge - one.bulge for one, two in pairwise(found)]
        assert all(step > 0.0 for step in steps)
        assert all(two < one for one, two in pairwise(steps))


@pytest.mark.expected_from("property", "at the limit told, no bound's stress is above what is allowed")
@pytest.mark.parametrize("pressure", [4e3, 12e3])
def test_the_limit_told_is_held(pressure: float) -> None:
    mesh = mesh_polygon(box(0, 0, 0.4, 0.25), 0.035)
    metal = PanelMetal(70e9, 0.3, 2e-3, 33e6, 96e6)
    told = stretch_of(mesh, metal, pressure)
    assert told is not None
    worst = 0.0
    for edges in ("clamped", "supported"):
        for draws_in in (False, True):
            (one,) = stretched_plates(
                mesh, 70e9, 0.3, 2e-3, (told.metal_limit,), edges, draws_in=draws_in, corner_reach=2e-3
            )
            assert one is not None
            if edges == "clamped":
                worst = max(worst, one.at_edge / 33e6, one.inside / 96e6)
            else:
                worst = max(worst, one.inside / 96e6, one.at_edge / 96e6)
    assert 0.85 < worst <= 1.001


def test_too_far_is_told() -> None:
    mesh = mesh_polygon(box(0, 0, 1.0, 0.8), 0.08)
    assert stretch_of(mesh, PanelMetal(70e9, 0.3, 3e-4, 33e6, 96e6), 200e3) is None
