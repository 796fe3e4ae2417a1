"""Inner walls and roof baffles as flats: set back from what they meet, their openings cut out.

face            A wall of thickness t that meets a face at an angle a would cut into it
 \\   |t|       with one of its corners: its edge stays back by t/2 |cot a| and the
  \\  | |       fit clearance. Where it meets another inner wall, half that wall's
   \\ | |       thickness over sin a comes on top. Free edges stay where they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity
from sumpwright.body.naming import direction_word
from sumpwright.body.wall_model import Division, PanelSide, PlacedCut, PlacedWall
from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.kit.internals_model import InternalTrouble
from sumpwright.kit.model import FlatPart
from sumpwright.kit.solids import polygons_of
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

FIT: Metre = 0.0005
"""Room between an inner wall and what it meets, beside the cutter's tolerance: common practice."""

BELOW_RAIL: Metre = 0.003
"""An inner wall ends so far below the rail: nothing of it may touch the block."""

LEAST_PIECE = 1e-6
"""m2: anything smaller that a set-back leaves over is scrap."""


@dataclass(frozen=True, slots=True, eq=False)
class WallMetal:
    """The metal of one inner wall in its own axes, before it becomes a part."""

    placed: PlacedWall
    whole: Polygon  # without openings
    metal: Polygon
    rounds: tuple[Circle, ...]  # round openings, cut as circles


def wall_metal(
    placed: PlacedWall, division: Division, cavity: Cavity, tolerance: Metre
) -> tuple[WallMetal | None, tuple[InternalTrouble, ...]]:
    """What is left of a wall once it keeps clear of its neighbours and its openings are cut."""
    wall = placed.wall
    region: BaseGeometry = _region(placed.outlines)
    centre = _in_space(placed, np.asarray(region.representative_point().coords)[0])
    for side in placed.sides:
        back = set_back(side, placed, division, cavity, tolerance)
        if back > 0.0:
            strip = shapely.LineString([side.start, side.end]).buffer(back, quad_segs=4)
            region = region.difference(strip)
    pieces = [piece for piece in polygons_of(region) if piece.area > LEAST_PIECE]
    if not pieces:
        return None, (
            InternalTrouble(
                wall.name,
                "nothing is left of the wall once it keeps clear of what it meets",
                "make it larger, or leave it out",
                centre,
            ),
        )
    trouble: list[InternalTrouble] = []
    if len(pieces) > 1:
        trouble.append(
            InternalTrouble(
                wall.name,
                f"kept clear of what it meets, the wall falls into {len(pieces)} pieces",
                "make two walls of it, or let it reach over the narrow place",
                _in_space(placed, np.asarray(pieces[1].representative_point().coords)[0]),
            )
        )
    whole = pieces[0]
    metal: BaseGeometry = whole
    rounds: list[Circle] = []
    for cut in placed.cuts:
        circle = _round(cut, whole)
        if circle is None:
            metal = metal.difference(Polygon(cut.outline))
        else:
            rounds.append(circle)
    left = [piece for piece in polygons_of(metal) if piece.area > LEAST_PIECE]
    if len(left) != 1:
        names = ", ".join(dict.fromkeys(cut.cut.name for cut in placed.cuts))
        where = (
            np.asarray(left[-1].representative_point().coords)[0] if left else placed.outlines[0].mean(axis=0)
        )
        trouble.append(
            InternalTrouble(
                wall.name,
                f"its openings ({names}) cut the wall in two",
                "leave a bridge of metal, or make two walls of it",
                _in_space(placed, where),
            )
        )
    if trouble or not left:
        return None, tuple(trouble)
    return WallMetal(placed, whole, left[0], tuple(rounds)), ()


def set_back(
    side: PanelSide, placed: PlacedWall, division: Division, cavity: Cavity, tolerance: Metre
) -> Metre:
    """How far the metal stays back from one side of its panel, along the wall."""
    if not side.meets:
        return 0.0
    half = 0.5 * placed.wall.thickness
    normal = np.asarray(placed.wall.frame.normal)
    if side.face is not None:
        face = cavity.faces[side.face]
        if face.role == "rail":
            return BELOW_RAIL
        cosine = abs(float(normal @ face.plane.normal))
        return half * cosine / math.sqrt(max(1e-9, 1.0 - cosine * cosine)) + FIT + tolerance
    other = next((each.wall for each in division.walls if each.wall.name == side.meets), None)
    if other is None:
        return FIT + tolerance
    cosine = abs(float(normal @ other.frame.normal))
    sine = math.sqrt(max(1e-9, 1.0 - cosine * cosine))
    return (0.5 * other.thickness + half * cosine) / sine + FIT + tolerance


