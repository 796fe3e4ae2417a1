"""The torch and the filler hand as balls in their own axes, and the ways they may be held.

            | back cap
   body     |
 =====------+   z: along the axis, away from the work
hand        |   x: towards the hand
           | |  cup
           |_|
            !   stick-out
 -----------o-------- weld
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, Radian, frozen_array
from sumpwright.weld.model import Torch

WIRE: Metre = 0.0012
"""Radius of electrode, wire or filler rod with a little room."""

ARM: Metre = 0.030
"""Radius of a forearm: common practice."""

FREE_TIP: Metre = 0.0025
"""The last bit above the root, where the pool is: metal may be that near."""

FREE_TIP_MOST: Metre = 0.006
"""In a narrow groove the arc stands higher, so that the electrode has room, but no higher than this."""

EDGE_BALLS = 24
TILTS = (0.0, 0.5, -0.5, 1.0, -1.0)
"""Shares of the greatest tilt that are tried, the middle of the corner first."""

DRAGS = (0.4, 0.0, 0.8, -0.4, 1.0, -0.8, -1.0)
"""Shares of the greatest lean along the seam; positive leans back over the finished bead."""

ROLLS = 12
"""Ways round the axis in which the body may point."""

SWINGS: tuple[Radian, ...] = tuple(math.radians(angle) for angle in (0.0, 30.0, -30.0, 60.0, -60.0))
"""Of the filler rod out of the middle of the corner."""

RISES = 4


@dataclass(frozen=True, slots=True, eq=False)
class ToolBalls:
    """Balls (n, 4): middle and radius [m]; groups (g, 6): a ball round balls ``first`` to ``end``."""

    torch: FloatArray
    torch_groups: FloatArray
    rod: FloatArray | None
    rod_groups: FloatArray


def _grouped(pieces: list[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """All balls in one array, and a ball round each piece of it."""
    groups, first = [], 0
    for piece in pieces:
        low = (piece[:, :3] - piece[:, 3:]).min(axis=0)
        high = (piece[:, :3] + piece[:, 3:]).max(axis=0)
        middle = 0.5 * (low + high)
        radius = float((np.linalg.norm(piece[:, :3] - middle, axis=1) + piece[:, 3]).max())
        groups.append([*middle, radius + 1e-9, first, first + len(piece)])
        first += len(piece)
    return frozen_array(np.concatenate(pieces)), frozen_array(np.array(groups))


def free_tip(half_corner: Radian, drag: Radian) -> Metre:
    """How far above the root of a corner the electrode has room between its sides, leaning along the seam."""
    return min(FREE_TIP_MOST, max(FREE_TIP, 1.05 * WIRE / (math.sin(half_corner) * math.cos(drag))))


def tool_balls(torch: Torch, half_corner: Radian) -> ToolBalls:
    """The torch without its last bit of electrode, and the filler rod with its hand.

    ``half_corner`` is half the angle between the two legs of the seam.
    """
    low = free_tip(half_corner, torch.drag)
    rod, rod_groups = None, frozen_array(np.zeros((0, 6)))
    if torch.filler is not None:
        hand = np.array([[0.0, 0.0, torch.filler + 0.5 * torch.filler_hand, 0.5 * torch.filler_hand]])
        line = _line((0.0, 0.0, 2.0 * low), (0.0, 0.0, torch.filler), WIRE, 0.004)
        behind = hand[0, 2]
        arm = _line((0.0, 0.0, behind), (0.0, 0.0, behind + torch.arm), ARM, 0.5 * ARM)
        rod, rod_groups = _grouped([*np.array_split(line, 4), hand, arm])
    balls, groups = _grouped(_torch_balls(torch, low))
    return ToolBalls(balls, groups, rod, rod_groups)


def _torch_balls(torch: Torch, low: Metre) -> list[FloatArray]:
    radius, end = 0.5 * torch.cup, torch.stick_out
    back = end + torch.cup_length
    body = 0.5 * torch.body
    small = 0.25 * radius
    out = np.array([math.sin(torch.body_angle), 0.0, math.cos(torch.body_angle)])
    start = np.array([0.0, 0.0, back])
    hand = start + torch.body_length * out
    angles = 2.0 * math.pi * np.arange(EDGE_BALLS) / EDGE_BALLS
    # The rim is sharp: points on it, and a ring of small balls behind them.
    rim = np.stack(
        [radius * np.cos(angles), radius * np.sin(angles), np.full(EDGE_BALLS, end), np.zeros(EDGE_BALLS)], 1
    )
    ring = np.stack(
        [
            (radius - small) * np.cos(angles),
            (radius - small) * np.sin(angles),
            np.full(EDGE_BALLS, end + small),
            np.full(EDGE_BALLS, small),
        ],
        1,
    )
    cup = _line((0.0, 0.0, end + radius), (0.0, 0.0, back), radius, 0.5 * radius)
    return [
        np.concatenate([rim, ring, _line((0.0, 0.0, low), (0.0, 0.0, end), WIRE, WIRE), cup]),
        _line((0.0, 0.0, back), (0.0, 0.0, back + torch.back_cap), body, 0.5 * body),
        *np.array_split(_line(start, hand, body, 0.5 * body), 3),
        np.array([[*hand, 0.5 * torch.hand]]),
        _line(hand, hand + torch.arm * out, ARM, 0.5 * ARM),
    ]


def _line(start: object, end: object, radius: Metre, step: Metre) -> FloatArray:
    """Balls along a straight line, no further apart than ``step``."""
    a, b = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    count = max(2, math.ceil(float(np.linalg.norm(b - a)) / step) + 1)
    middles = a + np.linspace(0.0, 1.0, count)[:, None] * (b - a)
    return np.concatenate([middles, np.full((count, 1), radius)], axis=1)


def torch_poses(torch: Torch) -> FloatArray:
    """Axes (n, 3, 3) of the torch, the easiest hold first, in the section's own axes.

    Those are: out of the middle of the corner, along the way it is welded, and across.
    """
    middle, along, across = np.eye(3)
    poses = []
    for tilt in dict.fromkeys(share * torch.tilt for share in TILTS):
        for drag in dict.fromkeys(share * torch.drag for share in DRAGS):
            lean = math.cos(tilt) * middle + math.sin(tilt) * across
            axis = math.cos(drag) * lean - math.sin(drag) * along
            # Body over the finished bead first, then round to either side.
            back = -along - (-along @ axis) * axis
            back = back / np.linalg.norm(back)
            side = np.cross(axis, back)
            for k in _outwards(ROLLS):
                turn = 2.0 * math.pi * k / ROLLS
                x_axis = math.cos(turn) * back + math.sin(turn) * side
                poses.append(np.stack([x_axis, np.cross(axis, x_axis), axis]))
    return frozen_array(np.array(poses))


def _outwards(count: int) -> list[int]:
    """0, 1, -1, 2, -2, ... once round."""
    return [0, *(s * k for k in range(1, count // 2) for s in (1, -1)), count // 2]


def rod_poses(torch: Torch) -> FloatArray:
    """Axes (n, 3, 3) of the filler rod, fed from ahead of the torch, in the section's own axes."""
    middle, along, across = np.eye(3)
    poses = []
    for swing in SWINGS:
        up = math.cos(swing) * middle + math.sin(swing) * across
        side = np.cross(along, up)
        for rise in np.linspace(torch.filler_low, torch.filler_high, RISES):
            axis = math.cos(rise) * along + math.sin(rise) * up
            poses.append(np.stack([side, np.cross(axis, side), axis]))
    return frozen_array(np.array(poses))
