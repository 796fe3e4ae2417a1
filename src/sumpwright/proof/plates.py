"""Thin plates of any outline under an even pressure: how far they bulge, how hard they bend.

Triangles that follow Kirchhoff's rule along their sides (the discrete Kirchhoff triangle:
Batoz, Bathe and Ho, A study of three-node triangular plate bending elements, Int. J.
Numerical Methods in Engineering 15 (1980) 1771-1812): three nodes with deflection and two
slopes each; the curvature varies linearly in every triangle.

Deflection and moments are found for a unit load q = 1 Pa and unit bending stiffness
D = 1 N m, and scaled afterwards: w = W q / D, m = M q, and the stress is 6 m / t**2.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from sumpwright.geometry.meshing import TriangleMesh, triangle_areas
from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, frozen_array

Edges = Literal["supported", "clamped"]

_SLIGHT_TURN = np.radians(35.0)
"""Where the outline turns less than this at a node, it is taken as a curve and not as a corner."""


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
    counted = _away_from_corners(mesh, corner_reach)
    u_clamped, u_supported = (_solved(stiff, load, _held(mesh, edges)) for edges in _BOUNDS)
    at_edge = _edge_moment(mesh, stiff, u_clamped)
    return (
        _unit_plate(mesh, u_clamped, rows, rim, counted, at_edge),
        _unit_plate(mesh, u_supported, rows, rim, counted, None),
    )


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
    law = np.array([[1.0, poisson, 0.0], [poisson, 1.0, 0.0], [0.0, 0.0, 0.5 * (1.0 - poisson)]])
    factor = np.ones(len(triangles)) if stiffness is None else stiffness
    corners = [_curvature_rows(points, triangles, *at) for at in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))]
    # The curvature is linear, so the middles of the sides lie half way between the corners;
    # these three points integrate the product of two linear curvatures exactly.
    matrix = np.zeros((len(triangles), 9, 9))
    for i, j in ((0, 1), (1, 2), (2, 0)):
        b = 0.5 * (corners[i] + corners[j])
        matrix += np.swapaxes(b, 1, 2) @ (law @ b)
    matrix *= (area * factor / 3.0)[:, None, None]
    at = (3 * triangles[:, :, None] + np.arange(3)).reshape(len(triangles), 9)
    size = 3 * len(points)
    rows = np.repeat(at, 9, axis=1).ravel()
    columns = np.tile(at, (1, 9)).ravel()
    stiff = coo_matrix((matrix.ravel(), (rows, columns)), shape=(size, size)).tocsc()
    load = np.zeros(size)
    np.add.at(load, 3 * triangles.ravel(), np.repeat(area / 3.0, 3))
    moments = np.stack([law @ b for b in corners], axis=1) * factor[:, None, None, None]
    return stiff, load, moments


def _curvature_rows(points: FloatArray, triangles: IntArray, xi: float, eta: float) -> FloatArray:
    """Rows (m, 3, 9) that give the curvatures xx, yy and twice xy at a place of each triangle.

    Unknowns of a node: deflection, slope along y, slope along x with its sign turned.
    """
    x, y = points[triangles, 0], points[triangles, 1]
    sides = ((1, 2), (2, 0), (0, 1))  # sides 4, 5, 6 of the paper
    a, b, c, d, e = (np.empty((3, len(triangles))) for _ in range(5))
    for k, (i, j) in enumerate(sides):
        dx, dy = x[:, i] - x[:, j], y[:, i] - y[:, j]
        long2 = dx * dx + dy * dy
        a[k], b[k], d[k] = -dx / long2, 0.75 * dx * dy / long2, -dy / long2
        c[k] = (0.25 * dx * dx - 0.5 * dy * dy) / long2
        e[k] = (0.25 * dy * dy - 0.5 * dx * dx) / long2

    def slopes(n: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rows (m, 9) for the two turns, from the six shape values or their slopes."""
        n1, n2, n3, n4, n5, n6 = n
        turn_x = np.stack(
            [
                1.5 * (a[2] * n6 - a[1] * n5),
                b[1] * n5 + b[2] * n6,
                n1 - c[1] * n5 - c[2] * n6,
                1.5 * (a[0] * n4 - a[2] * n6),
                b[2] * n6 + b[0] * n4,
                n2 - c[2] * n6 - c[0] * n4,
                1.5 * (a[1] * n5 - a[0] * n4),
                b[0] * n4 + b[1] * n5,
                n3 - c[0] * n4 - c[1] * n5,
            ],
            axis=1,
        )
        turn_y = np.stack(
            [
                1.5 * (d[2] * n6 - d[1] * n5),
                -n1 + e[1] * n5 + e[2] * n6,
                -b[1] * n5 - b[2] * n6,
                1.5 * (d[0] * n4 - d[2] * n6),
                -n2 + e[2] * n6 + e[0] * n4,
                -b[2] * n6 - b[0] * n4,
                1.5 * (d[1] * n5 - d[0] * n4),
                -n3 + e[0] * n4 + e[1] * n5,
                -b[0] * n4 - b[1] * n5,
            ],
            axis=1,
        )
        return turn_x, turn_y

    by_xi = np.array(
        [4 * (xi + eta) - 3, 4 * xi - 1, 0.0, 4 * eta, -4 * eta, 4 * (1 - 2 * xi - eta)], dtype=np.float64
    )
    by_eta = np.array(
        [4 * (xi + eta) - 3, 0.0, 4 * eta - 1, 4 * xi, 4 * (1 - xi - 2 * eta), -4 * xi], dtype=np.float64
    )
    x_xi, y_xi = slopes(by_xi)
    x_eta, y_eta = slopes(by_eta)
    x31, x12 = x[:, 2] - x[:, 0], x[:, 0] - x[:, 1]
    y31, y12 = y[:, 2] - y[:, 0], y[:, 0] - y[:, 1]
    double = (x31 * y12 - x12 * y31)[:, None]
    xx = (y31[:, None] * x_xi + y12[:, None] * x_eta) / double
    yy = (-x31[:, None] * y_xi - x12[:, None] * y_eta) / double
    xy = (-x31[:, None] * x_xi - x12[:, None] * x_eta + y31[:, None] * y_xi + y12[:, None] * y_eta) / double
    return np.stack([xx, yy, xy], axis=1)


