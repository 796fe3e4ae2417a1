"""Seams of a flange that follows the lands."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from shapely import Point, Polygon

from sumpwright.body.rail_shape_model import StepFace
from sumpwright.kit.loose_joint import loose_joint
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlatPart, Joint
from sumpwright.quantities.units import FloatArray, Metre, Radian

GROOVE: Radian = math.radians(30.0)
"""Half the angle of a butt weld's groove at the flange's face."""


@dataclass(frozen=True, slots=True, eq=False)
class StepCrossing:
    """One side of the ring where a step crosses it."""

    top: Metre  # z of the lower land's flange face
    face: StepFace
    plate: str  # of the lower land
    riser: str  # "" where the plates butt
    inner: FloatArray  # (2,) m, x, y on the opening, where the lower plate begins
    outer: FloatArray  # (2,) m, on the outer edge


def under_lands(
    joints: Sequence[Joint],
    flange: FlatPart,
    plates: Sequence[FlatPart],
    crossings: Sequence[StepCrossing],
    sheet: Metre,
) -> list[Joint]:
    """Seams of walls under the flange, parted where a plate ends and lowered with their plate."""
    shapes = [(plate, Polygon(chords(plate.outline))) for plate in plates]
    found: list[Joint] = []
    for joint in joints:
        if flange.name not in (joint.part_a, joint.part_b):
            found.append(joint)
            continue
        start, end = np.array(joint.start), np.array(joint.end)
        shares = {0.0, 1.0}
        for crossing in crossings:
            along = end[:2] - start[:2]
            share = float((crossing.inner - start[:2]) @ along) / float(along @ along)
            off = crossing.inner - start[:2] - share * along
            if 0.0 < share < 1.0 and float(np.hypot(*off)) < 1e-3:
                shares.add(share)
                wall = joint.part_b if joint.part_a == flange.name else joint.part_a
                found.append(_wall_end(wall, crossing, flange.thickness, sheet))
        for plate, _ in shapes:
            shares |= _ends_on(start, end, plate)
        for low, high in pairwise(sorted(shares)):
            if (high - low) * joint.length < 1e-6:
                continue
            middle = start + 0.5 * (low + high) * (end - start)
            at = Point(middle[0], -middle[1])
            plate, distance = min(
                ((plate, float(shape.distance(at))) for plate, shape in shapes), key=lambda pair: pair[1]
            )
            if distance > 1e-6:
                continue  # under a saddle: that seam is listed by itself
            drop = np.array([0.0, 0.0, float(plate.frame.origin[2] - flange.frame.origin[2])])
            ends = [start + share * (end - start) + drop for share in (low, high)]
            names = [plate.name if name == flange.name else name for name in (joint.part_a, joint.part_b)]
            found.append(
                replace(
                    joint,
                    part_a=names[0],
                    part_b=names[1],
                    length=(high - low) * joint.length,
                    start=_tuple(ends[0]),
                    end=_tuple(ends[1]),
                )
            )
    return found


def _wall_end(wall: str, crossing: StepCrossing, flange: Metre, sheet: Metre) -> Joint:
    """The upright seam where a wall's top steps down against the lower plate and its riser."""
    away = crossing.outer - crossing.inner
    away = away / float(np.hypot(*away))
    skin = crossing.inner + sheet * away
    ends = (np.array([*skin, -flange]), np.array([*skin, crossing.top - flange]))
    legs = (np.array([*-np.asarray(crossing.face.into), 0.0]), np.array([*away, 0.0]))
    return loose_joint(wall, crossing.plate, "wall under flange", ends, legs, sheet)


def _ends_on(start: FloatArray, end: FloatArray, plate: FlatPart) -> set[float]:
    """Shares of a seam at which corners of a plate lie on it."""
    along = end[:2] - start[:2]
    length2 = float(along @ along)
    corners = np.asarray(plate.outline.points) * np.array([1.0, -1.0])
    shares = (corners - start[:2]) @ along / length2
    off = np.hypot(*(corners - start[:2] - shares[:, None] * along).T)
    return {float(share) for share in shares[(off < 1e-6) & (shares > 1e-6) & (shares < 1.0 - 1e-6)]}


def step_joints(crossings: Sequence[StepCrossing], flange: FlatPart, main: Sequence[FlatPart]) -> list[Joint]:
    """Seams between plates and risers at every crossing."""
    found = []
    thick = flange.thickness
    for crossing in crossings:
        back = 0.5 * (crossing.inner + crossing.outer) - 1e-4 * np.asarray(crossing.face.into)
        at = Point(back[0], -back[1])
        upper = min(main, key=lambda plate: float(Polygon(chords(plate.outline)).distance(at))).name
        into = np.array([*np.asarray(crossing.face.into), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        depth = -crossing.top

        def across(z: Metre, crossing: StepCrossing = crossing) -> tuple[FloatArray, FloatArray]:
            return np.array([*crossing.inner, z]), np.array([*crossing.outer, z])

        under = (-into, -up)
        bevel = _beveled(up, -into)
        behind = _beveled(-into, up)
        bead = 0.3 * thick
        if crossing.riser:
            # Flush with the lower plate's end, before the upper plate comes on.
            ends = across(crossing.top)
            found.append(
                loose_joint(
                    crossing.riser, crossing.plate, "flange joint", ends, (behind[0], behind[1]), bead
                )
            )
        if crossing.riser and depth > thick:
            found.append(
                loose_joint(upper, crossing.riser, "flange joint", across(-thick), under, 0.5 * thick)
            )
        else:
            found.append(
                loose_joint(upper, crossing.plate, "flange joint", across(-thick), under, 0.5 * thick)
            )
        if crossing.riser:
            found.append(loose_joint(upper, crossing.riser, "flange joint", across(0.0), bevel, bead))
    return found


def _tuple(point: FloatArray) -> tuple[float, float, float]:
    return float(point[0]), float(point[1]), float(point[2])


def _beveled(out: FloatArray, towards: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Legs of a groove that opens ``out``, the first on the side ``towards``."""
    return (
        math.cos(GROOVE) * out + math.sin(GROOVE) * towards,
        math.cos(GROOVE) * out - math.sin(GROOVE) * towards,
    )
