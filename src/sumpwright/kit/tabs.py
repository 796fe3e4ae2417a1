"""Tabs and slots that hold a sheet standing on another while it is tacked.

Only through slots can be cut from flat sheet, and a slot through an outer panel is a place
that may leak: outer panels get none unless asked, and every slot made is named so that the
leak test looks at it. Never on the flange, whose far side seals.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.geometry import Outline
from sumpwright.kit.metal import chords, metal_of
from sumpwright.kit.model import CutterRules, FlatPart, Joint
from sumpwright.kit.tab_formulas import (
    slot_length_clearance,
    slot_width,
    slot_width_clearance,
    tab_depth,
)
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

if TYPE_CHECKING:
    from shapely import Polygon

LEAST_PITCH: Metre = 0.080
MOST_PITCH: Metre = 0.150
"""Tab to tab along a seam: common practice."""

TAB_LENGTH: Metre = 0.020
PROUD = 0.25
"""Length of a tab, and how far it stands out, in thicknesses; up to a half welds flush."""

QUARTER = 3.0 * math.pi / 2.0
"""A slot's corner is opened by three quarters of a circle, or the tab would ride on the cut's radius."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One slot, as the leak test has to know it."""

    plate: str
    wall: str
    number: int  # along the seam, from one
    place: tuple[float, float, float]  # middle, engine frame m
    is_leak_site: bool  # goes through a sheet that holds oil back


@dataclass(frozen=True, slots=True, eq=False)
class Located:
    """A wall with tabs, its plate with slots, and what was made."""

    wall: FlatPart
    plate: FlatPart
    slots: tuple[Slot, ...]
    why_none: str = ""  # why no tabs were made


def tab_places(length: Metre, tab: Metre, clear: Metre) -> tuple[Metre, ...]:
    """Middles of the tabs along a seam, evenly, ``clear`` away from its ends; none on short seams.

    The outer two stand as near to the ends as they may; between them the pitch stays within
    what practice asks.
    """
    free = length - 2.0 * clear - tab
    if free < 0.0:
        return ()
    if free < LEAST_PITCH:
        return (
            (0.5 * length,) if free < 0.5 * LEAST_PITCH else (clear + 0.5 * tab, length - clear - 0.5 * tab)
        )
    gaps = max(1, math.ceil(free / MOST_PITCH - 1e-9))
    return tuple(float(x) for x in np.linspace(clear + 0.5 * tab, length - clear - 0.5 * tab, gaps + 1))


def locate(
    wall: FlatPart,
    plate: FlatPart,
    joint: Joint,
    cutter: CutterRules,
    through_outer: bool = False,
) -> Located:
    """Tabs on the wall's edge and slots in the plate along a seam where the wall stands on the plate.

    ``joint`` runs along the corner between the wall's drawn skin and the plate. A plate that
    is a face of the cavity holds oil back: it gets slots only if ``through_outer``.
    """
    if plate.frame.normal[2] < -0.999 and plate.face is None and plate.cut_outs:
        return Located(wall, plate, (), "the flange's far side seals")
    if plate.face is not None and not through_outer:
        return Located(wall, plate, (), "a slot through an outer sheet may leak")
    start, end = np.array(joint.start), np.array(joint.end)
    length = float(np.linalg.norm(end - start))
    angle = _angle_between(wall, plate)
    if abs(math.sin(angle)) < math.sin(math.radians(30.0)):
        return Located(wall, plate, (), "the sheets lean too much for a square-cut slot")
    clear = max(3.0 * wall.thickness, cutter.least_edge + 0.5 * TAB_LENGTH)
    places = tab_places(length, TAB_LENGTH, clear)
    if not places:
        return Located(wall, plate, (), "the seam is too short for a tab")
    piece = _piece_along(wall, start, end)
    if piece is None:
        return Located(wall, plate, (), "the wall has no straight edge along this seam")
    depth = tab_depth(wall.thickness, plate.thickness, angle, PROUD)
    with_tabs = _tabbed(wall, piece, start, end, places, depth)
    width = slot_width(wall.thickness, plate.thickness, angle, slot_width_clearance(cutter.tolerance))
    long = TAB_LENGTH + slot_length_clearance(cutter.tolerance)
    cuts, slots = [], []
    metal = metal_of(plate)
    along = (end - start) / length
    for number, place in enumerate(places, start=1):
        middle = _middle_in_plate(wall, plate, start + along * place, along)
        flat = np.asarray(plate.frame.to_flat(middle[None, :])[0])
        direction = np.array([along @ plate.frame.x_axis, along @ plate.frame.y_axis])
        slot = slot_outline(flat, direction, long, width, 0.5 * max(cutter.kerf or 0.0, 3e-4))
        if not _holds(metal, slot, cutter.least_web):
            return Located(wall, plate, (), "a slot would leave too little metal in the plate")
        cuts.append(slot)
        centre = plate.frame.to_space(flat[None, :])[0]
        slots.append(
            Slot(
                plate.name,
                wall.name,
                number,
                (float(centre[0]), float(centre[1]), float(centre[2])),
                plate.face is not None,
            )
        )
    return Located(with_tabs, replace(plate, cut_outs=(*plate.cut_outs, *cuts)), tuple(slots))


