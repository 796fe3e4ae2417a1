"""Plates that bulge so far that they stretch: bending and skin together, any outline.

Beyond about half its thickness a bulging sheet has to get longer; the pull in its middle
plane then carries part of the load (von Karman's plate). Triangles of
``geometry.plate_triangles`` for the bending, with the strain of their middle plane from its
shifts and from the slope of the bulge; the balance of forces by Newton's way. Stresses at
both faces are those of the pull and of the bending together.

Four bounds: edges that turn freely or not at all, and edges that may draw in or may not. A
wall welded to its neighbours lies between them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.geometry.meshing import TriangleMesh
from sumpwright.geometry.plate_triangles import areas, bending_stiffness, corner_curvatures
from sumpwright.proof.plate_edges import Edges, away_from_corners, edge_moment, holding_of
from sumpwright.proof.plates import hooke
from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre, Pascal, Ratio

MOST_BULGE: Ratio = 0.05
"""Of the square root of the panel's area: beyond it the slopes are no longer small (from memory)."""
_ROUNDS = 60
_ENOUGH: Ratio = 1e-6


@dataclass(frozen=True, slots=True)
class Stretched:
    """A plate under one pressure in one of the bounds."""

    bulge: Metre
    at_edge: Pascal  # largest stress at the held edges
    inside: Pascal  # largest stress away from them


@dataclass(frozen=True, slots=True, eq=False)
class _Sheet:
    """What stays the same through all rounds; freedoms turned as ``plate_edges`` says."""

    mesh: TriangleMesh
    at: IntArray  # (m, 15) freedoms of each triangle: u, v, w, turn about x, about y
    area: FloatArray  # (m,) m2
    strain: FloatArray  # (m, 3, 15) of the middle plane, by its shifts
    slope: FloatArray  # (m, 2, 15) w,x and w,y
    pull: FloatArray  # (m, 3, 3) N/m for strains
    bend: FloatArray  # (m, 15, 15)
    moments: FloatArray  # (m, 3 corners, 3, 9) N for the freedoms out of the plane
    thickness: FloatArray  # (m,) m
    load: FloatArray  # (5 n,) N for one Pa


def stretched_plates(
    mesh: TriangleMesh,
    modulus: Pascal,
    poisson: Ratio,
    thickness: Metre,
    pressures: tuple[Pascal, ...],
    edges: Edges,
    *,
    draws_in: bool,
    thicker: FloatArray | None = None,
    corner_reach: Metre = 0.0,
) -> tuple[Stretched | None, ...]:
    """The plate at each pressure, one after the other.

    Args:
        mesh: outline, holes and inner lines keep their height.
        modulus: Young's modulus [Pa].
        poisson: Poisson's ratio [1].
        thickness: of the sheet [m].
        pressures: ascending [Pa].
        edges: whether the outline may turn.
        draws_in: whether outline and holes may move in the sheet's plane.
        thicker: (m,) thickness of each triangle over the sheet's; None = 1 everywhere.
        corner_reach: m; stresses nearer than this to an inward corner are left out.

    Returns:
        One for each pressure; None from the first one on at which no balance is found, or at
        which the bulge passes what the theory is good for.
    """
    turn, free = _freedoms(mesh, edges, draws_in)
    sheet = _sheet(mesh, modulus, poisson, thickness, thicker, turn)
    pattern = _pattern(sheet.at, free, 5 * len(mesh.points))
    counted = away_from_corners(mesh, corner_reach)
    rim = np.zeros(len(mesh.points), dtype=np.bool_)
    for ring in mesh.rings:
        rim[ring] = True
    rim[np.unique(mesh.line_edges)] = True
    most = MOST_BULGE * float(np.sqrt(sheet.area.sum()))
    found: list[Stretched | None] = []
    v = np.zeros(5 * len(mesh.points))
    for pressure in pressures:
        settled = _balanced(sheet, pattern, pressure, v)
        if settled is None or float(np.abs(settled[2::5]).max()) > most:
            break
        v = settled
        found.append(_told(sheet, turn, v, rim, counted, thickness, is_clamped=edges == "clamped"))
    return (*found, *(None for _ in range(len(pressures) - len(found))))


