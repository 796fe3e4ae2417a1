"""A flange that follows the ring of lands: plates at their heights, risers, saddles, walls cut to suit.

The shell is first closed under one flat flange. Then the flange is cut where a step or an
arch begins, each lower land gets a plate of its own, and walls lose what would stand in
those plates. Nothing near the shell's corners below the flange changes.

      datum land            s = 0, the block's upright face
    ================|==|          the riser stands on the lower plate and takes the seal
         wall       |  |film| block
                    |==|====|=============  lower plate
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.body import Cavity, PanBody
from sumpwright.body.rail_shape_model import ArchSeat, LandTrouble, StepFace, StepLand, UnevenRail
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.arc_outlines import Round, rounds_of, with_arcs
from sumpwright.kit.land_joints import StepCrossing, step_joints, under_lands
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Joint, LandSpot
from sumpwright.kit.saddle import half_cut, saddle_joints, saddle_part, sealed_by_block, wall_for_saddle
from sumpwright.kit.solids import Sheet, common, less, polygons_of, rings
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

FAR: Metre = 10.0
"""Longer than any pan."""

RISER_FROM = 0.6
"""A step of this share of the flange's thickness and more gets a riser; below it the plates butt."""

ASKEW: Metre = 1e-4
"""How far a riser may run out of the ring's edge along its own thickness."""


@dataclass(frozen=True, slots=True, eq=False)
class LaidOnLands:
    """The parts that follow the lands, and what of the block closes them."""

    flats: tuple[FlatPart, ...]
    joints: tuple[Joint, ...]
    block: tuple[Sheet, ...]  # where block and seals stand below the window's top
    top: Metre  # z up to which the pan's metal stands
    spots: tuple[LandSpot, ...]
    trouble: tuple[LandTrouble, ...]


def on_lands(
    body: PanBody,
    cavity: Cavity,
    uneven: UnevenRail,
    flats: Sequence[FlatPart],
    flange: FlatPart,
    joints: Sequence[Joint],
) -> LaidOnLands:
    """The shell's flats and joints, made to follow the lands."""
    ring: BaseGeometry = Polygon(chords(flange.outline), [chords(cut) for cut in flange.cut_outs])
    walls = {flat.face: flat for flat in flats if flat.face is not None}
    sheet = body.inputs.sheet
    trouble: list[LandTrouble] = []
    saddles: list[FlatPart] = []
    block: list[Sheet] = []
    spots: list[LandSpot] = []
    arches: list[ArchSeat] = []
    top = 0.0
    for arch in uneven.arches:
        cut = wall_for_saddle(walls[arch.wall], arch, sheet, flange.thickness)
        if isinstance(cut, str):
            trouble.append(LandTrouble(arch.name, cut, "make the pan deeper there, or read the arch again"))
            continue
        side = half_cut(arch, sheet)
        ends = sorted((arch.wall_x - 0.002 * arch.forward, arch.wall_x + FAR * arch.forward))
        ring = less(ring, shapely.box(ends[0], -arch.centre[0] - side, ends[1], -arch.centre[0] + side))
        walls[arch.wall] = cut
        saddles.append(saddle_part(arch, sheet, cut.material))
        block.append(sealed_by_block(arch, FAR))
        arches.append(arch)
        top = max(top, arch.crown)
        middle = 0.5 * (arch.inner_x + arch.outer_x)
        spots += [LandSpot(arch.name, (middle, arch.centre[0] + sign * side, 0.0)) for sign in (1.0, -1.0)]
    plates: list[FlatPart] = []
    crossings: list[StepCrossing] = []
    risers: list[FlatPart] = []
    rounds = rounds_of((flange.outline, *flange.cut_outs))
    for step in uneven.steps:
        has_riser = -step.top >= RISER_FROM * flange.thickness
        begins = -step.film - (flange.thickness if has_riser else 0.0)
        found = _crossings(ring, step, begins)
        lowered = _lower(walls.values(), cavity, step, begins, flange.thickness)
        why = found if isinstance(found, str) else lowered if isinstance(lowered, str) else ""
        if isinstance(found, str) or isinstance(lowered, str):
            cure = "let its upright faces cross straight sides of the opening squarely, or deepen the pan"
            trouble.append(LandTrouble(step.name, why, cure))
            continue
        walls.update({wall.face: wall for wall in lowered if wall.face is not None})
        land = _flat_region(step, begins)
        name = f"flange {step.name}"
        pieces = polygons_of(common(ring, land))
        ring = less(ring, land)
        frame = FlatFrame(
            frozen_array(flange.frame.origin + np.array([0.0, 0.0, step.top])),
            flange.frame.x_axis,
            flange.frame.y_axis,
        )
        plates += _plates(replace(flange, frame=frame, name=name), pieces, rounds)
        for number, (face, inner, outer) in enumerate(found, start=1):
            riser = f"flange riser {step.name} {number}" if has_riser else ""
            if has_riser:
                risers.append(_riser(riser, step.top, face, inner, outer, flange))
            crossings.append(StepCrossing(step.top, face, name, riser, inner, outer))
            at = 0.5 * (inner + outer)
            spots.append(LandSpot(step.name, (float(at[0]), float(at[1]), 0.0)))
        block.append(_block_below(step))
    if top > 0.0:
        block.append(_block_above(arches, top))
    main = _plates(flange, polygons_of(ring), rounds)
    parts = (*walls.values(), *main, *plates, *risers, *saddles)
    moved = under_lands(joints, flange, (*main, *plates), crossings, sheet)
    moved += step_joints(crossings, flange, main)
    for arch in arches:
        side = half_cut(arch, sheet)
        edges = tuple(
            _plate_at(
                main, np.array([0.5 * (arch.wall_x + arch.outer_x), arch.centre[0] + sign * (side + 1e-4)])
            )
            for sign in (-1.0, 1.0)
        )
        moved += saddle_joints(arch, sheet, walls[arch.wall].name, (edges[0], edges[1]))
    return LaidOnLands(parts, tuple(moved), tuple(block), top, tuple(spots), tuple(trouble))