def slot_outline(
    middle: FloatArray, along: FloatArray, length: Metre, width: Metre, relief: Metre
) -> Outline:
    """A slot as a clockwise cut-out, its corners opened by a small round (radius ``relief``)."""
    ahead = along / np.hypot(*along)
    aside = np.array([-ahead[1], ahead[0]])
    half, wide = 0.5 * length, 0.5 * width
    # Clockwise: up the left end, along the top, down the right end, back along the bottom.
    corners = [(-half, wide), (half, wide), (half, -wide), (-half, -wide)]
    points, bulges = [], []
    for k, corner in enumerate(corners):
        before, after = np.array(corners[k - 1]), np.array(corners[(k + 1) % 4])
        here = np.array(corner)
        towards_before = (before - here) / np.hypot(*(before - here))
        towards_after = (after - here) / np.hypot(*(after - here))
        points += [here + relief * towards_before, here + relief * towards_after]
        # Round the outside of the corner: three quarters of a circle about it, turning right.
        bulges += [-math.tan(0.25 * QUARTER), 0.0]
    placed = [middle + p[0] * ahead + p[1] * aside for p in points]
    return Outline(frozen_array(placed), frozen_array(bulges))


def _angle_between(wall: FlatPart, plate: FlatPart) -> Radian:
    """Angle between the two sheets, 0 to 90 degrees."""
    cosine = abs(float(np.asarray(wall.frame.normal) @ np.asarray(plate.frame.normal)))
    return math.acos(min(1.0, cosine))


def _middle_in_plate(wall: FlatPart, plate: FlatPart, place: FloatArray, along: FloatArray) -> FloatArray:
    """Where the wall's middle plane, run on past its edge, crosses the middle of the plate."""
    normal = np.asarray(wall.frame.normal)
    skin = np.asarray(wall.frame.to_space(wall.frame.to_flat(place[None, :])))[0]
    inside = skin - 0.5 * wall.thickness * normal
    onwards = np.cross(normal, along)
    across = np.asarray(plate.frame.normal)
    middle = np.asarray(plate.frame.origin) - 0.5 * plate.thickness * across
    return np.asarray(inside + onwards * (float((middle - inside) @ across) / float(onwards @ across)))


def _piece_along(part: FlatPart, start: FloatArray, end: FloatArray) -> int | None:
    """The straight piece of a part's outline that lies along a seam, set back no more than a lean asks."""
    flat = np.asarray(part.frame.to_flat(np.array([start, end])))
    along = flat[1] - flat[0]
    length = float(np.hypot(*along))
    along = along / length
    points = np.asarray(part.outline.points)
    best: tuple[float, int] | None = None
    for k in range(len(points)):
        a, b = points[k], points[(k + 1) % len(points)]
        side = b - a
        size = float(np.hypot(*side))
        if part.outline.bulges[k] != 0.0 or size < 0.5 * length:
            continue
        if abs(along[0] * side[1] - along[1] * side[0]) / size > 1e-3:
            continue
        middle = 0.5 * (a + b) - flat[0]
        off = abs(float(middle[0] * along[1] - middle[1] * along[0]))
        if off <= 2.5 * part.thickness and (best is None or off < best[0]):
            best = (off, k)
    return None if best is None else best[1]


def _tabbed(
    part: FlatPart, piece: int, start: FloatArray, end: FloatArray, places: tuple[Metre, ...], depth: Metre
) -> FlatPart:
    """The part with tabs standing out of one straight piece of its outline."""
    flat = np.asarray(part.frame.to_flat(np.array([start, end])))
    seam = (flat[1] - flat[0]) / np.hypot(*(flat[1] - flat[0]))
    points = np.asarray(part.outline.points)
    a, b = points[piece], points[(piece + 1) % len(points)]
    ahead = (b - a) / np.hypot(*(b - a))
    outwards = np.array([ahead[1], -ahead[0]])
    middles = sorted(float((flat[0] + seam * place - a) @ ahead) for place in places)
    new_points, new_bulges = [], []
    for k, point in enumerate(points):
        new_points.append(point)
        new_bulges.append(float(part.outline.bulges[k]))
        if k != piece:
            continue
        for middle in middles:
            low, high = middle - 0.5 * TAB_LENGTH, middle + 0.5 * TAB_LENGTH
            new_points += [
                a + ahead * low,
                a + ahead * low + outwards * depth,
                a + ahead * high + outwards * depth,
                a + ahead * high,
            ]
            new_bulges += [0.0] * 4
    return replace(part, outline=Outline(frozen_array(new_points), frozen_array(new_bulges)))


def _holds(metal: Polygon, slot: Outline, least_web: Metre) -> bool:
    """Whether a slot keeps its web to every edge of the plate."""
    import shapely

    return bool(metal.contains(shapely.Polygon(chords(slot)).buffer(least_web)))
