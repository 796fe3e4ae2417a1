"""The finished pan as others meet it: skins, welds, flange, bolt heads, drain plug."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sumpwright.body.fittings import on_face, under
from sumpwright.body.guard import guard_shape, guard_triangles
from sumpwright.body.keep_outs import cylinder, swept_profile
from sumpwright.body.model import BodyInputs, Cavity, Face, PanBody
from sumpwright.body.rail_shape_model import UnevenRail, flange_face_at
from sumpwright.geometry.plane_shapes import Outline
from sumpwright.geometry.polygons import contains
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.rail import HolePattern
from sumpwright.rail.model import Fastener
from sumpwright.tables.fasteners import across_flats, find_thread, plain_washer

CHORD_TURN = math.radians(5.0)
GUARD = "stone guard"
LOAD_PLATE = "jacking plate"
HEAD_SIDES = 16
"""A bolt head's circle is drawn with so many sides from outside: 2 % of its radius too large at most."""


@dataclass(frozen=True, slots=True, eq=False)
class PanPart:
    """A part of the pan's outside: triangles, and metal that stands beyond them everywhere."""

    name: str
    triangles: FloatArray  # (n, 3, 3) m
    skin: Metre


# Bolts, keep-outs, ground and the way off ask for the same pan's outside one after the other.
@lru_cache(maxsize=2)
def outside_parts(body: PanBody, cavity: Cavity) -> tuple[PanPart, ...]:
    """Everything that something outside can run into.

    Sheet lies within one thickness of the oil side, weld metal within one thickness and what
    it stands proud along the edges, so both are the oil side with a skin on.
    """
    inputs = body.inputs
    parts = [
        PanPart(face.name, _face_triangles(cavity, face), inputs.sheet)
        for face in cavity.faces
        if face.role != "rail"
    ]
    around = inputs.surroundings
    edges = [
        edge
        for edge in cavity.edges
        if not edge.is_inward
        and "rail" not in (cavity.faces[edge.face_a].role, cavity.faces[edge.face_b].role)
    ]
    if edges and around.weld_stands > 0.0:
        ends = np.array(
            [[cavity.vertices[e.start], cavity.vertices[e.end], cavity.vertices[e.end]] for e in edges]
        )
        parts.append(PanPart("corner welds", ends, inputs.sheet + around.weld_stands))
    if body.flange_outside is not None:
        parts.append(PanPart("flange", _flange(body.flange_outside, inputs.flange_thickness), 0.0))
    parts += bolt_heads(body.pattern, inputs, body.uneven)
    plug = drain_plug(body, cavity)
    if plug is not None:
        parts.append(plug)
    return tuple((*parts, *_set_on_outside(body, cavity)))


def _set_on_outside(body: PanBody, cavity: Cavity) -> list[PanPart]:
    """Bosses with what is in them, posts, the stone guard and the plate for a jack."""
    inputs = body.inputs
    parts = []
    for fitting in inputs.fittings:
        found = on_face(cavity, fitting.at) if fitting.stands_out > 0.0 else None
        if found is not None:
            out = np.asarray(found.face.plane.normal)
            start = found.place + inputs.sheet * out
            end = start + fitting.stands_out * out
            parts.append(
                PanPart(fitting.name, cylinder(start, end, 0.5 * fitting.boss_diameter, HEAD_SIDES), 0.0)
            )
    for post in inputs.stand_offs:
        found = on_face(cavity, post.at) if post.side == "outside" else None
        if found is not None:
            out = np.asarray(found.face.plane.normal)
            start = found.place + inputs.sheet * out
            parts.append(
                PanPart(
                    post.name, cylinder(start, start + post.long * out, 0.5 * post.diameter, HEAD_SIDES), 0.0
                )
            )
    jacking = inputs.jacking
    if jacking is not None and jacking.at is not None:
        found = under(cavity, jacking.at)
        if found is not None:
            out = np.asarray(found.face.plane.normal)
            start = found.place + inputs.sheet * out
            end = start + jacking.plate_thickness * out
            parts.append(
                PanPart(LOAD_PLATE, cylinder(start, end, 0.5 * jacking.plate_diameter, HEAD_SIDES), 0.0)
            )
    shape = guard_shape(body, cavity)
    if inputs.guard is not None and shape is not None:
        parts.append(PanPart(GUARD, guard_triangles(shape, inputs.guard), 0.0))
    return parts


def inside_parts(body: PanBody, cavity: Cavity) -> tuple[PanPart, ...]:
    """Everything that something inside can run into: the oil side and the inner walls."""
    parts = [
        PanPart(face.name, _face_triangles(cavity, face), 0.0) for face in cavity.faces if face.role != "rail"
    ]
    if body.division is not None:
        import manifold3d

        for placed in body.division.walls:
            loops = [np.array(loop) for loop in placed.outlines]
            filled = np.asarray(manifold3d.triangulate(loops), dtype=np.int64)
            points = placed.wall.frame.to_space(np.concatenate(loops))
            parts.append(
                PanPart(f"inner wall {placed.wall.name}", points[filled], 0.5 * placed.wall.thickness)
            )
    return tuple((*parts, *set_inside(body, cavity)))


