"""Where the dipstick, straight or bent, meets the oil."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity, DipstickTube
from sumpwright.geometry import Surface
from sumpwright.oil.formulas import stick_reading
from sumpwright.oil.model import DipMark, StickReach, StickTrouble
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, frozen_array

LEAST_FALL = math.sin(math.radians(2.0))
"""A stick flatter than 2 degrees to the surface has no reading."""


@dataclass(frozen=True, slots=True, eq=False)
class StickPath:
    """The stick leg by leg: where each leg starts, which way it runs, and how far down the stick that is."""

    starts: FloatArray  # (k, 3) m
    axes: FloatArray  # (k, 3) unit vectors
    offsets: FloatArray  # (k,) m along the stick; the last leg has no end but the tip

    @staticmethod
    def of(tube: DipstickTube) -> StickPath:
        """From the tube; corners count as sharp, the stick as following the tube's centre line."""
        corners = [np.asarray(tube.stop, dtype=np.float64)]
        if tube.bends is not None:
            corners.extend(np.asarray(tube.bends, dtype=np.float64))
        points = np.array(corners)
        legs = np.diff(points, axis=0)
        lengths = np.linalg.norm(legs, axis=1)
        axes = np.vstack([legs / lengths[:, None], tube.axis]) if len(legs) else tube.axis[None, :]
        return StickPath(
            frozen_array(points),
            frozen_array(axes),
            frozen_array(np.concatenate([[0.0], np.cumsum(lengths)])),
        )

    def at(self, length: Metre) -> FloatArray:
        """The point (3,) that far down the stick."""
        leg = max(0, int(np.searchsorted(self.offsets, length, side="right")) - 1)
        return frozen_array(self.starts[leg] + (length - self.offsets[leg]) * self.axes[leg])

    def readings(self, level: Metre, up: FloatArray) -> list[tuple[Metre, int]]:
        """Every (length, leg) at which the stick goes down through a level."""
        found = []
        last = len(self.offsets) - 1
        for leg in range(last + 1):
            fall = -float(up @ self.axes[leg])
            if fall < LEAST_FALL:
                continue
            length = float(self.offsets[leg]) + stick_reading(level, float(up @ self.starts[leg]), fall)
            starts_here = leg == 0 or length >= self.offsets[leg] - 1e-12
            ends_here = leg == last or length < self.offsets[leg + 1]
            if starts_here and ends_here:
                found.append((length, leg))
        return found


def reading_at(level: Metre, tube: DipstickTube, up: FloatArray) -> Metre | None:
    """What the stick shows for a level, from its shoulder; None where it has no reading."""
    path = StickPath.of(tube)
    lengths = [length for length, _ in path.readings(level, up)]
    on_stick = [length for length in lengths if 0.0 <= length <= tube.stick_length]
    return max(on_stick) if on_stick else None


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
    path = StickPath.of(tube)
    lengths = [length for length, _ in path.readings(level, up)]
    if not lengths:
        return without("lies along the surface")
    # The wet part of the stick is the one below its last way down through the surface.
    length = max(lengths)
    meets = path.at(length)
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
    path = StickPath.of(tube)
    tip = path.at(tube.stick_length)
    surface = cavity.surface()
    hits = []
    for leg in range(len(path.offsets)):
        offset = float(path.offsets[leg])
        end = float(path.offsets[leg + 1]) if leg + 1 < len(path.offsets) else tube.stick_length
        for along, k in crossings(surface, path.starts[leg], path.axes[leg]):
            face = int(cavity.face_of_triangle[k])
            length = offset + along
            if max(from_length, offset) < length <= min(end, tube.stick_length) and (
                cavity.faces[face].role != "rail"
            ):
                hits.append((length, face))
    hits.sort()
    return StickReach(
        tip=(float(tip[0]), float(tip[1]), float(tip[2])),
        tip_is_inside=is_inside(surface, tip),
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
