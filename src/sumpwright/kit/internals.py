"""Everything inside the pan: inner walls, doors, the pickup, bosses; and the proof that it fits.

Parts of the inside are set up at their places like the panels: no two may want the same
place, and an inner wall may not leave the oil space. Loose parts (feet, skirt, brackets)
find their place while fitting and are not tested.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity, PanBody
from sumpwright.body.pickup_line import PickupLine
from sumpwright.body.wall_model import Division, PanelSide, PlacedWall
from sumpwright.geometry import Circle
from sumpwright.kit.bosses import place_bosses
from sumpwright.kit.bought_parts import bought_parts
from sumpwright.kit.doors import MadeDoor, make_door
from sumpwright.kit.inner_walls import WallMetal, crossing_place, wall_metal, wall_part
from sumpwright.kit.internals_model import (
    DoorSet,
    Fixing,
    InternalClash,
    Internals,
    InternalTrouble,
)
from sumpwright.kit.model import FlatPart, Joint, KitInputs
from sumpwright.kit.pickup_parts import pickup_parts, screen_is_at_mouth
from sumpwright.kit.pickup_tube import pickup_tube
from sumpwright.kit.rebuild import sheet_of
from sumpwright.kit.set_on import place_what_is_set_on
from sumpwright.kit.solids import common_volume, surface_solid
from sumpwright.kit.tabs import locate
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.tables.materials import find_material

if TYPE_CHECKING:
    from manifold3d import Manifold

LOOSE = ("pickup skirt", "pickup foot", "pickup bracket")

WALL_HOLE: Metre = 0.0066
"""For M6: ISO 273 medium."""

BOLT_PITCH: Metre = 0.180
"""Boss to boss along a bolted wall, at most: common practice."""

LEAST_SIDE: Metre = 0.050

CLASH_LIMIT = 1e-6
"""Share of the smaller part's metal that two parts may have in common, as for the panels."""


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """The panels with their bosses' holes, what was made for the inside, and what is said of it."""

    panels: tuple[FlatPart, ...]
    parts: tuple[FlatPart, ...]
    internals: Internals


def make_internals(inputs: KitInputs, body: PanBody, panels: tuple[FlatPart, ...]) -> Inside | None:
    """What goes inside; None where nothing is asked."""
    cavity, division = body.cavity, body.division
    pickup = body.inputs.pickup
    line = None if pickup is None else pickup.line
    asked = body.inputs
    set_on = bool(asked.fittings or asked.stand_offs or asked.guard or asked.jacking)
    if cavity is None or (division is None and line is None and not set_on):
        return None
    trouble: list[InternalTrouble] = []
    parts: list[FlatPart] = []
    fixings: list[Fixing] = []
    doors: list[DoorSet] = []
    if division is not None:
        crossed = _crossings(division)
        trouble += crossed
        for placed in division.walls:
            made, why = _one_wall(inputs, placed, division, cavity)
            trouble += why
            if made is not None:
                parts += made.parts
                fixings.append(made.fixing)
                doors += [door.set for door in made.doors]
        parts = _tabbed(inputs, parts, division)
    panels, rings, bosses, why_not = place_bosses(asked.fittings, panels, cavity, inputs.material)
    trouble += why_not
    parts += rings
    on_it = place_what_is_set_on(body, panels, cavity, inputs.material)
    panels = on_it.panels
    parts += on_it.parts
    trouble += on_it.trouble
    tube = None if line is None else pickup_tube(line)
    if pickup is not None:
        metal = _pickup_metal(line, inputs.material)
        parts += pickup_parts(pickup, body.inputs.sheet, metal, _floor_gap(pickup.mouth, cavity))
    parts = _named_apart(parts, {panel.name for panel in panels})
    at_mouth = pickup is not None and screen_is_at_mouth(pickup)
    unplaced = LOOSE if at_mouth else (*LOOSE, "pickup screen frame", "pickup end plate")
    loose = tuple(part.name for part in parts if part.name.startswith(unplaced))
    walls = tuple(fixing.wall for fixing in fixings)
    clashes = _clashes(cavity, panels, [part for part in parts if part.name not in loose], walls)
    bought = (*bought_parts(body, inputs.material, fixings, doors, tube, bosses), *on_it.bought)
    names = tuple(part.name for part in parts)
    return Inside(
        panels,
        tuple(parts),
        Internals(
            names,
            loose,
            tuple(fixings),
            tuple(doors),
            tube,
            bosses,
            bought,
            tuple(trouble),
            tuple(clashes),
            on_it.posts,
            on_it.plates,
        ),
    )


