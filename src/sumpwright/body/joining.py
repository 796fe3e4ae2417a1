"""Lumps joined and cut in the order of the job, each triangle knowing its plane and its lump."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.body.lumps import three_plane_points
from sumpwright.body.slivers import without_slivers
from sumpwright.body.snapping import RAIL, SharedPlanes, SnappedLump
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.quantities.units import CubicMetre, FloatArray, IntArray, Metre

FAR_PLANE = 1_000_000
"""Plane numbers from here on belong to the far sides of trimming prisms; none may show."""


PRESSED = 0.125
"""Share of the snapping distance by which a lump is pressed into what it butts against."""


@dataclass(frozen=True, slots=True, eq=False)
class JoinedMesh:
    """Triangles of the joined solid with where each came from."""

    points: FloatArray  # (n, 3) m
    triangles: IntArray  # (m, 3) anticlockwise from outside
    plane: IntArray  # (m,) shared plane number
    lump: IntArray  # (m,) place in the job's list, -1 = the rail prism
    volume: CubicMetre
    pieces: tuple[CubicMetre, ...]  # volume of each separate piece, negative for a closed hollow
    pieces_gap: Metre  # least gap between two of them, up to a centimetre


def solid_of(points: FloatArray, triangles: IntArray, planes: IntArray, original: int | None = None) -> Any:
    """A closed mesh as a solid that remembers the plane of every triangle."""
    import manifold3d

    mesh = manifold3d.Mesh64(
        np.array(points, dtype=np.float64, order="C"),
        np.array(triangles, dtype=np.uint64, order="C"),
        run_index=np.array([0, 3 * len(triangles)], dtype=np.uint64),
        run_original_id=np.array(
            [manifold3d.Manifold.reserve_ids(1) if original is None else original], dtype=np.uint32
        ),
        face_id=np.array(planes, dtype=np.uint64),
    )
    return manifold3d.Manifold(mesh)


def _fill_loop(points: FloatArray, normal: FloatArray) -> IntArray:
    """Triangles (m, 3) over one plane loop, as places in the loop."""
    import manifold3d

    x_axis, y_axis = axes_in_plane(normal)
    flat = np.stack([points @ x_axis, points @ y_axis], axis=1)
    return np.asarray(manifold3d.triangulate([flat]), dtype=np.int64)


def _pressed_points(
    lump: SnappedLump, standing: set[tuple[int, bool]], press: Metre
) -> tuple[FloatArray, set[tuple[int, bool]]]:
    """Corners of a lump pressed a hair into what it butts against, and the sides it will show.

    Faces that lie back to back (or a cut flush with the face it opens) agree only to
    rounding; without the hair, zero-thick skins would stay between them.
    """
    solid = lump.solid
    facing_up = np.einsum("ij,ij->i", solid.normals, lump.lead_normals) > 0.0
    offsets = solid.offsets.copy()
    shown: set[tuple[int, bool]] = set()
    for face, (plane, up) in enumerate(zip(lump.plane_of_loop.tolist(), facing_up.tolist(), strict=True)):
        shown.add((plane, up if solid.lump.adds else not up))
        if (plane, not up if solid.lump.adds else up) in standing and plane != RAIL:
            offsets[face] += press
    if np.array_equal(offsets, solid.offsets):
        return solid.points, shown
    return three_plane_points(solid.normals, offsets, solid.corners), shown


def _lump_manifold(lump: SnappedLump, points: FloatArray, original: int) -> Any:
    solid = lump.solid
    triangles: list[IntArray] = []
    planes: list[int] = []
    for face, loop in enumerate(solid.loops):
        index = np.array(loop)
        if len(loop) == 4 and solid.kinds[face] == "wall":
            filled = np.array([[0, 1, 2], [0, 2, 3]])
        else:
            filled = _fill_loop(points[index], solid.normals[face])
        triangles.append(index[filled])
        planes += [int(lump.plane_of_loop[face])] * len(filled)
    return solid_of(points, np.concatenate(triangles), np.array(planes), original)


_BOX_CORNERS = np.array([[x, y, z] for z in (0.0, 1.0) for y in (-1.0, 1.0) for x in (-1.0, 1.0)])
_BOX_SIDES = ((0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5))


def half_space(
    normal: FloatArray,
    offset: float,
    plane: int,
    centre: FloatArray,
    reach: float,
    original: int | None = None,
) -> Any:
    """A big prism on the inner side of a plane; only that plane's own face carries its number."""
    x_axis, y_axis = axes_in_plane(-normal)
    foot = centre - (centre @ normal - offset) * normal
    corners = (
        foot
        + reach * _BOX_CORNERS[:, :1] * x_axis
        + reach * _BOX_CORNERS[:, 1:2] * y_axis
        - 2.0 * reach * _BOX_CORNERS[:, 2:] * normal
    )
    corners[:4] += (offset - corners[:4] @ normal)[:, None] * normal
    triangles: list[tuple[int, int, int]] = []
    planes: list[int] = []
    for side, (a, b, c, d) in enumerate(_BOX_SIDES):
        triangles += [(a, b, c), (a, c, d)]
        planes += [plane if side == 0 else FAR_PLANE + side] * 2
    return solid_of(corners, np.array(triangles), np.array(planes), original)


