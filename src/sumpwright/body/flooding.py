"""From a triangle mesh whose triangles know their planes to exact faces and corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.quantities.units import CubicMetre, FloatArray, IntArray, Metre

Trouble = tuple[str, str]

TOUCHING: Trouble = (
    "parts of the shape touch only along an edge or in a point",
    "let the lumps overlap by some sheet thicknesses, or leave a clear gap between them",
)
TOO_FLAT: Trouble = (
    "two faces meet at so flat an angle that their corner cannot be placed",
    "make the two lumps flush there, or clearly different",
)
HAIR_THIN: Trouble = (
    "a face of the shape is a hair-thin strip",
    "make lumps that should be flush exactly flush, or clearly different",
)


@dataclass(frozen=True, slots=True, eq=False)
class Flooded:
    """The connected stretches of one plane each, with exact corners."""

    vertices: FloatArray  # (n, 3) m
    loops: list[list[list[int]]]  # per face, corners of each closed line
    normals: FloatArray  # (f, 3) out of the solid
    offsets: FloatArray  # (f,) m
    plane_of: IntArray  # (f,) plane number
    stretch: IntArray  # (m,) face of each mesh triangle
    triangle_areas: FloatArray  # (m,) m2


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


def flood(
    points: FloatArray,
    triangles: IntArray,
    plane: IntArray,
    normals_of: FloatArray,
    offsets_of: FloatArray,
    snap: Metre,
) -> tuple[Flooded | None, tuple[Trouble, ...]]:
    """Faces and exact corners of a closed mesh whose triangles carry the numbers of their planes."""
    owner = _neighbours(triangles)
    if not _is_closed_and_simple(triangles, owner):
        return None, (TOUCHING,)
    stretch = _flood(triangles, plane, owner)
    count = int(stretch.max()) + 1
    faces_at: dict[int, set[int]] = {}
    for row, face in zip(triangles.tolist(), stretch.tolist(), strict=True):
        for point in row:
            faces_at.setdefault(point, set()).add(face)
    plane_of = np.zeros(count, dtype=np.int64)
    plane_of[stretch] = plane
    corner_points = sorted(p for p, faces in faces_at.items() if len(faces) >= 3)
    number = {point: k for k, point in enumerate(corner_points)}
    raw = points[triangles]
    area_vectors = 0.5 * np.cross(raw[:, 1] - raw[:, 0], raw[:, 2] - raw[:, 0])
    sums = np.zeros((count, 3))
    np.add.at(sums, stretch, area_vectors)
    signs = np.sign(np.einsum("ij,ij->i", sums, normals_of[plane_of]))
    signs[signs == 0.0] = 1.0
    vertices = np.zeros((len(corner_points), 3))
    for k, point in enumerate(corner_points):
        planes = sorted({int(plane_of[f]) for f in faces_at[point]})
        vertices[k] = _solve_corner(points[point], normals_of[planes], offsets_of[planes])
    if len(vertices) and float(np.abs(vertices - points[corner_points]).max()) > 1e-3:
        return None, (TOO_FLAT,)
    face_loops: list[list[list[int]]] = [[] for _ in range(count)]
    for face, line in _boundary_loops(triangles, stretch, owner):
        kept = [number[p] for p in line if p in number]
        if len(kept) < 3:
            return None, (HAIR_THIN,)
        face_loops[face].append(kept)
    flooded = Flooded(
        vertices,
        face_loops,
        normals_of[plane_of] * signs[:, None],
        offsets_of[plane_of] * signs,
        plane_of,
        stretch,
        np.linalg.norm(area_vectors, axis=1),
    )
    return flooded, (TOUCHING,) if _has_twins(vertices, face_loops, snap) else ()


def _has_twins(vertices: FloatArray, loops: list[list[list[int]]], snap: Metre) -> bool:
    """Whether two corners that no edge joins lie at the same place."""
    joined = {pair for face in loops for loop in face for pair in zip(loop, loop[1:] + loop[:1], strict=True)}
    order = np.argsort(vertices[:, 0], kind="stable").tolist()
    for i, a in enumerate(order):
        for b in order[i + 1 :]:
            if vertices[b, 0] - vertices[a, 0] > snap:
                break
            if (a, b) not in joined and float(np.abs(vertices[b] - vertices[a]).max()) <= snap:
                return True
    return False


def fill_face(vertices: FloatArray, loops: tuple[IntArray, ...], normal: FloatArray) -> IntArray:
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
