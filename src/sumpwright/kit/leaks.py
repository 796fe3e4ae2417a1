"""Does a ball pass from the oil side to the outside? Sheets are swollen, what is left is looked at.

Searching, every sheet is swollen by s in its plane (round corners) and by s in
thickness: one body a sheet, a little more than what a ball of radius s takes up. Judging,
it is swollen by less than the ball: by r in its plane alone, by r in thickness alone, and
by the two legs of r in between, so that where inside and outside are apart no ball of
diameter 2 r can pass.

Inside and outside are told apart on the skin of what is left: a closed skin seen
from just inside the oil-side plane of a sheet must not be the skin seen from just
outside another sheet's outer plane.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from manifold3d import Manifold, OpType
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from sumpwright.geometry.solid_shapes import cross_rows
from sumpwright.kit.solids import Sheet, polygons_of, prism
from sumpwright.quantities.units import FloatArray, IntArray, Metre

LEGS = ((1.0, 0.0), (math.sqrt(0.75), 0.5), (0.5, math.sqrt(0.75)), (0.0, 1.0))
"""Shares of the ball's radius by which a sheet is swollen in its plane and in thickness."""


ROUND = math.cos(math.pi / 8.0)
"""A plain swelling's round corners are chords of 45 degrees, which come so near to their middle."""

_GRID = np.array([p for p in itertools.product((-1.0, 0.0, 1.0), repeat=3) if any(p)])
BALL = _GRID / np.linalg.norm(_GRID, axis=1)[:, None]
"""Directions (26, 3) of a ball's corners."""


@dataclass(frozen=True, slots=True, eq=False)
class Probe:
    """A point beside a sheet's skin and the direction in which the skin lies."""

    point: FloatArray  # (3,) on the skin, before swelling
    towards: FloatArray  # (3,) unit vector from the open side into the metal
    is_inside: bool  # on the oil's side


def swollen(sheet: Sheet, by: Metre) -> Manifold:
    """The sheet grown by ``by`` in its plane and in thickness."""
    key = f"swollen {by!r}"
    if key not in sheet._cache and sheet.block is not None:
        sheet._cache[key] = _block_grown(sheet.block, by)
    if key not in sheet._cache:
        grown = sheet.outline.buffer(by, quad_segs=2, join_style="round")
        sheet._cache[key] = prism(grown, sheet.frame, -by, sheet.thickness + by)
    return sheet._cache[key]


def _block_grown(block: FloatArray, radius: Metre) -> Manifold:
    """A convex body grown by the points of a ball in 26 directions: it lies within the ball's sweep."""
    return Manifold.hull_points((block[:, None, :] + radius * BALL[None]).reshape(-1, 3))


def ball_swollen(sheet: Sheet, radius: Metre) -> list[Manifold]:
    """Bodies that together lie within the sheet grown by a ball, and reach nearly as far."""
    key = f"ball {radius!r}"
    if key not in sheet._cache and sheet.block is not None:
        sheet._cache[key] = _block_grown(sheet.block, radius)
    if key not in sheet._cache:
        bodies = []
        for flat, up in LEGS:
            grown = sheet.outline.buffer(flat * radius, quad_segs=4, join_style="round")
            bodies.append(prism(grown, sheet.frame, -up * radius, sheet.thickness + up * radius))
        sheet._cache[key] = Manifold.batch_boolean(bodies, OpType.Add)
    return [sheet._cache[key]]


def probes_on(sheet: Sheet, where: BaseGeometry, is_inside: bool) -> list[Probe]:
    """Probes over points of ``where`` (in the sheet's frame): on the oil side or on the outer skin."""
    normal = sheet.frame.normal
    out = []
    for part in polygons_of(where):
        if part.area < 1e-10:
            continue
        spot = part.representative_point()
        ground = sheet.frame.to_space(np.array([[spot.x, spot.y]]))[0]
        if is_inside:
            out.append(Probe(ground, normal, True))
        else:
            out.append(Probe(ground + sheet.thickness * normal, -normal, False))
    return out


