"""Thin plates of any outline under an even pressure: how far they bulge, how hard they bend.

Triangles of ``geometry.plate_triangles``: three nodes with deflection and two turns each.

Deflection and moments are found for a unit load q = 1 Pa and unit bending stiffness
D = 1 N m, and scaled afterwards: w = W q / D, m = M q, and the stress is 6 m / t**2.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.geometry.meshing import TriangleMesh, triangle_areas
from sumpwright.geometry.plate_triangles import bending_stiffness, corner_curvatures
from sumpwright.proof.plate_edges import Edges, Holding, away_from_corners, edge_moment, holding_of
from sumpwright.quantities.units import BoolArray, FloatArray, Ratio, frozen_array


@dataclass(frozen=True, slots=True, eq=False)
class UnitPlate:
    """A plate under 1 Pa with a bending stiffness of 1 N m."""

    deflection: FloatArray  # (n,) m4 at the nodes: times q / D is the deflection in m
    moment: FloatArray  # (n,) m2, largest principal moment by size at the nodes: times q is N m/m
    worst_deflection: float  # m4
    worst_inside: float  # m2, largest moment away from the held edges
    worst_at_edge: float  # m2, largest moment at the held edges and lines, inner corners left out


def unit_plates(
    mesh: TriangleMesh,
    poisson: float,
    stiffness: FloatArray | None = None,
    corner_reach: float = 0.0,
) -> tuple[UnitPlate, UnitPlate]:
    """The plate over a mesh, its outline and the mesh's inner lines held: clamped, and free to turn.

    Args:
        mesh: outline and holes are held edges; the inner lines are held too.
        poisson: Poisson's ratio of the metal.
        stiffness: (m,) of each triangle against the rest; None = the same everywhere.
        corner_reach: m; moments nearer than this to an inward corner are left out, since they
            grow without bound there however fine the mesh.

    Returns:
        With edges that keep their height and do not turn, and with edges that keep their
        height and turn freely. Inner lines keep their height in both cases.
    """
    stiff, load, rows = _assembled(mesh, poisson, stiffness)
    rim = np.zeros(len(mesh.points), dtype=np.bool_)
    for ring in mesh.rings:
        rim[ring] = True
    rim[np.unique(mesh.line_edges)] = True
    counted = away_from_corners(mesh, corner_reach)
    u_clamped, u_supported = (_solved(stiff, load, holding_of(mesh, edges)) for edges in _BOUNDS)
    at_edge = edge_moment(mesh, stiff, u_clamped)
    return (
        _unit_plate(mesh, u_clamped, rows, rim, counted, at_edge),
        _unit_plate(mesh, u_supported, rows, rim, counted, None),
    )


def hooke(poisson: Ratio) -> FloatArray:
    """Hooke's law (3, 3) of an even sheet with unit stiffness: moments xx, yy, xy for curvatures."""
    return np.array([[1.0, poisson, 0.0], [poisson, 1.0, 0.0], [0.0, 0.0, 0.5 * (1.0 - poisson)]])


_BOUNDS: tuple[Edges, Edges] = ("clamped", "supported")


def _unit_plate(
    mesh: TriangleMesh,
    u: FloatArray,
    rows: FloatArray,
    rim: BoolArray,
    counted: BoolArray,
    at_edge: FloatArray | None,
) -> UnitPlate:
    deflection = u[0::3]
    moment = _nodal_moment(mesh, u, rows)
    if at_edge is not None:
        moment = np.where(np.isnan(at_edge), moment, at_edge)
    inside, held = moment[~rim & counted], moment[rim & counted]
    return UnitPlate(
        frozen_array(deflection),
        frozen_array(moment),
        float(np.abs(deflection).max()),
        float(inside.max()) if len(inside) else 0.0,
        float(held.max()) if len(held) else 0.0,
    )


def _assembled(
    mesh: TriangleMesh, poisson: float, stiffness: FloatArray | None
) -> tuple[Any, FloatArray, FloatArray]:
    """Stiffness matrix, load, and moment rows (m, 3 corners, 3, 9) of the triangles."""
    from scipy.sparse import coo_matrix

    points, triangles = mesh.points, mesh.triangles
    area = triangle_areas(points, triangles)
    factor = np.ones(len(triangles)) if stiffness is None else stiffness
    law = hooke(poisson) * factor[:, None, None]
    flat = points[triangles]
    matrix = bending_stiffness(flat, law)
    at = (3 * triangles[:, :, None] + np.arange(3)).reshape(len(triangles), 9)
    size = 3 * len(points)
    rows = np.repeat(at, 9, axis=1).ravel()
    columns = np.tile(at, (1, 9)).ravel()
    stiff = coo_matrix((matrix.ravel(), (rows, columns)), shape=(size, size)).tocsc()
    load = np.zeros(size)
    np.add.at(load, 3 * triangles.ravel(), np.repeat(area / 3.0, 3))
    moments = law[:, None] @ corner_curvatures(flat)
    return stiff, load, moments


def _solved(stiff: Any, load: FloatArray, holding: Holding) -> FloatArray:
    """Unknowns (3 n,) with the held ones at nothing."""
    from scipy.sparse.linalg import splu

    turn, free = holding.turn, holding.free
    matrix = (turn.T @ stiff @ turn).tocsc()
    inner = matrix[free][:, free].tocsc()
    found = np.zeros(len(load))
    if len(free):
        found[free] = splu(
            inner, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        ).solve((turn.T @ load)[free])
    return np.asarray(turn @ found)


def _nodal_moment(mesh: TriangleMesh, u: FloatArray, rows: FloatArray) -> FloatArray:
    """Largest principal moment by size (n,) at the nodes, averaged over the triangles there."""
    at = (3 * mesh.triangles[:, :, None] + np.arange(3)).reshape(len(mesh.triangles), 9)
    corners = np.einsum("mcia,ma->mci", rows, u[at])
    area = triangle_areas(mesh.points, mesh.triangles)
    total, weight = np.zeros((len(mesh.points), 3)), np.zeros(len(mesh.points))
    for c in range(3):
        np.add.at(total, mesh.triangles[:, c], area[:, None] * corners[:, c])
        np.add.at(weight, mesh.triangles[:, c], area)
    m = total / weight[:, None]
    middle = 0.5 * (m[:, 0] + m[:, 1])
    radius = np.hypot(0.5 * (m[:, 0] - m[:, 1]), m[:, 2])
    return np.asarray(np.abs(middle) + radius)
