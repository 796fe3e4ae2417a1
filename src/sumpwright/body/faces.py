"""From a joined mesh to exact faces: flood, keep true corners, solve them again."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

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

Trouble = tuple[str, str]

TOUCHING: Trouble = (
    "parts of the shape touch only along an edge or in a point",
    "let the lumps overlap by some sheet thicknesses, or leave a clear gap between them",
)


@dataclass(frozen=True, slots=True, eq=False)
class _Flooded:
    """The stretches of one plane each, before they are named and put in order."""

    vertices: FloatArray  # (n, 3) m
    loops: list[list[list[int]]]  # per face, corners of each closed line
    normals: FloatArray  # (f, 3) out of the oil
    offsets: FloatArray  # (f,) m
    plane_of: IntArray  # (f,) shared plane number
    shares: list[dict[int, float]]  # per face, area by lump as the join has it, m2


def _neighbours(triangles: IntArray) -> dict[tuple[int, int], int]:
    """Half edge (from, to) -> its triangle."""
    owner: dict[tuple[int, int], int] = {}
    for t, (a, b, c) in enumerate(triangles.tolist()):
        owner[a, b] = t
        owner[b, c] = t
        owner[c, a] = t
    return owner


def _is_closed_and_simple(triangles: IntArray, owner: dict[tuple[int, int], int]) -> bool:
    """Whether two triangles meet in every edge and one closed fan of them in every point."""
    if len(triangles) == 0 or len(owner) != 3 * len(triangles):
        return False
    around: dict[int, int] = {}
    spoke: dict[int, tuple[int, int]] = {}
    for a, b in owner:
        if (b, a) not in owner:
            return False
        around[a] = around.get(a, 0) + 1
        spoke[a] = (a, b)
    rows = triangles.tolist()
    for point, first in spoke.items():
        turned, edge = 0, first
        while True:
            row = rows[owner[edge]]
            edge = (point, row[(row.index(point) + 2) % 3])
            turned += 1
            if edge == first or turned > around[point]:
                break
        if turned != around[point]:
            return False
    return True


def _flood(triangles: IntArray, plane: IntArray, owner: dict[tuple[int, int], int]) -> IntArray:
    """Number of the connected same-plane stretch of each triangle."""
    stretch = np.full(len(triangles), -1, dtype=np.int64)
    count = 0
    rows = triangles.tolist()
    for start in range(len(rows)):
        if stretch[start] >= 0:
            continue
        stretch[start] = count
        queue = [start]
        while queue:
            a, b, c = rows[t := queue.pop()]
            for edge in ((b, a), (c, b), (a, c)):
                other = owner[edge]
                if stretch[other] < 0 and plane[other] == plane[t]:
                    stretch[other] = count
                    queue.append(other)
        count += 1
    return stretch


def _boundary_loops(
    triangles: IntArray, stretch: IntArray, owner: dict[tuple[int, int], int]
) -> list[tuple[int, list[int]]]:
    """All closed boundary lines as (stretch, mesh points), anticlockwise round the stretch."""
    rows = triangles.tolist()
    border: dict[tuple[int, int], int] = {}
    for t, (a, b, c) in enumerate(rows):
        for edge in ((a, b), (b, c), (c, a)):
            if stretch[owner[edge[1], edge[0]]] != stretch[t]:
                border[edge] = t

    def following(edge: tuple[int, int]) -> tuple[int, int]:
        """Turn about the edge's end, inside the stretch, to the next border edge."""
        t = border[edge]
        end = edge[1]
        while True:
            row = rows[t]
            onward = row[(row.index(end) + 1) % 3]
            if (end, onward) in border:
                return end, onward
            t = owner[onward, end]

    loops: list[tuple[int, list[int]]] = []
    unused = dict.fromkeys(border)
    while unused:
        first = next(iter(unused))
        line = []
        edge = first
        while True:
            del unused[edge]
            line.append(edge[0])
            edge = following(edge)
            if edge == first:
                break
        loops.append((int(stretch[border[first]]), line))
    return loops


