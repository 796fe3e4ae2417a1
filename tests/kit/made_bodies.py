"""Small bodies made by hand for the kit's tests: no other stage has a part in them."""

from __future__ import annotations

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.model import BodyInputs, Cavity, Edge, Face, FlangeOutline
from sumpwright.geometry import FlatFrame, Outline, Plane
from sumpwright.kit import CutterRules, FlatPart, Joint, KitInputs
from sumpwright.quantities.units import frozen_array, frozen_indices
from sumpwright.rail import Fastener, HolePattern, Land, Seal

GREY_IRON, ALUMINIUM = 11.4e-6, 23.6e-6


def cutter(tolerance=0.0002, process="fibre laser"):
    return CutterRules(process, tolerance, 0.003, 0.003, 0.0045, None)


def kit_inputs(**changes):
    values = {
        "material": "5052-H32",
        "flange_material": "6061-T6",
        "density": 2680.0,
        "flange_density": 2700.0,
        "expansion_pan": ALUMINIUM,
        "expansion_block": GREY_IRON,
        "temperature_rise": 100.0,
        "cutter": cutter(),
        "flange_cutter": cutter(),
    }
    return KitInputs(**{**values, **changes})


def bolt(thread="M6", diameter=0.006):
    return Fastener("bolt", thread, diameter, 0.001, None)


def dowel(diameter=0.008):
    return Fastener("dowel", None, diameter, None, None)


def pattern(points, fasteners, u=0.0, seal="liquid sealant", lands=None, covariance=None):
    n = len(points)
    cov = np.eye(2 * n) * u * u if covariance is None else covariance
    lands = lands or (Land("main", "flat", Seal(seal, 0.0003)),)
    return HolePattern(
        names=tuple(f"h{i + 1}" for i in range(n)),
        xy=frozen_array(points),
        covariance=frozen_array(cov),
        free_covariance=frozen_array(cov),
        fasteners=tuple(fasteners),
        edge_diameters=(None,) * n,
        lands=lands,
        land_of_hole=(lands[0].name,) * n,
    )


def offset_ring(ring, amount):
    """A convex anticlockwise ring with every side moved in by ``amount`` (negative: out)."""
    ring = np.asarray(ring, dtype=float)
    ahead = np.roll(ring, -1, axis=0) - ring
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    out = []
    for k in range(len(ring)):
        n1, n2 = left[k - 1], left[k]
        a = np.array([n1, n2])
        b = np.array([n1 @ ring[k] + amount, n2 @ ring[k] + amount])
        out.append(np.linalg.solve(a, b))
    return np.array(out)


def bucket(ring, depth, lean=0.0):
    """A cavity over a convex ring: walls lean in by ``lean`` going down (negative flares out)."""
    top = np.asarray(ring, dtype=float)
    n = len(top)
    bottom = offset_ring(top, depth * np.tan(lean))
    vertices = np.concatenate([np.c_[top, np.zeros(n)], np.c_[bottom, np.full(n, -depth)]])
    faces, triangles, owner = [], [], []

    def add(name, role, loop):
        index = len(faces)
        points = vertices[loop]
        normal = np.zeros(3)
        for a, b in zip(points, np.roll(points, -1, axis=0), strict=True):
            normal += np.cross(a, b)
        area = 0.5 * float(np.linalg.norm(normal))
        normal /= np.linalg.norm(normal)
        faces.append(
            Face(
                index, name, role, "lump", Plane(frozen_array(normal), float(normal @ points[0])),
                (frozen_indices(loop),), area,
            )
        )  # fmt: skip
        for k in range(1, len(loop) - 1):
            triangles.append((loop[0], loop[k], loop[k + 1]))
            owner.append(index)

    add("rail", "rail", list(range(n)))
    add("floor", "floor", list(range(2 * n - 1, n - 1, -1)))
    for k in range(n):
        j = (k + 1) % n
        add(f"wall {k + 1}", "wall", [j, k, n + k, n + j])
    edges = []
    for k in range(n):
        j = (k + 1) % n
        edges.append((0, 2 + k, k, j, np.pi / 2 - lean))
        edges.append((1, 2 + k, n + j, n + k, np.pi / 2 + lean))
        edges.append((2 + k, 2 + (k - 1) % n, k, n + k, np.pi / 2))
    made = tuple(
        Edge(i, a, b, s, e, float(np.linalg.norm(vertices[s] - vertices[e])), float(angle), False)
        for i, (a, b, s, e, angle) in enumerate(edges)
    )
    return Cavity(
        frozen_array(vertices), tuple(faces), made, frozen_indices(triangles), frozen_indices(owner), (), 0.0
    )


