"""What holds a plate at its outline and along inner lines, and what it takes to hold it there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from sumpwright.geometry.meshing import TriangleMesh
from sumpwright.quantities.units import BoolArray, FloatArray, IntArray

Edges = Literal["supported", "clamped"]

_SLIGHT_TURN = np.radians(35.0)
"""Where the outline turns less than this at a node, it is taken as a curve and not as a corner."""


@dataclass(frozen=True, slots=True, eq=False)
class Holding:
    """Which freedoms of a plate are left, three a node: deflection, turn about x (w,y), about y (-w,x).

    Where one slope of a node is held, its two turns are turned into that direction and the one
    across it: u = turn v.
    """

    turn: Any  # (3 n, 3 n) sparse
    free: IntArray  # (k,) of v


def holding_of(mesh: TriangleMesh, edges: Edges) -> Holding:
    """Outline, holes and inner lines kept at their height; clamped, the outline does not turn either."""
    from scipy.sparse import csc_matrix, diags

    size = 3 * len(mesh.points)
    fixed = np.zeros(size, dtype=np.bool_)
    slopes: dict[int, list[tuple[float, float]]] = {}
    for node, tx, ty in _held(mesh, edges):
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
    return Holding(turn, np.nonzero(~fixed)[0])


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


def edge_moment(mesh: TriangleMesh, stiff: Any, u: FloatArray) -> FloatArray:
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


def away_from_corners(mesh: TriangleMesh, reach: float) -> BoolArray:
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
