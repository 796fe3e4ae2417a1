"""From the kit's joints, inner walls and bosses to seams: where each bead lies and between what.

The section across a seam. The root R is where the bead starts to fill; the legs run
along the metal on both sides of it, and the torch comes from between them:

      leg_a
        ^   torch
        |  /
        | /
        |/
        R------> leg_b
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely

from sumpwright.body import Cavity
from sumpwright.body.wall_model import PanelSide, PlacedWall
from sumpwright.kit import FlatPart, Joint, SheetKit
from sumpwright.kit.formulas import fillet_fill
from sumpwright.kit.inner_walls import FIT
from sumpwright.kit.internals_model import Internals, PlacedBoss, PlacedPlate, PlacedPost
from sumpwright.kit.model import is_flange
from sumpwright.kit.solids import Sheet
from sumpwright.kit.unfolding import folded
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array
from sumpwright.weld.face_panels import face_panels
from sumpwright.weld.formulas import edge_gap, fill_volume, ring_fill_volume
from sumpwright.weld.model import Seam, SeamKind, Side, Way, WeldInputs

BOUGHT = "bought"
"""Metal of a boss: the shop buys it to match."""

ROUND_STATIONS = 32
"""Corners of the line round a boss."""


@dataclass(frozen=True, slots=True, eq=False)
class _Draft:
    """A seam before it is counted."""

    joint: int | None
    kind: SeamKind
    part_a: str
    part_b: str
    where: str
    ways: tuple[Way, ...]
    length: Metre
    fill_area: float
    volume: float
    groove_angle: Radian | None
    is_oil_tight: bool
    side: Side
    gap: Metre
    is_closed: bool = False
    on_bench: bool = False


def find_seams(inputs: WeldInputs, kit: SheetKit) -> tuple[Seam, ...]:
    """Every seam of the kit; edges that are bent have none.

    A closed corner (full lap) is welded outside and, so that it leaves no crevice on the
    oil side, inside as well: two seams. A wall under the flange, an open corner and an
    inward corner are welded from outside. Inner walls that are tacked are stitched from
    either side.
    """
    cavity = kit.body.cavity
    if cavity is None or not kit.parts:
        return ()
    parts = {part.name: part for part in kit.parts}
    drafts: list[_Draft] = []
    for index, joint in enumerate(kit.joints):
        if joint.kind == "bend":
            continue
        if joint.kind == "patch plate":
            drafts += _of_patch(index, joint, kit, parts, inputs)
            continue
        drafts += _of_joint(index, joint, parts, cavity, inputs)
    drafts += _of_inner_walls(kit, parts, cavity, inputs)
    if kit.internals is not None:
        panels = face_panels(kit)
        for boss in kit.internals.bosses:
            drafts += _of_boss(boss, panels)
        for post in kit.internals.posts:
            drafts += _of_post(post, panels)
        for plate in kit.internals.plates:
            drafts += _of_plate(plate, panels)
        drafts += _of_stops(kit.internals, parts)
    sheets = [(part.name, sheet) for part in kit.parts for sheet in folded(part, with_facets=False)]
    drafts = [_uncovered(draft, sheets) for draft in drafts]
    return tuple(_counted(number, draft, parts) for number, draft in enumerate(drafts, start=1))


CLIP_STEP: Metre = 0.0005
"""How finely the ends of a seam are looked at for metal of a third part."""


def _uncovered(draft: _Draft, sheets: list[tuple[str, Sheet]]) -> _Draft:
    """The seam without its ends that run into a third part: there is no groove in there.

    A corner of two walls reaches up to the rail face on the oil side, but its groove ends
    at the flange's underside.
    """
    if draft.is_closed or len(draft.ways) > 1:
        return draft
    way = draft.ways[0]
    start, end = way.path[0], way.path[-1]
    count = max(2, math.ceil(draft.length / CLIP_STEP))
    shares = (np.arange(count) + 0.5) / count
    points = start + shares[:, None] * (end - start) + CLIP_STEP * way.middle[0]
    buried = np.zeros(count, dtype=bool)
    for name, sheet in sheets:
        if name in (draft.part_a, draft.part_b) or sheet.outline.is_empty:
            continue
        height = (points - sheet.frame.origin) @ sheet.frame.normal
        near = np.flatnonzero((height > -1e-9) & (height < sheet.thickness + 1e-9) & ~buried)
        if len(near):
            flat = np.asarray(sheet.frame.to_flat(points[near]))
            buried[near] = shapely.covers(sheet.outline, shapely.points(flat))
    free = np.flatnonzero(~buried)
    if len(free) in (0, count):
        return draft
    low, high = free[0] / count, (free[-1] + 1) / count
    length = (high - low) * draft.length
    path = frozen_array(np.stack([start + low * (end - start), start + high * (end - start)]))
    return replace(
        draft,
        ways=(replace(way, path=path),),
        length=length,
        volume=draft.volume * length / draft.length,
    )


def _counted(number: int, draft: _Draft, parts: Mapping[str, FlatPart]) -> Seam:
    part_a, part_b = parts.get(draft.part_a), parts.get(draft.part_b)
    thickness = [part.thickness for part in (part_a, part_b) if part is not None]
    thick_a = part_a.thickness if part_a is not None else thickness[0]
    thick_b = part_b.thickness if part_b is not None else thickness[0]
    return Seam(
        number=number,
        joint=draft.joint,
        kind=draft.kind,
        part_a=draft.part_a,
        part_b=draft.part_b,
        where=draft.where,
        path=draft.ways[0].path,
        length=draft.length,
        is_closed=draft.is_closed,
        groove_angle=draft.groove_angle,
        fill_area=draft.fill_area,
        fill_volume=draft.volume,
        is_oil_tight=draft.is_oil_tight,
        side=draft.side,
        fit_up_gap=draft.gap,
        thickness_a=thick_a,
        thickness_b=thick_b,
        material_a=part_a.material if part_a is not None else BOUGHT,
        material_b=part_b.material if part_b is not None else BOUGHT,
        ways=draft.ways,
        place="bench" if draft.on_bench else "plate",
    )


# --- corners of the shell ---------------------------------------------------------------------


def _of_joint(
    index: int, joint: Joint, parts: Mapping[str, FlatPart], cavity: Cavity, inputs: WeldInputs
) -> list[_Draft]:
    gap = edge_gap(inputs.cut_tolerance)
    where = f"{joint.part_a} to {joint.part_b}"
    fill = joint.fill_area or 0.0
    if joint.legs is not None:
        # Off the cavity's edges: the seam of a riser or a saddle plate brings its own legs.
        one, other = (np.asarray(leg) for leg in joint.legs)
        own = straight_way("outside", np.asarray(joint.start), np.asarray(joint.end), one, other)
        kind: SeamKind = "flange joint" if joint.kind == "flange joint" else "wall under flange"
        return [_straight(index, kind, joint, where, own, fill, joint.groove_angle, gap, False)]
    if joint.kind == "flange joint":
        across = _flange_joint_way(joint, parts[joint.part_a])
        return [_straight(index, "flange joint", joint, where, across, fill, joint.groove_angle, gap, True)]
    assert joint.edge is not None
    assert joint.kind != "bend"
    assert joint.kind != "patch plate"
    edge = cavity.edges[joint.edge]
    normal_a = np.asarray(cavity.faces[edge.face_a].plane.normal)
    normal_b = np.asarray(cavity.faces[edge.face_b].plane.normal)
    start, end = np.asarray(joint.start), np.asarray(joint.end)
    along = np.asarray(cavity.vertices[edge.end]) - np.asarray(cavity.vertices[edge.start])
    along = along / np.linalg.norm(along)
    into_a, into_b = np.cross(normal_a, along), np.cross(normal_b, -along)
    t_a = parts[joint.part_a].thickness
    t_b = parts[joint.part_b].thickness

    def way(
        side: str,
        off_a: Metre,
        off_b: Metre,
        leg_a: FloatArray,
        leg_b: FloatArray,
        middle: FloatArray | None = None,
    ) -> Way:
        move = _off_planes(normal_a, normal_b, off_a, off_b)
        return straight_way(side, start + move, end + move, leg_a, leg_b, middle)

    if joint.kind == "wall under flange":
        under_a = cavity.faces[edge.face_a].role == "rail"
        # The rail face's normal points up, out of the oil; the flange's metal lies below it.
        off_a, off_b = (-t_a, t_b) if under_a else (t_a, -t_b)
        out_a = -into_a if under_a else into_a
        out_b = into_b if under_a else -into_b
        outside = way("outside", off_a, off_b, out_a, out_b)
        return [_straight(index, joint.kind, joint, where, outside, fill, joint.groove_angle, gap, False)]
    if joint.kind in ("inward lap", "inward cut back"):
        outside = way("outside", t_a, t_b, into_a, into_b)
        return [_straight(index, joint.kind, joint, where, outside, fill, joint.groove_angle, gap, False)]
    if joint.kind == "full lap":
        # Flush: the bead lies where the covered sheet's outer skin meets the covering one.
        middle = 0.5 * (start + end)
        if _has_metal(parts[joint.part_a], middle - 0.5 * t_b * into_a):
            outside = way("outside", 0.0, t_b, -into_b, into_b, normal_b)
        else:
            outside = way("outside", t_a, 0.0, into_a, -into_a, normal_a)
        inside = way("inside", 0.0, 0.0, into_a, into_b)
        area = fillet_fill(joint.corner_angle, min(t_a, t_b))
        return [
            _straight(index, "full lap", joint, where, outside, fill, joint.groove_angle, gap, False),
            _straight(
                index,
                "corner inside",
                joint,
                f"{where}, inside",
                inside,
                area,
                joint.corner_angle,
                gap,
                False,
            ),
        ]
    outside = way("outside", 0.0, 0.0, normal_a, normal_b)
    return [_straight(index, joint.kind, joint, where, outside, fill, joint.groove_angle, gap, False)]


def _has_metal(part: FlatPart, point: FloatArray) -> bool:
    """Whether one of the part's sheets lies over a point of its oil side."""
    for sheet in folded(part, with_facets=False):
        flat = np.asarray(sheet.frame.to_flat(point[None]))[0]
        off = abs(float((point - sheet.frame.origin) @ sheet.frame.normal))
        if off < 1e-6 and sheet.outline.covers(shapely.Point(*flat)):
            return True
    return False