def _held(mesh: TriangleMesh, edges: Edges) -> list[tuple[int, float, float]]:
    """What may not move: (node, 0, 0) its height, (node, tx, ty) its slope along that direction."""
    held: dict[int, list[tuple[float, float]]] = {}
    for ring in mesh.rings:
        points = mesh.points[ring]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        before /= np.hypot(*before.T)[:, None]
        after /= np.hypot(*after.T)[:, None]
        turn = np.abs(
            np.arctan2(
                before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.einsum("ij,ij->i", before, after)
            )
        )
        for k, node in enumerate(ring.tolist()):
            if edges == "clamped" or turn[k] > _SLIGHT_TURN:
                held[node] = [(1.0, 0.0), (0.0, 1.0)]
            else:
                tangent = before[k] + after[k]
                tangent /= np.hypot(*tangent)
                held[node] = [(float(tangent[0]), float(tangent[1]))]
    for a, b in mesh.line_edges.tolist():
        along = mesh.points[b] - mesh.points[a]
        along = along / np.hypot(*along)
        for node in (a, b):
            known = held.setdefault(node, [])
            if len(known) == 2:
                continue
            if not known or abs(known[0][0] * along[1] - known[0][1] * along[0]) > np.sin(_SLIGHT_TURN):
                known.append((float(along[0]), float(along[1])))
    out = []
    for node, directions in held.items():
        out.append((node, 0.0, 0.0))
        out += [(node, tx, ty) for tx, ty in directions]
    return out


