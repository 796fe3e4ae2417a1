"""One plane for faces that were meant to be one plane.

Two lumps that a fabricator drew flush differ by rounding. Left alone, the difference
comes out of the union as hair-thin extra faces. So nearly equal planes become one, and
all corners move onto it, before anything is joined.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sumpwright.body.lumps import LumpSolid, three_plane_points
from sumpwright.quantities.units import FloatArray, IntArray, Metre, Radian, SquareMetre

RAIL = 0
"""Number of the rail plane among the shared planes."""


@dataclass(frozen=True, slots=True, eq=False)
class SharedPlanes:
    """The planes of all lumps after nearly equal ones became one; number 0 is the rail."""

    normals: FloatArray  # (c, 3)
    offsets: FloatArray  # (c,) m


@dataclass(frozen=True, slots=True, eq=False)
class SnappedLump:
    """A lump with its corners moved onto the shared planes."""

    solid: LumpSolid
    plane_of_loop: IntArray  # (p,) number of the shared plane
    lead_normals: FloatArray  # (p, 3) the shared plane's own normal
    floor_trim: int | None  # shared plane of a floor that cuts through the top


def _loop_area(points: FloatArray) -> SquareMetre:
    away = points - points[0]
    return float(np.linalg.norm(np.cross(away[1:-1], away[2:]).sum(axis=0))) / 2.0


def share_planes(
    solids: tuple[LumpSolid, ...], snap_distance: Metre, snap_angle: Radian
) -> tuple[SharedPlanes, tuple[SnappedLump, ...], tuple[tuple[int, int], ...]]:
    """Cluster the planes and move the corners.

    The largest face of a cluster leads it, the rail plane before all, so that a chain of
    small differences cannot creep. The last answer names outline corners (lump, place)
    between two sides that became one plane: the caller drops them and comes again.
    """
    entries: list[tuple[float, int, int]] = []
    for at, solid in enumerate(solids):
        for face, loop in enumerate(solid.loops):
            area = _loop_area(solid.points[list(loop)])
            entries.append((area, at, face))
    entries.sort(key=lambda entry: (-entry[0], entry[1], entry[2]))
    normals: list[FloatArray] = [np.array([0.0, 0.0, 1.0])]
    offsets: list[float] = [0.0]
    number: dict[tuple[int, int], tuple[int, float]] = {}
    least_cosine = float(np.cos(snap_angle))
    for _, at, face in entries:
        solid = solids[at]
        normal, offset = solid.normals[face], float(solid.offsets[face])
        number[at, face] = _join(
            normals,
            offsets,
            normal,
            offset,
            solid.points[list(solid.loops[face])],
            snap_distance,
            least_cosine,
        )
    trims: list[int | None] = []
    for solid in solids:
        if solid.trimmed_by_floor is None:
            trims.append(None)
            continue
        normal, offset = solid.trimmed_by_floor
        footprint = solid.points[: len(solid.points) // 2].copy()
        footprint[:, 2] = (offset - footprint[:, :2] @ normal[:2]) / normal[2]
        trims.append(_join(normals, offsets, normal, offset, footprint, snap_distance, least_cosine)[0])
    shared = SharedPlanes(np.array(normals), np.array(offsets))
    snapped: list[SnappedLump] = []
    merged: list[tuple[int, int]] = []
    for at, solid in enumerate(solids):
        faces = range(len(solid.loops))
        plane = np.array([number[at, face][0] for face in faces])
        sign = np.array([number[at, face][1] for face in faces])
        triples = plane[np.array(solid.corners)]
        doubled = (triples[:, 0] == triples[:, 1]) | (triples[:, 1] == triples[:, 2])
        doubled |= triples[:, 0] == triples[:, 2]
        if doubled.any():
            merged.append((at, int(np.flatnonzero(doubled)[0]) % (len(solid.points) // 2)))
            continue
        new_normals = shared.normals[plane] * sign[:, None]
        new_offsets = shared.offsets[plane] * sign
        moved = replace(
            solid,
            normals=new_normals,
            offsets=new_offsets,
            points=three_plane_points(new_normals, new_offsets, solid.corners),
        )
        snapped.append(SnappedLump(moved, plane, shared.normals[plane], trims[at]))
    return shared, tuple(snapped), tuple(merged)


def _join(
    normals: list[FloatArray],
    offsets: list[float],
    normal: FloatArray,
    offset: float,
    points: FloatArray,
    snap: Metre,
    least_cosine: float,
) -> tuple[int, float]:
    """Number of the plane that takes this face (a new one if none does), and its sign there."""
    for k, (lead, at) in enumerate(zip(normals, offsets, strict=True)):
        cosine = float(lead @ normal)
        if abs(cosine) >= least_cosine and float(np.abs(points @ lead - at).max()) <= snap:
            return k, 1.0 if cosine > 0.0 else -1.0
    normals.append(normal)
    offsets.append(offset)
    return len(normals) - 1, 1.0
