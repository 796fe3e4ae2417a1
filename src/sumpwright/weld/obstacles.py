"""What a torch can run into: every part as one or more straight prisms, and the strongback.

Each part has one bit. What a torch hits at one place is then one whole number, and whether
it is free beside the parts that stand so far is one 'and'.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body.outside import GUARD
from sumpwright.geometry import FlatFrame
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.internals_model import RUBBER, PlacedBoss, PlacedPost
from sumpwright.kit.model import is_flange
from sumpwright.kit.solids import Sheet, rings
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import FloatArray, IntArray, Metre, frozen_array, frozen_indices
from sumpwright.weld.face_panels import face_panels
from sumpwright.weld.model import Strongback

STRONGBACK = "strongback"

BOSS_OUT: Metre = 0.015
BOSS_IN: Metre = 0.004
"""How far a boss stands out of the sheet, outside where the job does not say, and inside: common practice."""


@dataclass(frozen=True, slots=True, eq=False)
class Prism:
    """Metal over a plane shape, from height 0 to ``thickness`` along the frame's normal."""

    name: str  # of the part
    frame: FlatFrame
    thickness: Metre
    shape: BaseGeometry  # m, in the frame


@dataclass(frozen=True, slots=True, eq=False)
class Obstacles:
    """All prisms as arrays; ``names[k]`` has bit k."""

    names: tuple[str, ...]
    prisms: tuple[Prism, ...]
    bits: IntArray  # (p,) bit of each prism's part
    frames: FloatArray  # (p, 12) origin, x axis, y axis, normal
    heights: FloatArray  # (p,) m
    boxes: FloatArray  # (p, 4) m, least and greatest x and y in the frame
    sides: FloatArray  # (s, 4) m, straight sides of all outlines
    first: IntArray  # (p + 1,) where each prism's sides begin

    def mask(self, names: object) -> int:
        """The number in which the parts of these names have their bits set."""
        wanted = set(names)  # type: ignore[call-overload]
        return sum(1 << k for k, name in enumerate(self.names) if name in wanted)

    def named(self, mask: int) -> tuple[str, ...]:
        """The parts whose bits are set."""
        return tuple(name for k, name in enumerate(self.names) if mask >> k & 1)


def part_prisms(part: FlatPart) -> list[Prism]:
    """A part at its place; of a bent one the flat faces, not the bends between them."""
    return [
        _of_sheet(part.name, sheet) for sheet in folded(part, with_facets=False) if not sheet.outline.is_empty
    ]


def _of_sheet(name: str, sheet: Sheet) -> Prism:
    return Prism(name, sheet.frame, sheet.thickness, sheet.outline)


def boss_prism(boss: PlacedBoss, panel: FlatPart) -> Prism:
    """A boss as a round bar through its sheet."""
    out = np.asarray(panel.frame.normal)
    origin = np.asarray(boss.place) - BOSS_IN * out
    frame = FlatFrame(frozen_array(origin), panel.frame.x_axis, panel.frame.y_axis)
    disc = shapely.Point(0.0, 0.0).buffer(0.5 * boss.fitting.boss_diameter, quad_segs=8)
    out_by = boss.fitting.stands_out if boss.fitting.stands_out > 0.0 else BOSS_OUT
    return Prism(boss.fitting.name, frame, panel.thickness + BOSS_IN + out_by, disc)


def post_prism(placed: PlacedPost, panel: FlatPart) -> Prism:
    """A post as a round bar on its sheet."""
    out = np.asarray(panel.frame.normal)
    foot = np.asarray(placed.place)
    origin = foot if placed.post.side == "outside" else foot - placed.post.long * out
    frame = FlatFrame(frozen_array(origin), panel.frame.x_axis, panel.frame.y_axis)
    disc = shapely.Point(0.0, 0.0).buffer(0.5 * placed.post.diameter, quad_segs=8)
    return Prism(placed.post.name, frame, placed.post.long, disc)


def strongback_prism(kit: SheetKit, strongback: Strongback) -> Prism | None:
    """The plate on the rail face: round the flange, or a frame where it is open."""
    flanges = [part for part in kit.parts if is_flange(part)]
    if not flanges:
        return None
    up = np.array([0.0, 0.0, 1.0])
    frame = FlatFrame(frozen_array(np.zeros(3)), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, 1.0, 0.0]))
    shapes = []
    for part in flanges:
        for sheet in folded(part, with_facets=False):
            for ring in rings(sheet.outline):
                space = np.asarray(sheet.frame.to_space(ring))
                shapes.append(Polygon(space[:, :2]))
    whole = shapely.union_all([shape.buffer(0.0) for shape in shapes])
    outside = shapely.union_all([Polygon(piece.exterior) for piece in _polygons(whole)])
    plate: BaseGeometry = shapely.box(*outside.buffer(strongback.beyond).bounds)
    if strongback.is_open and kit.body.cavity is not None:
        rail = next(face for face in kit.body.cavity.faces if face.role == "rail")
        opening = Polygon(np.asarray(kit.body.cavity.vertices[rail.loops[0]])[:, :2])
        plate = plate.difference(opening.buffer(0.0).buffer(-strongback.rim))
    assert math.isclose(float(up @ frame.normal), 1.0)
    return Prism(STRONGBACK, frame, strongback.thickness, plate)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    return [piece for piece in shapely.get_parts(shape) if isinstance(piece, Polygon)]


def obstacles_of(kit: SheetKit, strongback: Strongback) -> Obstacles:
    """Everything of the kit that has a place, bosses, and the strongback; rubber comes after welding."""
    later = (GUARD, *(() if kit.internals is None else kit.internals.loose))
    parts = {part.name: part for part in kit.parts if part.name not in later and part.material != RUBBER}
    prisms = [prism for part in parts.values() for prism in part_prisms(part)]
    panels = face_panels(kit)
    for boss in () if kit.internals is None else kit.internals.bosses:
        if boss.face in panels:
            prisms.append(boss_prism(boss, panels[boss.face]))
    for post in () if kit.internals is None else kit.internals.posts:
        if post.face in panels:
            prisms.append(post_prism(post, panels[post.face]))
    plate = strongback_prism(kit, strongback)
    return as_arrays([*prisms, plate] if plate is not None else prisms)


def as_arrays(prisms: list[Prism]) -> Obstacles:
    """The prisms made ready for the compiled loops."""
    names = tuple(dict.fromkeys(prism.name for prism in prisms))
    frames, boxes, sides, first = [], [], [], [0]
    for prism in prisms:
        frame = prism.frame
        frames.append(np.concatenate([frame.origin, frame.x_axis, frame.y_axis, frame.normal]))
        loops = rings(prism.shape)
        found = [np.concatenate([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in loops]
        sides += found
        first.append(first[-1] + sum(len(ring) for ring in loops))
        boxes.append(prism.shape.bounds)
    low_high = np.array(boxes).reshape(-1, 4)
    return Obstacles(
        names=names,
        prisms=tuple(prisms),
        bits=frozen_indices([names.index(prism.name) for prism in prisms]),
        frames=frozen_array(np.array(frames).reshape(-1, 12)),
        heights=frozen_array([prism.thickness for prism in prisms]),
        boxes=frozen_array(low_high[:, [0, 2, 1, 3]] if len(low_high) else low_high),
        sides=frozen_array(np.concatenate(sides) if sides else np.zeros((0, 4))),
        first=frozen_indices(first),
    )
