"""Tacks, starts and stops: never in a corner, back-stepped, carried round onto the next seam."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.weld.model import OrderRules, Run, Seam, SeamRuns, Step

TACK_OFF_CORNER: Metre = 0.010
"""Tacks keep this far from a seam's ends: a corner tack cracks, or is welded over cold."""

STITCH: Metre = 0.015
"""Length of one stitch of a structural seam: common practice."""


def runs_of(seam: Seam, seams: Mapping[int, Seam], step: Step | None, rules: OrderRules) -> SeamRuns:
    """Where one seam is tacked, and the runs in which it is welded."""
    if not seam.is_oil_tight:
        at = [hold.at for hold in step.holds] if step is not None else []
        return SeamRuns(seam.number, (), _stitches(seam, at, rules), None, None)
    if seam.is_closed:
        quarter = 0.25 * seam.length
        order = (0, 2, 1, 3)
        tacks = tuple(quarter * k for k in order)
        runs = tuple(Run(quarter * k, quarter * (k + 1) + rules.past_corner) for k in order)
        return SeamRuns(seam.number, tacks, runs, None, None)
    first, last = _neighbour(seam, 0, seams), _neighbour(seam, -1, seams)
    low = 0.0 if first is None else -rules.past_corner
    high = seam.length if last is None else seam.length + rules.past_corner
    return SeamRuns(
        seam.number,
        tacks_along(seam.length, rules.tack_pitch),
        _back_steps(seam.length, low, high, rules),
        first,
        last,
    )


def tacks_along(length: Metre, pitch: Metre) -> tuple[Metre, ...]:
    """Tacks in the order in which they are set: the ends first, then the gaps halved."""
    inset = min(TACK_OFF_CORNER, 0.25 * length)
    if length - 2.0 * inset < 0.5 * pitch:
        return (0.5 * length,)
    found = [inset, length - inset]
    gaps = [(inset, length - inset)]
    while gaps and gaps[0][1] - gaps[0][0] > pitch * (1.0 + 1e-9):
        halves = []
        for low, high in gaps:
            middle = 0.5 * (low + high)
            found.append(middle)
            halves += [(low, middle), (middle, high)]
        gaps = halves
    return tuple(found)


def _back_steps(length: Metre, low: Metre, high: Metre, rules: OrderRules) -> tuple[Run, ...]:
    """The seam goes on from start to end, each run is welded back towards the start."""
    count = max(1, round(length / rules.back_step))
    cuts = [low, *(length * k / count for k in range(1, count)), high]
    return tuple(Run(cuts[k + 1], cuts[k]) for k in range(count))


def _stitches(seam: Seam, reached: Sequence[Metre], rules: OrderRules) -> tuple[Run, ...]:
    """Short runs at places that are reached, no further apart than the rules allow where that can be."""
    if not reached:
        return ()
    half = min(0.5 * STITCH, 0.5 * seam.length)
    count = max(2 if seam.length > 3.0 * STITCH else 1, math.ceil(seam.length / (rules.stitch + STITCH)))
    wanted = [seam.length * (k + 0.5) / count for k in range(count)]
    places = sorted({min(reached, key=lambda at, want=want: (abs(at - want), at)) for want in wanted})  # type: ignore[misc]
    runs: list[Run] = []
    for at in places:
        middle = min(max(at, half), seam.length - half)
        if not runs or middle - half >= runs[-1].end:
            runs.append(Run(middle - half, middle + half))
    return tuple(runs)


def _neighbour(seam: Seam, end: int, seams: Mapping[int, Seam]) -> int | None:
    """The tight seam that passes nearest to an end, on the same side; None where nothing goes on there."""
    reach = 3.0 * max(seam.thickness_a, seam.thickness_b)
    place = np.asarray(seam.path[end])
    near = [
        (_distance(place, np.asarray(other.path)), number)
        for number, other in seams.items()
        if number != seam.number and other.is_oil_tight and other.side == seam.side and not other.is_closed
    ]
    near = [(distance, number) for distance, number in near if distance < reach]
    return min(near)[1] if near else None


def _distance(place: FloatArray, path: FloatArray) -> Metre:
    starts, ends = path[:-1], path[1:]
    along = ends - starts
    share = np.clip(
        np.einsum("ij,ij->i", place - starts, along) / np.einsum("ij,ij->i", along, along), 0.0, 1.0
    )
    return float(np.linalg.norm(place - starts - share[:, None] * along, axis=1).min())
