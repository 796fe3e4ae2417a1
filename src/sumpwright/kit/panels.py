"""From faces to flat outlines: every edge line moved by its trim, corners cut where the lines meet."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.body import Cavity, Face
from sumpwright.geometry import FlatFrame
from sumpwright.kit.joints import Seam
from sumpwright.kit.solids import Sheet, polygons_of
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

SHALLOW_TURN = math.sin(math.radians(20.0))
"""Below this turn between two edge lines a change of trim becomes a jog; a mitre would run far off."""


def face_frame(cavity: Cavity, face: Face) -> FlatFrame:
    """Axes of a face seen from outside: walls stand up, floors and roofs have the front to the right."""
    normal = np.asarray(face.plane.normal)
    up = np.array([0.0, 0.0, 1.0])
    if abs(normal[2]) < 0.8:
        across = np.cross(up, normal)
    else:
        front = np.array([1.0, 0.0, 0.0])
        across = front - normal * normal[0]
    across = across / np.linalg.norm(across)
    origin = cavity.vertices[face.loops[0][0]]
    return FlatFrame(frozen_array(origin), frozen_array(across), frozen_array(np.cross(normal, across)))


def edges_of_faces(cavity: Cavity) -> dict[tuple[int, int, int], int]:
    """Edge index by (face, from vertex, to vertex) as its loops run."""
    found = {}
    for edge in cavity.edges:
        found[edge.face_a, edge.start, edge.end] = edge.index
        found[edge.face_b, edge.end, edge.start] = edge.index
    return found


def trimmed_loop(points: FloatArray, trims: FloatArray) -> FloatArray:
    """A closed loop whose side k (from point k to k+1) is moved to its left by trims[k] [m]."""
    ahead = np.roll(points, -1, axis=0) - points
    ahead = ahead / np.linalg.norm(ahead, axis=1)[:, None]
    left = np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    out: list[FloatArray] = []
    for k, corner in enumerate(points):
        before, after = trims[k - 1], trims[k]
        turn = ahead[k - 1, 0] * ahead[k, 1] - ahead[k - 1, 1] * ahead[k, 0]
        if abs(before) < 1e-12 and abs(after) < 1e-12:
            out.append(corner)
        elif abs(turn) < SHALLOW_TURN and float(ahead[k - 1] @ ahead[k]) > 0.0:
            middle = left[k - 1] + left[k]
            middle = middle / np.linalg.norm(middle)
            lean = float(middle @ left[k])
            out.append(corner + middle * (before / lean))
            if abs(before - after) > 1e-12:
                out.append(corner + middle * (after / lean))
        else:
            # corner + x * ahead[k-1] + before * left[k-1] lies on the next side's line too
            run = (after - before * float(left[k - 1] @ left[k])) / float(ahead[k - 1] @ left[k])
            out.append(corner + before * left[k - 1] + run * ahead[k - 1])
    return np.array(out)


def face_polygon(cavity: Cavity, face: Face, frame: FlatFrame) -> Polygon:
    """The face itself as a plane shape in its frame."""
    loops = [frame.to_flat(cavity.vertices[loop]) for loop in face.loops]
    return Polygon(loops[0], loops[1:])


def trimmed_outline(
    cavity: Cavity,
    face: Face,
    frame: FlatFrame,
    lookup: Mapping[tuple[int, int, int], int],
    trim_of: Callable[[int], Metre],
) -> Polygon:
    """Outline of a face's sheet; empty where the trims leave nothing of it."""
    loops = []
    for loop in face.loops:
        flat = frame.to_flat(cavity.vertices[loop])
        ends = np.roll(loop, -1)
        trims = np.array(
            [trim_of(lookup[face.index, int(a), int(b)]) for a, b in zip(loop, ends, strict=True)]
        )
        loops.append(trimmed_loop(flat, trims))
    outline = Polygon(loops[0], loops[1:])
    if outline.is_valid and shapely.is_ccw(shapely.get_exterior_ring(outline)):
        return outline
    return _trimmed_by_strips(cavity, face, frame, lookup, trim_of)


def _trimmed_by_strips(
    cavity: Cavity,
    face: Face,
    frame: FlatFrame,
    lookup: Mapping[tuple[int, int, int], int],
    trim_of: Callable[[int], Metre],
) -> Polygon:
    """The slower way for faces whose moved lines cross each other: take a strip off every trimmed edge."""
    shape = face_polygon(cavity, face, frame)
    strips = []
    for loop in face.loops:
        flat = frame.to_flat(cavity.vertices[loop])
        for k, here in enumerate(flat):
            there = flat[(k + 1) % len(flat)]
            trim = trim_of(lookup[face.index, int(loop[k]), int(loop[(k + 1) % len(loop)])])
            if trim > 0.0:
                ahead = (there - here) / np.linalg.norm(there - here)
                left = np.array([-ahead[1], ahead[0]])
                strips.append(
                    Polygon(
                        [
                            here - trim * ahead,
                            there + trim * ahead,
                            there + trim * (ahead + left),
                            here + trim * (left - ahead),
                        ]
                    )
                )
    parts = polygons_of(shape.difference(shapely.union_all(strips)))
    return parts[0] if parts else Polygon()


def face_sheets(
    cavity: Cavity,
    seams: Mapping[int, Seam],
    thickness: Mapping[int, Metre],
    only: Sequence[int] | None = None,
) -> dict[int, Sheet]:
    """The sheet of every face (or of these only) that becomes metal, before corners are closed."""
    lookup = edges_of_faces(cavity)
    sheets = {}
    for face in cavity.faces:
        if face.role == "rail" or (only is not None and face.index not in only):
            continue
        frame = face_frame(cavity, face)

        def trim_of(edge: int, face_index: int = face.index) -> Metre:
            seam = seams[edge]
            return seam.trim_a if cavity.edges[edge].face_a == face_index else seam.trim_b

        outline = trimmed_outline(cavity, face, frame, lookup, trim_of)
        sheets[face.index] = Sheet(face.name, face.index, frame, thickness[face.index], outline)
    return sheets
