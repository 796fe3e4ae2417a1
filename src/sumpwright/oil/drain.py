"""What stays in the pan when the plug is out."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import PanBody
from sumpwright.geometry import Surface
from sumpwright.oil.joined import OilSpace, nearest_triangle, oil_space
from sumpwright.oil.model import Drained, HeldPool
from sumpwright.oil.pools import PoolPlace, pools
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, Radian, frozen_array

RAMPS: Radian = math.radians(10.0)
"""Front or rear wheels on a pair of ramps: the usual attitudes for draining, beside level."""

ATTITUDES: tuple[tuple[str, Radian, Radian], ...] = (
    ("level", 0.0, 0.0),
    ("nose up", RAMPS, 0.0),
    ("nose down", -RAMPS, 0.0),
)
"""Words, nose up, lean to the right."""

NEAR: Metre = 5e-4
"""A face this near to a point is the one it lies on."""

LEAST_POOL: CubicMetre = 1e-7
"""A tenth of a millilitre; less is a film."""


def up_at(placement: EnginePlacement, nose_up: Radian, lean_right: Radian) -> FloatArray:
    """The world's up in engine axes (3,), the vehicle standing on a slope."""
    slope = Attitude(nose_up=nose_up, lean_right=lean_right).matrix()
    return frozen_array(placement.attitude.matrix().T @ slope.T @ np.array([0.0, 0.0, 1.0]))


def drain_floor(surface: Surface, drain: FloatArray) -> int:
    """The lowest floor triangle under the plug's place seen from above, or -1 where there is none."""
    a, b, c = (surface.vertices[surface.triangles[:, k], :2] - drain[:2] for k in range(3))
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
    z = [surface.vertices[surface.triangles[:, k], 2] for k in range(3)]
    height = np.where(hit, (sides[1] * z[0] + sides[2] * z[1] + sides[0] * z[2]) / safe, np.inf)
    return int(np.argmin(height))


def drained(body: PanBody, placement: EnginePlacement | None, standing_up: FloatArray) -> tuple[Drained, ...]:
    """Pools that stay at each usual attitude, over the floor with inner walls and slots.

    The plug's hole is flush with its floor; without a place it sits at the lowest point. Without
    a placement only the level attitude is answered. An empty answer: no floor under the plug.
    """
    space = oil_space(body, open_top=False)
    plug = _plug(body, space.surface, standing_up)
    if plug is None:
        return ()
    corners, hole = plug
    answers = []
    for words, nose_up, lean_right in ATTITUDES:
        if words == "level":
            up = standing_up
        elif placement is None:
            continue
        else:
            up = up_at(placement, nose_up, lean_right)
        found = pools_left(space, up, corners, hole)
        held = tuple(held_pool(body, pool, up, hole) for pool in found)
        answers.append(Drained(words, nose_up, lean_right, math.fsum(p.pool_volume for p in held), held))
    return tuple(answers)


def left_level(body: PanBody, standing_up: FloatArray) -> CubicMetre | None:
    """Oil that stays level, as ``drained`` counts it, without naming its pools; None as there ()."""
    space = oil_space(body, open_top=False)
    plug = _plug(body, space.surface, standing_up)
    if plug is None:
        return None
    return math.fsum(pool.pool_volume for pool in pools_left(space, standing_up, *plug))


def _plug(
    body: PanBody, surface: Surface, standing_up: FloatArray
) -> tuple[tuple[int, ...], FloatArray] | None:
    """Corners round the plug's hole and its place; None where there is no floor under it."""
    drain = body.inputs.drain
    if drain is None:
        used = np.unique(surface.triangles)
        lowest = int(used[np.argmin(surface.vertices[used] @ standing_up)])
        return (lowest,), surface.vertices[lowest]
    triangle = drain_floor(surface, drain)
    if triangle < 0:
        return None
    return tuple(int(v) for v in surface.triangles[triangle]), _on_floor(surface, triangle, drain)


def pools_left(
    space: OilSpace, up: FloatArray, corners: tuple[int, ...], hole: FloatArray
) -> tuple[PoolPlace, ...]:
    """Pools that stay when the oil runs off at a hole beside these corners."""
    at = float(up @ hole)
    starts = tuple((corner, at) for corner in corners)
    return tuple(pools(space.surface, up, starts, LEAST_POOL, space.links))


def _on_floor(surface: Surface, triangle: int, drain: FloatArray) -> FloatArray:
    """The plug's place (3,) on its floor triangle."""
    a, b, c = surface.vertices[surface.triangles[triangle]]
    nx, ny, nz = np.cross(b - a, c - a).tolist()
    z = float(a[2]) - (nx * (drain[0] - a[0]) + ny * (drain[1] - a[1])) / nz
    return frozen_array([float(drain[0]), float(drain[1]), z])


def held_pool(body: PanBody, pool: PoolPlace, up: FloatArray, hole: FloatArray) -> HeldPool:
    """A pool with the names of what holds it."""
    at_plug = pool.level <= float(up @ hole) + 1e-9
    deepest, crest = np.array(pool.deepest), hole if at_plug else np.array(pool.crest)
    across = crest - deepest
    across = across - float(across @ up) * up
    run = float(np.linalg.norm(across))
    over = "" if at_plug else _wall_at(body, crest)
    return HeldPool(
        face=_floor_at(body, deepest, up),
        deepest=pool.deepest,
        crest=(float(crest[0]), float(crest[1]), float(crest[2])),
        runs_to="" if at_plug else _floor_at(body, crest + 1e-4 * across / max(run, 1e-12), up),
        pool_depth=pool.pool_depth,
        pool_volume=pool.pool_volume,
        cure_fall=math.atan2(pool.pool_depth, run) if run > 1e-6 and not over else None,
        at_plug=at_plug,
        wall=over,
    )


def _floor_at(body: PanBody, point: FloatArray, up: FloatArray) -> str:
    """The face under a point: of those that carry it, the one that looks down most."""
    if body.cavity is None:
        return ""
    best, name = math.inf, ""
    for face in body.cavity.faces:
        if face.role == "rail":
            continue
        triangles = body.cavity.triangles[body.cavity.face_of_triangle == face.index]
        _, distance = nearest_triangle(Surface(body.cavity.vertices, triangles), point)
        if distance <= NEAR and float(face.plane.normal @ up) < best:
            best, name = float(face.plane.normal @ up), face.name
    return name


def _wall_at(body: PanBody, point: FloatArray) -> str:
    """The inner wall over or through which oil runs at a point, "" where there is none."""
    if body.division is None:
        return ""
    for opening in body.division.openings:
        for outline in opening.outlines:
            if float(np.min(np.linalg.norm(outline - point, axis=1))) <= NEAR:
                return opening.wall
    return ""
