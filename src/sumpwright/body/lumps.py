"""One rough lump as a solid with plane faces.

Every corner is the meeting point of three planes, so that moving a plane moves its
corners with it and nothing else has to be kept in step.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from sumpwright.body.model import Lump
from sumpwright.geometry.polygons import is_simple, signed_area
from sumpwright.quantities.units import FloatArray, Metre

PlaneKind = Literal["wall", "floor", "top", "end"]

RAISED_CUT: Metre = 0.001
"""A cut that starts at the rail is begun this much above it, so that its mouth is surely open."""


@dataclass(frozen=True, slots=True)
class LumpTrouble:
    """Why a lump makes no solid, and what would cure it."""

    what: str
    cure: str


@dataclass(frozen=True, slots=True, eq=False)
class LumpSolid:
    """A lump's planes, which three of them meet in each corner, and the loop of each plane."""

    lump: Lump
    number: int  # place in the job's list
    corner_names: tuple[int, ...]  # outline corner numbers (from 1) still in use
    normals: FloatArray  # (p, 3), out of the lump
    offsets: FloatArray  # (p,) m
    kinds: tuple[PlaneKind, ...]  # p
    corners: tuple[tuple[int, int, int], ...]  # v, the planes that meet there
    loops: tuple[tuple[int, ...], ...]  # p, corner indices anticlockwise from outside
    points: FloatArray  # (v, 3) m
    trimmed_by_floor: tuple[FloatArray, float] | None = None  # where the floor cuts through the top


def _say(lump: Lump) -> str:
    return f"lump '{lump.name}'"


def tidy_outline(outline: FloatArray, snap: Metre) -> tuple[FloatArray, tuple[int, ...], bool]:
    """Outline without repeated and in-line corners, anticlockwise.

    Returns points, their numbers in the user's list (from 1), and whether it was turned round.
    """
    points = np.asarray(outline, dtype=np.float64)
    numbers = list(range(1, len(points) + 1))
    keep = list(range(len(points)))
    changed = True
    while changed and len(keep) > 2:
        changed = False
        for i in range(len(keep)):
            a, b, c = points[keep[i - 1]], points[keep[i]], points[keep[(i + 1) % len(keep)]]
            chord = c - a
            length = math.hypot(*chord)
            if math.hypot(*(b - a)) <= snap:
                off = 0.0
            elif length <= snap:
                continue  # there and back: left for the crossing test
            else:
                off = abs(chord[0] * (b - a)[1] - chord[1] * (b - a)[0]) / length
                if not 0.0 < float((b - a) @ chord) < length * length:
                    continue
            if off <= snap:
                del keep[i]
                changed = True
                break
    tidy = points[keep]
    names = [numbers[k] for k in keep]
    turned = len(keep) > 2 and signed_area(tidy) < 0.0
    if turned:
        tidy, names = tidy[::-1], names[::-1]
    return tidy, tuple(names), turned


def three_plane_points(
    normals: FloatArray, offsets: FloatArray, corners: tuple[tuple[int, int, int], ...]
) -> FloatArray:
    """Meeting points (v, 3) of three planes each."""
    index = np.array(corners)
    return np.linalg.solve(normals[index], offsets[index][..., None])[..., 0]


def build_lump(lump: Lump, number: int, snap: Metre, rail_open: bool) -> LumpSolid | LumpTrouble:
    """The lump as a solid, or why there is none.

    ``rail_open``: begin a cut that starts at the rail a little above it.
    """
    numbers = [lump.top, lump.wall_slope, lump.across_from, lump.across_to]
    for own in (lump.own_axes, lump.own_origin):
        if own is not None:
            numbers += [float(value) for value in np.ravel(own)]
    if lump.floor is not None:
        numbers += [*lump.floor.normal, lump.floor.offset]
    outline = np.asarray(lump.outline, dtype=np.float64)
    if not (np.isfinite(outline).all() and all(math.isfinite(v) for v in numbers)):
        return LumpTrouble(
            f"{_say(lump)} has a length or angle that is not a number", "give every length as a number"
        )
    if outline.ndim != 2 or outline.shape[1] != 2 or len(outline) < 3:
        return LumpTrouble(
            f"the outline of {_say(lump)} has fewer than three corners",
            "give at least three corners, in order round it",
        )
    points, names, _ = tidy_outline(outline, snap)
    if len(points) < 3 or float(np.ptp(points, axis=0).min()) <= snap:
        return LumpTrouble(
            f"the outline of {_say(lump)} encloses nothing",
            "give its corners in order round it, and check that no two are the same",
        )
    if not is_simple(points):
        return LumpTrouble(
            f"the outline of {_say(lump)} crosses or touches itself",
            "give its corners in order round it; where it should be two shapes, make two lumps",
        )
    if lump.view == "side":
        return _stood_up(_build_side(lump, number, points, names, snap))
    return _stood_up(_build_plan(lump, number, points, names, snap, rail_open))


