"""One-way doors: flap, clamping bar and two stops, drilled so that they go on one way only.

 o----------o        two ears with a hole each, unequally far from the middle:
|            |       turned over, the flap's holes miss the wall's
|   flap     |
|            |       stops stand on the wall above the hinge line and end the swing
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.body.wall_model import PlacedCut
from sumpwright.geometry import Circle, FlatFrame
from sumpwright.kit.inner_walls import WallMetal, part_of_shape
from sumpwright.kit.internals_model import RUBBER, DoorSet, InternalTrouble
from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

EAR: Metre = 0.015
"""Height of the ears above the flap: a 4 mm bolt with metal all round."""

BOLT_HOLE: Metre = 0.0045
"""For M4: ISO 273 medium."""

SHARES = (0.22, 0.70)
"""Where the two holes lie along the flap: mirrored they would be 0.30 and 0.78, and miss."""

OPENS: Radian = math.radians(60.0)
FLAP: Metre = 0.003
STOP_BASE: Metre = 0.018
HEAD: Metre = 0.008
"""Common practice: a flap that opens 60 degrees, 3 mm rubber, room for a bolt's head and bar."""


@dataclass(frozen=True, slots=True, eq=False)
class MadeDoor:
    """A door's parts, and the holes that the wall gets for it (wall's axes)."""

    parts: tuple[FlatPart, ...]
    holes: tuple[Circle, ...]
    set: DoorSet


def make_door(metal: WallMetal, cut: PlacedCut, material: str) -> MadeDoor | InternalTrouble:
    """The parts of one door on the side to which it opens."""
    door = cut.cut.door
    assert door is not None
    wall = metal.placed.wall
    opening = Polygon(cut.outline)
    on_front = door.passes == "with normal"
    # In the door's own axes 'up' leads to the hinge; seen from the flap's side, right is right.
    frame = wall.frame
    x_axis, y_axis = np.asarray(frame.x_axis), np.asarray(frame.y_axis)
    right, up = (
        (np.array([1.0, 0.0]), np.array([0.0, 1.0]))
        if door.hinge == "top"
        else (
            np.array([0.0, -1.0]),
            np.array([1.0, 0.0]),
        )
    )
    if not on_front:
        right = -right
    corners = np.asarray(shapely.get_coordinates(opening.exterior)[:-1])
    a, b = corners @ right, corners @ up
    left_end, right_end = float(a.min()) - door.overlap, float(a.max()) + door.overlap
    low, hinge = float(b.min()) - door.overlap, float(b.max()) + door.overlap
    wide, high = right_end - left_end, hinge - low
    middle = left_end + 0.5 * wide
    flap_room = _box(left_end, low, right_end, hinge + EAR, right, up)
    base_room = _box(
        middle - wall.thickness, hinge, middle + wall.thickness, hinge + EAR + STOP_BASE, right, up
    )
    footprint = flap_room.union(base_room)
    if not metal.whole.buffer(1e-6).covers(footprint):
        place = np.asarray(frame.to_space(np.asarray(opening.centroid.coords)))[0]
        return InternalTrouble(
            wall.name,
            f"door '{cut.cut.name}' with its flap and ears is larger than the wall it hangs on",
            "make the opening or its overlap smaller, or move it towards the wall's middle",
            (float(place[0]), float(place[1]), float(place[2])),
        )
    hole_at = [left_end + share * wide for share in SHARES]
    holes = [at * right + (hinge + 0.5 * EAR) * up for at in hole_at]
    in_wall = tuple(Circle(float(x), float(y), BOLT_HOLE, f"door {k}") for k, (x, y) in enumerate(holes, 1))
    outward = np.asarray(frame.normal) * (1.0 if on_front else -1.0)
    skin = np.asarray(frame.origin) + 0.5 * wall.thickness * outward
    own_x = right[0] * x_axis + right[1] * y_axis
    own_y = up[0] * x_axis + up[1] * y_axis
    is_rubber = "metal" not in door.material
    stuff = RUBBER if is_rubber else material
    flap_thickness = FLAP if is_rubber else wall.thickness
    flap_frame = FlatFrame(
        frozen_array(skin + flap_thickness * outward), frozen_array(own_x), frozen_array(own_y)
    )
    bar_frame = FlatFrame(
        frozen_array(skin + (flap_thickness + wall.thickness) * outward),
        frozen_array(own_x),
        frozen_array(own_y),
    )
    flat_holes = [Circle(at, hinge + 0.5 * EAR, BOLT_HOLE) for at in hole_at]
    name = f"{wall.name} {cut.cut.name}"
    flap = part_of_shape(
        f"{name} flap",
        _flap_shape(left_end, right_end, low, hinge, hole_at),
        flap_frame,
        flap_thickness,
        stuff,
        flat_holes,
        "this side away from the wall" + ("; cut with a knife" if is_rubber else "; let it swing free"),
    )
    bar = part_of_shape(
        f"{name} bar",
        shapely.box(left_end, hinge, right_end, hinge + EAR),
        bar_frame,
        wall.thickness,
        material,
        flat_holes,
        "clamps the flap's ears",
    )
    stops = part_of_shape(
        f"{name} stop",
        _stop_shape(high, flap_thickness + wall.thickness),
        _stop_frame(skin, own_y, outward, own_x, left_end + 0.5 * (wide - wall.thickness), hinge),
        wall.thickness,
        material,
        (),
        "stands square on the wall over the middle of the bar, sloping edge towards the flap; tack it",
    )
    return MadeDoor(
        (flap, bar, stops),
        in_wall,
        DoorSet(
            wall.name, cut.cut.name, flap.name, bar.name, stops.name, _from_left(hole_at, left_end), OPENS
        ),
    )


