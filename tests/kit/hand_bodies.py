"""Small bodies built by hand, so that the kit is tested apart from the body stage."""

from __future__ import annotations

import math

import numpy as np
from manifold3d import CrossSection, Manifold, OpType

from sumpwright.body import BodyInputs, Cavity, Edge, Face, FlangeOutline, PanBody
from sumpwright.geometry import Plane
from sumpwright.kit.model import CutterRules, KitInputs
from sumpwright.quantities.units import FloatArray, frozen_array, frozen_indices


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
    """A body round a solid, with a plain flange of one width."""
    cavity = cavity_from_solid(solid)
    rail = next(face for face in cavity.faces if face.role == "rail")
    ring = cavity.vertices[rail.loops[0]][:, :2]
    outside = (
        CrossSection([np.ascontiguousarray(ring)])
        .offset(land, __import__("manifold3d").JoinType.Miter, 2.0)
        .to_polygons()[0]
    )
    inputs = BodyInputs((), sheet, flange, FlangeOutline(11e-3, 5e-3), frozen_array([0.0, 0.0, 1.0]))
    return PanBody(inputs, None, cavity, (), (), frozen_array(outside))  # type: ignore[arg-type]


def kit_inputs() -> KitInputs:
    """Plain inputs for tests."""
    rules = CutterRules("laser", 1e-4, 3e-3, 3e-3, 4.5e-3, None)
    return KitInputs("5052-H32", "5052-H32", 2680.0, 2680.0, 23.8e-6, 11.4e-6, 90.0, rules, rules)


def drawn(
    outline: list[tuple[float, float]], depth: float, slope_deg: float = 0.0, top: float = 0.0
) -> Manifold:
    """An outline in mm swept down from ``top`` to -depth (mm), walls leaning in by slope."""
    area = CrossSection([np.array(outline, dtype=float) * 1e-3])
    if slope_deg == 0.0:
        return Manifold.extrude(area, (depth + top) * 1e-3).translate((0.0, 0.0, -depth * 1e-3))
    # convex outlines only: hull of top and shrunk bottom
    import manifold3d

    shrink = -math.tan(math.radians(slope_deg)) * (depth + top) * 1e-3
    low = area.offset(shrink, manifold3d.JoinType.Miter, 10.0).to_polygons()[0]
    high = area.to_polygons()[0]
    cloud = np.concatenate(
        [
            np.column_stack([high, np.full(len(high), top * 1e-3)]),
            np.column_stack([low, np.full(len(low), -depth * 1e-3)]),
        ]
    )
    return Manifold.hull_points(cloud)


def box(a: float = 300.0, b: float = 200.0, depth: float = 90.0) -> Manifold:
    return drawn([(0, 0), (a, 0), (a, b), (0, b)], depth)


def l_plan() -> Manifold:
    return drawn([(0, 0), (300, 0), (300, 110), (160, 110), (160, 220), (0, 220)], 80.0)


def tray_and_sump(slope_deg: float = 0.0, inset: float = 20.0) -> Manifold:
    tray = drawn([(0, 0), (420, 0), (420, 200), (0, 200)], 50.0)
    sump = drawn([(180, inset), (360, inset), (360, 200 - inset), (180, 200 - inset)], 130.0, slope_deg)
    return Manifold.batch_boolean([tray, sump], OpType.Add)