def _pickup_metal(line: PickupLine | None, sheet: str) -> str:
    """What the pickup's plates are cut from: the pan's metal where it welds to the tube, else the tube's."""
    tube = None if line is None or line.metal is None else find_material(line.metal)
    pan = find_material(sheet)
    return sheet if tube is None or pan is None or tube.family == pan.family else tube.id


@dataclass(frozen=True, slots=True, eq=False)
class _MadeWall:
    parts: list[FlatPart]
    fixing: Fixing
    doors: list[MadeDoor]


def _one_wall(
    inputs: KitInputs, placed: PlacedWall, division: Division, cavity: Cavity
) -> tuple[_MadeWall | None, list[InternalTrouble]]:
    """One inner wall with its doors and the holes that hold it."""
    metal, found = wall_metal(placed, division, cavity, inputs.cutter.tolerance)
    trouble = list(found)
    if metal is None:
        return None, trouble
    doors: list[MadeDoor] = []
    for cut in placed.cuts:
        if cut.cut.door is None:
            continue
        door = make_door(metal, cut, inputs.material)
        if isinstance(door, InternalTrouble):
            trouble.append(door)
        else:
            doors.append(door)
    holes = [hole for door in doors for hole in door.holes]
    fixing, bolts = _fixing(inputs, metal, holes)
    wall = wall_part(metal, inputs.material, (*holes, *bolts))
    way = "bolted to bosses: it comes out again" if fixing.way == "bolted" else "tacked: it stays in"
    wall = replace(wall, note=f"{wall.note}; {way}")
    return _MadeWall([wall, *(part for door in doors for part in door.parts)], fixing, doors), trouble


def _fixing(
    inputs: KitInputs, metal: WallMetal, taken: Sequence[Circle]
) -> tuple[Fixing, tuple[Circle, ...]]:
    """Tacked, or the bosses under a bolted wall: beside the faces that it meets, where there is room."""
    wall = metal.placed.wall
    way = inputs.baffle_fixing if wall.kind == "roof baffle" else "tacked"
    none = Fixing(wall.name, "tacked", frozen_array(np.zeros((0, 3))), None, None)
    if way == "tacked":
        return none, ()
    # The boss lies against the face: its middle is half its own width away from it.
    middle = 0.5 * WALL_HOLE + max(inputs.cutter.least_edge, 0.004) + 0.0015
    free: BaseGeometry = metal.metal.buffer(-(0.5 * WALL_HOLE + max(inputs.cutter.least_edge, 0.004)))
    for hole in taken:
        free = free.difference(shapely.Point(hole.x, hole.y).buffer(0.5 * hole.diameter + 2.0 * middle))
    places: list[FloatArray] = []
    for side in metal.placed.sides:
        along = np.asarray(side.end) - np.asarray(side.start)
        length = float(np.hypot(*along))
        if side.face is None or length < LEAST_SIDE:
            continue
        inwards = np.array([-along[1], along[0]]) / length
        count = max(1, math.ceil(length / BOLT_PITCH))
        for k in range(count):
            at = np.asarray(side.start) + along * ((k + 0.5) / count) + inwards * middle
            clear = all(float(np.hypot(*(at - other))) > 4.0 * middle for other in places)
            if clear and free.covers(shapely.Point(*at)):
                places.append(at)
    if len(places) < 2:
        return none, ()
    circles = tuple(
        Circle(float(x), float(y), WALL_HOLE, f"bolt {k}") for k, (x, y) in enumerate(places, start=1)
    )
    return (
        Fixing(
            wall.name,
            "bolted",
            frozen_array(np.asarray(wall.frame.to_space(np.array(places)))),
            WALL_HOLE,
            2.0 * (middle - 0.0005),
        ),
        circles,
    )


def _tabbed(inputs: KitInputs, parts: list[FlatPart], division: Division) -> list[FlatPart]:
    """Walls that end at another inner wall get tabs, and that wall slots; outer panels get none.

    A slot in an inner wall leaks from oil to oil. Where a slot finds no room there are no tabs.
    """
    found = {part.name: part for part in parts}
    placed = {each.wall.name: each for each in division.walls}
    for name, each in placed.items():
        for side in each.sides:
            other = placed.get(side.meets) if side.face is None else None
            if other is None or name not in found or other.wall.name not in found:
                continue
            seam = _seam(each, side, other)
            made = locate(found[name], found[other.wall.name], seam, inputs.cutter)
            if not made.slots:
                continue
            wall = replace(made.wall, note=f"{made.wall.note}; tabs into {other.wall.name}")
            found[name], found[other.wall.name] = wall, made.plate
    return [found[part.name] for part in parts]