def _from_left(places: list[float], left: float) -> tuple[Metre, Metre]:
    first, second = (at - left for at in places)
    return first, second


def _flap_shape(left: Metre, right: Metre, low: Metre, hinge: Metre, hole_at: list[Metre]) -> Polygon:
    """The flap with an ear round each hole."""
    shape = shapely.box(left, low, right, hinge)
    half = 0.5 * EAR
    ears = [
        shapely.box(max(left, at - half), hinge - 1e-9, min(right, at + half), hinge + EAR) for at in hole_at
    ]
    joined = shapely.union_all([shape, *ears], grid_size=1e-9)
    assert isinstance(joined, Polygon)
    return joined


def _stop_shape(high: Metre, stack: Metre) -> Polygon:
    """The stop in its own plane: x away from the wall, y up the wall, the hinge line at the origin.

    Its base stands on the wall above the bar; its lower edge lies along the opened flap.
    """
    clear = stack + HEAD
    reach = 0.6 * high
    end = np.array([reach * math.sin(OPENS), -reach * math.cos(OPENS)])
    start = np.array([clear, -clear / math.tan(OPENS)])
    if end[0] < clear + 0.004:
        end = start + 0.006 * np.array([math.sin(OPENS), -math.cos(OPENS)])
    up = 0.012 * np.array([math.cos(OPENS), math.sin(OPENS)])
    top = EAR + STOP_BASE
    corners = np.array(
        [(0.0, EAR + 0.002), (clear, EAR + 0.002), start, end, end + up, (clear + 0.004, top), (0.0, top)]
    )
    shape = Polygon(corners).buffer(0.0)
    assert isinstance(shape, Polygon)
    return shape


def _stop_frame(
    skin: FloatArray, up: FloatArray, outward: FloatArray, right: FloatArray, at: Metre, hinge: Metre
) -> FlatFrame:
    """Square on the wall: x away from it, y up it; its metal lies to the right of ``at``."""
    origin = skin + at * right + hinge * up
    return FlatFrame(frozen_array(origin), frozen_array(outward), frozen_array(up))


def _box(left: Metre, low: Metre, right_end: Metre, top: Metre, right: FloatArray, up: FloatArray) -> Polygon:
    corners = np.array([(left, low), (right_end, low), (right_end, top), (left, top)])
    return Polygon(corners @ np.stack([right, up]))