def _straight(
    index: int,
    kind: SeamKind,
    joint: Joint,
    where: str,
    way: Way,
    fill: float,
    groove: Radian | None,
    gap: Metre,
    on_bench: bool,
) -> _Draft:
    side: Side = "inside" if way.side == "inside" else "outside"
    return _Draft(
        joint=index,
        kind=kind,
        part_a=joint.part_a,
        part_b=joint.part_b,
        where=where,
        ways=(way,),
        length=joint.length,
        fill_area=fill,
        volume=fill_volume(fill, joint.length),
        groove_angle=groove,
        is_oil_tight=True,
        side=side,
        gap=gap,
        on_bench=on_bench,
    )


def straight_way(
    side: str,
    start: FloatArray,
    end: FloatArray,
    leg_a: FloatArray,
    leg_b: FloatArray,
    middle: FloatArray | None = None,
) -> Way:
    """A way along a straight line with the same section everywhere.

    Where the legs lie in one line (a flush bead) nothing but ``middle`` says on which side
    the torch is.
    """
    path = frozen_array(np.stack([start, end]))
    if middle is None:
        middle = leg_a / np.linalg.norm(leg_a) + leg_b / np.linalg.norm(leg_b)
    return Way(side, path, _like(path, leg_a), _like(path, leg_b), _like(path, middle))


