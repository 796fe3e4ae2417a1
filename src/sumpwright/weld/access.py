"""Where the torch gets to along every seam, for any set of parts that stand at the time.

At each station every hold is tried once against all parts. What remains is, for either
direction of welding, the sets of parts that holds run into, least sets only: the torch
gets there as long as one of these sets has none of its parts standing. More parts never
make room, so what is blocked stays blocked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.weld.model import Blocked, OrderRules, Seam, Torch, TorchHold, Way
from sumpwright.weld.obstacles import Obstacles
from sumpwright.weld.torch_shape import ToolBalls, rod_poses, tool_balls, torch_poses


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """One direction of welding at one station: what each hold runs into."""

    torch: tuple[tuple[int, FloatArray, Metre], ...]  # (parts hit, pose (3, 3), stick-out), least sets only
    rod: tuple[tuple[int, FloatArray], ...]  # empty where the torch feeds wire
    has_rod: bool
    towards_end: bool

    def hold(self, standing: int) -> tuple[FloatArray, FloatArray | None, Metre] | None:
        """A pose of torch and rod that is free beside what stands, or None."""
        found = next(((pose, out) for mask, pose, out in self.torch if not mask & standing), None)
        if found is None:
            return None
        torch, out = found
        if not self.has_rod:
            return torch, None, out
        rod = next((pose for mask, pose in self.rod if not mask & standing), None)
        return None if rod is None else (torch, rod, out)


@dataclass(frozen=True, slots=True, eq=False)
class Station:
    """One place along a seam where reach was tried."""

    at: Metre  # along the seam
    place: FloatArray  # (3,) m
    reaches: tuple[Reach, ...]  # towards the end, towards the start

    def hold(self, standing: int) -> TorchHold | None:
        """How to hold the torch there, or None where it does not get there."""
        for reach in self.reaches:
            found = reach.hold(standing)
            if found is not None:
                torch, rod, out = found
                return TorchHold(
                    self.at,
                    self.place,
                    frozen_array(torch[2]),
                    frozen_array(torch[0]),
                    None if rod is None else frozen_array(rod[2]),
                    reach.towards_end,
                    out,
                )
        return None

    def in_the_way(self, standing: int) -> int:
        """Of what stands, the least set that keeps the torch out."""
        sets = []
        for reach in self.reaches:
            torch = min((mask & standing for mask, _, _ in reach.torch), key=int.bit_count, default=0)
            rod = min((mask & standing for mask, _ in reach.rod), key=int.bit_count, default=0)
            sets.append(torch | rod)
        return min(sets, key=int.bit_count)


@dataclass(frozen=True, slots=True, eq=False)
class WayAccess:
    """Reach along one way of a seam."""

    side: str
    stations: tuple[Station, ...]

    def holds(self, standing: int) -> tuple[TorchHold | None, ...]:
        """A hold for every station, None where there is none."""
        return tuple(station.hold(standing) for station in self.stations)


@dataclass(frozen=True, slots=True, eq=False)
class SeamAccess:
    """Reach along one seam."""

    seam: Seam
    ways: tuple[WayAccess, ...]
    stitch: Metre
    matters: int  # every part that some hold runs into; the others make no difference
    _known: dict[int, bool] = field(default_factory=dict, repr=False)
    _blamed: dict[int, tuple[Blocked, ...]] = field(default_factory=dict, repr=False)

    def best(self, standing: int) -> tuple[WayAccess, tuple[TorchHold | None, ...]]:
        """The way with the fewest stations out of reach, and its holds."""
        tried = [(way, way.holds(standing)) for way in self.ways]
        return min(tried, key=lambda item: item[1].count(None))

    def is_reached(self, standing: int) -> bool:
        """Whether the seam can be finished: all of it, or enough for a stitched one."""
        key = standing & self.matters
        if key not in self._known:
            self._known[key] = any(self._is_enough(way, way.holds(key)) for way in self.ways)
        return self._known[key]

    def _is_enough(self, way: WayAccess, holds: tuple[TorchHold | None, ...]) -> bool:
        if None not in holds:
            return True
        if self.seam.is_oil_tight or not any(hold is not None for hold in holds):
            return False
        bare = [stretch[1] - stretch[0] for stretch in _stretches(self.seam, way, holds)]
        return max(bare, default=0.0) <= self.stitch

    def blocked(self, obstacles: Obstacles, standing: int) -> tuple[Blocked, ...]:
        """The stretches out of reach on the best way, and what stands there."""
        key = standing & self.matters
        if key not in self._blamed:
            self._blamed[key] = self._find_blocked(obstacles, key)
        return self._blamed[key]

    def _find_blocked(self, obstacles: Obstacles, standing: int) -> tuple[Blocked, ...]:
        way, holds = self.best(standing)
        found = []
        for start, end, inside in _stretches(self.seam, way, holds):
            weights: dict[str, int] = {}
            for k in inside:
                for name in obstacles.named(way.stations[k].in_the_way(standing)):
                    weights[name] = weights.get(name, 0) + 1
            middle = way.stations[inside[len(inside) // 2]].place
            found.append(
                Blocked(
                    self.seam.number,
                    start,
                    end,
                    (float(middle[0]), float(middle[1]), float(middle[2])),
                    tuple(sorted(weights, key=lambda name: (-weights[name], name))),
                )
            )
        return tuple(found)


def _stretches(
    seam: Seam, way: WayAccess, holds: tuple[TorchHold | None, ...]
) -> list[tuple[Metre, Metre, list[int]]]:
    """Runs of stations without a hold: from where to where along the seam, and which."""
    ats = [station.at for station in way.stations]
    edges = [0.0, *(0.5 * (a + b) for a, b in pairwise(ats)), seam.length]
    found: list[tuple[Metre, Metre, list[int]]] = []
    run: list[int] = []
    for k, hold in enumerate([*holds, True]):
        if hold is None:
            run.append(k)
        elif run:
            found.append((edges[run[0]], edges[run[-1] + 1], run))
            run = []
    return found


def stations_along(seam: Seam, rules: OrderRules) -> FloatArray:
    """Where along a seam reach is tried: near both ends and no further apart than the rules say."""
    if seam.is_closed:
        count = max(8, math.ceil(seam.length / rules.station))
        return frozen_array(np.arange(count) * (seam.length / count))
    inset = min(rules.end_clear, 0.25 * seam.length)
    count = max(2, math.ceil((seam.length - 2.0 * inset) / rules.station) + 1)
    return frozen_array(np.linspace(inset, seam.length - inset, count))


@dataclass(frozen=True, slots=True, eq=False)
class _At:
    """Root and section at one place of a way."""

    place: FloatArray
    along: FloatArray
    middle: FloatArray


def _at(way: Way, length: Metre, at: Metre) -> _At:
    share = at / length * (len(way.path) - 1)
    k = min(int(share), len(way.path) - 2)
    f = share - k
    place = (1.0 - f) * way.path[k] + f * way.path[k + 1]
    along = way.path[k + 1] - way.path[k]
    along = along / np.linalg.norm(along)
    middle = (1.0 - f) * way.middle[k] + f * way.middle[k + 1]
    middle = middle - (middle @ along) * along
    return _At(place, along, middle / np.linalg.norm(middle))


@dataclass(frozen=True, slots=True, eq=False)
class _Tools:
    """What is the same at every station of one way."""

    torch: FloatArray  # (n, 3, 3) poses in the section's axes
    rod: FloatArray  # (m, 3, 3)
    balls: ToolBalls
    stick_out: Metre
    longer: ToolBalls | None  # the same torch with its longest stick-out
    longest: Metre


def find_access(
    seams: Iterable[Seam], torch: Torch, rules: OrderRules, obstacles: Obstacles
) -> tuple[SeamAccess, ...]:
    """Reach along every seam; the two parts of a seam are in the way like any other."""
    held, fed = torch_poses(torch), rod_poses(torch)
    found = []
    for seam in seams:
        ways = []
        for way in seam.ways:
            half = 0.5 * math.acos(float(np.clip(way.leg_a[0] @ way.leg_b[0], -1.0, 1.0)))
            longest = torch.stick_out_most or torch.stick_out
            longer = None
            if longest > torch.stick_out:
                longer = tool_balls(replace(torch, stick_out=longest), half)
            tools = _Tools(held, fed, tool_balls(torch, half), torch.stick_out, longer, longest)
            ways.append(_way_access(seam, way, rules, obstacles, tools))
        found.append(SeamAccess(seam, tuple(ways), rules.stitch, _matters(ways)))
    return tuple(found)


def _matters(ways: list[WayAccess]) -> int:
    found = 0
    for way in ways:
        for station in way.stations:
            for reach in station.reaches:
                for mask in (*(item[0] for item in reach.torch), *(item[0] for item in reach.rod)):
                    found |= mask
    return found


def _way_access(seam: Seam, way: Way, rules: OrderRules, obstacles: Obstacles, tools: _Tools) -> WayAccess:
    stations = []
    for at in stations_along(seam, rules):
        here = _at(way, seam.length, float(at))
        reaches = [_reach(here, 1.0, obstacles, tools)]
        if reaches[0].hold(-1) is None:
            reaches.append(_reach(here, -1.0, obstacles, tools))
        stations.append(Station(float(at), frozen_array(here.place), tuple(reaches)))
    return WayAccess(way.side, tuple(stations))


def _reach(here: _At, sign: float, obstacles: Obstacles, tools: _Tools) -> Reach:
    along = sign * here.along
    axes = np.stack([here.middle, along, np.cross(here.middle, along)])
    poses, place = tools.torch @ axes, here.place
    usual = _least_hits(place, poses, tools.balls.torch, tools.balls.torch_groups, obstacles)
    held = [(mask, pose, tools.stick_out) for mask, pose in usual]
    if tools.longer is not None and all(mask for mask, _, _ in held):
        # Only where the usual stick-out is kept out by something.
        more = _least_hits(place, poses, tools.longer.torch, tools.longer.torch_groups, obstacles)
        held += [(mask, pose, tools.longest) for mask, pose in more]
    rod: tuple[tuple[int, FloatArray], ...] = ()
    if tools.balls.rod is not None:
        rod = _least_hits(here.place, tools.rod @ axes, tools.balls.rod, tools.balls.rod_groups, obstacles)
    return Reach(tuple(held), rod, tools.balls.rod is not None, sign > 0.0)


def _least_hits(
    tip: FloatArray, poses: FloatArray, balls: FloatArray, groups: FloatArray, obstacles: Obstacles
) -> tuple[tuple[int, FloatArray], ...]:
    from sumpwright.weld.access_compiled import WORD, least_hits

    parts = len(obstacles.names)
    masks = np.zeros((len(poses), max(1, math.ceil(parts / WORD))), dtype=np.int64)
    kept = np.zeros(len(poses), dtype=np.int64)
    count = least_hits(
        tip,
        poses,
        balls,
        groups,
        obstacles.bits,
        obstacles.frames,
        obstacles.heights,
        obstacles.boxes,
        obstacles.sides,
        obstacles.first,
        parts,
        masks,
        kept,
    )
    found = [
        (sum(int(word) << (WORD * w) for w, word in enumerate(masks[k])), poses[kept[k]])
        for k in range(count)
    ]
    return tuple(sorted(found, key=lambda item: item[0].bit_count()))
