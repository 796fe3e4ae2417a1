"""The pickup's flat parts: end plate, screen frame, skirt, feet and brackets.

   | |          end plate: a disc round the tube
 __|_|__
|_______|       skirt: a strip rolled to a ring
=========       screen frame: a ring that carries the screen
 u     u        feet: keep a dented floor off the mouth
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely

from sumpwright.body.model import Pickup
from sumpwright.body.pickup_line import PickupLine
from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.kit.inner_walls import part_of_shape
from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

LAND: Metre = 0.006
"""Screen that is held all round: common practice."""

SKIRT: Metre = 0.010
TUBE_FIT: Metre = 0.0003
FOOT_WIDE: Metre = 0.012
FOOT_LAP: Metre = 0.008
FOOT_AIR: Metre = 0.002
"""Common practice: feet stop 2 mm above the floor, so that they do not hold the pan off the flange."""

BRACKET_LONG: Metre = 0.090
HOLD_HOLE: Metre = 0.0066
"""For M6: ISO 273 medium."""


def pickup_parts(
    pickup: Pickup, thickness: Metre, material: str, floor_gap: Metre | None
) -> tuple[FlatPart, ...]:
    """Flat parts of the pickup as far as its line says enough; the drawn side looks away from the oil."""
    line = pickup.line
    if line is None:
        return ()
    axis = _axis(line)
    frame = _across(np.asarray(pickup.mouth), axis)
    wide, _ = _outside(line)
    made: list[FlatPart] = []
    if line.screen is not None:
        clear = math.sqrt(4.0 * line.screen.area / math.pi)
        outer = clear + 2.0 * LAND
        note = "screen under it"
        if not screen_is_at_mouth(pickup):
            note += "; larger than the mouth, so it stands above it: find its place while fitting"
        made.append(_disc("pickup screen frame", outer, clear, frame, thickness, material, note))
        top = _across(np.asarray(pickup.mouth) + (SKIRT + thickness) * axis, axis)
        if line.section.shape == "round":
            plate = _disc(
                "pickup end plate", outer, wide + TUBE_FIT, top, thickness, material, "the tube stands in it"
            )
        else:
            plate = _square_holed("pickup end plate", outer, line, top, thickness, material)
        made.append(plate)
        length = math.pi * (outer - thickness)
        made.append(
            part_of_shape(
                "pickup skirt",
                shapely.box(0.0, 0.0, length, SKIRT),
                frame,
                thickness,
                material,
                (),
                "rolled to a ring between end plate and screen frame; length on its middle line",
            )
        )
        if line.has_feet and floor_gap is not None and floor_gap > FOOT_AIR:
            made.append(
                part_of_shape(
                    "pickup foot",
                    shapely.box(0.0, 0.0, FOOT_WIDE, FOOT_LAP + floor_gap - FOOT_AIR),
                    frame,
                    thickness,
                    material,
                    (),
                    "on the skirt's outside, a third of the way round each; all the same length",
                    3,
                )
            )
    holds = [where for where in line.held_at if where != "pump"]
    if holds:
        made.append(_bracket(line, len(holds), frame, thickness, material))
    return tuple(made)


def screen_is_at_mouth(pickup: Pickup) -> bool:
    """Whether a round screen of this area closes the mouth itself, so that its place is known."""
    if pickup.line is None or pickup.line.screen is None:
        return False
    return pickup.line.screen.area <= 1.1 * math.pi / 4.0 * pickup.mouth_diameter**2


def _axis(line: PickupLine) -> FloatArray:
    """From the mouth along the first run of the tube."""
    run = np.asarray(line.path[1] - line.path[0])
    return run / float(np.linalg.norm(run))


def _across(place: FloatArray, axis: FloatArray) -> FlatFrame:
    x_axis, y_axis = axes_in_plane(axis)
    return FlatFrame(frozen_array(place), x_axis, y_axis)


def _outside(line: PickupLine) -> tuple[Metre, Metre]:
    section = line.section
    return section.clear_width + 2.0 * section.wall, section.clear_height + 2.0 * section.wall


def _disc(
    name: str, outer: Metre, hole: Metre, frame: FlatFrame, thickness: Metre, material: str, note: str
) -> FlatPart:
    """A round plate with a round hole in its middle."""
    half = 0.5 * outer
    square = part_of_shape(
        name,
        shapely.box(-half, -half, half, half),
        frame,
        thickness,
        material,
        (Circle(0.0, 0.0, hole),),
        note,
    )
    return replace(
        square, outline=Outline(frozen_array([[0.0, half], [outer, half]]), frozen_array([1.0, 1.0]))
    )


def _square_holed(
    name: str, outer: Metre, line: PickupLine, frame: FlatFrame, thickness: Metre, material: str
) -> FlatPart:
    """A round plate with the square tube's hole in its middle."""
    wide, high = (side + TUBE_FIT for side in _outside(line))
    half = 0.5 * outer
    around = shapely.box(-half, -half, half, half)
    hole = shapely.box(-wide / 2, -high / 2, wide / 2, high / 2)
    square = part_of_shape(
        name,
        shapely.Polygon(around.exterior, [hole.exterior]),
        frame,
        thickness,
        material,
        (),
        "the tube stands in it",
    )
    return replace(
        square, outline=Outline(frozen_array([[0.0, half], [outer, half]]), frozen_array([1.0, 1.0]))
    )


def _bracket(line: PickupLine, count: int, frame: FlatFrame, thickness: Metre, material: str) -> FlatPart:
    """An eye for the tube with a long foot: bent and drilled on the engine."""
    wide, high = _outside(line)
    eye = 0.5 * max(wide, high) + 0.010
    arm = shapely.box(0.0, -0.012, eye + BRACKET_LONG, 0.012)
    joined = shapely.union(shapely.Point(0.0, 0.0).buffer(eye, quad_segs=12), arm)
    assert isinstance(joined, shapely.Polygon)
    plate: shapely.Polygon = joined
    holes: tuple[Circle, ...] = (Circle(eye + BRACKET_LONG - 0.012, 0.0, HOLD_HOLE),)
    if line.section.shape == "round":
        holes = (Circle(0.0, 0.0, wide + TUBE_FIT), *holes)
    else:
        a, b = 0.5 * (wide + TUBE_FIT), 0.5 * (high + TUBE_FIT)
        plate = shapely.Polygon(plate.exterior, [shapely.box(-a, -b, a, b).exterior])
    return part_of_shape(
        "pickup bracket",
        plate,
        frame,
        thickness,
        material,
        holes,
        "foot is long on purpose: bend, cut and drill it on the engine",
        count,
    )