def _seam(wall: PlacedWall, side: PanelSide, plate: PlacedWall) -> Joint:
    """The corner between the wall's drawn skin and the nearer skin of the wall it ends at."""
    ends = np.asarray(wall.wall.frame.to_space(np.stack([side.start, side.end])))
    normal = np.asarray(wall.wall.frame.normal)
    across = np.asarray(plate.wall.frame.normal)
    along = ends[1] - ends[0]
    length = float(np.linalg.norm(along))
    inwards = np.cross(normal, along) / length
    # The side lies in the plate's middle: half its thickness back to the skin that the wall meets.
    back = 0.5 * plate.wall.thickness / max(1e-6, abs(float(inwards @ across)))
    ends = ends + back * inwards + 0.5 * wall.wall.thickness * normal
    start, end = ((float(x), float(y), float(z)) for x, y, z in ends)
    cosine = abs(float(normal @ across))
    return Joint(
        None,
        wall.wall.name,
        plate.wall.name,
        "open corner",
        math.acos(min(1.0, cosine)),
        length,
        None,
        None,
        start,
        end,
    )


def _crossings(division: Division) -> list[InternalTrouble]:
    """Inner walls that run through each other."""
    found = []
    for one, other in combinations(division.walls, 2):
        wants = f"'{one.wall.name}'"
        told = any(
            name == other.wall.name and wants in what and "runs through" in what
            for name, what, _ in division.trouble
        )
        if told:
            found.append(
                InternalTrouble(
                    f"{one.wall.name} and {other.wall.name}",
                    "the two inner walls run through each other",
                    "end one of them at the other, or make two of it",
                    crossing_place(one, other),
                )
            )
    return found


def _floor_gap(mouth: FloatArray, cavity: Cavity) -> Metre | None:
    """From the mouth's middle down to the first face below it."""
    solid_faces = [face for face in cavity.faces if face.role in ("floor", "wall")]
    best: Metre | None = None
    for face in solid_faces:
        normal = np.asarray(face.plane.normal)
        if normal[2] > -1e-6:
            continue
        drop = (face.plane.offset - float(normal @ mouth)) / -float(normal[2])
        if drop <= 0.0:
            continue
        below = np.asarray(mouth) - np.array([0.0, 0.0, drop])
        ring = np.asarray(cavity.vertices[face.loops[0]])[:, :2]
        inside = Polygon(ring).buffer(1e-9).covers(shapely.Point(below[0], below[1]))
        if inside and (best is None or drop < best):
            best = drop
    return best


def _named_apart(parts: Sequence[FlatPart], taken: set[str]) -> list[FlatPart]:
    """No two parts of one name: a second one gets a number."""
    found: list[FlatPart] = []
    used = set(taken)
    for part in parts:
        name, count = part.name, 1
        while name in used:
            count += 1
            name = f"{part.name} {count}"
        used.add(name)
        found.append(part if name == part.name else replace(part, name=name))
    return found


def _clashes(
    cavity: Cavity, panels: Sequence[FlatPart], parts: Sequence[FlatPart], walls: Sequence[str]
) -> list[InternalClash]:
    """Pairs with metal in common, and walls that leave the oil space."""
    bodies = [(part, sheet_of(part).solid()) for part in parts]
    outer = [(part, folded(part)[0].solid() if part.roll else sheet_of(part).solid()) for part in panels]
    found: list[InternalClash] = []
    for k, (part, solid) in enumerate(bodies):
        limit = CLASH_LIMIT * float(solid.volume())
        for other, beside in (*outer, *bodies[:k]):
            shared = common_volume(solid, beside)
            if shared > limit:
                found.append(InternalClash(f"{other.name} and {part.name}", shared, _middle(solid ^ beside)))
    space = surface_solid(cavity.vertices, cavity.triangles)
    for part, solid in bodies:
        if part.name not in walls:
            continue
        outside = float((solid - space).volume())
        if outside > CLASH_LIMIT * float(solid.volume()):
            found.append(InternalClash(f"{part.name} outside the oil space", outside, _middle(solid - space)))
    return found


def _middle(solid: Manifold) -> tuple[float, float, float]:
    box = solid.bounding_box()
    return tuple(0.5 * (float(box[k]) + float(box[k + 3])) for k in range(3))  # type: ignore[return-value]
