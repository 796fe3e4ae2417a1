"""Small bodies built by hand, so that the kit is tested apart from the body stage."""

from __future__ import annotations

import math

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold, OpType

from sumpwright.body import BodyInputs, Cavity, Edge, Face, FlangeOutline, PanBody
from sumpwright.geometry import Outline, Plane
from sumpwright.quantities.units import FloatArray, frozen_array, frozen_indices
from tests.body.random_bodies import ring_pattern


def cavity_from_solid(solid: Manifold) -> Cavity:
    """Planes, loops and edges of a solid whose faces are clearly apart."""
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3].copy()
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    key = np.round(points / 1e-7).astype(np.int64)
    _, first, back = np.unique(key, axis=0, return_index=True, return_inverse=True)
    points, triangles = points[first], back.reshape(-1)[triangles]
    a, b, c = (points[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    size = np.linalg.norm(normal, axis=1)
    keep = size > 1e-14
    triangles, normal, a = triangles[keep], normal[keep] / size[keep, None], a[keep]
    offset = np.einsum("ij,ij->i", normal, a)
    plane_of = np.full(len(triangles), -1)
    planes: list[tuple[FloatArray, float]] = []
    for k in range(len(triangles)):
        for p, (n, d) in enumerate(planes):
            if n @ normal[k] > 1 - 1e-9 and abs(d - offset[k]) < 1e-7:
                plane_of[k] = p
                break
        else:
            planes.append((normal[k], float(offset[k])))
            plane_of[k] = len(planes) - 1
    # faces = connected pieces of one plane
    by_side: dict[tuple[int, int], int] = {}
    for k, tri in enumerate(triangles):
        for j in range(3):
            by_side[int(tri[j]), int(tri[(j + 1) % 3])] = k
    face_of = np.full(len(triangles), -1)
    count = 0
    for k in range(len(triangles)):
        if face_of[k] >= 0:
            continue
        stack = [k]
        face_of[k] = count
        while stack:
            tri = triangles[stack.pop()]
            for j in range(3):
                other = by_side[int(tri[(j + 1) % 3]), int(tri[j])]
                if face_of[other] < 0 and plane_of[other] == plane_of[k]:
                    face_of[other] = count
                    stack.append(other)
        count += 1
    sides: dict[int, dict[int, int]] = {f: {} for f in range(count)}
    across: dict[tuple[int, int], int] = {}
    for (u, v), k in by_side.items():
        other = by_side[v, u]
        if face_of[other] != face_of[k]:
            sides[int(face_of[k])][u] = v
            across[int(face_of[k]), u] = int(face_of[other])
    touches: dict[int, set[int]] = {}
    for k, tri in enumerate(triangles):
        for v in tri:
            touches.setdefault(int(v), set()).add(int(face_of[k]))
    faces, edge_pairs = [], {}
    for f in range(count):
        plane = planes[plane_of[np.argmax(face_of == f)]]
        left, loops = dict(sides[f]), []
        while left:
            start = min(left)
            loop, v = [], start
            while v in left:
                loop.append(v)
                v = left.pop(v)
            loops.append([v for v in loop if len(touches[v]) >= 3])

        def signed(loop: list[int], n: FloatArray = plane[0]) -> float:
            p = points[loop]
            return float(0.5 * np.cross(p, np.roll(p, -1, axis=0)).sum(axis=0) @ n)

        loops.sort(key=lambda loop: -signed(loop))
        n = plane[0]
        role = (
            "rail"
            if n[2] > 0.999 and abs(plane[1]) < 1e-9
            else "floor"
            if n[2] < -0.7
            else "roof"
            if n[2] > 0.7
            else "wall"
        )
        faces.append(
            Face(
                f,
                f"{role} {f}",
                role,
                "hand",
                Plane(frozen_array(n), plane[1]),
                tuple(frozen_indices(x) for x in loops),
                sum(signed(x) for x in loops),
            )
        )
        for loop in loops:
            for u, v in zip(loop, loop[1:] + loop[:1], strict=True):
                edge_pairs[u, v] = f
    edges = []
    for (u, v), f in sorted(edge_pairs.items()):
        g = edge_pairs[v, u]
        if f > g or (f == g and u > v):
            continue
        e = points[v] - points[u]
        length = float(np.linalg.norm(e))
        bend = math.atan2(
            float(np.cross(faces[f].plane.normal, faces[g].plane.normal) @ e) / length,
            float(faces[f].plane.normal @ faces[g].plane.normal),
        )
        edges.append(Edge(len(edges), f, g, u, v, length, math.pi - bend, bend < 0.0))
    return Cavity(
        frozen_array(points),
        tuple(faces),
        tuple(edges),
        frozen_indices(triangles),
        frozen_indices(face_of[: len(triangles)]),
        (),
        float(solid.volume()),
    )


def body_of(solid: Manifold, sheet: float = 3e-3, flange: float = 10e-3, land: float = 22e-3) -> PanBody:
    """A body round a solid, with a plain flange of one width and a ring of holes."""
    cavity = cavity_from_solid(solid)
    rail = next(face for face in cavity.faces if face.role == "rail")
    ring = cavity.vertices[rail.loops[0]][:, :2]
    shape = CrossSection([np.ascontiguousarray(1e3 * ring)]).offset(1e3 * land, JoinType.Miter, 2.0)
    outside = 1e-3 * np.asarray(shape.to_polygons()[0])
    outline = Outline(frozen_array(outside), frozen_array(np.zeros(len(outside))))
    inputs = BodyInputs((), sheet, flange, FlangeOutline(11e-3, 5e-3), frozen_array([0.0, 0.0, 1.0]))
    pattern = ring_pattern(ring.min(axis=0), ring.max(axis=0), 0.016, 0.075)
    return PanBody(inputs, pattern, cavity, (), (), outline)


def drawn(outline: list[tuple[float, float]], depth: float, slope_deg: float = 0.0) -> Manifold:
    """An outline in mm swept from the rail down to -depth (mm), walls leaning in by slope (convex only)."""
    high = np.array(outline, dtype=float)
    shrink = math.tan(math.radians(slope_deg)) * depth
    ahead = np.roll(high, -1, axis=0) - high
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1) / np.linalg.norm(ahead, axis=1)[:, None]
    # In millimetres, because the plane clipper rounds to fixed decimals.
    if slope_deg == 0.0:
        solid = Manifold.extrude(CrossSection([high]), depth).translate((0.0, 0.0, -depth))
    else:
        low = [
            point + shrink * np.linalg.solve(np.stack([left[k - 1], left[k]]), np.ones(2))
            for k, point in enumerate(high)
        ]
        top = np.column_stack([high, np.zeros(len(high))])
        solid = Manifold.hull_points(np.concatenate([top, np.column_stack([low, np.full(len(low), -depth)])]))
    return solid.scale([1e-3] * 3)


def box(a: float = 300.0, b: float = 200.0, depth: float = 90.0) -> Manifold:
    return drawn([(0, 0), (a, 0), (a, b), (0, b)], depth)


def l_plan() -> Manifold:
    return drawn([(0, 0), (300, 0), (300, 110), (160, 110), (160, 220), (0, 220)], 80.0)


def tray_and_sump(slope_deg: float = 0.0, inset: float = 20.0) -> Manifold:
    tray = drawn([(0, 0), (420, 0), (420, 200), (0, 200)], 50.0)
    sump = drawn([(180, inset), (360, inset), (360, 200 - inset), (180, 200 - inset)], 130.0, slope_deg)
    return Manifold.batch_boolean([tray, sump], OpType.Add)
