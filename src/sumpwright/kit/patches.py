"""Openings cut into panels for the torch, and the plates that close them.

Lapped, the usual way: the plate lies outside on the panel and is welded round its edge. It
needs no fitting, cannot fall through, and its bead lies on double metal, where it does not
burn through. What it costs: the plate stands out by its thickness, and a slot as thick as
a hair stays open to the oil round the opening. Let in: the plate fills the opening, flush on both sides
and without a slot, but its edges have to fit and its weld has to go through.

           plate
        +---------------+                      plate
   =====+---        ----+=====  panel     =====|#######|=====
         overlap   overlap
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity
from sumpwright.body.wall_model import Division
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.bosses import RING_WIDTH
from sumpwright.kit.formulas import fillet_fill
from sumpwright.kit.internals_model import Internals, InternalTrouble
from sumpwright.kit.metal import chords, metal_of, reversed_outline
from sumpwright.kit.model import FlatPart, Joint
from sumpwright.kit.patch_model import Patches, PatchPlate, PlacedPatch
from sumpwright.kit.price import outline_length
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

OVERLAP_SHARE = 5.0
LEAST_OVERLAP: Metre = 0.012
"""A lapped plate covers five thicknesses of panel all round, and never less than this: common practice."""

APART_SHARE = 4.0
LEAST_APART: Metre = 0.010
"""Bare panel between a plate's weld and any other seam, bend or boss: four thicknesses and
never less than this, so that two beads do not run into each other: common practice."""

WALL_ROOM: Metre = 0.005
"""An opening ends so far beside the foot of an inner wall and its bead."""

ON_PANEL: Metre = 0.030
"""A point farther than this from the panel's plane does not lie on it."""

EDGE_STEP: Metre = 0.004
"""Between two points of the line along which the plate is welded."""

QUARTER = math.tan(math.radians(22.5))
"""Bulge of a quarter round."""


def overlap_of(thickness: Metre) -> Metre:
    """How far a lapped plate covers its panel round the opening [m]."""
    return max(OVERLAP_SHARE * thickness, LEAST_OVERLAP)


def apart_of(thickness: Metre) -> Metre:
    """Bare panel from a plate's weld to the next seam [m]."""
    return max(APART_SHARE * thickness, LEAST_APART)


def rounded_rectangle(x: Metre, y: Metre, width: Metre, height: Metre, corner: Metre) -> Outline:
    """A rectangle about a middle with rounded corners, anticlockwise from its lower right corner."""
    corner = min(corner, 0.5 * width, 0.5 * height)
    w, h = 0.5 * width, 0.5 * height
    points: list[tuple[float, float]] = []
    bulges: list[float] = []
    for sx, sy, first in ((1, -1, "x"), (1, 1, "y"), (-1, 1, "x"), (-1, -1, "y")):
        before = (sx * (w - corner), sy * h) if first == "x" else (sx * w, sy * (h - corner))
        after = (sx * w, sy * (h - corner)) if first == "x" else (sx * (w - corner), sy * h)
        points += [before, after]
        bulges += [QUARTER, 0.0]
    # Where a side is no longer than its corners, of two equal points the one that begins the arc stays.
    kept = [k for k in range(len(points)) if math.dist(points[k], points[(k + 1) % len(points)]) > 1e-9]
    ring = np.array([points[k] for k in kept]) + np.array([x, y])
    return Outline(frozen_array(ring), frozen_array(np.array([bulges[k] for k in kept])))


@dataclass(frozen=True, slots=True, eq=False)
class PatchRoom:
    """Where in a panel a patch plate may lie, in the axes that are asked for."""

    plate: BaseGeometry  # the plate's own outline stays within
    opening: BaseGeometry  # and the opening within this


def round_things(internals: Internals | None, names: Sequence[str]) -> tuple[tuple[FloatArray, Metre], ...]:
    """Middle (3,) and radius of everything round that is welded to a panel: bosses, posts, load plates."""
    if internals is None:
        return ()
    found = [
        (boss.place, 0.5 * boss.hole + (RING_WIDTH if boss.ring else 0.0))
        for boss in internals.bosses
        if boss.face in names
    ]
    found += [(post.place, 0.5 * post.post.diameter) for post in internals.posts if post.face in names]
    found += [(plate.place, 0.5 * plate.plate_diameter) for plate in internals.plates if plate.face in names]
    return tuple(found)


