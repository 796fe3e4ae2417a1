"""Where an opening in a panel would let the torch to a seam that it does not reach.

Along the lines in which the torch may be held at the seam, every panel that they meet is
tried: the largest opening that has room there, then smaller ones as long as the torch
still gets through. The torch is tried with everything standing but the plate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity
from sumpwright.geometry import FlatFrame
from sumpwright.kit import SheetKit
from sumpwright.kit.metal import chords
from sumpwright.kit.panels import face_frame
from sumpwright.kit.patch_model import PatchPlate
from sumpwright.kit.patches import overlap_of, patch_room, round_things, rounded_rectangle
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array
from sumpwright.weld.access import SeamAccess, find_access
from sumpwright.weld.model import Seam, WeldInputs
from sumpwright.weld.obstacles import Obstacles, as_arrays

SIDES: tuple[Metre, ...] = (0.050, 0.070, 0.090, 0.120, 0.150, 0.180, 0.220, 0.260)
"""Sides of openings that are tried; below the least no cup with its hand gets through."""

LEANS: tuple[Radian, ...] = (0.0, 0.35, -0.35)
"""Out of the middle of the seam's corner, towards which panels are looked for."""

PLACE_STEP: Metre = 0.010

CORNER: Metre = 0.015

FAR: Metre = 0.350
"""A panel farther than this from the seam is out of the reach of torch and rod."""


@dataclass(frozen=True, slots=True, eq=False)
class OpenPanel:
    """One face of the pan as it can be opened."""

    face: int
    name: str  # of the face
    part: str
    frame: FlatFrame  # axes of the face, origin on the oil side
    room_of_plate: BaseGeometry  # m, in the frame
    room_of_opening: BaseGeometry
    thickness: Metre


def open_panels(kit: SheetKit) -> tuple[OpenPanel, ...]:
    """Every panel with the room that it has for a patch plate."""
    cavity = kit.body.cavity
    if cavity is None:
        return ()
    found = []
    for part in kit.parts:
        if part.face is None:
            continue
        for sheet in folded(part, with_facets=False):
            face = part.face if sheet.face is None else sheet.face
            if sheet.outline.is_empty:
                continue
            frame = face_frame(cavity, cavity.faces[face])
            shape = _turned(sheet.outline, sheet.frame, frame)
            for hole in part.holes:
                place = np.asarray(part.frame.to_space(np.array([[hole.x, hole.y]])))
                if not part.folds:
                    middle = np.asarray(frame.to_flat(place))[0]
                    shape = shape.difference(shapely.Point(*middle).buffer(0.5 * hole.diameter))
            rounds = round_things(kit.internals, (part.name, cavity.faces[face].name))
            room = patch_room(shape, frame, face, part.thickness, kit.body.division, rounds)
            found.append(
                OpenPanel(
                    face, cavity.faces[face].name, part.name, frame, room.plate, room.opening, part.thickness
                )
            )
    return tuple(found)


def _turned(shape: BaseGeometry, frame: FlatFrame, into: FlatFrame) -> BaseGeometry:
    return shapely.transform(shape, lambda flat: np.asarray(into.to_flat(np.asarray(frame.to_space(flat)))))


def openings_for(
    seam: Seam, inputs: WeldInputs, obstacles: Obstacles, panels: Sequence[OpenPanel], name: str
) -> Iterator[PatchPlate]:
    """Openings through which the torch gets to the seam beside everything that stands, least seam first."""
    found: list[tuple[float, PatchPlate]] = []
    for panel, aim, along in _met(seam, panels):
        for plate in _shrinking(seam, inputs, obstacles, panel, aim, along, name):
            found.append((plate.width + plate.height, plate))
    yield from (plate for _, plate in sorted(found, key=lambda item: item[0]))


def _met(seam: Seam, panels: Sequence[OpenPanel]) -> Iterable[tuple[OpenPanel, FloatArray, FloatArray]]:
    """Panels that lie where the torch would come from, the place, and the seam's direction on them."""
    done: set[int] = set()
    for way in seam.ways:
        k = len(way.path) // 2
        root = 0.5 * (way.path[0] + way.path[-1]) if len(way.path) == 2 else way.path[k]
        ahead = way.path[-1] - way.path[0] if len(way.path) == 2 else way.path[k] - way.path[k - 1]
        ahead = ahead / np.linalg.norm(ahead)
        middle = way.middle[0] if len(way.path) == 2 else way.middle[k]
        across = np.cross(middle, ahead)
        for lean in LEANS:
            look = math.cos(lean) * middle + math.sin(lean) * across
            hits = []
            for panel in panels:
                normal = np.asarray(panel.frame.normal)
                rate = float(look @ normal)
                if panel.part in (seam.part_a, seam.part_b) or rate < 0.2:
                    continue
                distance = float((np.asarray(panel.frame.origin) - root) @ normal) / rate
                if not 1e-3 < distance < FAR:
                    continue
                flat = np.asarray(panel.frame.to_flat((root + distance * look)[None]))[0]
                if panel.room_of_opening.distance(shapely.Point(*flat)) < 0.05:
                    hits.append((distance, panel, flat))
            for _, panel, flat in sorted(hits, key=lambda item: item[0])[:1]:
                if panel.face not in done:
                    done.add(panel.face)
                    direction = np.array([ahead @ panel.frame.x_axis, ahead @ panel.frame.y_axis])
                    yield panel, flat, direction


