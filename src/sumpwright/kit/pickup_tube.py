"""The pickup's tube: lengths to saw, mitres with their wrap templates, bends in order.

      ___/  long side: the outside of the turn
_____/  /   the cut halves the angle between the two centre lines, so that
________/   both ends have the same oval and one template serves both
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.pickup_line import PickupLine, TubeSection
from sumpwright.kit.internals_model import PickupTube, TubeBend, TubeCut, TubePiece
from sumpwright.kit.tube_formulas import mitre_rise, tangent_length
from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array

SEGMENTED_RADIUS = 1.5
"""Centre-line radius of a corner made of several cuts, in tube widths: common practice."""

SAW: Metre = 0.003
HOLD: Metre = 0.020
"""Lost to the saw, and to hold a piece by."""

STEPS = 72
LEAST_TURN: Radian = 1e-6


def pickup_tube(line: PickupLine) -> PickupTube:
    """Pieces, cuts and bends of the line."""
    points, kinds = _with_cuts(line)
    runs = np.diff(points, axis=0)
    axes = runs / np.linalg.norm(runs, axis=1)[:, None]
    turns = [_turn(axes[k], axes[k + 1]) for k in range(len(axes) - 1)]
    aside = _carried_along(axes)
    cuts: list[TubeCut] = []
    pieces: list[TubePiece] = []
    start = 0
    for k in [j for j, corner in enumerate(kinds) if corner is None] + [len(axes) - 1]:
        is_end = k == len(axes) - 1
        name = "square" if is_end else f"cut {len(cuts) + 1}"
        before = cuts[-1].name if cuts else "square"
        if not is_end:
            cuts.append(_cut(name, line.section, points[k + 1], axes[k], axes[k + 1], aside[k]))
        pieces.append(
            _piece(f"tube {len(pieces) + 1}", points, axes, turns, kinds, start, k, before, name, line)
        )
        start = k + 1
    outside = _outside(line.section)[0]
    stock = math.fsum(piece.longest + SAW + HOLD for piece in pieces)
    return PickupTube(tuple(pieces), tuple(cuts), outside, stock)


def _with_cuts(line: PickupLine) -> tuple[FloatArray, list[Metre | None]]:
    """The centre line with every corner of several cuts opened into its cuts; radius of each corner."""
    path = np.asarray(line.path)
    units = np.diff(path, axis=0)
    units = units / np.linalg.norm(units, axis=1)[:, None]
    points = [path[0]]
    kinds: list[Metre | None] = []
    for k, corner in enumerate(line.corners):
        here, before, after = path[k + 1], units[k], units[k + 1]
        turn = _turn(before, after)
        if turn < LEAST_TURN:
            continue
        if corner.kind == "bend" and corner.radius is not None:
            points.append(here)
            kinds.append(corner.radius)
            continue
        count = max(1, corner.welds)
        if count == 1:
            points.append(here)
            kinds.append(None)
            continue
        radius = SEGMENTED_RADIUS * _outside(line.section)[0]
        leg, part = tangent_length(radius, turn), tangent_length(radius, turn / count)
        normal = np.cross(before, after) / math.sin(turn)
        at = here - before * (leg - part)
        for j in range(count):
            points.append(at)
            kinds.append(None)
            at = at + 2.0 * part * _rotated(before, normal, turn * (j + 1) / count)
    points.append(path[-1])
    return np.array(points), kinds


def _piece(
    name: str,
    points: FloatArray,
    axes: FloatArray,
    turns: list[Radian],
    kinds: list[Metre | None],
    first: int,
    last: int,
    before: str,
    after: str,
    line: PickupLine,
) -> TubePiece:
    """The tube from the corner before run ``first`` to the corner after run ``last``."""
    lengths = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along, bends = 0.0, []
    previous: FloatArray | None = None
    for k in range(first, last + 1):
        run = float(lengths[k])
        if k > first:
            run -= tangent_length(kinds[k - 1] or 0.0, turns[k - 1])
        if k < last:
            radius = kinds[k] or 0.0
            run -= tangent_length(radius, turns[k])
            plane = np.cross(axes[k], axes[k + 1])
            twist = 0.0 if previous is None else _signed_angle(previous, plane, axes[k])
            bends.append(TubeBend(along + run, turns[k], radius, twist))
            along += run + radius * turns[k]
            previous = plane
        else:
            along += run
    rises = [
        _most_rise(line.section, axes[k], axes[k + 1]) if 0 <= k < len(turns) and kinds[k] is None else 0.0
        for k in (first - 1, last)
    ]
    twist = 0.0
    if before != "square" and after != "square":
        start = _outer_side(axes[first - 1], axes[first])
        for k in range(first, last):
            start = _carry(start, axes[k], axes[k + 1])
        twist = _signed_angle(start, -_inner_of(axes[last], axes[last + 1]), axes[last])
    return TubePiece(name, along, along + sum(rises), before, after, twist, tuple(bends))


def _cut(
    name: str,
    section: TubeSection,
    place: FloatArray,
    axis: FloatArray,
    onwards: FloatArray,
    aside: FloatArray,
) -> TubeCut:
    """The wrap template of one mitre, beginning and ending on the inside of the turn where it can."""
    turn = _turn(axis, onwards)
    outer = -_inner_of(axis, onwards)
    wide, high = _outside(section)
    if section.shape == "round":
        radius = 0.5 * wide
        around = np.linspace(-math.pi, math.pi, STEPS + 1)
        offset = radius * np.cos(around)
        reach, girth = radius * (around + math.pi), 2.0 * math.pi * radius
        folds = np.zeros(0)
    else:
        up = np.cross(axis, aside)
        corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)]
        flat = [x * wide * aside + y * high * up for x, y in corners]
        first = min(range(4), key=lambda j: round(float(flat[j] @ outer), 9))
        ring = [flat[(first + j) % 4] for j in range(5)]
        sides = [float(np.linalg.norm(ring[j + 1] - ring[j])) for j in range(4)]
        reach = np.concatenate([[0.0], np.cumsum(sides)])
        offset = np.array([float(corner @ outer) for corner in ring])
        girth, folds = float(reach[-1]), reach[1:-1]
    height = np.array([mitre_rise(float(d), turn) for d in offset])
    curve = np.stack([reach, height - height.min()], axis=1)
    return TubeCut(
        name,
        frozen_array(place),
        turn,
        girth,
        frozen_array(curve),
        frozen_array(folds),
        float(np.ptp(height)),
    )


def _most_rise(section: TubeSection, axis: FloatArray, onwards: FloatArray) -> Metre:
    """How far the longest line of the wall reaches beyond the centre line at a mitre, at most."""
    wide, high = _outside(section)
    reach = 0.5 * wide if section.shape == "round" else 0.5 * math.hypot(wide, high)
    return mitre_rise(reach, _turn(axis, onwards))


def _outside(section: TubeSection) -> tuple[Metre, Metre]:
    """Width and height over the outside."""
    return section.clear_width + 2.0 * section.wall, section.clear_height + 2.0 * section.wall


def _turn(axis: FloatArray, onwards: FloatArray) -> Radian:
    return math.atan2(float(np.linalg.norm(np.cross(axis, onwards))), float(axis @ onwards))


def _inner_of(axis: FloatArray, onwards: FloatArray) -> FloatArray:
    """Unit direction square to the axis, to the inside of the turn."""
    across = onwards - float(onwards @ axis) * axis
    return np.asarray(across / np.linalg.norm(across))


def _outer_side(axis: FloatArray, onwards: FloatArray) -> FloatArray:
    """Unit direction square to the second tube's axis, to the outside of the turn before it."""
    back = axis - float(axis @ onwards) * onwards
    return np.asarray(back / np.linalg.norm(back))


