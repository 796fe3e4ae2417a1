"""How close the pan comes to everything round it and in it, over all postures.

Distances are exact for the triangles given. Over a range of rocking or travel the least gap
is searched by bounds: a point that moves by d changes a gap by d at most, so a stretch that
cannot hold a smaller gap is left out. The search stops ``SEARCH_STEP`` from the true least.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.body.model import Cavity, PanBody
from sumpwright.body.outside import PanPart, inside_parts, outside_parts
from sumpwright.body.surroundings import (
    Clearance,
    EngineMovement,
    KeepOut,
)
from sumpwright.geometry.triangle_distance import (
    LeastGap,
    TriangleGroups,
    group_triangles,
    least_gap,
    moved,
    open_sides,
    winding_number,
)
from sumpwright.quantities.units import FloatArray, IntArray, Metre, Radian

SEARCH_STEP: Metre = 0.00025
MOST_POSTURES = 400


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """Pan parts as one surface, each triangle with its skin and its part."""

    names: tuple[str, ...]
    surface: TriangleGroups
    part: IntArray  # (n,) place in names of each triangle as given


def gathered(parts: tuple[PanPart, ...]) -> Parts:
    """All parts in one array."""
    return Parts(
        tuple(part.name for part in parts),
        group_triangles(
            np.concatenate([part.triangles for part in parts]),
            np.concatenate([np.full(len(part.triangles), part.skin) for part in parts]),
        ),
        np.concatenate([np.full(len(part.triangles), k) for k, part in enumerate(parts)]),
    )


def clearances(body: PanBody, cavity: Cavity) -> tuple[Clearance, ...]:
    """Least gap to every keep-out."""
    around = body.inputs.surroundings
    if not around.keep_outs:
        return ()
    outside, inside = gathered(outside_parts(body, cavity)), gathered(inside_parts(body, cavity))
    return tuple(
        _clearance(
            keep_out, inside if keep_out.lies == "inside the pan" else outside, around.movement, cavity
        )
        for keep_out in around.keep_outs
    )


def least_spare(body: PanBody, cavity: Cavity) -> tuple[Metre | None, tuple[str, ...]]:
    """Least gap less what is wanted over all keep-outs, and what is swallowed; as ``clearances`` has them.

    Keep-outs that even in their worst posture cannot come nearer are not searched, which makes
    it several times faster. None where nothing is named.
    """
    around = body.inputs.surroundings
    if not around.keep_outs:
        return None, ()
    outside, inside = gathered(outside_parts(body, cavity)), gathered(inside_parts(body, cavity))
    bounded = []
    swallowed = []
    for at, keep_out in enumerate(around.keep_outs):
        parts = inside if keep_out.lies == "inside the pan" else outside
        rocks = around.movement if keep_out.moves_with == "vehicle" else None
        standing = [_Posed(parts, groups, way, rocks).bound() for groups, way, _ in _travelled(keep_out)]
        shift = 0.0 if rocks is None else rocks.shift
        bounded.append((min(standing) - shift - keep_out.wanted, at, keep_out, parts))
    least = math.inf
    for bound, _, keep_out, parts in sorted(bounded, key=lambda one: one[:2]):
        if bound < least:
            found = _clearance(keep_out, parts, around.movement, cavity)
            least = min(least, found.gap - keep_out.wanted)
            is_swallowed = found.swallowed
        else:
            is_swallowed = bound + keep_out.wanted > 0.0 and _is_swallowed(keep_out, parts, cavity)
        if is_swallowed:
            swallowed.append(keep_out.name)
    return least, tuple(swallowed)


@dataclass(frozen=True, slots=True, eq=False)
class _Posed:
    """The pan beside one keep-out, rocked by an angle, the keep-out a share of its travel on."""

    parts: Parts
    groups: TriangleGroups
    way: FloatArray  # (3,) m, travel not yet in the triangles
    movement: EngineMovement | None  # None where the keep-out moves with the engine

    def gap(self, angle: Radian, share: float) -> LeastGap:
        """Least gap in this posture."""
        turn, about = np.eye(3), np.zeros(3)
        if self.movement is not None and angle != 0.0:
            turn, about = turn_matrix(np.asarray(self.movement.axis), angle), self.movement.axis_point
        found = least_gap(moved(self.parts.surface, turn, about, -share * self.way), self.groups)
        assert found is not None
        return found

    def ranges(self) -> tuple[Range, Range]:
        """Angles and shares of the travel, with how fast a gap can change over them."""
        rock = 0.0 if self.movement is None else self.movement.rock
        reach = 0.0 if self.movement is None else _reach(self.parts.surface.triangles, self.movement)
        return (-rock, rock, reach), (0.0, 1.0, float(np.linalg.norm(self.way)))

    def least(self) -> tuple[LeastGap, Radian]:
        """Least gap over all postures, and how far the engine is rocked there."""
        found, (angle, _) = least_over(lambda at: self.gap(*at), self.ranges())
        return found, angle

    def bound(self) -> Metre:
        """No posture has a smaller gap than this."""
        ranges = self.ranges()
        spread = sum(0.5 * (high - low) * slope for low, high, slope in ranges)
        return self.gap(*(0.5 * (low + high) for low, high, _ in ranges)).gap - spread


def _clearance(keep_out: KeepOut, parts: Parts, movement: EngineMovement | None, cavity: Cavity) -> Clearance:
    rocks = movement if keep_out.moves_with == "vehicle" else None
    posed = [(_Posed(parts, groups, way, rocks), words) for groups, way, words in _travelled(keep_out)]
    (found, angle), words = min(
        ((one.least(), words) for one, words in posed), key=lambda pair: pair[0][0].gap
    )
    rocked = "" if abs(angle) < 1e-9 or rocks is None else _rock_words(rocks, angle)
    return Clearance(
        keep_out.name,
        found.gap - (0.0 if rocks is None else rocks.shift),
        parts.names[int(parts.part[found.first])],
        ", ".join(word for word in (rocked, words) if word) or "as it stands",
        found.on_first,
        found.on_second,
        found.gap > 0.0 and _is_swallowed(keep_out, parts, cavity),
        open_sides(keep_out.triangles),
    )


def _travelled(keep_out: KeepOut) -> list[tuple[TriangleGroups, FloatArray, str]]:
    """The keep-out over its travel: as one hull where that is exact, else with the way to search along."""
    standing = np.asarray(keep_out.triangles)
    if not keep_out.travel:
        return [(group_triangles(standing), np.zeros(3), "")]
    words = "over its travel"
    if not keep_out.is_convex:
        groups = group_triangles(standing)
        return [(groups, np.array(way), words) for way in keep_out.travel]
    import manifold3d

    corners = standing.reshape(-1, 3)
    found = []
    for way in keep_out.travel:
        hull = manifold3d.Manifold.hull_points(np.concatenate([corners, corners + np.array(way)]))
        mesh = hull.to_mesh64()
        swept = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts, dtype=np.int64)]
        found.append((group_triangles(swept), np.zeros(3), words))
    return found


def turn_matrix(axis: FloatArray, angle: Radian) -> FloatArray:
    """Turning (3, 3) about a unit axis, right-handed (Rodrigues' formula)."""
    c, s = math.cos(angle), math.sin(angle)
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.asarray(c * np.eye(3) + s * cross + (1.0 - c) * np.outer(axis, axis))


def _reach(triangles: FloatArray, movement: EngineMovement) -> Metre:
    away = triangles.reshape(-1, 3) - movement.axis_point
    along = away @ np.asarray(movement.axis)
    return float(np.linalg.norm(away - along[:, None] * np.asarray(movement.axis), axis=1).max())


def _rock_words(movement: EngineMovement, angle: Radian) -> str:
    """Which way the engine has gone over, seen from behind."""
    forward = float(np.asarray(movement.axis)[0])
    if abs(forward) < 0.5:
        return "engine rocked one way" if angle > 0.0 else "engine rocked the other way"
    return "engine rocked to the right" if angle * forward > 0.0 else "engine rocked to the left"


Range = tuple[float, float, float]
"""From, to, and by how much a gap can change a unit."""


def least_over(
    gap_at: Callable[[tuple[float, ...]], LeastGap], ranges: tuple[Range, ...]
) -> tuple[LeastGap, tuple[float, ...]]:
    """Least gap over ranges, to ``SEARCH_STEP``, and where it is taken."""
    middle = tuple(0.5 * (low + high) for low, high, _ in ranges)
    best = gap_at(middle), middle
    waiting: list[tuple[float, int, tuple[Range, ...]]] = []

    def wait(found: LeastGap, box: tuple[Range, ...]) -> None:
        spread = sum(0.5 * (high - low) * slope for low, high, slope in box)
        if spread > 0.0:
            heapq.heappush(waiting, (found.gap - spread, len(waiting) + tried, box))

    tried = 1
    wait(best[0], ranges)
    while waiting and tried < MOST_POSTURES:
        bound, _, box = heapq.heappop(waiting)
        if bound >= best[0].gap - SEARCH_STEP:
            break
        split = max(range(len(box)), key=lambda k, box=box: (box[k][1] - box[k][0]) * box[k][2])  # type: ignore[misc]
        low, high, slope = box[split]
        half = 0.5 * (low + high)
        for part in ((low, half, slope), (half, high, slope)):
            smaller = (*box[:split], part, *box[split + 1 :])
            middle = tuple(0.5 * (start + end) for start, end, _ in smaller)
            found = gap_at(middle)
            tried += 1
            if found.gap < best[0].gap:
                best = found, middle
            wait(found, smaller)
    return best


def _is_swallowed(keep_out: KeepOut, parts: Parts, cavity: Cavity) -> bool:
    """Whether one lies within the other without their surfaces touching."""
    triangles = np.asarray(keep_out.triangles)
    corners = triangles.reshape(-1, 3)
    surface = cavity.surface()
    oil = np.asarray(surface.vertices)[np.asarray(surface.triangles)]
    if keep_out.lies == "outside the pan":
        pan = parts.surface.triangles.reshape(-1, 3)[:: max(1, len(parts.part) // 12)]
        # Nothing outside its box is inside it.
        within = ((pan > corners.min(axis=0)) & (pan < corners.max(axis=0))).all(axis=1)
        if within.any() and float(winding_number(pan[within], triangles).max()) > 0.5:
            return True
        low, high = cavity.vertices.min(axis=0), cavity.vertices.max(axis=0)
        near = np.unique(corners[((corners > low) & (corners < high)).all(axis=1)], axis=0)
        return bool(len(near)) and bool((winding_number(near, oil) > 0.5).any())
    below = np.unique(corners[corners[:, 2] < -1e-6], axis=0)
    return bool(len(below)) and bool((winding_number(below, oil) < 0.5).any())