def _like(path: FloatArray, leg: FloatArray) -> FloatArray:
    return frozen_array(np.broadcast_to(np.asarray(leg) / np.linalg.norm(leg), path.shape))


def _off_planes(normal_a: FloatArray, normal_b: FloatArray, off_a: Metre, off_b: Metre) -> FloatArray:
    """The vector square to the edge that leads off both planes by the given heights."""
    c = float(normal_a @ normal_b)
    share = 1.0 - c * c
    return ((off_a - c * off_b) * normal_a + (off_b - c * off_a) * normal_b) / share


def _flange_joint_way(joint: Joint, segment: FlatPart) -> Way:
    """Across the ring, the groove open downwards, its root at the sealing face."""
    down = np.asarray(segment.frame.normal)  # the flange is drawn from below
    start = np.asarray(joint.start) - segment.thickness * down
    end = np.asarray(joint.end) - segment.thickness * down
    along = (end - start) / np.linalg.norm(end - start)
    across = np.cross(down, along)
    half = 0.5 * (joint.groove_angle or 0.0)
    return straight_way(
        "outside",
        start,
        end,
        math.cos(half) * down - math.sin(half) * across,
        math.cos(half) * down + math.sin(half) * across,
    )


# --- patch plates -----------------------------------------------------------------------------