def wall_part(metal: WallMetal, material: str, holes: Sequence[Circle] = ()) -> FlatPart:
    """The wall as a part, drawn on the side its normal looks to."""
    wall = metal.placed.wall
    frame = wall.frame
    seen = "from above" if frame.normal[2] > 0.7 else "from below" if frame.normal[2] < -0.7 else ""
    seen = seen or f"looking at its {direction_word(np.asarray(frame.normal))} side"
    skin = FlatFrame(
        frozen_array(np.asarray(frame.origin) + 0.5 * wall.thickness * frame.normal),
        frame.x_axis,
        frame.y_axis,
    )
    return part_of_shape(
        wall.name, metal.metal, skin, wall.thickness, material, (*metal.rounds, *holes), f"drawn {seen}"
    )


def part_of_shape(
    name: str,
    shape: Polygon,
    frame: FlatFrame,
    thickness: Metre,
    material: str,
    holes: Sequence[Circle] = (),
    note: str = "",
    quantity: int = 1,
) -> FlatPart:
    """A loose part from a plane shape in a frame, its box's lowest corner at the origin."""
    oriented = shapely.orient_polygons(shape)
    low = np.array(shape.bounds[:2])
    moved = FlatFrame(frozen_array(np.asarray(frame.to_space(low[None]))[0]), frame.x_axis, frame.y_axis)

    def outline(ring: BaseGeometry) -> Outline:
        points = np.asarray(shapely.get_coordinates(ring)[:-1]) - low
        return Outline(frozen_array(points), frozen_array(np.zeros(len(points))))

    return FlatPart(
        name=name,
        face=None,
        outline=outline(oriented.exterior),
        cut_outs=tuple(outline(ring) for ring in oriented.interiors),
        holes=tuple(Circle(hole.x - low[0], hole.y - low[1], hole.diameter, hole.label) for hole in holes),
        marks=(),
        frame=moved,
        thickness=thickness,
        material=material,
        quantity=quantity,
        note=note,
    )


def crossing_place(one: PlacedWall, other: PlacedWall) -> tuple[float, float, float]:
    """Middle of the line along which two walls run through each other."""
    normals = [np.asarray(each.wall.frame.normal) for each in (one, other)]
    along = np.cross(normals[0], normals[1])
    along = along / np.linalg.norm(along)
    offsets = [float(n @ each.wall.frame.origin) for n, each in zip(normals, (one, other), strict=True)]
    middle = np.asarray(one.wall.frame.to_space(one.outlines[0].mean(axis=0)[None]))[0]
    start = np.linalg.solve(np.stack([*normals, along]), np.array([*offsets, float(along @ middle)]))
    line = shapely.LineString(one.wall.frame.to_flat(np.stack([start - 2.0 * along, start + 2.0 * along])))
    inside = line.intersection(_region(one.outlines))
    at = np.asarray(inside.centroid.coords)[0] if not inside.is_empty else one.outlines[0].mean(axis=0)
    return _in_space(one, at)


def _region(outlines: Sequence[FloatArray]) -> BaseGeometry:
    """Metal from its lines: anticlockwise ones bound it, clockwise ones are islands."""
    outer = [Polygon(line) for line in outlines if _area(line) > 0.0]
    islands = [Polygon(line) for line in outlines if _area(line) < 0.0]
    region = shapely.union_all(outer)
    return region.difference(shapely.union_all(islands)) if islands else region


def _area(line: FloatArray) -> float:
    x, y = line[:, 0], line[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _round(cut: PlacedCut, whole: Polygon) -> Circle | None:
    """The opening as a round hole where it is one and lies wholly in the wall."""
    if cut.cut.diameter is None:
        return None
    middle = Polygon(cut.outline).centroid
    circle = middle.buffer(0.5 * cut.cut.diameter)
    if not whole.contains(circle):
        return None
    return Circle(float(middle.x), float(middle.y), cut.cut.diameter, cut.cut.name)


def _in_space(placed: PlacedWall, flat: FloatArray) -> tuple[float, float, float]:
    x, y, z = np.asarray(placed.wall.frame.to_space(np.asarray(flat)[None]))[0]
    return float(x), float(y), float(z)
