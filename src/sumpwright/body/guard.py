"""The stone guard's shape: under which floor it hangs, its outline, its holes, and what it leaves bare."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body.fittings import StandOff, StoneGuard, frame_on, under
from sumpwright.body.model import Cavity, Face, PanBody
from sumpwright.geometry.solid_shapes import FlatFrame
from sumpwright.quantities.units import FloatArray, Metre, Ratio, frozen_array
from sumpwright.tables.fasteners import clearance_hole, find_thread

SIDES = 32
"""A round hole of the guard is drawn with so many sides, from inside: never said larger than it is."""


@dataclass(frozen=True, slots=True, eq=False)
class GuardShape:
    """The guard at its place; ``frame`` lies in its outer face and is seen from outside."""

    floor: Face
    frame: FlatFrame
    outline: FloatArray  # (n, 2) m, anticlockwise
    holes: tuple[tuple[float, float, Metre, str], ...]  # x, y, diameter [m], what for
    posts: tuple[StandOff, ...]  # on the floor, outside
    shares_covered: Ratio  # of all floors, seen along the vehicle's up
    off_floor: tuple[int, ...]  # numbers of the feet, from one, that find no floor


def guard_shape(body: PanBody, cavity: Cavity) -> GuardShape | None:
    """Where the guard lies; None where none is asked or no floor is there."""
    guard = body.inputs.guard
    floors = [face for face in cavity.faces if face.role == "floor"]
    if guard is None or not floors:
        return None
    import shapely

    up = np.asarray(body.inputs.up)
    floor = min(floors, key=lambda face: float(np.min(cavity.vertices[face.loops[0]] @ up)))
    normal = np.asarray(floor.plane.normal)
    corner = np.asarray(cavity.vertices[floor.loops[0][0]])
    drop = body.inputs.sheet + guard.stand_off
    frame = frame_on(floor, corner + (drop + guard.guard_thickness) * normal)
    flat = frame.to_flat(cavity.vertices[floor.loops[0]])
    grown = shapely.Polygon(flat).buffer(body.inputs.sheet + guard.beyond, join_style="mitre")
    outline = np.asarray(shapely.orient_polygons(grown).exterior.coords)[:-1]
    holes: list[tuple[float, float, Metre, str]] = []
    posts: list[StandOff] = []
    missed: list[int] = []
    hole = _hole_for(guard.foot_thread)
    for number, foot in enumerate(np.asarray(guard.feet), start=1):
        z = (floor.plane.offset - float(normal[:2] @ foot)) / float(normal[2])
        place = np.array([foot[0], foot[1], z])
        at = frame.to_flat(place[None])[0]
        if not shapely.Polygon(flat).buffer(-0.5 * guard.foot_diameter).covers(shapely.Point(*at)):
            missed.append(number)
            continue
        name = f"guard post {number}"
        posts.append(
            StandOff(
                name, frozen_array(place), "outside", guard.foot_diameter, guard.stand_off, guard.foot_thread
            )
        )
        holes.append((float(at[0]), float(at[1]), hole, name))
    drain = None if body.inputs.drain is None else under(cavity, body.inputs.drain)
    if guard.drain_opening is not None and drain is not None and drain.face is floor:
        at = frame.to_flat(np.asarray(drain.place)[None])[0]
        if shapely.Polygon(outline).contains(shapely.Point(*at).buffer(0.5 * guard.drain_opening)):
            holes.append((float(at[0]), float(at[1]), guard.drain_opening, "drain opening"))
    lying = {face.index: face.area * abs(float(np.asarray(face.plane.normal) @ up)) for face in floors}
    return GuardShape(
        floor,
        frame,
        frozen_array(outline),
        tuple(holes),
        tuple(posts),
        lying[floor.index] / math.fsum(lying.values()),
        tuple(missed),
    )


def _hole_for(thread: str) -> Metre:
    """Medium clearance hole; a tenth over the thread where the size is in no table."""
    found = find_thread(thread)
    if found is None:
        return 0.009
    medium = clearance_hole(found.size)
    return 1.1 * found.diameter if medium is None else medium.value


def guard_triangles(shape: GuardShape, guard: StoneGuard) -> FloatArray:
    """The guard's closed surface (n, 3, 3) with its holes."""
    import manifold3d

    loops = [np.asarray(shape.outline)]
    for x, y, diameter, _ in shape.holes:
        turns = -2.0 * math.pi * np.arange(SIDES) / SIDES
        loops.append(np.array([x, y]) + 0.5 * diameter * np.column_stack([np.cos(turns), np.sin(turns)]))
    filled = np.asarray(manifold3d.triangulate(loops), dtype=np.int64)
    outer = np.asarray(shape.frame.to_space(np.concatenate(loops)))
    inner = outer - guard.guard_thickness * np.asarray(shape.frame.normal)
    pieces = [outer[filled], inner[filled[:, ::-1]]]
    first = 0
    for loop in loops:
        own = np.arange(first, first + len(loop))
        following = np.roll(own, -1)
        pieces.append(np.stack([inner[own], inner[following], outer[following]], axis=1))
        pieces.append(np.stack([inner[own], outer[following], outer[own]], axis=1))
        first += len(loop)
    return np.concatenate(pieces)