def _plate_at(plates: Sequence[FlatPart], place: FloatArray) -> str:
    """The plate nearest to a place (x, y)."""
    at = Point(place[0], -place[1])
    return min(plates, key=lambda plate: float(Polygon(chords(plate.outline)).distance(at))).name


def _plates(like: FlatPart, pieces: Sequence[Polygon], rounds: Sequence[Round]) -> list[FlatPart]:
    """Plates of the given shapes with the holes that lie in them; several get numbers."""
    found = []
    for number, piece in enumerate(pieces, start=1):
        outer, *inner = rings(piece)
        name = like.name if len(pieces) == 1 else f"{like.name} {number}"
        holes = tuple(hole for hole in like.holes if piece.contains(Point(hole.x, hole.y)))
        found.append(
            replace(
                like,
                name=name,
                outline=with_arcs(outer, rounds),
                cut_outs=tuple(with_arcs(ring, rounds) for ring in inner),
                holes=holes,
            )
        )
    return found


def _flat_region(step: StepLand, begins: Metre) -> BaseGeometry:
    """The land in the flange's flat, its faces moved."""
    region: BaseGeometry = shapely.box(-FAR, -FAR, FAR, FAR)
    for point, into, level in step.bounds(begins):
        turned = np.array([into[0], -into[1]])
        region = common(region, _half_plane(turned, float(point @ into) + level))
    return region


def _half_plane(normal: FloatArray, level: Metre) -> Polygon:
    """Where normal . p >= level in a flat, as a big square; the normal has length one."""
    along = np.array([-normal[1], normal[0]])
    foot = level * normal
    size = 3.0 * FAR
    return Polygon(
        [
            foot - size * along,
            foot + size * (normal - along),
            foot + size * (normal + along),
            foot + size * along,
        ]
    )


def _crossings(
    ring: BaseGeometry, step: StepLand, begins: Metre
) -> list[tuple[StepFace, FloatArray, FloatArray]] | str:
    """Each face with the inner and outer end (x, y) of its riser's back, once for each side it crosses."""
    found = []
    for face, near in _sides(step):
        into = np.array([face.into[0], -face.into[1]])
        along = np.array([-into[1], into[0]])
        near_flat = np.array([near[0], -near[1]])
        rows = []
        for level in dict.fromkeys((begins, -step.film)):
            foot = np.array([face.point[0], -face.point[1]]) + level * into
            line = LineString([foot - FAR * along, foot + FAR * along])
            runs = [
                sorted(float((np.array(end) - foot) @ along) for end in piece.coords)
                for piece in shapely.get_parts(line.intersection(ring))
                if isinstance(piece, LineString) and piece.length > 1e-6
            ]
            at = float((near_flat - foot) @ along)
            if len(runs) != 2:
                return "does not cross the flange on two sides of the opening"
            runs.sort()
            # The inner end is the one towards the other side of the opening.
            low, high = runs
            is_low = abs(at - sum(low) / 2) < abs(at - sum(high) / 2)
            rows.append((foot, (low[1], low[0]) if is_low else (high[0], high[1])))
        if len(rows) == 2 and abs(rows[0][1][0] - rows[1][1][0]) > ASKEW:
            return "crosses the opening's edge askew"
        foot, (inner, outer) = rows[0]
        if len(rows) == 2:
            # Rather a hair short at either end than in the oil or past the edge.
            outwards = math.copysign(1.0, outer - inner)
            inner = outwards * max(outwards * row[1][0] for row in rows)
            outer = outwards * min(outwards * row[1][1] for row in rows)
        one, other = (foot + value * along for value in (inner, outer))
        found.append((face, np.array([one[0], -one[1]]), np.array([other[0], -other[1]])))
    return found


