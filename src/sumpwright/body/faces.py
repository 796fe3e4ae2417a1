"""From a joined mesh to exact faces: flood, keep true corners, solve them again."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.flooding import Flooded, Trouble, enclosed_volume, fill_face, flood
from sumpwright.body.formulas import corner_angle
from sumpwright.body.joining import FAR_PLANE, JoinedMesh
from sumpwright.body.model import Cavity, Edge, Face, Lump
from sumpwright.body.naming import (
    ROLE_ORDER,
    direction_word,
    face_names,
    face_role,
    lump_of_face,
    lump_shares,
    sides_in_plane,
)
from sumpwright.body.snapping import RAIL, SharedPlanes, SnappedLump
from sumpwright.geometry.polygons import signed_area
from sumpwright.geometry.solid_shapes import Plane, axes_in_plane
from sumpwright.quantities.units import (
    CubicMetre,
    FloatArray,
    IntArray,
    Metre,
    frozen_array,
    frozen_indices,
)


def exact_cavity(
    mesh: JoinedMesh,
    shared: SharedPlanes,
    snapped: tuple[SnappedLump, ...],
    lumps: tuple[Lump, ...],
    changes: tuple[CubicMetre, ...],
    snap: Metre,
) -> tuple[Cavity | None, tuple[Trouble, ...]]:
    """The joined mesh as a cavity with exact planes and corners, or why that cannot be."""
    if int(mesh.plane.max()) >= FAR_PLANE:
        return None, (
            ("a lump reaches beyond every sensible size", "check the lumps for a slipped decimal point"),
        )
    flooded, trouble = flood(mesh.points, mesh.triangles, mesh.plane, shared.normals, shared.offsets, snap)
    if flooded is None:
        return None, trouble
    shares = lump_shares(mesh.lump, flooded.stretch, flooded.triangle_areas, len(flooded.loops))
    return _assemble(flooded, shares, snapped, lumps, changes), trouble


def _assemble(
    flooded: Flooded,
    shares: list[dict[int, float]],
    snapped: tuple[SnappedLump, ...],
    lumps: tuple[Lump, ...],
    changes: tuple[CubicMetre, ...],
) -> Cavity:
    vertices, normals, offsets = flooded.vertices, flooded.normals, flooded.offsets
    count = len(flooded.loops)
    face_loops: list[list[list[int]]] = []
    areas = np.zeros(count)
    lump_of: list[int] = []
    for f in range(count):
        axes = np.stack(axes_in_plane(normals[f]), axis=1)
        flat = [vertices[loop] @ axes for loop in flooded.loops[f]]
        sizes = [signed_area(points) for points in flat]
        order = sorted(range(len(sizes)), key=lambda k: (-sizes[k], flooded.loops[f][k]))
        face_loops.append([flooded.loops[f][k] for k in order])
        areas[f] = sum(sizes)
        sides = sides_in_plane(snapped, int(flooded.plane_of[f]), normals[f], axes)
        lump_of.append(lump_of_face(shares[f], sides, [flat[k] for k in order]))

    is_rail = (flooded.plane_of == RAIL) & (normals[:, 2] > 0.5)
    roles = [face_role(normals[f], bool(is_rail[f])) for f in range(count)]
    centres = np.array([vertices[loops[0]].mean(axis=0) for loops in face_loops])

    def place(f: int) -> tuple[float, ...]:
        return tuple(np.round(-centres[f], 5) + 0.0)

    def rank(f: int) -> tuple[object, ...]:
        return ROLE_ORDER[roles[f]], lump_of[f], direction_word(normals[f]), place(f), f

    order_faces = sorted(range(count), key=rank)
    names = face_names(order_faces, roles, normals, lump_of, lumps)

    # Corners are numbered as the faces meet them, so that the numbers follow the shape.
    renumber: dict[int, int] = {}
    for f in order_faces:
        for loop in face_loops[f]:
            at = min(range(len(loop)), key=lambda k: (*np.round(-vertices[loop[k]], 5), k))
            for v in loop[at:] + loop[:at]:
                renumber.setdefault(v, len(renumber))
    new_vertices = np.zeros((len(renumber), 3))
    for old, new in renumber.items():
        new_vertices[new] = vertices[old]

    faces: list[Face] = []
    triangles: list[IntArray] = []
    face_of: list[IntArray] = []
    for index, f in enumerate(order_faces):
        new_loops = []
        for loop in face_loops[f]:
            ring = [renumber[v] for v in loop]
            at = ring.index(min(ring))
            new_loops.append(frozen_indices(ring[at:] + ring[:at]))
        lump = lump_of[f]
        faces.append(
            Face(
                index,
                names[f],
                roles[f],
                lumps[lump].name if lump >= 0 else "rail",
                Plane(frozen_array(normals[f]), float(offsets[f])),
                tuple(new_loops),
                float(areas[f]),
            )
        )
        filled = fill_face(new_vertices, tuple(new_loops), normals[f])
        triangles.append(filled)
        face_of.append(np.full(len(filled), index, dtype=np.int64))
    all_triangles = np.concatenate(triangles)
    return Cavity(
        frozen_array(new_vertices),
        tuple(faces),
        _edges(new_vertices, tuple(faces)),
        frozen_indices(all_triangles),
        frozen_indices(np.concatenate(face_of)),
        tuple((lump.name, change) for lump, change in zip(lumps, changes, strict=True)),
        enclosed_volume(new_vertices, all_triangles),
    )


def _edges(vertices: FloatArray, faces: tuple[Face, ...]) -> tuple[Edge, ...]:
    """Every straight edge once, from the face with the lower number."""
    half: dict[tuple[int, int], int] = {}
    for face in faces:
        for loop in face.loops:
            ring = loop.tolist()
            for a, b in zip(ring, ring[1:] + ring[:1], strict=True):
                half[a, b] = face.index
    edges: list[Edge] = []
    for (a, b), face_a in half.items():
        face_b = half.get((b, a))
        if face_b is None or face_b < face_a or (face_b == face_a and b < a):
            continue
        along = vertices[b] - vertices[a]
        length = float(np.linalg.norm(along))
        theta = corner_angle(
            faces[face_a].plane.normal, faces[face_b].plane.normal, along / max(length, 1e-300)
        )
        edges.append(Edge(len(edges), face_a, face_b, a, b, length, theta, theta > math.pi))
    return tuple(edges)