def skins(body: Manifold) -> tuple[FloatArray, IntArray]:
    """Triangles (m, 3, 3) of a body and the number of the closed skin each belongs to (m,)."""
    mesh = body.to_mesh64()
    faces = np.asarray(mesh.tri_verts, dtype=np.int64)
    points = np.asarray(mesh.vert_properties)[:, :3]
    merge = np.arange(len(points))
    if len(mesh.merge_from_vert):
        merge[np.asarray(mesh.merge_from_vert, dtype=np.int64)] = np.asarray(
            mesh.merge_to_vert, dtype=np.int64
        )
    joined = merge[faces]
    rows = np.concatenate([joined[:, 0], joined[:, 1]])
    columns = np.concatenate([joined[:, 1], joined[:, 2]])
    graph = coo_array((np.ones(len(rows), dtype=np.int8), (rows, columns)), shape=(len(points), len(points)))
    _, label = connected_components(graph, directed=False)
    return points[faces], label[joined[:, 0]].astype(np.int64)


def first_hits(
    origins: FloatArray, directions: FloatArray, triangles: FloatArray
) -> tuple[FloatArray, IntArray]:
    """Distance to the first triangle left from behind along each ray (inf if none) and its index (-1)."""
    corner = triangles[:, 0]
    side_one, side_two = triangles[:, 1] - corner, triangles[:, 2] - corner
    normal = cross_rows(side_one, side_two)
    det = -directions @ normal.T  # triple products, one matrix product each
    moment = cross_rows(origins, directions)
    with np.errstate(all="ignore"):
        # (o - c) . (d x e) = (o x d) . e - (c x d) . e = (o x d) . e + d . (c x e)
        u = (moment @ side_two.T + directions @ cross_rows(corner, side_two).T) / det
        v = -(moment @ side_one.T + directions @ cross_rows(corner, side_one).T) / det
        distance = (origins @ normal.T - np.einsum("tk,tk->t", corner, normal)) / det
        edge = -1e-9
        hit = (det < -1e-30) & (u >= edge) & (v >= edge) & (u + v <= 1.0 - edge) & (distance > 0.0)
    distance = np.where(hit, distance, np.inf)
    nearest = distance.argmin(axis=1)
    best = distance[np.arange(len(origins)), nearest]
    return best, np.where(np.isfinite(best), nearest, -1)


def left_of(window: Manifold, sheets: Sequence[Sheet], by: Metre) -> Manifold:
    """What swollen sheets leave of a window."""
    return Manifold.batch_boolean([window, *(swollen(sheet, by) for sheet in sheets)], OpType.Subtract)


def is_open(window: Manifold, sheets: Sequence[Sheet], probes: Sequence[Probe], by: Metre) -> bool:
    """True if inside and outside are joined within the window once every sheet is swollen."""
    return joins(left_of(window, sheets, by), probes, 1.5 * by + 1e-6)


def ball_passes(window: Manifold, sheets: Sequence[Sheet], probes: Sequence[Probe], diameter: Metre) -> bool:
    """True if a ball of this diameter gets from inside to outside within the window.

    False is certain. Between true and false lies a band: a ball up to an eighth smaller may
    be told to pass. Two plain swellings are tried first, for they are quick: the one that
    still lies within the ball shuts nearly every kit that is shut, and what is open past the
    one that the ball's own bodies lie within is open past the ball.
    """
    if not is_open(window, sheets, probes, 0.5 * diameter / math.sqrt(2.0)):
        return False
    if is_open(window, sheets, probes, 0.5 * diameter / ROUND):
        return True
    bodies = [body for sheet in sheets for body in ball_swollen(sheet, 0.5 * diameter)]
    left = Manifold.batch_boolean([window, *bodies], OpType.Subtract)
    return joins(left, probes, 0.75 * diameter + 1e-6)


def joins(left: Manifold, probes: Sequence[Probe], lift: Metre) -> bool:
    """True if one closed skin of what is left is seen from inside and from outside.

    Probes look from ``lift`` before the metal.
    """
    if left.is_empty() or not probes:
        return False
    triangles, skin = skins(left)
    directions = np.array([probe.towards for probe in probes])
    origins = np.array([probe.point for probe in probes]) - lift * directions
    distance, hit = first_hits(origins, directions, triangles)
    # A probe whose first skin is not the swollen sheet right before it stands in other metal.
    good = (hit >= 0) & (distance < lift)
    is_inside = np.array([probe.is_inside for probe in probes])
    inside, outside = skin[hit[good & is_inside]], skin[hit[good & ~is_inside]]
    return bool(np.isin(inside, outside).any())


def box_round(points: FloatArray, margin: Metre) -> Manifold:
    """A box round points with a margin."""
    low, high = points.min(axis=0) - margin, points.max(axis=0) + margin
    return Manifold.cube(tuple(high - low)).translate(tuple(low))