def _sheet(
    mesh: TriangleMesh,
    modulus: Pascal,
    poisson: Ratio,
    thickness: Metre,
    thicker: FloatArray | None,
    turn: Any,
) -> _Sheet:
    count = len(mesh.triangles)
    flat = mesh.points[mesh.triangles]
    area = areas(flat)
    t = thickness * (np.ones(count) if thicker is None else thicker)
    law = modulus / (1.0 - poisson**2) * hooke(poisson)
    x, y = flat[:, :, 0], flat[:, :, 1]
    strain, slope, bend = np.zeros((count, 3, 15)), np.zeros((count, 2, 15)), np.zeros((count, 15, 15))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        by_x, by_y = (y[:, j] - y[:, k]) / (2.0 * area), (x[:, k] - x[:, j]) / (2.0 * area)
        strain[:, 0, 5 * i] = strain[:, 2, 5 * i + 1] = slope[:, 0, 5 * i + 2] = by_x
        strain[:, 1, 5 * i + 1] = strain[:, 2, 5 * i] = slope[:, 1, 5 * i + 2] = by_y
    out = np.array([2, 3, 4, 7, 8, 9, 12, 13, 14])
    stiff = law * (t**3 / 12.0)[:, None, None]
    bend[:, out[:, None], out] = bending_stiffness(flat, stiff)
    ways = _turned_corners(mesh, turn)
    bend = np.swapaxes(ways, 1, 2) @ bend @ ways
    load = np.zeros(5 * len(mesh.points))
    np.add.at(load, 5 * mesh.triangles.ravel() + 2, np.repeat(area / 3.0, 3))
    return _Sheet(
        mesh,
        (5 * mesh.triangles[:, :, None] + np.arange(5)).reshape(count, 15),
        area,
        strain,
        slope,
        law * t[:, None, None],
        bend,
        stiff[:, None] @ corner_curvatures(flat),
        t,
        load,
    )


def _freedoms(mesh: TriangleMesh, edges: Edges, draws_in: bool) -> tuple[Any, IntArray]:
    """From the freedoms that are left (of v) to all (u = turn v), five a node."""
    from scipy.sparse import coo_matrix

    count = len(mesh.points)
    out = holding_of(mesh, edges)
    place = (5 * np.arange(count)[:, None] + np.array([2, 3, 4])).ravel()
    plane = (5 * np.arange(count)[:, None] + np.array([0, 1])).ravel()
    part = out.turn.tocoo()
    rows = np.concatenate([place[part.row], plane])
    columns = np.concatenate([place[part.col], plane])
    turn = coo_matrix(
        (np.concatenate([part.data, np.ones(len(plane))]), (rows, columns)), shape=(5 * count, 5 * count)
    ).tocsc()
    is_free = np.zeros(5 * count, dtype=np.bool_)
    is_free[plane] = True
    is_free[place[out.free]] = True
    if draws_in:
        # Only enough that the sheet does not slide or turn away as a whole.
        left, right = int(np.argmin(mesh.points[:, 0])), int(np.argmax(mesh.points[:, 0]))
        is_free[[5 * left, 5 * left + 1, 5 * right + 1]] = False
    else:
        for ring in mesh.rings:
            is_free[5 * ring] = is_free[5 * ring + 1] = False
    return turn, np.nonzero(is_free)[0]


def _turned_corners(mesh: TriangleMesh, turn: Any) -> FloatArray:
    """Each triangle's own freedoms from the turned ones (m, 15, 15)."""
    here, right, left = turn.diagonal(), turn.diagonal(1), turn.diagonal(-1)
    ways = np.zeros((len(mesh.triangles), 15, 15))
    for c in range(3):
        node = 5 * mesh.triangles[:, c]
        for k in range(5):
            ways[:, 5 * c + k, 5 * c + k] = here[node + k]
        ways[:, 5 * c + 3, 5 * c + 4] = right[node + 3]
        ways[:, 5 * c + 4, 5 * c + 3] = left[node + 3]
    return ways


