"""Where a straight dipstick meets the oil."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import Cavity, DipstickTube
from sumpwright.geometry import Surface
from sumpwright.oil.formulas import stick_reading
from sumpwright.oil.model import DipMark, StickReach, StickTrouble
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre

LEAST_FALL = math.sin(math.radians(2.0))
"""A stick flatter than 2 degrees to the surface has no reading."""


def mark_on_stick(
    name: str,
    volume: CubicMetre,
    level: Metre | None,
    tube: DipstickTube,
    inside: Surface,
    up: FloatArray,
) -> DipMark:
    """The mark for one level; ``inside`` is the closed oil space, walls carried up where wanted."""

    def without(trouble: StickTrouble) -> DipMark:
        return DipMark(name, volume, None, None, trouble)

    if level is None or math.isnan(level):
        return without("no oil to read")
    fall = -float(up @ tube.axis)
    if fall < LEAST_FALL:
        return without("lies along the surface")
    length = stick_reading(level, float(up @ tube.stop), fall)
    meets = tube.stop + length * tube.axis
    place = (float(meets[0]), float(meets[1]), float(meets[2]))
    trouble: StickTrouble = ""
    if length < 0.0:
        trouble = "above the shoulder"
    elif length > tube.stick_length:
        trouble = "tip does not reach"
    elif not is_inside(inside, meets):
        trouble = "outside the oil space"
    if trouble == "outside the oil space":
        return DipMark(name, volume, None, None, trouble, place)
    return DipMark(name, volume, length, tube.stick_length - length, trouble, place)


def stick_reach(tube: DipstickTube, cavity: Cavity, from_length: Metre) -> StickReach:
    """What the stick meets between ``from_length`` (its reading) and its tip."""
    tip = tube.stop + tube.stick_length * tube.axis
    hits = sorted(
        (length, int(cavity.face_of_triangle[k]))
        for length, k in crossings(cavity.surface(), tube.stop, tube.axis)
        if from_length < length <= tube.stick_length
        and cavity.faces[int(cavity.face_of_triangle[k])].role != "rail"
    )
    return StickReach(
        tip=(float(tip[0]), float(tip[1]), float(tip[2])),
        tip_is_inside=is_inside(cavity.surface(), tip),
        meets=cavity.faces[hits[0][1]].name if hits else "",
        free_length=hits[0][0] if hits else None,
    )


def is_inside(surface: Surface, point: FloatArray) -> bool:
    """Whether a point lies in a closed surface, by the solid angle it is seen under."""
    a, b, c = (surface.vertices[surface.triangles[:, k]] - point for k in range(3))
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    triple = np.einsum("mk,mk->m", a, np.cross(b, c))
    rest = (
        la * lb * lc
        + np.einsum("mk,mk->m", a, b) * lc
        + np.einsum("mk,mk->m", b, c) * la
        + np.einsum("mk,mk->m", c, a) * lb
    )
    return bool(np.sum(2.0 * np.arctan2(triple, rest)) > 2.0 * math.pi)


def crossings(surface: Surface, start: FloatArray, axis: FloatArray) -> list[tuple[Metre, int]]:
    """Where a straight line meets the triangles: (length along it, triangle), unsorted."""
    a = surface.vertices[surface.triangles[:, 0]]
    e1 = surface.vertices[surface.triangles[:, 1]] - a
    e2 = surface.vertices[surface.triangles[:, 2]] - a
    normal = np.cross(e1, e2)
    slope = normal @ axis
    scale = np.linalg.norm(normal, axis=1)
    across = np.abs(slope) > 1e-12 * scale
    safe = np.where(across, slope, 1.0)
    length = np.einsum("mk,mk->m", normal, a - start) / safe
    at = start + length[:, None] * axis - a
    weight = np.einsum("mk,mk->m", normal, normal)
    weight = np.where(weight > 0.0, weight, 1.0)
    u = np.einsum("mk,mk->m", np.cross(at, e2), normal) / weight
    v = np.einsum("mk,mk->m", np.cross(e1, at), normal) / weight
    hair = 1e-9
    hit = across & (u >= -hair) & (v >= -hair) & (u + v <= 1.0 + hair)
    return [(float(length[k]), int(k)) for k in np.flatnonzero(hit)]