def _of_patch(
    index: int, joint: Joint, kit: SheetKit, parts: Mapping[str, FlatPart], inputs: WeldInputs
) -> list[_Draft]:
    """Round the edge of a patch plate: a fillet on its panel, or a flush bead where it is let in."""
    placed = () if kit.patches is None else kit.patches.placed
    patch = next(each for each in placed if each.part == joint.part_b)
    frame = parts[patch.part].frame
    path = np.asarray(patch.edge)
    up = np.asarray(frame.normal)
    # The line runs anticlockwise as seen from outside: the panel lies to its right.
    ahead = np.roll(path[:-1], -1, axis=0) - np.roll(path[:-1], 1, axis=0)
    ahead = np.concatenate([ahead, ahead[:1]])
    ahead = ahead / np.linalg.norm(ahead, axis=1)[:, None]
    away = np.cross(ahead, up)
    lapped = patch.plate.fit == "lapped"
    middle = (away + up) / math.sqrt(2.0) if lapped else np.broadcast_to(up, path.shape)
    leg = _like(path, up) if lapped else frozen_array(-away)
    way = Way("outside", patch.edge, leg, frozen_array(away), frozen_array(middle))
    fill = joint.fill_area or 0.0
    return [
        _Draft(
            joint=index,
            kind="patch plate",
            part_a=patch.part,
            part_b=patch.panel,
            where=f"{patch.part} on {patch.panel}",
            ways=(way,),
            length=patch.length,
            fill_area=fill,
            volume=fill_volume(fill, patch.length),
            groove_angle=joint.groove_angle,
            is_oil_tight=True,
            side="outside",
            gap=0.0 if lapped else edge_gap(inputs.cut_tolerance),
            is_closed=True,
        )
    ]


# --- inner walls ------------------------------------------------------------------------------


def _of_inner_walls(
    kit: SheetKit, parts: Mapping[str, FlatPart], cavity: Cavity, inputs: WeldInputs
) -> list[_Draft]:
    division, internals = kit.body.division, kit.internals
    if division is None or internals is None:
        return []
    tacked = {fixing.wall for fixing in internals.fixings if fixing.way == "tacked"}
    placed = {wall.wall.name: wall for wall in division.walls}
    panel_of = _panel_of_faces(kit, cavity)
    drafts = []
    for wall in division.walls:
        name = wall.wall.name
        if name not in tacked or name not in parts:
            continue
        for side in wall.sides:
            if side.face is not None:
                other = panel_of.get(side.face)
                normal = -np.asarray(cavity.faces[side.face].plane.normal)
                half = 0.0
            else:
                other = side.meets if side.meets in parts else None
                if other is None or side.meets not in placed:
                    continue
                normal = np.asarray(placed[side.meets].wall.frame.normal)
                half = 0.5 * placed[side.meets].wall.thickness
            if other is not None:
                drafts.append(_wall_side(wall, side, other, normal, half, inputs))
    return [draft for draft in drafts if draft.length > 2.0 * inputs.rules.end_clear]


def _panel_of_faces(kit: SheetKit, cavity: Cavity) -> dict[int, str]:
    """The part that carries each face of the cavity."""
    found: dict[int, str] = {}
    for part in kit.parts:
        if part.face is not None:
            found[part.face] = part.name
        for face, _, _ in part.faces:
            found[face] = part.name
    return found


