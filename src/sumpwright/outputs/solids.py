"""``pan.stl`` and ``pan.glb``: the kit's flats as solids at their place, to look at and print small.

The STL file is in millimetres in the engine's own axes (x to the front, y to the
engine's left, z up). The GLB file is in metres with y up and the engine's front
towards +z, as glTF 2.0 asks.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.geometry.arcs import chorded, circle_points
from sumpwright.kit import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, frozen_array, frozen_indices

SAG: Metre = 5e-5
"""How far the chords may leave an arc in the pictures; the cut files keep true arcs."""

_STL_HEADER = b"Sumpwright pan kit, binary STL, millimetres, engine axes: x front, y left, z up"


@dataclass(frozen=True, slots=True, eq=False)
class PartSolid:
    """One flat as a closed solid in the engine frame."""

    name: str
    surface: Surface
    is_flange: bool


def part_solid(part: FlatPart) -> PartSolid:
    """The flat given its thickness, at its place."""
    if part.folds or part.roll is not None:
        return _bent_solid(part)
    from manifold3d import triangulate

    loops = [chorded(part.outline, SAG)]
    loops += [_clockwise(chorded(cut_out, SAG)) for cut_out in part.cut_outs]
    loops += [circle_points(hole.x, hole.y, hole.diameter / 2, SAG)[::-1] for hole in part.holes]
    flat = np.vstack(loops)
    caps = np.asarray(triangulate([np.ascontiguousarray(loop) for loop in loops]), dtype=np.int64)
    count = len(flat)
    sides = []
    first = 0
    for loop in loops:
        here = np.arange(first, first + len(loop))
        after = np.roll(here, -1)
        sides.append(np.stack([here + count, after + count, after], axis=1))
        sides.append(np.stack([here + count, after, here], axis=1))
        first += len(loop)
    top = part.frame.to_space(flat)
    vertices = np.vstack([top, top - part.frame.normal * part.thickness])
    triangles = np.vstack([caps, caps[:, ::-1] + count, *sides])
    return PartSolid(part.name, Surface(frozen_array(vertices), frozen_indices(triangles)), part.face is None)


def _bent_solid(part: FlatPart) -> PartSolid:
    """A bent part folded up; its bends are shown as narrow flats."""
    from manifold3d import Manifold, OpType

    from sumpwright.kit.unfolding import folded

    body = Manifold.batch_boolean([sheet.solid() for sheet in folded(part)], OpType.Add)
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    return PartSolid(part.name, Surface(frozen_array(vertices), frozen_indices(mesh.tri_verts)), False)


def stl_bytes(solids: tuple[PartSolid, ...]) -> bytes:
    """All solids in one binary STL file [mm]."""
    corners = np.concatenate(
        [solid.surface.vertices[solid.surface.triangles] for solid in solids] or [np.zeros((0, 3, 3))]
    )
    corners = corners * 1e3
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    rows = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows["normal"] = normals + 0.0
    rows["corners"] = corners + 0.0
    return _STL_HEADER.ljust(80) + struct.pack("<I", len(rows)) + rows.tobytes()


def glb_bytes(solids: tuple[PartSolid, ...]) -> bytes:
    """All solids as named meshes of one binary glTF 2.0 file [m]."""
    blob = bytearray()
    views: list[dict[str, object]] = []
    accessors: list[dict[str, object]] = []
    meshes: list[dict[str, object]] = []
    nodes: list[dict[str, object]] = []

    def add(data: bytes, target: int, accessor: dict[str, object]) -> int:
        views.append({"buffer": 0, "byteOffset": len(blob), "byteLength": len(data), "target": target})
        blob.extend(data.ljust(-(-len(data) // 4) * 4, b"\0"))
        accessors.append({"bufferView": len(views) - 1, **accessor})
        return len(accessors) - 1

    for solid in solids:
        # Engine x front, y left, z up -> glTF z front, x left, y up.
        points = (solid.surface.vertices[:, [1, 2, 0]] + 0.0).astype("<f4")
        indices = solid.surface.triangles.astype("<u4").reshape(-1)
        position = add(
            points.tobytes(),
            34962,
            {
                "componentType": 5126,
                "count": len(points),
                "type": "VEC3",
                "min": [float(v) for v in points.min(axis=0)],
                "max": [float(v) for v in points.max(axis=0)],
            },
        )
        index = add(
            indices.tobytes(), 34963, {"componentType": 5125, "count": len(indices), "type": "SCALAR"}
        )
        primitive = {
            "attributes": {"POSITION": position},
            "indices": index,
            "material": 1 if solid.is_flange else 0,
        }
        meshes.append({"name": solid.name, "primitives": [primitive]})
        nodes.append({"name": solid.name, "mesh": len(meshes) - 1})
    document = {
        "asset": {"version": "2.0", "generator": "Sumpwright"},
        "scene": 0,
        "scenes": [{"name": "pan", "nodes": list(range(len(nodes)))}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": [_metal("sheet", 0.62), _metal("flange", 0.42)],
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{"byteLength": len(blob)}],
    }
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=True, allow_nan=False).encode()
    text = text.ljust(-(-len(text) // 4) * 4, b" ")
    body = struct.pack("<II", len(text), 0x4E4F534A) + text
    body += struct.pack("<II", len(blob), 0x004E4942) + bytes(blob)
    return struct.pack("<III", 0x46546C67, 2, 12 + len(body)) + body


def _metal(name: str, grey: float) -> dict[str, object]:
    return {
        "name": name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [grey, grey, grey, 1.0],
            "metallicFactor": 0.2,
            "roughnessFactor": 0.7,
        },
    }


def _clockwise(points: FloatArray) -> FloatArray:
    from sumpwright.geometry.polygons import signed_area

    return points[::-1] if signed_area(points) > 0.0 else points