def rounded_rectangle(x0, y0, x1, y1, r):
    """Outline with true arcs, anticlockwise."""
    q = np.tan(np.pi / 8)
    points = [
        (x0 + r, y0), (x1 - r, y0), (x1, y0 + r), (x1, y1 - r),
        (x1 - r, y1), (x0 + r, y1), (x0, y1 - r), (x0, y0 + r),
    ]  # fmt: skip
    return Outline(frozen_array(points), frozen_array([0.0, q] * 4))


def pan_body(hole_pattern, cavity, outside, flange_thickness=0.010, land=0.005, sheet=0.003):
    inputs = BodyInputs(
        lumps=(),
        sheet=sheet,
        flange_thickness=flange_thickness,
        flange=FlangeOutline(0.011, land),
        up=frozen_array([0.0, 0.0, 1.0]),
    )
    return PanBody(inputs, hole_pattern, cavity, (), (), outside)


def rectangle(x0, y0, x1, y1):
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def simple_body(lean=0.0, thread="M6", seal="liquid sealant", u=2e-5, **changes):
    """A 400 x 200 rail with ten M6 bolts round it and a 120 deep bucket below."""
    points = [
        (0, 0), (0.1, 0), (0.2, 0), (0.3, 0), (0.4, 0),
        (0.4, 0.2), (0.3, 0.2), (0.2, 0.2), (0.1, 0.2), (0, 0.2),
    ]  # fmt: skip
    diameter = {"M6": 0.006, "M8": 0.008, "5/16-18": 0.0079375}[thread]
    made = pattern(points, [bolt(thread, diameter)] * 10, u=u, seal=seal)
    cavity = bucket(rectangle(0.015, 0.015, 0.385, 0.185), 0.12, lean)
    outside = rounded_rectangle(-0.011, -0.011, 0.411, 0.211, 0.011)
    return pan_body(made, cavity, outside, **changes)


def face_parts(cavity, sheet=0.003, material="5052-H32"):
    """Every face but the rail as an untrimmed flat, drawn from outside."""
    parts = []
    for face in cavity.faces:
        if face.role == "rail":
            continue
        normal = np.asarray(face.plane.normal)
        up = np.array([0.0, 0.0, 1.0]) if abs(normal[2]) < 0.8 else np.array([0.0, 1.0, 0.0])
        across = np.cross(up, normal)
        across /= np.linalg.norm(across)
        points = np.asarray(cavity.vertices)[np.asarray(face.loops[0])]
        frame = FlatFrame(
            frozen_array(points[0] + sheet * normal),
            frozen_array(across),
            frozen_array(np.cross(normal, across)),
        )
        flat = frame.to_flat(points)
        outline = Outline(frozen_array(flat), frozen_array(np.zeros(len(flat))))
        parts.append(FlatPart(face.name, face.index, outline, (), (), (), frame, sheet, material))
    return tuple(parts)


def edge_joints(cavity, flange_thickness=0.010):
    """A joint for every edge; walls meet the flange at its lower face."""
    found = []
    for edge in cavity.edges:
        a, b = cavity.faces[edge.face_a], cavity.faces[edge.face_b]
        start, end = (np.asarray(cavity.vertices)[k] for k in (edge.start, edge.end))
        kind = "open corner"
        names = [a.name, b.name]
        if "rail" in (a.role, b.role):
            kind = "wall under flange"
            names = ["flange" if name == "rail" else name for name in names]
            start, end = (point - [0, 0, flange_thickness] for point in (start, end))
        found.append(
            Joint(
                None if kind == "wall under flange" else edge.index, names[0], names[1], kind,
                edge.corner_angle, edge.length, None, None, tuple(map(float, start)), tuple(map(float, end)),
            )
        )  # fmt: skip
    return tuple(found)
