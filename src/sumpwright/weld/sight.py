"""Which tight seams somebody sees from outside when soap solution is on them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from sumpwright.quantities.units import Metre, frozen_array
from sumpwright.weld.access import stations_along
from sumpwright.weld.model import OrderRules, Seam
from sumpwright.weld.obstacles import STRONGBACK, Obstacles

LOOK_FROM: Metre = 0.300
EVERY: Metre = 0.025
SHARE_SEEN = 0.9
"""A seam counts as seen where nine tenths of its places are."""


def unseen_seams(seams: Sequence[Seam], obstacles: Obstacles) -> tuple[int, ...]:
    """Numbers of tight seams on the outside of which too little is seen; the plate is off by then."""
    from sumpwright.weld.access_compiled import hits

    start, step = 0.004, 0.006
    along = np.arange(start, LOOK_FROM, step)
    line = np.zeros((len(along), 4))
    line[:, 2], line[:, 3] = along, 0.0005
    group = np.array([[0.0, 0.0, 0.5 * LOOK_FROM, LOOK_FROM, 0, len(line)]])
    out = np.zeros(len(obstacles.names), dtype=np.bool_)
    plate = obstacles.mask((STRONGBACK,))
    rules = OrderRules(EVERY, 0.004, 0.0, 0.0, 0.0, 0.0, 0.0)
    arrays = (
        obstacles.bits,
        obstacles.frames,
        obstacles.heights,
        obstacles.boxes,
        obstacles.sides,
        obstacles.first,
    )
    hidden = []
    for seam in seams:
        if not seam.is_oil_tight or seam.side != "outside":
            continue
        way, seen = seam.ways[0], []
        places = stations_along(seam, rules)
        for at in places:
            share = float(at) / seam.length * (len(way.path) - 1)
            k = min(int(share), len(way.path) - 2)
            tip = (1.0 - share + k) * way.path[k] + (share - k) * way.path[k + 1]
            ahead = way.path[k + 1] - way.path[k]
            ahead = ahead / np.linalg.norm(ahead)
            middle = way.middle[k] - (way.middle[k] @ ahead) * ahead
            middle = middle / np.linalg.norm(middle)
            across = np.cross(middle, ahead)
            is_seen = False
            for tilt in (0.0, 30.0, -30.0):
                for lean in (0.0, 40.0, -40.0):
                    t, s = math.radians(tilt), math.radians(lean)
                    look = math.cos(s) * (math.cos(t) * middle + math.sin(t) * across) + math.sin(s) * ahead
                    pose = np.stack([np.cross(ahead, look), ahead, look])
                    hits(frozen_array(tip), pose, line, group, *arrays, out)
                    mask = sum(1 << int(bit) for bit in np.flatnonzero(out))
                    if not mask & ~plate:
                        is_seen = True
                        break
                if is_seen:
                    break
            seen.append(is_seen)
        if np.mean(seen) < SHARE_SEEN:
            hidden.append(seam.number)
    return tuple(hidden)
