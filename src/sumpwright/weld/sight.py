"""Which tight seams show a leak from outside when soap solution is on the pan.

A bead on the oil side shows where its leak comes out: a boss at the rim of its hole or, with
a ring round it, at the ring's stitched edge. The inner bead of a closed corner shows
nowhere, for the outer bead is tight too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from sumpwright.quantities.units import Metre, frozen_array
from sumpwright.weld.access import stations_along
from sumpwright.weld.model import OrderRules, Seam
from sumpwright.weld.obstacles import STRONGBACK, Obstacles

LOOK_FROM: Metre = 0.300
EVERY: Metre = 0.025
RIM: Metre = 0.0005
SHARE_SEEN = 0.9
"""A seam counts as seen where nine tenths of its places are."""


def _comes_out_at(seam: Seam, seams: Sequence[Seam]) -> Seam | None:
    """The seam or rim on the outside at which a leak of a boss's inner bead shows."""
    if seam.kind != "boss":
        return None
    own = [one for one in seams if one.kind == "boss" and one.side == "outside" and one.part_a == seam.part_a]
    for ring in seams:
        if ring.kind == "ring" and any(one.part_b == ring.part_a for one in own):
            return ring
    # No ring: the rim of the hole on the outer skin, looked at along the boss.
    way = seam.ways[0]
    out = -np.asarray(way.leg_a)
    path = np.asarray(way.path) + (seam.thickness_b + RIM) * out
    middle = (np.asarray(way.leg_b) + out) / math.sqrt(2.0)
    return replace(seam, ways=(replace(way, path=frozen_array(path), middle=frozen_array(middle)),))


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
        if not seam.is_oil_tight:
            continue
        if seam.kind == "corner inside":
            hidden.append(seam.number)
            continue
        shows = seam if seam.side == "outside" else _comes_out_at(seam, seams)
        if shows is None:
            continue
        way, seen = shows.ways[0], []
        places = stations_along(shows, rules)
        for at in places:
            share = float(at) / shows.length * (len(way.path) - 1)
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