def _wall_side(
    placed: PlacedWall, side: PanelSide, other: str, normal: FloatArray, half: Metre, inputs: WeldInputs
) -> _Draft:
    """One side of an inner wall: a fillet before it or behind it, whichever can be reached."""
    frame, thickness = placed.wall.frame, placed.wall.thickness
    ends = np.asarray(frame.to_space(np.stack([side.start, side.end])))
    along = ends[1] - ends[0]
    length = float(np.linalg.norm(along))
    along = along / length
    front = np.asarray(frame.normal)
    inwards = np.cross(front, along)  # the panel lies left of its own line
    if normal @ inwards < 0.0:
        normal = -normal
    ways = []
    for name, out in (("front side", front), ("rear side", -front)):
        away = out - (out @ normal) * normal
        away = away / np.linalg.norm(away)
        c = float(out @ normal)
        # Off the wall's middle plane by half its thickness, off the other's plane by ``half``.
        share = 1.0 - c * c
        move = ((0.5 * thickness - c * half) * out + (half - c * 0.5 * thickness) * normal) / share
        ways.append(straight_way(name, ends[0] + move, ends[1] + move, inwards, away))
    corner = math.acos(float(np.clip(ways[0].leg_a[0] @ ways[0].leg_b[0], -1.0, 1.0)))
    area = fillet_fill(corner, thickness)
    return _Draft(
        joint=None,
        kind="inner wall",
        part_a=placed.wall.name,
        part_b=other,
        where=f"{placed.wall.name} to {other}",
        ways=tuple(ways),
        length=length,
        fill_area=area,
        volume=fill_volume(area, length),
        groove_angle=corner,
        is_oil_tight=False,
        side="either",
        gap=FIT + inputs.cut_tolerance,
    )


# --- bosses, rings and brackets ----------------------------------------------------------------


def _of_boss(boss: PlacedBoss, parts: Mapping[str, FlatPart]) -> list[_Draft]:
    """Oil-tight on the oil side; outside the ring is stitched, so that a leak and the gas get out."""
    panel = parts.get(boss.face)
    if panel is None:
        return []
    out = np.asarray(panel.frame.normal)
    name, sheet = boss.fitting.name, panel.thickness
    radius = 0.5 * boss.fitting.boss_diameter
    inner = np.asarray(boss.place)
    drafts = [
        _round(
            name,
            panel.name,
            f"{name} boss in {boss.face}",
            "boss",
            "inside",
            inner,
            -out,
            panel,
            radius,
            sheet,
            True,
        )
    ]
    skin = inner + sheet * out
    ring = parts.get(boss.ring)
    if ring is None:
        return drafts
    edge = 0.5 * float(np.ptp(np.asarray(ring.outline.points)[:, 0]))
    drafts.append(
        _round(
            ring.name,
            panel.name,
            f"{ring.name} on {boss.face}",
            "ring",
            "outside",
            skin,
            out,
            panel,
            edge,
            ring.thickness,
            False,
        )
    )
    top = skin + ring.thickness * out
    drafts.append(
        _round(
            name,
            ring.name,
            f"{name} boss to its ring",
            "boss",
            "outside",
            top,
            out,
            panel,
            radius,
            ring.thickness,
            False,
        )
    )
    return drafts


def _of_post(placed: PlacedPost, parts: Mapping[str, FlatPart]) -> list[_Draft]:
    """A post on the skin of a sheet: one fillet round its foot, that need not be tight."""
    panel = parts.get(placed.face)
    if panel is None:
        return []
    post = placed.post
    out = np.asarray(panel.frame.normal)
    up = out if post.side == "outside" else -out
    return [
        _round(
            post.name,
            panel.name,
            f"{post.name} on {placed.face}",
            "boss",
            post.side,
            np.asarray(placed.place),
            up,
            panel,
            0.5 * post.diameter,
            panel.thickness,
            False,
        )
    ]


