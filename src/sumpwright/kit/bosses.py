"""Bosses welded into the pan: the hole in the sheet, and the ring that spreads their load."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from sumpwright.body import Cavity
from sumpwright.body.fittings import FACE_REACH, Fitting
from sumpwright.geometry import Circle, FlatFrame
from sumpwright.kit.inner_walls import part_of_shape
from sumpwright.kit.internals_model import InternalTrouble, PlacedBoss
from sumpwright.kit.metal import metal_of
from sumpwright.kit.model import FlatPart
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

WELD_ROOM: Metre = 0.0003
"""Room round a boss in its hole: common practice for a boss that is welded all round."""

RING_WIDTH: Metre = 0.012
"""Metal of a ring beyond the boss: common practice, room for a bead on both edges."""


def place_bosses(
    fittings: Sequence[Fitting], parts: Sequence[FlatPart], cavity: Cavity, material: str
) -> tuple[tuple[FlatPart, ...], tuple[FlatPart, ...], tuple[PlacedBoss, ...], tuple[InternalTrouble, ...]]:
    """The parts with the bosses' holes, the rings, the bosses, and what finds no room."""
    found = {part.name: part for part in parts}
    rings: list[FlatPart] = []
    bosses: list[PlacedBoss] = []
    trouble: list[InternalTrouble] = []
    for fitting in fittings:
        part = nearest_panel(fitting.at, list(found.values()), cavity)
        place = (float(fitting.at[0]), float(fitting.at[1]), float(fitting.at[2]))
        if part is None:
            trouble.append(
                InternalTrouble(
                    fitting.name,
                    "it lies on no face of the pan",
                    "give a point on the sheet where it shall sit",
                    place,
                )
            )
            continue
        flat = np.asarray(part.frame.to_flat(np.asarray(fitting.at)[None]))[0]
        hole = fitting.boss_diameter + WELD_ROOM
        ring = hole + 2.0 * RING_WIDTH if fitting.ring else hole
        room = shapely.Point(*flat).buffer(0.5 * ring, quad_segs=16)
        if not metal_of(part).covers(room):
            trouble.append(
                InternalTrouble(
                    fitting.name,
                    f"its {'ring' if fitting.ring else 'hole'} hangs over the edge of {part.name} or a hole",
                    "move it towards the middle of the face, or do without the ring",
                    place,
                )
            )
            continue
        circle = Circle(float(flat[0]), float(flat[1]), hole, fitting.name)
        found[part.name] = replace(part, holes=(*part.holes, circle))
        if fitting.ring:
            rings.append(_ring(fitting, part, flat, hole, ring, material))
        inside = np.asarray(part.frame.to_space(flat[None]))[0] - part.thickness * part.frame.normal
        name = rings[-1].name if fitting.ring else ""
        bosses.append(PlacedBoss(fitting, part.name, frozen_array(inside), hole, name))
    return tuple(found.values()), tuple(rings), tuple(bosses), tuple(trouble)


def _ring(
    fitting: Fitting, part: FlatPart, flat: FloatArray, hole: Metre, ring: Metre, material: str
) -> FlatPart:
    """A flat ring on the outside of the face; the boss passes through it."""
    from sumpwright.geometry import Outline

    normal = np.asarray(part.frame.normal)
    origin = np.asarray(part.frame.to_space(flat[None]))[0] + part.thickness * normal
    frame = FlatFrame(frozen_array(origin), part.frame.x_axis, part.frame.y_axis)
    box = shapely.box(-0.5 * ring, -0.5 * ring, 0.5 * ring, 0.5 * ring)
    square = part_of_shape(
        f"{fitting.name} ring", box, frame, part.thickness, material, (Circle(0.0, 0.0, hole, fitting.name),)
    )
    half = 0.5 * ring
    outline = Outline(frozen_array([[0.0, half], [ring, half]]), frozen_array([1.0, 1.0]))
    return replace(
        square, outline=outline, note=f"outside on {part.name}, round the boss; vent it while welding"
    )


def nearest_panel(at: FloatArray, parts: Sequence[FlatPart], cavity: Cavity) -> FlatPart | None:
    """The panel whose metal lies nearest below the point."""
    best: tuple[float, FlatPart] | None = None
    for part in parts:
        if part.face is None or part.face >= len(cavity.faces):
            continue
        normal = np.asarray(part.frame.normal)
        away = abs(float((np.asarray(at) - part.frame.origin) @ normal) + part.thickness)
        flat = np.asarray(part.frame.to_flat(np.asarray(at)[None]))[0]
        inside = shapely.Polygon(np.asarray(part.outline.points)).covers(shapely.Point(*flat))
        if inside and away <= FACE_REACH and (best is None or away < best[0]):
            best = (away, part)
    return None if best is None else best[1]
