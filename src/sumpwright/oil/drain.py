"""What stays in the pan when the plug is out."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import Cavity
from sumpwright.oil.model import Drained, HeldPool
from sumpwright.oil.pools import PoolPlace, pools
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import CubicMetre, FloatArray, Radian, frozen_array

RAMPS: Radian = math.radians(10.0)
"""Front or rear wheels on a pair of ramps: the usual attitudes for draining, beside level."""

ATTITUDES: tuple[tuple[str, Radian, Radian], ...] = (
    ("level", 0.0, 0.0),
    ("nose up", RAMPS, 0.0),
    ("nose down", -RAMPS, 0.0),
)
"""Words, nose up, lean to the right."""

LEAST_POOL: CubicMetre = 1e-7
"""A tenth of a millilitre; less is a film."""


def up_at(placement: EnginePlacement, nose_up: Radian, lean_right: Radian) -> FloatArray:
    """The world's up in engine axes (3,), the vehicle standing on a slope."""
    slope = Attitude(nose_up=nose_up, lean_right=lean_right).matrix()
    return frozen_array(placement.attitude.matrix().T @ slope.T @ np.array([0.0, 0.0, 1.0]))


def drain_floor(cavity: Cavity, drain: FloatArray) -> int:
    """The floor triangle under the plug's place seen from above, or -1 where there is none."""
    a, b, c = (cavity.vertices[cavity.triangles[:, k], :2] - drain[:2] for k in range(3))
    sides = np.stack(
        [
            a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0],
            b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0],
            c[:, 0] * a[:, 1] - c[:, 1] * a[:, 0],
        ]
    )
    area = np.sum(sides, axis=0)
    hit = (area < 0.0) & np.all(sides <= 1e-12 * np.abs(area), axis=0)
    if not np.any(hit):
        return -1
    safe = np.where(area == 0.0, 1.0, area)
    z = [cavity.vertices[cavity.triangles[:, k], 2] for k in range(3)]
    height = np.where(hit, (sides[1] * z[0] + sides[2] * z[1] + sides[0] * z[2]) / safe, np.inf)
    return int(np.argmin(height))


def drained(
    cavity: Cavity, drain: FloatArray | None, placement: EnginePlacement | None, standing_up: FloatArray
) -> tuple[Drained, ...]:
    """Pools that stay at each usual attitude; without a plug's place, it sits at the lowest point.

    The plug's hole is flush with the floor. Without a placement only the level attitude is
    answered. An empty answer: there is no floor under the plug.
    """
    surface = cavity.surface()
    if drain is None:
        lowest = int(np.argmin(cavity.vertices @ standing_up))
        corners: tuple[int, ...] = (lowest,)
        hole = cavity.vertices[lowest]
    else:
        triangle = drain_floor(cavity, drain)
        if triangle < 0:
            return ()
        corners = tuple(int(v) for v in cavity.triangles[triangle])
        hole = _on_floor(cavity, triangle, drain)
    answers = []
    for words, nose_up, lean_right in ATTITUDES:
        if words == "level":
            up = standing_up
        elif placement is None:
            continue
        else:
            up = up_at(placement, nose_up, lean_right)
        at = float(up @ hole)
        found = pools(surface, up, tuple((corner, at) for corner in corners), LEAST_POOL)
        held = tuple(_held(cavity, pool, up, hole) for pool in found)
        answers.append(Drained(words, nose_up, lean_right, math.fsum(p.pool_volume for p in held), held))
    return tuple(answers)


def _on_floor(cavity: Cavity, triangle: int, drain: FloatArray) -> FloatArray:
    """The plug's place (3,) on its floor triangle."""
    plane = cavity.faces[int(cavity.face_of_triangle[triangle])].plane
    nx, ny, nz = plane.normal.tolist()
    z = (plane.offset - nx * drain[0] - ny * drain[1]) / nz
    return frozen_array([float(drain[0]), float(drain[1]), z])


def _held(cavity: Cavity, pool: PoolPlace, up: FloatArray, hole: FloatArray) -> HeldPool:
    at_plug = pool.level <= float(up @ hole) + 1e-9
    deepest, crest = np.array(pool.deepest), hole if at_plug else np.array(pool.crest)
    across = crest - deepest
    across = across - float(across @ up) * up
    run = float(np.linalg.norm(across))
    return HeldPool(
        face=cavity.faces[int(cavity.face_of_triangle[pool.lowest_triangle])].name,
        deepest=pool.deepest,
        crest=(float(crest[0]), float(crest[1]), float(crest[2])),
        runs_to="" if at_plug else _face_beyond(cavity, crest, deepest, up),
        at_plug=at_plug,
        pool_depth=pool.pool_depth,
        pool_volume=pool.pool_volume,
        cure_fall=math.atan2(pool.pool_depth, run) if run > 1e-6 else None,
    )


def _face_beyond(cavity: Cavity, crest: FloatArray, deepest: FloatArray, up: FloatArray) -> str:
    """The face at the crest that falls away from the pool: the oil runs on over it."""
    corner = int(np.argmin(np.linalg.norm(cavity.vertices - crest, axis=1)))
    heights = cavity.vertices @ up
    best, name = math.inf, ""
    for triangle, face in zip(cavity.triangles, cavity.face_of_triangle, strict=True):
        if corner not in triangle or cavity.faces[int(face)].role == "rail":
            continue
        for other in triangle:
            away = float((cavity.vertices[other] - crest) @ (crest - deepest))
            fall = float(heights[other] - heights[corner])
            if away > 0.0 and fall < best:
                best, name = fall, cavity.faces[int(face)].name
    return name
