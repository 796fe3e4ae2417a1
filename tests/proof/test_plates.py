"""Plates against published coefficients, closed forms, convergence and another library."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon, box

from sumpwright.geometry.meshing import mesh_polygon
from sumpwright.proof.formulas import plate_stiffness
from sumpwright.proof.plates import unit_plates

NU = 0.3
D_OF_UNIT = 12.0 * (1.0 - NU**2)  # alpha = W * 12 (1 - nu^2) for b = 1


@pytest.mark.expected_from("published", "roark-plates, table 11.4, cases 1a and 8, four aspect ratios (A31)")
@pytest.mark.parametrize(
    ("ratio", "ss_w", "ss_s", "clamped_w", "clamped_s"),
    [
        (1.0, 0.0444, 0.2874, 0.0138, 0.3078),
        (1.4, 0.0770, 0.4530, 0.0226, 0.4356),
        (2.0, 0.1110, 0.6102, 0.0277, 0.4974),
        (3.0, 0.1335, 0.7134, 0.0286, 0.50),
    ],
)
def test_rectangles(ratio: float, ss_w: float, ss_s: float, clamped_w: float, clamped_s: float) -> None:
    clamped, supported = unit_plates(mesh_polygon(box(0, 0, ratio, 1.0), 0.065), NU)
    assert supported.worst_deflection * D_OF_UNIT == pytest.approx(ss_w, rel=0.01)
    assert 6.0 * supported.worst_inside == pytest.approx(ss_s, rel=0.015)
    assert clamped.worst_deflection * D_OF_UNIT == pytest.approx(clamped_w, rel=0.015)
    assert 6.0 * clamped.worst_at_edge == pytest.approx(clamped_s, rel=0.02)


@pytest.mark.expected_from("published", "Ritz recomputation of a clamped 300 x 200 x 2 steel panel (A32)")
def test_a_steel_panel() -> None:
    clamped, _ = unit_plates(mesh_polygon(box(0, 0, 0.3, 0.2), 0.012), NU)
    bend = plate_stiffness(207e9, 0.002, NU)
    assert clamped.worst_deflection * 13_800.0 / bend == pytest.approx(0.320e-3, rel=0.02)
    assert 6.0 * clamped.worst_at_edge * 13_800.0 / 0.002**2 == pytest.approx(62.6e6, rel=0.02)


@pytest.mark.expected_from("closed form", "round plate, timoshenko-plates: W = 1/64 and (5+nu)/(64 (1+nu))")
def test_a_round_plate_of_straight_sides() -> None:
    clamped, supported = unit_plates(mesh_polygon(Point(0, 0).buffer(1.0, quad_segs=16), 0.12), NU)
    assert clamped.worst_deflection == pytest.approx(1.0 / 64.0, rel=0.015)
    assert clamped.worst_at_edge == pytest.approx(1.0 / 8.0, rel=0.06)
    assert supported.worst_deflection == pytest.approx((5.0 + NU) / (64.0 * (1.0 + NU)), rel=0.01)
    assert supported.worst_inside == pytest.approx((3.0 + NU) / 16.0, rel=0.01)


@pytest.mark.expected_from("closed form", "equilateral triangle on its edges: w = q h^4 / (972 D)")
def test_a_triangle() -> None:
    high = np.sqrt(0.75)
    triangle = Polygon([(0, 0), (1, 0), (0.5, high)])
    plates = [unit_plates(mesh_polygon(triangle, size), NU)[1] for size in (0.08, 0.04)]
    # The peak lies in the middle of the triangle, between nodes: the finer mesh comes nearer.
    found = [plate.worst_deflection / (high**4 / 972.0) for plate in plates]
    assert found[1] == pytest.approx(1.0, abs=0.015)
    assert abs(found[1] - 1.0) < abs(found[0] - 1.0) + 0.002


@pytest.mark.expected_from("convergence", "an L with a hole: halving the triangles changes ever less")
def test_an_ell_with_a_hole_settles() -> None:
    ell = Polygon([(0, 0), (3, 0), (3, 1), (1.2, 1), (1.2, 2.5), (0, 2.5)]).difference(
        Point(0.6, 1.6).buffer(0.2, quad_segs=4)
    )
    found = [unit_plates(mesh_polygon(ell, size), NU) for size in (0.3, 0.15, 0.075)]
    for bound in (0, 1):
        w = [pair[bound].worst_deflection for pair in found]
        assert abs(w[2] - w[1]) < 0.6 * abs(w[1] - w[0])
        assert w[2] == pytest.approx(w[1], rel=0.02)


@pytest.mark.expected_from(
    "published", "scikit-fem: Morley elements on the same outline, an independent library"
)
def test_another_library_on_an_ell() -> None:
    from skfem import Basis, BilinearForm, ElementTriMorley, LinearForm, MeshTri, condense, solve
    from skfem.helpers import dd, ddot, eye, trace

    ell = Polygon([(0, 0), (3, 0), (3, 1), (1.2, 1), (1.2, 2.5), (0, 2.5)])

    @BilinearForm
    def bend(u, v, _):  # type: ignore[no-untyped-def]
        return ddot((1.0 - NU) * dd(u) + NU * eye(trace(dd(u)), 2), dd(v))

    @LinearForm
    def load(v, _):  # type: ignore[no-untyped-def]
        return 1.0 * v

    theirs = []
    for size in (0.24, 0.12, 0.06):
        mesh = mesh_polygon(ell, size)
        basis = Basis(MeshTri(mesh.points.T.copy(), mesh.triangles.T.copy()), ElementTriMorley())
        held = basis.get_dofs().all()
        u = solve(*condense(bend.assemble(basis), load.assemble(basis), D=held))
        theirs.append(float(np.abs(u[basis.nodal_dofs[0]]).max()))
    clamped, _ = unit_plates(mesh_polygon(ell, 0.12), NU)
    # Morley triangles come down to the answer from above, four times nearer with half the size.
    limit = theirs[2] - (theirs[1] - theirs[2]) / 3.0
    assert limit < clamped.worst_deflection * 1.02 < theirs[2]
    assert clamped.worst_deflection == pytest.approx(limit, rel=0.025)


@pytest.mark.expected_from(
    "closed form", "a wall across the middle halves the span: two squares side by side"
)
def test_a_wall_across_holds_the_panel() -> None:
    wall = (np.array([[1.0, 0.0], [1.0, 1.0]]),)
    _, supported = unit_plates(mesh_polygon(box(0, 0, 2.0, 1.0), 0.08, lines=wall), NU)
    # By symmetry the plate cannot turn over the wall: each half is held stiffly on that side.
    # Square, three sides free to turn, one stiff: w = 0.0028 q b^4 / D (timoshenko-plates).
    assert supported.worst_deflection == pytest.approx(0.0028, rel=0.03)


@pytest.mark.expected_from("property", "a stiffer patch makes the panel stiffer, never softer")
def test_a_boss_stiffens() -> None:
    mesh = mesh_polygon(box(0, 0, 1.0, 1.0), 0.08)
    middles = mesh.points[mesh.triangles].mean(axis=1)
    patch = np.where(np.hypot(*(middles - 0.5).T) < 0.15, 27.0, 1.0)
    plain, stiff = unit_plates(mesh, NU), unit_plates(mesh, NU, patch)
    assert stiff[0].worst_deflection < plain[0].worst_deflection
    assert stiff[1].worst_deflection < plain[1].worst_deflection


@pytest.mark.expected_from(
    "property", "turning and shifting the outline changes nothing but rounding and mesh"
)
def test_the_outline_may_lie_any_way() -> None:
    from shapely import affinity

    shape = box(0, 0, 1.5, 1.0)
    turned = affinity.translate(affinity.rotate(shape, 37.0), 3.0, -2.0)
    one, two = (unit_plates(mesh_polygon(each, 0.08), NU) for each in (shape, turned))
    for bound in (0, 1):
        assert two[bound].worst_deflection == pytest.approx(one[bound].worst_deflection, rel=0.02)