@dataclass(frozen=True, slots=True, eq=False)
class _Pattern:
    """Where the triangles' stiffness goes in the matrix of the free freedoms."""

    free: IntArray  # (k,)
    used: BoolArray  # (225 m,) both freedoms are free
    entry: IntArray  # of each used one, which entry of the matrix
    rows: IntArray
    starts: IntArray  # of the columns


def _pattern(at: IntArray, free: IntArray, size: int) -> _Pattern:
    new = np.full(size, -1)
    new[free] = np.arange(len(free))
    rows, columns = new[np.repeat(at, 15, axis=1).ravel()], new[np.tile(at, (1, 15)).ravel()]
    used = (rows >= 0) & (columns >= 0)
    keys, entry = np.unique(columns[used] * len(free) + rows[used], return_inverse=True)
    starts = np.searchsorted(keys, np.arange(len(free) + 1) * len(free))
    return _Pattern(free, used, entry, keys % len(free), starts)


def _balanced(sheet: _Sheet, pattern: _Pattern, pressure: Pascal, start: FloatArray) -> FloatArray | None:
    """Freedoms (5 n,) at which the sheet's forces meet the load; None where none are found.

    The sheet's energy falls in every round: a step that would raise it is halved.
    """
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import splu

    load = pressure * sheet.load
    free, size = pattern.free, len(load)
    v = start.copy()
    scale = float(np.linalg.norm(load[free]))
    energy = _energy(sheet, v, load)
    for _ in range(_ROUNDS):
        force, matrix = _force_and_stiffness(sheet, v)
        rest = (load - np.bincount(sheet.at.ravel(), force.ravel(), size))[free]
        if float(np.linalg.norm(rest)) <= _ENOUGH * scale:
            return v
        values = np.bincount(pattern.entry, matrix.ravel()[pattern.used])
        whole = csc_matrix((values, pattern.rows, pattern.starts), shape=(len(free), len(free)))
        way = np.zeros(size)
        try:
            way[free] = splu(whole, permc_spec="MMD_AT_PLUS_A").solve(rest)
        except RuntimeError:  # exactly singular: the sheet has no balance there
            return None
        part = 1.0
        while part > 1e-4:
            tried = v + part * way
            now = _energy(sheet, tried, load)
            if now <= energy + 1e-12 * abs(energy):
                break
            part *= 0.5
        else:
            return None
        v, energy = tried, now
    return None