def _own_frame(lump: Lump) -> tuple[FloatArray, FloatArray]:
    """Axes (3, 3) as columns and origin (3,) of the lump's own frame."""
    axes = np.eye(3) if lump.own_axes is None else np.asarray(lump.own_axes)
    origin = np.zeros(3) if lump.own_origin is None else np.asarray(lump.own_origin)
    return axes, origin


def _stood_up(built: LumpSolid | LumpTrouble) -> LumpSolid | LumpTrouble:
    """The solid moved from its lump's own frame into the engine frame."""
    if isinstance(built, LumpTrouble) or (built.lump.own_axes is None and built.lump.own_origin is None):
        return built
    axes, origin = _own_frame(built.lump)
    normals = built.normals @ axes.T
    trimmed = built.trimmed_by_floor
    if trimmed is not None:
        normal = axes @ trimmed[0]
        trimmed = normal, trimmed[1] + float(normal @ origin)
    return replace(
        built,
        normals=normals,
        offsets=built.offsets + normals @ origin,
        points=built.points @ axes.T + origin,
        trimmed_by_floor=trimmed,
    )


def _edge_normals(points: FloatArray) -> FloatArray:
    """Outward unit normals (n, 2) of the sides of an anticlockwise outline."""
    along = np.roll(points, -1, axis=0) - points
    normals = np.stack([along[:, 1], -along[:, 0]], axis=1)
    return normals / np.hypot(normals[:, 0], normals[:, 1])[:, None]


def _walls(count: int) -> tuple[PlaneKind, ...]:
    kind: PlaneKind = "wall"
    return (kind,) * count


def _build_side(
    lump: Lump, number: int, points: FloatArray, names: tuple[int, ...], snap: Metre
) -> LumpSolid | LumpTrouble:
    if lump.across_to - lump.across_from <= snap:
        return LumpTrouble(
            f"{_say(lump)} is inside out: it does not reach from its right end to its left end",
            "let 'across_from' lie to the right of 'across_to' (the engine's left counts positive)",
        )
    n = len(points)
    flat = _edge_normals(points)
    normals = np.zeros((n + 2, 3))
    normals[:n, 0], normals[:n, 2] = flat[:, 0], flat[:, 1]
    normals[n] = (0.0, -1.0, 0.0)
    normals[n + 1] = (0.0, 1.0, 0.0)
    offsets = np.concatenate([np.einsum("ij,ij->i", flat, points), [-lump.across_from, lump.across_to]])
    corners = tuple([((k - 1) % n, k, n) for k in range(n)] + [((k - 1) % n, k, n + 1) for k in range(n)])
    right_end = tuple(range(n))
    left_end = tuple(range(2 * n - 1, n - 1, -1))
    walls = [(k, n + k, n + (k + 1) % n, (k + 1) % n) for k in range(n)]
    return LumpSolid(
        lump,
        number,
        names,
        normals,
        offsets,
        (*_walls(n), "end", "end"),
        corners,
        (*walls, right_end, left_end),
        three_plane_points(normals, offsets, corners),
    )