def set_inside(body: PanBody, cavity: Cavity) -> list[PanPart]:
    """Tubes and probes that hang into the pan, and posts on its oil side."""
    parts = []
    for fitting in body.inputs.fittings:
        if fitting.inside is None:
            continue
        line = np.asarray(fitting.inside)
        found = on_face(cavity, fitting.at)
        points = line if found is None else np.vstack([found.place, line])
        legs = np.stack([points[:-1], points[1:], points[1:]], axis=1)
        radius = 0.5 * (fitting.boss_diameter if fitting.inside_diameter is None else fitting.inside_diameter)
        parts.append(PanPart(fitting.name, legs, radius))
    for post in body.inputs.stand_offs:
        found = on_face(cavity, post.at) if post.side == "inside" else None
        if found is not None:
            into = -np.asarray(found.face.plane.normal)
            end = found.place + post.long * into
            parts.append(PanPart(post.name, cylinder(found.place, end, 0.5 * post.diameter, HEAD_SIDES), 0.0))
    return parts


def _face_triangles(cavity: Cavity, face: Face) -> FloatArray:
    return np.asarray(cavity.vertices[cavity.triangles[cavity.face_of_triangle == face.index]])


def chorded(outline: Outline, turn: float = CHORD_TURN) -> FloatArray:
    """An outline of lines and arcs as straight pieces (n, 2) that lie outside its left-turning arcs."""
    points: list[FloatArray] = []
    ends = np.roll(outline.points, -1, axis=0)
    for start, end, bulge in zip(outline.points, ends, outline.bulges, strict=True):
        points.append(start)
        if bulge == 0.0:
            continue
        angle = 4.0 * math.atan(float(bulge))
        chord = end - start
        centre = 0.5 * (start + end) + np.array([-chord[1], chord[0]]) * 0.5 / math.tan(0.5 * angle)
        steps = max(1, math.ceil(abs(angle) / turn))
        grow = 1.0 / math.cos(0.5 * angle / steps)
        for k in range(steps):
            part = angle * (k + 0.5) / steps
            c, s = math.cos(part), math.sin(part)
            points.append(centre + grow * (np.array([[c, -s], [s, c]]) @ (start - centre)))
        # The tangents of the arc's parts meet outside it.
    return np.array(points)


def _flange(outline: Outline, thickness: Metre) -> FloatArray:
    return swept_profile(chorded(outline), np.array([0.0, 0.0, -thickness]), np.eye(3), thickness)


def head_size(fastener: Fastener) -> tuple[Metre, Metre, Metre]:
    """Width across flats, height of the head, and washer's outside diameter [m].

    Hexagon heads are 0.7 of the thread high and nuts 0.9, both rounded up; where a size is in
    no table, 1.7 of the thread across the flats.
    """
    size = fastener.thread
    thread = find_thread(size) if size is not None else None
    name = thread.size if thread is not None else (size or "")
    flats = across_flats(name)
    washer = plain_washer(name)
    width = 1.7 * fastener.diameter if flats is None else flats.value
    height = (0.9 if fastener.kind == "stud" else 0.7) * fastener.diameter
    return width, height, max(width / math.cos(math.pi / 6.0), washer.outside if washer is not None else 0.0)


def bolt_heads(pattern: HolePattern, inputs: BodyInputs, uneven: UnevenRail | None = None) -> list[PanPart]:
    """Heads or nuts with their washers under the flange; dowels have none."""
    parts = []
    for name, xy, fastener in zip(pattern.names, pattern.xy, pattern.fasteners, strict=True):
        if fastener.kind == "dowel":
            continue
        _, height, outside = head_size(fastener)
        top = np.array([xy[0], xy[1], flange_face_at(uneven, xy) - inputs.flange_thickness])
        drop = np.array([0.0, 0.0, -(height + inputs.surroundings.washer)])
        parts.append(PanPart(f"bolt head {name}", cylinder(top + drop, top, 0.5 * outside, HEAD_SIDES), 0.0))
    return parts


def drain_place(body: PanBody, cavity: Cavity) -> tuple[FloatArray, Face] | None:
    """Point on the oil side and floor of the drain; the lowest floor's lowest part where none is given."""
    wanted = body.inputs.drain
    if wanted is None:
        return None
    best: tuple[FloatArray, Face] | None = None
    for face in cavity.faces:
        if face.role != "floor":
            continue
        normal = np.asarray(face.plane.normal)
        z = (face.plane.offset - float(normal[:2] @ wanted[:2])) / float(normal[2])
        loops = [cavity.vertices[loop][:, :2] for loop in face.loops]
        inside = [bool(contains(loop, np.asarray(wanted[:2])[None])[0]) for loop in loops]
        if inside[0] and not any(inside[1:]) and (best is None or z < best[0][2]):
            best = frozen_array([wanted[0], wanted[1], z]), face
    return best


def drain_plug(body: PanBody, cavity: Cavity) -> PanPart | None:
    """The plug's envelope square to its floor."""
    plug = body.inputs.surroundings.plug
    found = drain_place(body, cavity)
    if plug is None or found is None:
        return None
    point, face = found
    outwards = np.asarray(face.plane.normal)
    start = point + outwards * body.inputs.sheet
    return PanPart(
        "drain plug", cylinder(start, start + outwards * plug.stands_out, 0.5 * plug.diameter), 0.0
    )
