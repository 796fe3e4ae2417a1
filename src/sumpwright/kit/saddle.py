"""Saddle plates: a rolled strip closes between wall, flange and the block's round.

The strip runs from the oil side of the wall under the arch to the outer edge of the seal.
Its ends meet the flange's cut edges at the flange's face. Where the block's round hangs
into the pan the ends are cut long and dressed flush; where the pan's round stands up they
stay square.

          flange |\\                    /| flange         flange |    _______    | flange
                 | \\      seal        / |                      |  /  strip  \\  |
                 |  \\_______________ /  |                      |/   _____    \\|
                        strip                                      /  wall  \\
                        wall
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.body.rail_shape_model import ArchSeat
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.arc_outlines import Round, with_arcs
from sumpwright.kit.loose_joint import loose_joint
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Joint, Roll
from sumpwright.kit.saddle_formulas import rolled_length
from sumpwright.kit.solids import Sheet, common, joined, less, polygons_of, rings
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

NEUTRAL = 0.5
"""Depth of the neutral line in a strip rolled to a radius of many thicknesses."""

STEEPEST: Radian = math.radians(75.0)
"""Of a saddle's ends against the flange: beyond it the wall's tips are sharper than 15 deg."""

JOINT_TURN: Radian = math.radians(20.0)
"""A round seam is listed as straight pieces that turn by no more than this each."""


def half_cut(arch: ArchSeat, thickness: Metre) -> Metre:
    """Half the width for which the flange is cut away for the saddle."""
    return math.sqrt(max(_flange_side(arch, thickness) ** 2 - arch.centre[1] ** 2, 0.0))


def _flange_side(arch: ArchSeat, thickness: Metre) -> Metre:
    """Radius of the strip's face that meets the flange's edge at its face."""
    return arch.radius + thickness if arch.hangs else arch.radius


def _wall_side(arch: ArchSeat, thickness: Metre) -> Metre:
    """Radius of the strip's lower face, on which the wall ends."""
    return arch.radius + thickness if arch.hangs else arch.radius - thickness


def saddle_frame(arch: ArchSeat) -> FlatFrame:
    """Across the seat, looking at the pan's end from outside: up is up, origin on the wall's oil side."""
    return FlatFrame(
        frozen_array([arch.wall_x, 0.0, 0.0]),
        frozen_array([0.0, arch.forward, 0.0]),
        frozen_array([0.0, 0.0, 1.0]),
    )


def _arc(arch: ArchSeat, radius: Metre, half_turn: Radian) -> FloatArray:
    """Chords (n, 2) along a round of the seat from left to right, in the saddle's frame."""
    y, z = arch.forward * arch.centre[0], arch.centre[1]
    side = radius * math.sin(half_turn)
    rise = -radius * math.cos(half_turn) if arch.hangs else radius * math.cos(half_turn)
    bulge = math.tan(0.5 * half_turn) * (1.0 if arch.hangs else -1.0)
    # Closed by its own chord, which is dropped again: the corners are those of every other user.
    outline = Outline(frozen_array([(y - side, z + rise), (y + side, z + rise)]), frozen_array([bulge, 0.0]))
    return np.asarray(chords(outline))


def _turn_at_face(arch: ArchSeat, radius: Metre) -> Radian:
    return math.acos(min(1.0, abs(arch.centre[1]) / radius))


def sealed_by_block(arch: ArchSeat, reach: Metre) -> Sheet:
    """What block and seal fill at the seat: of a hanging round the part below the flange's face."""
    frame = saddle_frame(arch)
    depth = abs(arch.outer_x - arch.inner_x)
    frame = FlatFrame(frozen_array([arch.inner_x, 0.0, 0.0]), frame.x_axis, frame.y_axis)
    round_part = Polygon(_arc(arch, arch.radius, arch.half_turn))
    if arch.hangs:
        return Sheet("block", None, frame, depth, round_part)
    y = arch.forward * arch.centre[0]
    above = shapely.box(y - reach, 0.0, y + reach, arch.crown + reach)
    return Sheet("block", None, frame, depth, less(above, round_part))


def saddle_part(arch: ArchSeat, thickness: Metre, material: str) -> FlatPart:
    """The strip flat, its length along the round; drawn side away from the block."""
    width = abs(arch.outer_x - arch.wall_x)
    outer = _flange_side(arch, thickness)
    half_turn = _turn_at_face(arch, outer)
    neutral = arch.radius + (NEUTRAL if arch.hangs else -NEUTRAL) * thickness
    length = rolled_length(2.0 * half_turn, neutral)
    inside = arch.radius if arch.hangs else arch.radius - thickness
    frame = saddle_frame(arch)
    low = _wall_side(arch, thickness)
    crown = arch.centre[1] + (-low if arch.hangs else low)
    # The flat lies against its crown from below, seen from below.
    corner = np.array([arch.wall_x, arch.centre[0] - 0.5 * length * arch.forward, crown])
    y_axis = np.array([arch.forward, 0.0, 0.0])
    ends = "leave the ends long and dress them flush with the flange" if arch.hangs else "ends stay square"
    return FlatPart(
        name=f"saddle plate {arch.name}",
        face=None,
        outline=Outline(
            frozen_array([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]),
            frozen_array(np.zeros(4)),
        ),
        cut_outs=(),
        holes=(),
        marks=(),
        frame=FlatFrame(frozen_array(corner), frame.x_axis, frozen_array(y_axis)),
        thickness=thickness,
        material=material,
        note=f"rolled to the seat's round, marked side away from the block; {ends}",
        roll=Roll(
            frame,
            (arch.forward * arch.centre[0], arch.centre[1]),
            inside,
            arch.hangs,
            0.0 if arch.hangs else None,
        ),
    )


