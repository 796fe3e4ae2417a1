"""What is welded to what in a pan, with metals and thicknesses: of the shell and of everything inside it.

No seam is drawn here; that is for the plan. This is enough to choose fillers by.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from sumpwright.kit.internals_model import Internals, PlacedBoss
from sumpwright.kit.model import FlatPart, SheetKit, is_flange
from sumpwright.quantities.units import Metre
from sumpwright.weld.face_panels import face_panels

SHEET_SEAMS = "sheet to sheet"
FLANGE_SEAMS = ("sheet to flange", "flange joints")
_WHAT = (SHEET_SEAMS, *FLANGE_SEAMS)


@dataclass(frozen=True, slots=True)
class Welded:
    """Two pieces that are welded to each other."""

    metal_a: str  # id in tables/materials
    thickness_a: Metre
    metal_b: str
    thickness_b: Metre
    what: str
    length: Metre
    where: str  # in shop words
    place: tuple[float, float, float]


def welded_in(kit: SheetKit) -> Iterator[Welded]:
    """Every seam of a kit: its joints, then inner walls, bosses, rings and stops of doors."""
    parts = {part.name: part for part in kit.parts}
    flange = next((part for part in kit.parts if is_flange(part)), None)
    for joint in kit.joints:
        if joint.kind == "bend":
            continue
        # A joint of the whole flange finds a piece of it.
        one, two = (
            parts.get(name) or (flange if name.startswith("flange") else None)
            for name in (joint.part_a, joint.part_b)
        )
        if one is None or two is None:
            continue
        what = "patch plates" if joint.kind == "patch plate" else _WHAT[is_flange(one) + is_flange(two)]
        where = f"{joint.part_a} to {joint.part_b}"
        yield _pair(one, two, what, joint.length, where, joint.start)
    if kit.internals is not None:
        yield from _inner_walls(kit, kit.internals, parts)
        panels = face_panels(kit)
        for boss in kit.internals.bosses:
            yield from _boss(boss, panels)
        for post in kit.internals.posts:
            panel = panels.get(post.face)
            if panel is not None:
                x, y, z = (float(value) for value in post.place)
                girth = math.pi * post.post.diameter
                where = f"{post.post.name} on {panel.name}"
                yield _pair(panel, panel, "posts, of the sheet's metal", girth, where, (x, y, z))
        for plate in kit.internals.plates:
            panel, own = panels.get(plate.face), parts.get(plate.plate)
            if panel is not None and own is not None:
                x, y, z = (float(value) for value in plate.place)
                girth = math.pi * plate.plate_diameter
                yield _pair(own, panel, "load plate", girth, f"{own.name} on {panel.name}", (x, y, z))
        for door in kit.internals.doors:
            for name in (door.stops, f"{door.stops} 2"):
                stop, wall = parts.get(name), parts.get(door.wall)
                if stop is not None and wall is not None:
                    size = float(np.ptp(np.asarray(stop.outline.points)[:, 1]))
                    yield _pair(stop, wall, "stops of doors", size, f"{stop.name} on {wall.name}", _at(stop))


def _pair(
    one: FlatPart, two: FlatPart, what: str, length: Metre, where: str, place: tuple[float, float, float]
) -> Welded:
    return Welded(one.material, one.thickness, two.material, two.thickness, what, length, where, place)


def _at(part: FlatPart) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in part.frame.origin)
    return x, y, z


def _inner_walls(kit: SheetKit, internals: Internals, parts: Mapping[str, FlatPart]) -> Iterator[Welded]:
    if kit.body.division is None:
        return
    tacked = {fixing.wall for fixing in internals.fixings if fixing.way == "tacked"}
    carries = {part.face: part for part in kit.parts if part.face is not None}
    carries |= {face: part for part in kit.parts for face, _, _ in part.faces}
    for placed in kit.body.division.walls:
        wall = parts.get(placed.wall.name)
        if wall is None or wall.name not in tacked:
            continue
        for side in placed.sides:
            other = carries.get(side.face) if side.face is not None else parts.get(side.meets)
            length = math.dist(side.start, side.end)
            if other is not None and length > 0.0:
                middle = 0.5 * (np.asarray(side.start) + np.asarray(side.end))
                x, y, z = (float(v) for v in np.asarray(placed.wall.frame.to_space(middle[None]))[0])
                yield _pair(wall, other, "inner walls", length, f"{wall.name} to {other.name}", (x, y, z))


def _boss(boss: PlacedBoss, parts: Mapping[str, FlatPart]) -> Iterator[Welded]:
    """A boss is bought in its panel's metal; its own wall is not known and counts as the sheet's."""
    panel = parts.get(boss.face)
    if panel is None:
        return
    x, y, z = (float(value) for value in boss.place)
    girth = math.pi * boss.fitting.boss_diameter
    name = f"{boss.fitting.name} boss in {panel.name}"
    yield _pair(panel, panel, "bosses, of the sheet's metal", girth, name, (x, y, z))
    ring = parts.get(boss.ring)
    if ring is not None:
        edge = math.pi * float(np.ptp(np.asarray(ring.outline.points)[:, 0]))
        yield _pair(ring, panel, "rings", edge, f"{ring.name} on {panel.name}", (x, y, z))