def _sides(step: StepLand) -> list[tuple[StepFace, FloatArray]]:
    """Each crossing's face with a place near it."""
    faces = step.faces if len(step.faces) == 2 else step.faces * 2
    return list(zip(faces, step.between, strict=True))


def _riser(
    name: str, top: Metre, face: StepFace, inner: FloatArray, outer: FloatArray, flange: FlatPart
) -> FlatPart:
    """The upright plate that takes the seal of the block's upright face; drawn side away from it."""
    normal = np.array([-face.into[0], -face.into[1], 0.0])
    up = np.array([0.0, 0.0, 1.0])
    across = np.cross(up, normal)
    ends = np.array([[inner[0], inner[1], top], [outer[0], outer[1], top]])
    runs = ends @ across
    corner = ends[int(np.argmin(runs))]
    length = float(np.ptp(runs))
    height = -top
    return replace(
        flange,
        name=name,
        outline=Outline(
            frozen_array([(0.0, 0.0), (length, 0.0), (length, height), (0.0, height)]),
            frozen_array(np.zeros(4)),
        ),
        cut_outs=(),
        holes=(),
        frame=FlatFrame(frozen_array(corner), frozen_array(across), frozen_array(up)),
        note="stands on the lower plate; the side not marked takes the seal",
    )


def _lower(
    walls: Iterable[FlatPart], cavity: Cavity, step: StepLand, begins: Metre, flange: Metre
) -> list[FlatPart] | str:
    """The walls with their tops cut to the lower plate's underside, or why that cannot be."""
    found = []
    for wall in tuple(walls):
        assert wall.face is not None
        frame = wall.frame
        normal = np.asarray(frame.normal)
        deep = wall.thickness
        over = _flat_half_plane(
            frame, np.array([0.0, 0.0, 1.0]), step.top - flange + min(0.0, deep * float(normal[2]))
        )
        if over is None:
            continue
        region: BaseGeometry = over
        for k, (point, into, level) in enumerate(step.bounds(begins)):
            whole = np.array([into[0], into[1], 0.0])
            # Either skin counts: metal lies from the drawn side along -normal.
            skin = min(0.0, deep * float(normal @ whole)) if k < len(step.faces) else 0.0
            beyond = _flat_half_plane(frame, whole, float(point @ into) + level + skin)
            region = common(region, beyond) if beyond is not None else Polygon()
        shape = Polygon(chords(wall.outline), [chords(cut) for cut in wall.cut_outs])
        gone = common(shape, region)
        if gone.area < 1e-10:
            continue
        if cavity.faces[wall.face].role != "wall":
            return f"lies so low that its plate stands in the {wall.name}"
        left = polygons_of(less(shape, gone))
        if not left or sum(piece.area for piece in left[1:]) > 1e-8:
            return f"leaves nothing whole of the {wall.name}"
        outer, *inner = rings(left[0])
        rounds = rounds_of((wall.outline, *wall.cut_outs))
        found.append(
            replace(
                wall,
                outline=with_arcs(outer, rounds),
                cut_outs=tuple(with_arcs(ring, rounds) for ring in inner),
            )
        )
    return found


def _flat_half_plane(frame: FlatFrame, normal: FloatArray, level: Metre) -> Polygon | None:
    """Where normal . p >= level on a flat, as a big square; None where it is nowhere."""
    slope = np.array([normal @ frame.x_axis, normal @ frame.y_axis])
    offset = level - float(normal @ frame.origin)
    size = float(np.hypot(*slope))
    if size < 1e-9:
        return None if offset > 0.0 else shapely.box(-FAR, -FAR, FAR, FAR)
    return _half_plane(slope / size, offset / size)


def _block_below(step: StepLand) -> Sheet:
    """Block and seal beyond the step, between the land and the datum plane."""
    frame = FlatFrame(
        frozen_array([0.0, 0.0, step.top]), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, 1.0, 0.0])
    )
    shape: BaseGeometry = shapely.box(-1.0, -1.0, 1.0, 1.0)
    for point, into, level in step.bounds(-step.film):
        shape = common(shape, _half_plane(np.asarray(into), float(point @ into) + level))
    return Sheet("block", None, frame, -step.top, shape)


def _block_above(arches: Sequence[ArchSeat], top: Metre) -> Sheet:
    """The block over the flange's face, between the seats of arches that stand up into it."""
    ends = {arch.forward: arch.inner_x for arch in arches if not arch.hangs}
    frame = FlatFrame(frozen_array(np.zeros(3)), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, 1.0, 0.0]))
    shape = shapely.box(ends.get(-1.0, -FAR), -FAR, ends.get(1.0, FAR), FAR)
    return Sheet("block", None, frame, top, shape)