def wall_for_saddle(wall: FlatPart, arch: ArchSeat, thickness: Metre, flange: Metre) -> FlatPart | str:
    """The wall under the arch with its top cut to the strip's lower face, or why it cannot be."""
    frame = saddle_frame(arch)
    shift = frame.to_flat(wall.frame.origin[None])[0]
    shape = Polygon(chords(wall.outline) + shift)
    side = half_cut(arch, thickness)
    radius = _wall_side(arch, thickness)
    y, z = arch.forward * arch.centre[0], arch.centre[1]
    edge = _arc(arch, radius, _turn_at_face(arch, radius) if arch.hangs else arch.half_turn)
    top = max(0.0, arch.crown)
    column = shapely.box(y - side, -flange - 1e-3, y + side, top)
    # A square end leaves a groove between itself and the flange's edge; the wall closes it.
    ends = [] if arch.hangs else [(y + side, 0.0)]
    start = [] if arch.hangs else [(y - side, 0.0)]
    lid = [(y + side, top + 0.01), (y - side, top + 0.01)]
    above = Polygon([*start, *edge.tolist(), *ends, *lid])
    if _turn_at_face(arch, _flange_side(arch, thickness)) > STEEPEST:
        return "rises so steeply at its ends that the wall under it would end in needles"
    reached = polygons_of(less(joined([shape, column]), above))
    if not reached or shape.is_empty:
        return "nothing is left of the wall under it"
    left = reached[0]
    lowest = float(edge[:, 1].min()) if arch.hangs else -flange
    floor_of_wall = common(shape, shapely.box(y - side, -10.0, y + side, 10.0)).bounds[1]
    if lowest - floor_of_wall < 3.0 * thickness:
        return "the wall under it is too low to carry its saddle"
    whole = common(shape, shapely.box(y - side, -10.0, y + side, -flange))
    if abs(whole.bounds[0] - (y - side)) > 1e-6 or abs(whole.bounds[2] - (y + side)) > 1e-6:
        return "the wall under it is narrower than its saddle"
    outer, *_ = rings(left)
    arcs = (Round(float(y - shift[0]), float(z - shift[1]), radius),)
    return replace(wall, outline=with_arcs(outer - shift, arcs))


def saddle_joints(arch: ArchSeat, thickness: Metre, wall: str, flanges: tuple[str, str]) -> list[Joint]:
    """Seams of the strip with the wall under it and with the flange's cut edges on the right and the left."""
    name = f"saddle plate {arch.name}"
    frame = saddle_frame(arch)
    radius = _wall_side(arch, thickness)
    half = _turn_at_face(arch, radius) if arch.hangs else arch.half_turn
    pieces = max(2, math.ceil(2.0 * half / JOINT_TURN))
    angles = np.linspace(-half, half, pieces + 1)
    down = -1.0 if arch.hangs else 1.0
    y, z = arch.forward * arch.centre[0], arch.centre[1]
    radial = np.stack([np.sin(angles), down * np.cos(angles)], axis=1)
    ahead = np.array([arch.forward, 0.0, 0.0])
    # Straight pieces that touch the round from outside its metal.
    step = 2.0 * half / pieces
    corners = radius / math.cos(0.5 * step) if arch.hangs else radius
    outer_skin = frame.to_space(np.array([y, z]) + corners * radial) + thickness * ahead
    across = frame.x_axis[None] * radial[:, :1] + np.array([0.0, 0.0, 1.0]) * radial[:, 1:]
    found = []
    for k in range(pieces):
        # The wall stands on the strip's hollow or round side: away from the strip in either case.
        away = (across[k] + across[k + 1]) * (1.0 if arch.hangs else -1.0)
        legs = (away / np.linalg.norm(away), ahead)
        found.append(
            loose_joint(wall, name, "wall under flange", (outer_skin[k], outer_skin[k + 1]), legs, thickness)
        )
    side = half_cut(arch, thickness)
    end = _turn_at_face(arch, _flange_side(arch, thickness))
    for sign, flange in zip((-1.0, 1.0), flanges, strict=True):
        at = arch.centre[0] + sign * side
        one, other = np.array([arch.wall_x, at, 0.0]), np.array([arch.outer_x, at, 0.0])
        # Beneath the contact at the face: along the strip's lower skin, or along its square end.
        turned = (-math.cos(end), -math.sin(end)) if arch.hangs else (-math.sin(end), -math.cos(end))
        legs = (np.array([0.0, 0.0, -1.0]), np.array([0.0, sign * turned[0], turned[1]]))
        found.append(loose_joint(flange, name, "flange joint", (one, other), legs, thickness))
    return found