def patch_room(
    metal: BaseGeometry,
    frame: FlatFrame,
    face: int,
    thickness: Metre,
    division: Division | None,
    rounds: Sequence[tuple[FloatArray, Metre]],
) -> PatchRoom:
    """Room for plate and opening in a face's metal: off its edges, what is round on it, and its walls.

    ``metal`` and what comes back lie in ``frame``, whose axes are those of the face.
    """
    room: BaseGeometry = metal.buffer(-apart_of(thickness))
    for place, radius in rounds:
        middle = np.asarray(frame.to_flat(np.asarray(place)[None]))[0]
        reach = radius + apart_of(thickness)
        room = room.difference(shapely.Point(*middle).buffer(reach, quad_segs=16))
    opening = room
    for placed in () if division is None else division.walls:
        for side in placed.sides:
            if side.face == face:
                ends = placed.wall.frame.to_space(np.stack([side.start, side.end]))
                line = shapely.LineString(np.asarray(frame.to_flat(np.asarray(ends))))
                beside = 0.5 * placed.wall.thickness + thickness + WALL_ROOM
                opening = opening.difference(line.buffer(beside, cap_style="square"))
    return PatchRoom(room, opening)


@dataclass(frozen=True, slots=True, eq=False)
class Patched:
    """Panels with their openings, the plates, and the seams between them."""

    panels: tuple[FlatPart, ...]  # every part that came in, some of them opened
    plates: tuple[FlatPart, ...]
    joints: tuple[Joint, ...]
    patches: Patches


def place_patches(
    plates: Sequence[PatchPlate],
    parts: Sequence[FlatPart],
    cavity: Cavity,
    division: Division | None,
    internals: Internals | None,
    material: str,
) -> Patched:
    """Every plate asked for that has room: its opening in the panel, itself, and its seam.

    ``parts`` are still flat, one for each face. What has no room is not drawn; its
    trouble says why.
    """
    found = list(parts)
    made: list[FlatPart] = []
    joints: list[Joint] = []
    placed: list[PlacedPatch] = []
    trouble: list[InternalTrouble] = []
    by_name = {face.name: face.index for face in cavity.faces}
    for plate in plates:
        at = (float(plate.at[0]), float(plate.at[1]), float(plate.at[2]))
        index = next(
            (
                k
                for k, part in enumerate(found)
                if part.face is not None and part.face == by_name.get(plate.panel)
            ),
            None,
        )
        if index is None:
            names = ", ".join(part.name for part in found if part.face is not None)
            why = InternalTrouble(
                plate.name, f"the pan has no panel called {plate.panel}", f"name one of: {names}", at
            )
            trouble.append(why)
            continue
        panel = found[index]
        rounds = round_things(internals, (panel.name,))
        result = _one_patch(plate, panel, division, rounds, material)
        if isinstance(result, InternalTrouble):
            trouble.append(result)
            continue
        patch, opened, sheet, joint = result
        found[index] = opened
        placed.append(patch)
        made.append(sheet)
        joints.append(joint)
    return Patched(tuple(found), tuple(made), tuple(joints), Patches(tuple(placed), tuple(trouble)))