def _of_plate(placed: PlacedPlate, parts: Mapping[str, FlatPart]) -> list[_Draft]:
    """A round plate on the outside of a sheet, stitched so that no gas is shut in under it."""
    panel, plate = parts.get(placed.face), parts.get(placed.plate)
    if panel is None or plate is None:
        return []
    return [
        _round(
            placed.plate,
            panel.name,
            f"{placed.plate} on {placed.face}",
            "ring",
            "outside",
            np.asarray(placed.place),
            np.asarray(panel.frame.normal),
            panel,
            0.5 * placed.plate_diameter,
            min(plate.thickness, panel.thickness),
            False,
        )
    ]


def _round(
    part_a: str,
    part_b: str,
    where: str,
    kind: SeamKind,
    side: Side,
    centre: FloatArray,
    up: FloatArray,
    panel: FlatPart,
    radius: Metre,
    leg: Metre,
    is_oil_tight: bool,
) -> _Draft:
    """A fillet round a cylinder that stands on a sheet in the direction ``up``."""
    angles = np.linspace(0.0, 2.0 * math.pi, ROUND_STATIONS + 1)
    x_axis, y_axis = np.asarray(panel.frame.x_axis), np.asarray(panel.frame.y_axis)
    spoke = np.outer(np.cos(angles), x_axis) + np.outer(np.sin(angles), y_axis)
    path = frozen_array(centre + radius * spoke)
    middle = frozen_array((spoke + up) / math.sqrt(2.0))
    way = Way(side, path, _like(path, up), frozen_array(spoke), middle)
    return _Draft(
        joint=None,
        kind=kind,
        part_a=part_a,
        part_b=part_b,
        where=where,
        ways=(way,),
        length=2.0 * math.pi * radius,
        fill_area=fillet_fill(0.5 * math.pi, leg),
        volume=ring_fill_volume(leg, 2.0 * radius),
        groove_angle=0.5 * math.pi,
        is_oil_tight=is_oil_tight,
        side=side,
        gap=0.0003 if kind == "boss" else 0.0,
        is_closed=True,
        on_bench=True,
    )


def _of_stops(internals: Internals, parts: Mapping[str, FlatPart]) -> list[_Draft]:
    """The brackets that end a door's swing, square on their wall."""
    drafts = []
    for door in internals.doors:
        for name in (door.stops, f"{door.stops} 2"):
            stop, wall = parts.get(name), parts.get(door.wall)
            if stop is None or wall is None:
                continue
            base = np.asarray(stop.outline.points)
            base = base[np.abs(base[:, 0] - base[:, 0].min()) < 1e-6]
            if len(base) < 2:
                continue
            low, high = base[np.argmin(base[:, 1])], base[np.argmax(base[:, 1])]
            ends = np.asarray(stop.frame.to_space(np.stack([low, high])))
            length = float(np.linalg.norm(ends[1] - ends[0]))
            out, across = np.asarray(stop.frame.x_axis), np.asarray(stop.frame.normal)
            ways = (
                straight_way("front side", ends[0], ends[1], out, across),
                straight_way(
                    "rear side",
                    ends[0] - stop.thickness * across,
                    ends[1] - stop.thickness * across,
                    out,
                    -across,
                ),
            )
            area = fillet_fill(0.5 * math.pi, stop.thickness)
            drafts.append(
                _Draft(
                    joint=None,
                    kind="bracket",
                    part_a=stop.name,
                    part_b=wall.name,
                    where=f"{stop.name} on {wall.name}",
                    ways=ways,
                    length=length,
                    fill_area=area,
                    volume=fill_volume(area, length),
                    groove_angle=0.5 * math.pi,
                    is_oil_tight=False,
                    side="either",
                    gap=0.0,
                    on_bench=True,
                )
            )
    return drafts


def welded_parts(kit: SheetKit, seams: tuple[Seam, ...]) -> tuple[str, ...]:
    """Names of the parts that hang on some seam, flange first."""
    named = dict.fromkeys(name for seam in seams for name in (seam.part_a, seam.part_b))
    known = {part.name: part for part in kit.parts}
    return tuple(sorted((n for n in named if n in known), key=lambda n: not is_flange(known[n])))