def _solve_corner(start: FloatArray, normals: FloatArray, offsets: FloatArray) -> FloatArray:
    """Point nearest ``start`` that fits all planes by least squares."""
    left = offsets - normals @ start
    move = np.linalg.lstsq(normals, left, rcond=1e-9)[0]
    point = start + move
    again = np.linalg.lstsq(normals, offsets - normals @ point, rcond=1e-9)[0]
    return np.asarray(point + again)


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
    owner = _neighbours(mesh.triangles)
    if not _is_closed_and_simple(mesh.triangles, owner):
        return None, (TOUCHING,)
    stretch = _flood(mesh.triangles, mesh.plane, owner)
    count = int(stretch.max()) + 1
    faces_at: dict[int, set[int]] = {}
    for row, face in zip(mesh.triangles.tolist(), stretch.tolist(), strict=True):
        for point in row:
            faces_at.setdefault(point, set()).add(face)
    loops = _boundary_loops(mesh.triangles, stretch, owner)
    plane_of = np.zeros(count, dtype=np.int64)
    plane_of[stretch] = mesh.plane

    corner_points = sorted(p for p, faces in faces_at.items() if len(faces) >= 3)
    number = {point: k for k, point in enumerate(corner_points)}
    raw = mesh.points[mesh.triangles]
    area_vectors = 0.5 * np.cross(raw[:, 1] - raw[:, 0], raw[:, 2] - raw[:, 0])
    sums = np.zeros((count, 3))
    np.add.at(sums, stretch, area_vectors)
    signs = np.sign(np.einsum("ij,ij->i", sums, shared.normals[plane_of]))
    signs[signs == 0.0] = 1.0
    normals = shared.normals[plane_of] * signs[:, None]
    offsets = shared.offsets[plane_of] * signs

    vertices = np.zeros((len(corner_points), 3))
    for k, point in enumerate(corner_points):
        planes = sorted({int(plane_of[f]) for f in faces_at[point]})
        vertices[k] = _solve_corner(mesh.points[point], shared.normals[planes], shared.offsets[planes])
    if len(vertices) and float(np.abs(vertices - mesh.points[corner_points]).max()) > 1e-3:
        return None, (
            (
                "two faces meet at so flat an angle that their corner cannot be placed",
                "make the two lumps flush there, or clearly different",
            ),
        )
    troubles: list[Trouble] = []
    if _has_twins(vertices, snap):
        troubles.append(TOUCHING)

    face_loops: list[list[list[int]]] = [[] for _ in range(count)]
    for face, line in loops:
        kept = [number[p] for p in line if p in number]
        if len(kept) < 3:
            troubles.append(
                (
                    "a face of the shape is a hair-thin strip",
                    "make lumps that should be flush exactly flush, or clearly different",
                )
            )
            return None, tuple(dict.fromkeys(troubles))
        face_loops[face].append(kept)
    return (
        _assemble(
            _Flooded(
                vertices,
                face_loops,
                normals,
                offsets,
                plane_of,
                lump_shares(mesh.lump, stretch, np.linalg.norm(area_vectors, axis=1), count),
            ),
            snapped,
            lumps,
            changes,
        ),
        tuple(dict.fromkeys(troubles)),
    )


def _has_twins(vertices: FloatArray, snap: Metre) -> bool:
    """Whether two different corners lie at the same place."""
    order = np.argsort(vertices[:, 0], kind="stable")
    for i, a in enumerate(order):
        for b in order[i + 1 :]:
            if vertices[b, 0] - vertices[a, 0] > snap:
                break
            if float(np.abs(vertices[b] - vertices[a]).max()) <= snap:
                return True
    return False


def _assemble(
    flooded: _Flooded,
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
        lump_of.append(lump_of_face(flooded.shares[f], sides, [flat[k] for k in order]))

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
        filled = _fill_face(new_vertices, tuple(new_loops), normals[f])
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


def _fill_face(vertices: FloatArray, loops: tuple[IntArray, ...], normal: FloatArray) -> IntArray:
    """Triangles over a face from its loops alone, so that neighbours share every corner."""
    import manifold3d

    x_axis, y_axis = axes_in_plane(normal)
    axes = np.stack([x_axis, y_axis], axis=1)
    ring = np.concatenate(loops)
    if len(ring) == 3:
        return ring[None, :]
    filled = manifold3d.triangulate([vertices[loop] @ axes for loop in loops])
    return np.asarray(ring[np.asarray(filled, dtype=np.int64)])


def enclosed_volume(vertices: FloatArray, triangles: IntArray) -> CubicMetre:
    """Volume inside a closed triangle surface [m3]."""
    centre = 0.5 * (vertices.min(axis=0) + vertices.max(axis=0))
    corners = vertices[triangles] - centre
    return float(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6.0)


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