def _solved(stiff: Any, load: FloatArray, held: list[tuple[int, float, float]]) -> FloatArray:
    """Unknowns (3 n,) with the held ones at nothing.

    Where one slope of a node is held, its two slopes are turned into that direction and the
    one across it.
    """
    from scipy.sparse import csc_matrix, diags
    from scipy.sparse.linalg import splu

    size = len(load)
    fixed = np.zeros(size, dtype=np.bool_)
    slopes: dict[int, list[tuple[float, float]]] = {}
    for node, tx, ty in held:
        if tx == 0.0 and ty == 0.0:
            fixed[3 * node] = True
        else:
            slopes.setdefault(node, []).append((tx, ty))
    rows, columns, values = [], [], []
    turned = np.zeros(size, dtype=np.bool_)
    for node, directions in slopes.items():
        if len(directions) == 2:
            fixed[3 * node + 1] = fixed[3 * node + 2] = True
            continue
        tx, ty = directions[0]
        # slope along t = tx w,x + ty w,y = ty u1 - tx u2, with u1 = w,y and u2 = -w,x.
        i, j = 3 * node + 1, 3 * node + 2
        rows += [i, i, j, j]
        columns += [i, j, i, j]
        values += [ty, tx, -tx, ty]  # u = R v; v1 is the slope along t
        turned[i] = turned[j] = True
        fixed[i] = True
    rest = diags((~turned).astype(np.float64), format="csc")
    turn = csc_matrix((values, (rows, columns)), shape=(size, size)) + rest
    matrix = (turn.T @ stiff @ turn).tocsc()
    free = np.nonzero(~fixed)[0]
    inner = matrix[free][:, free].tocsc()
    found = np.zeros(size)
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


def _edge_moment(mesh: TriangleMesh, stiff: Any, u: FloatArray) -> FloatArray:
    """Moment (n,) square to a clamped outline at its nodes, from what holds them; NaN elsewhere.

    What a node needs to keep from turning, shared out over its stretch of the outline, is far
    surer than the triangles' own moments, which fall away steeply there.
    """
    reaction = stiff @ u
    found = np.full(len(mesh.points), np.nan)
    for ring in mesh.rings:
        points = mesh.points[ring]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        l_before, l_after = np.hypot(*before.T), np.hypot(*after.T)
        along = before / l_before[:, None] + after / l_after[:, None]
        long = np.hypot(*along.T)
        along /= np.maximum(long, 1e-12)[:, None]
        # Square to the way along: (t_y, -t_x). The turn there is w,x t_y - w,y t_x.
        square = -(reaction[3 * ring + 1] * along[:, 0] + reaction[3 * ring + 2] * along[:, 1])
        moment = np.abs(square) / (0.5 * (l_before + l_after))
        straight = long > 2.0 * np.cos(0.5 * _SLIGHT_TURN)
        # Nodes where two and where three triangles meet take turns to carry a little more and a
        # little less: their neighbours even that out.
        moment = np.where(straight, moment, 0.0)
        evened = 0.25 * np.roll(moment, 1) + 0.5 * moment + 0.25 * np.roll(moment, -1)
        beside = np.roll(straight, 1) & np.roll(straight, -1)
        found[ring] = np.where(straight & beside, evened, moment)
    return found


def _away_from_corners(mesh: TriangleMesh, reach: float) -> BoolArray:
    """Which nodes (n,) stand further than ``reach`` from every inward corner of the outline."""
    counted = np.ones(len(mesh.points), dtype=np.bool_)
    if reach <= 0.0:
        return counted
    for k, ring in enumerate(mesh.rings):
        points = mesh.points[ring]
        before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
        turn = np.arctan2(
            before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0], np.einsum("ij,ij->i", before, after)
        )
        # The outline runs anticlockwise after shapely's orient; holes the other way round.
        around = 1.0 if _signed(points) > 0.0 else -1.0
        inward = around * turn < -np.radians(8.0) if k == 0 else around * turn > np.radians(8.0)
        for corner in points[inward]:
            counted &= np.hypot(*(mesh.points - corner).T) > reach
    return counted


def _signed(points: FloatArray) -> float:
    x, y = points[:, 0], points[:, 1]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))
