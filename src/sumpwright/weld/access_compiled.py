"""The inner loops of torch access, compiled. Import only where they are called."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit


@njit(cache=True)
def _near(x: Any, y: Any, r: Any, sides: Any, low: Any, high: Any) -> Any:
    """Whether a disc round (x, y) meets the plane shape with these sides."""
    inside = False
    for k in range(low, high):
        ax, ay, bx, by = sides[k, 0], sides[k, 1], sides[k, 2], sides[k, 3]
        dx, dy = bx - ax, by - ay
        if r > 0.0:
            share = (x - ax) * dx + (y - ay) * dy
            length = dx * dx + dy * dy
            share = 0.0 if length == 0.0 else min(1.0, max(0.0, share / length))
            ex, ey = x - ax - share * dx, y - ay - share * dy
            if ex * ex + ey * ey < r * r:
                return True
        if (ay > y) != (by > y) and x < ax + (y - ay) / dy * dx:
            inside = not inside
    return inside


@njit(cache=True)
def hits(
    tip: Any,
    pose: Any,
    balls: Any,
    groups: Any,
    bits: Any,
    frames: Any,
    heights: Any,
    boxes: Any,
    sides: Any,
    first: Any,
    out: Any,
) -> Any:
    """Sets out[bit] for every part that one of the balls meets; True if there is any.

    ``pose`` (3, 3) has the tool's axes in its rows; ``balls`` (n, 4) are middle and radius in the
    tool's axes. A prism's end faces and sides count as its metal.
    """
    found = False
    for k in range(len(out)):
        out[k] = False
    for p in range(len(heights)):
        bit = bits[p]
        if out[bit]:
            continue
        # The tool's axes in the prism's frame, once for all balls.
        ox, oy, oz = tip[0] - frames[p, 0], tip[1] - frames[p, 1], tip[2] - frames[p, 2]
        fx = frames[p, 3] * ox + frames[p, 4] * oy + frames[p, 5] * oz
        fy = frames[p, 6] * ox + frames[p, 7] * oy + frames[p, 8] * oz
        fh = frames[p, 9] * ox + frames[p, 10] * oy + frames[p, 11] * oz
        a00 = frames[p, 3] * pose[0, 0] + frames[p, 4] * pose[0, 1] + frames[p, 5] * pose[0, 2]
        a01 = frames[p, 3] * pose[1, 0] + frames[p, 4] * pose[1, 1] + frames[p, 5] * pose[1, 2]
        a02 = frames[p, 3] * pose[2, 0] + frames[p, 4] * pose[2, 1] + frames[p, 5] * pose[2, 2]
        a10 = frames[p, 6] * pose[0, 0] + frames[p, 7] * pose[0, 1] + frames[p, 8] * pose[0, 2]
        a11 = frames[p, 6] * pose[1, 0] + frames[p, 7] * pose[1, 1] + frames[p, 8] * pose[1, 2]
        a12 = frames[p, 6] * pose[2, 0] + frames[p, 7] * pose[2, 1] + frames[p, 8] * pose[2, 2]
        a20 = frames[p, 9] * pose[0, 0] + frames[p, 10] * pose[0, 1] + frames[p, 11] * pose[0, 2]
        a21 = frames[p, 9] * pose[1, 0] + frames[p, 10] * pose[1, 1] + frames[p, 11] * pose[1, 2]
        a22 = frames[p, 9] * pose[2, 0] + frames[p, 10] * pose[2, 1] + frames[p, 11] * pose[2, 2]
        for g in range(len(groups)):
            u, v, w, r = groups[g, 0], groups[g, 1], groups[g, 2], groups[g, 3]
            h = fh + a20 * u + a21 * v + a22 * w
            if h < -r or h > heights[p] + r:
                continue
            x = fx + a00 * u + a01 * v + a02 * w
            y = fy + a10 * u + a11 * v + a12 * w
            if x < boxes[p, 0] - r or x > boxes[p, 1] + r or y < boxes[p, 2] - r or y > boxes[p, 3] + r:
                continue
            for b in range(int(groups[g, 4]), int(groups[g, 5])):
                u, v, w, r = balls[b, 0], balls[b, 1], balls[b, 2], balls[b, 3]
                h = fh + a20 * u + a21 * v + a22 * w
                over = max(-h, h - heights[p])
                if over > r:
                    continue
                x = fx + a00 * u + a01 * v + a02 * w
                y = fy + a10 * u + a11 * v + a12 * w
                if x < boxes[p, 0] - r or x > boxes[p, 1] + r or y < boxes[p, 2] - r or y > boxes[p, 3] + r:
                    continue
                reach = r
                if over > 0.0:
                    reach = (r * r - over * over) ** 0.5
                if _near(x, y, reach, sides, first[p], first[p + 1]):
                    out[bit] = True
                    found = True
                    break
            if out[bit]:
                break
    return found


WORD = 62
"""Parts in one word of a set."""


@njit(cache=True)
def least_hits(
    tip: Any,
    poses: Any,
    balls: Any,
    groups: Any,
    bits: Any,
    frames: Any,
    heights: Any,
    boxes: Any,
    sides: Any,
    first: Any,
    parts: Any,
    masks: Any,
    kept: Any,
) -> Any:
    """The least sets of parts that the poses run into, up to the first pose that is free of all.

    Sets go into ``masks`` (n, words), their poses into ``kept`` (n,); returns how many there are.
    """
    out = np.zeros(parts, dtype=np.bool_)
    words = masks.shape[1]
    new = np.zeros(words, dtype=np.int64)
    count = 0
    for k in range(len(poses)):
        if not hits(tip, poses[k], balls, groups, bits, frames, heights, boxes, sides, first, out):
            masks[0, :] = 0
            kept[0] = k
            return 1
        new[:] = 0
        for bit in range(parts):
            if out[bit]:
                new[bit // WORD] |= np.int64(1) << np.int64(bit % WORD)
        covered = False
        for j in range(count):
            same = True
            for w in range(words):
                if masks[j, w] & new[w] != masks[j, w]:
                    same = False
            if same:
                covered = True
                break
        if covered:
            continue
        left = 0
        for j in range(count):
            within = True
            for w in range(words):
                if masks[j, w] & new[w] != new[w]:
                    within = False
            if not within:
                masks[left, :] = masks[j, :]
                kept[left] = kept[j]
                left += 1
        masks[left, :] = new
        kept[left] = k
        count = left + 1
    return count