def _one_patch(
    plate: PatchPlate,
    panel: FlatPart,
    division: Division | None,
    rounds: Sequence[tuple[FloatArray, Metre]],
    material: str,
) -> tuple[PlacedPatch, FlatPart, FlatPart, Joint] | InternalTrouble:
    """The patch, its panel opened, its plate and its seam; or why it cannot be."""
    assert panel.face is not None
    at = (float(plate.at[0]), float(plate.at[1]), float(plate.at[2]))
    thickness = panel.thickness
    normal = np.asarray(panel.frame.normal)
    away = abs(float((np.asarray(plate.at) - panel.frame.origin) @ normal) + thickness)
    if away > ON_PANEL:
        return InternalTrouble(
            plate.name, f"its middle does not lie on {panel.name}", "give a point on that panel", at
        )
    x, y = (float(value) for value in np.asarray(panel.frame.to_flat(np.asarray(plate.at)[None]))[0])
    opening = rounded_rectangle(x, y, plate.width, plate.height, plate.corner)
    over = overlap_of(thickness) if plate.fit == "lapped" else 0.0
    outline = rounded_rectangle(
        x, y, plate.width + 2.0 * over, plate.height + 2.0 * over, plate.corner + over
    )
    room = patch_room(metal_of(panel), panel.frame, panel.face, thickness, division, rounds)
    if not room.plate.covers(shapely.Polygon(chords(outline))):
        return InternalTrouble(
            plate.name,
            f"on {panel.name} the plate or its weld comes too near to a seam, a bend, a boss or a hole",
            "move it towards the middle of the panel, or make it smaller",
            at,
        )
    if not room.opening.covers(shapely.Polygon(chords(opening))):
        return InternalTrouble(
            plate.name,
            f"its opening in {panel.name} cuts away what an inner wall stands on",
            "move the opening beside the wall, or make it smaller",
            at,
        )
    opened = replace(panel, cut_outs=(*panel.cut_outs, reversed_outline(opening)))
    low = np.asarray(outline.points).min(axis=0)
    raised = thickness if plate.fit == "lapped" else 0.0
    origin = np.asarray(panel.frame.to_space(low[None]))[0] + raised * normal
    how = (
        f"outside on {panel.name}, over its opening; goes on after the seam behind it is welded"
        if plate.fit == "lapped"
        else f"flush in the opening of {panel.name}; goes in after the seam behind it is welded"
    )
    sheet = FlatPart(
        name=plate.name,
        face=None,
        outline=Outline(frozen_array(np.asarray(outline.points) - low), outline.bulges),
        cut_outs=(),
        holes=(),
        marks=(),
        frame=FlatFrame(frozen_array(origin), panel.frame.x_axis, panel.frame.y_axis),
        thickness=thickness,
        material=material,
        note=how,
    )
    # The bead starts in the middle of the lower side, not at a corner.
    ring = chords(outline, 1e-6)
    edge = _evenly(np.concatenate([0.5 * (ring[:1] + ring[-1:]), ring]))
    path = np.asarray(panel.frame.to_space(edge))
    length = outline_length(outline)
    patch = PlacedPatch(plate, panel.face, panel.name, plate.name, over, opening, frozen_array(path), length)
    # The seam's straight stretch for match marks: the longer of its lower and right-hand side, run so
    # that the panel outside the plate lies to its left.
    points = np.asarray(outline.points)
    sides = [(points[k], points[(k + 1) % len(points)]) for k in range(len(points)) if not outline.bulges[k]]
    one, other = max(sides, key=lambda side: float(np.hypot(*(side[1] - side[0]))))
    ends = np.asarray(panel.frame.to_space(np.stack([other, one])))
    joint = Joint(
        None,
        panel.name,
        plate.name,
        "patch plate",
        math.pi,
        length,
        0.5 * math.pi if plate.fit == "lapped" else math.pi,
        fillet_fill(0.5 * math.pi, thickness) if plate.fit == "lapped" else 0.0,
        (float(ends[0][0]), float(ends[0][1]), float(ends[0][2])),
        (float(ends[1][0]), float(ends[1][1]), float(ends[1][2])),
    )
    return patch, opened, sheet, joint


def _evenly(ring: FloatArray) -> FloatArray:
    """A closed line (n, 2) of evenly spaced points along a ring, the first one again at its end."""
    closed = np.concatenate([ring, ring[:1]])
    steps = np.linalg.norm(np.diff(closed, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    count = max(24, math.ceil(along[-1] / EDGE_STEP))
    at = np.linspace(0.0, along[-1], count + 1)
    return np.stack([np.interp(at, along, closed[:, k]) for k in (0, 1)], axis=1)