def join(
    lumps: tuple[SnappedLump, ...], shared: SharedPlanes, snap: Metre
) -> tuple[JoinedMesh | None, tuple[CubicMetre, ...]]:
    """Join and cut in order, below the rail plane; and what each lump added, in order."""
    import manifold3d

    first = manifold3d.Manifold.reserve_ids(2 * len(lumps) + 1)
    everything = np.concatenate([lump.solid.points for lump in lumps])
    low, high = everything.min(axis=0), everything.max(axis=0)
    centre, reach = 0.5 * (low + high), 4.0 * float(np.linalg.norm(high - low)) + 1.0
    rail_id = first + 2 * len(lumps)
    below_rail = half_space(shared.normals[RAIL], 0.0, RAIL, centre, reach, rail_id)

    def shape(lump: SnappedLump, points: FloatArray, original: int) -> Any:
        body = _lump_manifold(lump, points, original)
        if lump.floor_trim is not None:
            normal, offset = shared.normals[lump.floor_trim], float(shared.offsets[lump.floor_trim])
            if normal[2] > 0.0:
                normal, offset = -normal, -offset
            body = body ^ half_space(normal, offset, lump.floor_trim, centre, reach, original + 1)
        if lump.solid.lump.adds and float(points[:, 2].max()) > 0.0:
            body = body ^ below_rail
        return body

    joined = measured = manifold3d.Manifold()
    before = 0.0
    changes: list[float] = []
    lump_of_original = {rail_id: -1}
    standing: set[tuple[int, bool]] = set()
    for k, lump in enumerate(lumps):
        original = first + 2 * k
        lump_of_original[original] = lump_of_original[original + 1] = lump.solid.number
        pressed, shown = _pressed_points(lump, standing, PRESSED * snap)
        standing |= shown
        body = shape(lump, pressed, original)
        # Volumes come from lumps that are not pressed: zero-thick skins hold no oil.
        true_body = body if pressed is lump.solid.points else shape(lump, lump.solid.points, original)
        if lump.solid.lump.adds:
            joined, measured = joined + body, measured + true_body
        else:
            joined, measured = joined - body, measured - true_body
        after = float(measured.volume())
        changes.append(after - before)
        before = after
    if joined.is_empty():
        return None, tuple(changes)
    mesh = joined.to_mesh64()
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    lump_of_triangle = np.empty(len(triangles), dtype=np.int64)
    runs = np.asarray(mesh.run_index, dtype=np.int64) // 3
    for original, start, end in zip(mesh.run_original_id, runs[:-1], runs[1:], strict=True):
        lump_of_triangle[start:end] = lump_of_original[int(original)]
    pieces = joined.decompose()
    gap = min((float(a.min_gap(b, 0.01)) for k, a in enumerate(pieces) for b in pieces[:k]), default=0.01)
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    planes = np.asarray(mesh.face_id, dtype=np.int64)
    triangles, planes, lump_of_triangle = without_slivers(points, triangles, planes, lump_of_triangle, snap)
    return (
        JoinedMesh(
            points,
            triangles,
            planes,
            lump_of_triangle,
            before,
            tuple(float(piece.volume()) for piece in pieces),
            gap,
        ),
        tuple(changes),
    )