def _pulls(sheet: _Sheet, u: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Freedoms (m, 15), slopes (m, 2) and pulls xx, yy, xy (m, 3) N/m of every triangle."""
    mine = u[sheet.at]
    slope = (sheet.slope @ mine[:, :, None])[:, :, 0]
    a, b = slope[:, 0], slope[:, 1]
    strain = (sheet.strain @ mine[:, :, None])[:, :, 0] + np.stack([0.5 * a * a, 0.5 * b * b, a * b], axis=1)
    return mine, slope, (sheet.pull @ strain[:, :, None])[:, :, 0]


def _energy(sheet: _Sheet, u: FloatArray, load: FloatArray) -> float:
    mine, slope, pull = _pulls(sheet, u)
    a, b = slope[:, 0], slope[:, 1]
    strain = (sheet.strain @ mine[:, :, None])[:, :, 0] + np.stack([0.5 * a * a, 0.5 * b * b, a * b], axis=1)
    stretching = 0.5 * float((sheet.area * np.einsum("mi,mi->m", strain, pull)).sum())
    bending = 0.5 * float(np.einsum("mi,mi->", mine, (sheet.bend @ mine[:, :, None])[:, :, 0]))
    return stretching + bending - float(load @ u)


def _force_and_stiffness(sheet: _Sheet, u: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Forces (m, 15) of the triangles on their nodes, and how they change with the freedoms (m, 15, 15)."""
    mine, slope, pull = _pulls(sheet, u)
    a, b = slope[:, 0, None], slope[:, 1, None]
    gx, gy = sheet.slope[:, 0], sheet.slope[:, 1]
    rows = sheet.strain + np.stack([a * gx, b * gy, a * gy + b * gx], axis=1)
    turned = np.swapaxes(rows, 1, 2) * sheet.area[:, None, None]
    force = (turned @ pull[:, :, None])[:, :, 0] + (sheet.bend @ mine[:, :, None])[:, :, 0]
    tension = np.empty((len(u[sheet.at]), 2, 2))
    tension[:, 0, 0], tension[:, 1, 1] = pull[:, 0], pull[:, 1]
    tension[:, 0, 1] = tension[:, 1, 0] = pull[:, 2]
    by_tension = np.swapaxes(sheet.slope, 1, 2) @ (tension * sheet.area[:, None, None]) @ sheet.slope
    return force, turned @ (sheet.pull @ rows) + by_tension + sheet.bend


def _told(
    sheet: _Sheet,
    turn: Any,
    v: FloatArray,
    rim: BoolArray,
    counted: BoolArray,
    thickness: Metre,
    *,
    is_clamped: bool,
) -> Stretched:
    """Bulge and largest stresses: pull and bending together, at whichever face is worse."""
    mesh, u = sheet.mesh, np.asarray(turn @ v)
    _, _, pull = _pulls(sheet, v)
    out = u.reshape(-1, 5)[:, 2:].ravel()
    at = (3 * mesh.triangles[:, :, None] + np.arange(3)).reshape(len(mesh.triangles), 9)
    moment = np.einsum("mcia,ma->mci", sheet.moments, out[at])
    in_sheet = _at_nodes(mesh, sheet.area, np.repeat((pull / sheet.thickness[:, None])[:, None], 3, axis=1))
    bent = _at_nodes(mesh, sheet.area, 6.0 * moment / (sheet.thickness**2)[:, None, None])
    both = np.maximum(_largest(in_sheet + bent), _largest(in_sheet - bent))
    at_edge = both
    if is_clamped:
        # The moment of what holds the edge is far surer than the triangles' own there.
        square = 6.0 * edge_moment(mesh, _bending_only(sheet, turn), out) / thickness**2
        at_edge = np.where(np.isnan(square), both, square + _largest(in_sheet))
    inside, held = both[~rim & counted], at_edge[rim & counted]
    return Stretched(
        float(np.abs(u[2::5]).max()),
        float(held.max()) if len(held) else 0.0,
        float(inside.max()) if len(inside) else 0.0,
    )


def _bending_only(sheet: _Sheet, turn: Any) -> Any:
    """Stiffness (3 n, 3 n) of the bending alone, which is all that turns a held edge."""
    from scipy.sparse import coo_matrix

    mesh = sheet.mesh
    at = (3 * mesh.triangles[:, :, None] + np.arange(3)).reshape(len(mesh.triangles), 9)
    out = np.array([2, 3, 4, 7, 8, 9, 12, 13, 14])
    ways = _turned_corners(mesh, turn)
    part = (ways @ sheet.bend @ np.swapaxes(ways, 1, 2))[:, out[:, None], out]
    size = 3 * len(mesh.points)
    return coo_matrix(
        (part.ravel(), (np.repeat(at, 9, axis=1).ravel(), np.tile(at, (1, 9)).ravel())), shape=(size, size)
    ).tocsc()


def _at_nodes(mesh: TriangleMesh, area: FloatArray, corners: FloatArray) -> FloatArray:
    """Means (n, 3) at the nodes of what the triangles have at their corners (m, 3 corners, 3)."""
    total, weight = np.zeros((len(mesh.points), 3)), np.zeros(len(mesh.points))
    for c in range(3):
        np.add.at(total, mesh.triangles[:, c], area[:, None] * corners[:, c])
        np.add.at(weight, mesh.triangles[:, c], area)
    return np.asarray(total / weight[:, None])


def _largest(tensor: FloatArray) -> FloatArray:
    """Largest principal value by size (n,) of tensors xx, yy, xy (n, 3)."""
    middle = 0.5 * (tensor[:, 0] + tensor[:, 1])
    radius = np.hypot(0.5 * (tensor[:, 0] - tensor[:, 1]), tensor[:, 2])
    return np.asarray(np.abs(middle) + radius)