def _carried_along(axes: FloatArray) -> list[FloatArray]:
    """A direction square to each run that the tube's own side keeps: in the plane of the first turn."""
    first = None
    for k in range(len(axes) - 1):
        if _turn(axes[k], axes[k + 1]) > LEAST_TURN:
            first = (k, _inner_of(axes[k], axes[k + 1]))
            break
    if first is None:
        seed = np.eye(3)[int(np.argmin(np.abs(axes[0])))]
        across = seed - float(seed @ axes[0]) * axes[0]
        return [across / np.linalg.norm(across)] * len(axes)
    found = [first[1]] * (first[0] + 1)
    for k in range(first[0], len(axes) - 1):
        found.append(_carry(found[k], axes[k], axes[k + 1]))
    return found


def _carry(side: FloatArray, axis: FloatArray, onwards: FloatArray) -> FloatArray:
    """The direction after the turn, not twisted about the tube."""
    turn = _turn(axis, onwards)
    if turn < LEAST_TURN:
        return side
    return _rotated(side, np.cross(axis, onwards) / math.sin(turn), turn)


def _rotated(vector: FloatArray, about: FloatArray, angle: Radian) -> FloatArray:
    c, s = math.cos(angle), math.sin(angle)
    return np.asarray(c * vector + s * np.cross(about, vector) + (1.0 - c) * float(about @ vector) * about)


def _signed_angle(one: FloatArray, other: FloatArray, about: FloatArray) -> Radian:
    """From one direction to the other, right-handed about an axis; both are laid square to it."""
    a = one - float(one @ about) * about
    b = other - float(other @ about) * about
    return math.atan2(float(about @ np.cross(a, b)), float(a @ b))