def _build_plan(
    lump: Lump, number: int, points: FloatArray, names: tuple[int, ...], snap: Metre, rail_open: bool
) -> LumpSolid | LumpTrouble:
    if lump.floor is None:
        return LumpTrouble(f"{_say(lump)} has no floor", "give its depth, or the floor it goes down to")
    axes, origin = _own_frame(lump)
    floor_normal = axes.T @ np.asarray(lump.floor.normal, dtype=np.float64)
    floor_offset = float(lump.floor.offset) - float(np.asarray(lump.floor.normal) @ origin)
    if floor_normal[2] > -0.02:
        return LumpTrouble(
            f"the floor of {_say(lump)} stands on edge or faces up",
            "give a floor that lies flatter than 85 degrees",
        )
    if abs(lump.wall_slope) > math.radians(75.0):
        return LumpTrouble(
            f"the walls of {_say(lump)} slope more than 75 degrees", "give a smaller wall slope"
        )
    n = len(points)
    tangent = math.tan(lump.wall_slope)
    flat = _edge_normals(points)
    # Wall k through its top edge: flat . xy - z tan(slope) = constant.
    normals = np.zeros((n + 2, 3))
    normals[:n, :2] = flat
    normals[:n, 2] = -tangent
    offsets = np.zeros(n + 2)
    offsets[:n] = np.einsum("ij,ij->i", flat, points) - lump.top * tangent
    scale = math.sqrt(1.0 + tangent * tangent)
    normals[:n] /= scale
    offsets[:n] /= scale
    top = lump.top
    if rail_open and lump.own_axes is None and not lump.adds and top > -snap:
        top = max(top, 0.0) + RAISED_CUT
    normals[n], offsets[n] = (0.0, 0.0, 1.0), top

    def floor_z(xy: FloatArray) -> FloatArray:
        return np.asarray((floor_offset - xy @ floor_normal[:2]) / floor_normal[2])

    upper = floor_z(points)
    if (upper >= lump.top - snap).all():
        return LumpTrouble(
            f"the floor of {_say(lump)} lies above its top"
            + (", above the rail" if lump.top >= -snap else ""),
            "give a depth below the rail as a positive number, or lower the floor",
        )
    trimmed = None
    if (upper > lump.top - snap).any():
        # The floor runs out through the top: sweep deeper than it and trim afterwards.
        trimmed = (floor_normal, floor_offset)
        span = float(np.ptp(points, axis=0).max())
        deepest = float(upper.min())
        if tangent < 0.0:
            lean = math.hypot(floor_normal[0], floor_normal[1]) / -floor_normal[2]
            share = min(0.9, lean * -tangent)
            deepest -= (lump.top - deepest) * share / (1.0 - share)
        normals[n + 1] = (0.0, 0.0, -1.0)
        offsets[n + 1] = -(deepest - 0.01 * span)
        if tangent > 0.0:
            offsets[n + 1] = -(deepest - 1e-4 * span)
    else:
        normals[n + 1], offsets[n + 1] = floor_normal, floor_offset
    corners = tuple([((k - 1) % n, k, n) for k in range(n)] + [((k - 1) % n, k, n + 1) for k in range(n)])
    index = np.array(corners)
    if float(np.abs(np.linalg.det(normals[index])).min()) < 1e-12:
        return LumpTrouble(
            f"a wall of {_say(lump)} runs along its floor", "make the wall slope or the floor's tilt smaller"
        )
    solved = three_plane_points(normals, offsets, corners)
    eaten = _eaten_edge(points, solved, n)
    if eaten is not None:
        k, from_top = eaten
        first, second = names[k], names[(k + 1) % n]
        if from_top:
            return LumpTrouble(
                f"{_say(lump)} widens upwards so much that its edge from corner {first} to {second} closes",
                "lower the top of the lump or make the wall slope smaller",
            )
        return LumpTrouble(
            f"the wall slope of {_say(lump)} eats up the edge from corner {first} to corner {second} "
            "before the floor is reached",
            "make the wall slope or the depth smaller, or make that edge longer",
        )
    if tangent != 0.0 and not is_simple(solved[n:, :2]):
        return LumpTrouble(
            f"the sloping walls of {_say(lump)} run through each other before the floor is reached",
            "make the wall slope or the depth smaller, or split the lump in two",
        )
    if trimmed is None and tangent < 0.0 and (solved[n:, 2] >= solved[:n, 2] - snap).any():
        return LumpTrouble(
            f"the floor of {_say(lump)} comes up through its top where the walls spread",
            "lower the floor or make the walls steeper",
        )
    top_loop = tuple(range(n))
    floor_loop = tuple(range(2 * n - 1, n - 1, -1))
    walls = [(n + k, n + (k + 1) % n, (k + 1) % n, k) for k in range(n)]
    return LumpSolid(
        lump,
        number,
        names,
        normals,
        offsets,
        (*_walls(n), "top", "floor"),
        corners,
        (*walls, top_loop, floor_loop),
        solved,
        trimmed,
    )


def _eaten_edge(points: FloatArray, solved: FloatArray, n: int) -> tuple[int, bool] | None:
    """The first outline edge whose upper or lower copy has turned round, and which of the two."""
    along = np.roll(points, -1, axis=0) - points
    for from_top, ring in ((True, solved[:n, :2]), (False, solved[n:, :2])):
        copy = np.roll(ring, -1, axis=0) - ring
        gone = np.flatnonzero(np.einsum("ij,ij->i", along, copy) <= 0.0)
        if gone.size:
            return int(gone[0]), from_top
    return None