def _shrinking(
    seam: Seam,
    inputs: WeldInputs,
    obstacles: Obstacles,
    panel: OpenPanel,
    aim: FloatArray,
    along: FloatArray,
    name: str,
) -> list[PatchPlate]:
    """The least opening of this panel that lets the torch to the seam; none where the largest does not."""
    sizes = sorted(((w, h) for w in SIDES for h in SIDES), key=lambda size: (-(size[0] + size[1]), size))
    best: PatchPlate | None = None
    tried = 0
    for width, height in sizes:
        if best is not None and width + height > 0.85 * (best.width + best.height):
            continue
        plate = _placed(panel, aim, width, height, name)
        if plate is None:
            continue
        tried += 1
        if is_reached_through(seam, inputs, obstacles, panel, plate):
            best = plate
        elif best is None and tried >= MOST_LARGE:
            return []
        elif best is not None and tried >= MOST_TRIES:
            break
    return [] if best is None else [best]


MOST_LARGE = 3
"""Openings of the largest sizes that are tried in a panel before it is given up."""

MOST_TRIES = 12


def _placed(panel: OpenPanel, aim: FloatArray, width: Metre, height: Metre, name: str) -> PatchPlate | None:
    """The opening of this size that has room nearest to where the torch comes from."""
    over = overlap_of(panel.thickness)
    corner = min(CORNER, 0.5 * width, 0.5 * height)
    low_x, low_y, high_x, high_y = panel.room_of_plate.bounds
    if (
        panel.room_of_plate.is_empty
        or width + 2 * over > high_x - low_x
        or height + 2 * over > high_y - low_y
    ):
        return None
    reach = 0.5 * max(width, height) + 0.03
    steps = np.arange(-reach, reach + 1e-9, PLACE_STEP)
    places = sorted(
        ((float(aim[0] + dx), float(aim[1] + dy)) for dx in steps for dy in steps),
        key=lambda p: (round(math.hypot(p[0] - aim[0], p[1] - aim[1]), 6), p),
    )
    shapely.prepare(panel.room_of_plate)
    shapely.prepare(panel.room_of_opening)
    for x, y in places:
        half_w, half_h = 0.5 * width + over, 0.5 * height + over
        if x - half_w < low_x or x + half_w > high_x or y - half_h < low_y or y + half_h > high_y:
            continue
        opening = shapely.Polygon(chords(rounded_rectangle(x, y, width, height, corner)))
        if not panel.room_of_opening.covers(opening):
            continue
        lap = rounded_rectangle(x, y, width + 2 * over, height + 2 * over, corner + over)
        if panel.room_of_plate.covers(shapely.Polygon(chords(lap))):
            at = np.asarray(panel.frame.to_space(np.array([[x, y]])))[0]
            return PatchPlate(name, panel.name, frozen_array(_on_tenths(at)), width, height, corner)
    return None


def _on_tenths(at: FloatArray) -> FloatArray:
    """To the tenth of a millimetre: what stands in the job file is what was tried."""
    return np.round(at, 4)


def is_reached_through(
    seam: Seam, inputs: WeldInputs, obstacles: Obstacles, panel: OpenPanel, plate: PatchPlate
) -> bool:
    """Whether the torch gets to the whole seam with the opening cut and everything else standing."""
    opened = with_opening(obstacles, panel, plate)
    access = find_access((seam,), inputs.torch, inputs.rules, opened)[0]
    return access.is_reached(opened.mask(opened.names))


def with_opening(obstacles: Obstacles, panel: OpenPanel, plate: PatchPlate) -> Obstacles:
    """The same obstacles, the panel with its opening and no plate on it."""
    x, y = (float(value) for value in np.asarray(panel.frame.to_flat(np.asarray(plate.at)[None]))[0])
    opening = shapely.Polygon(chords(rounded_rectangle(x, y, plate.width, plate.height, plate.corner)))
    normal = np.asarray(panel.frame.normal)
    prisms = []
    for prism in obstacles.prisms:
        on_plane = abs(float((np.asarray(prism.frame.origin) - panel.frame.origin) @ normal)) < 1e-6
        if prism.name == panel.part and on_plane and float(np.asarray(prism.frame.normal) @ normal) > 0.9999:
            own = _turned(opening, panel.frame, prism.frame)
            prism = replace(prism, shape=prism.shape.difference(own))
        prisms.append(prism)
    return as_arrays(prisms)


def names_of(accesses: Iterable[SeamAccess]) -> dict[int, Seam]:
    """The seams by their number."""
    return {access.seam.number: access.seam for access in accesses}


def is_pan_face(cavity: Cavity, name: str) -> bool:
    """Whether a part of this name is a face of the pan."""
    return any(face.name == name for face in cavity.faces)
