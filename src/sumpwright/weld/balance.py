"""Which seam next: pulls on both sides of the flange's middle kept even, long seams late."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.weld.model import Seam

TOUCHING: Metre = 0.012
"""Seams whose ends lie closer are neighbours: the metal there is still hot."""


def moment_of(seam: Seam, middle: FloatArray) -> FloatArray:
    """Weld metal times its way from the flange's middle, along and across the flange (2,) m4."""
    centre = np.asarray(seam.path).mean(axis=0)
    away = (centre - middle)[:2]
    return np.asarray(seam.fill_volume * away)


def in_balance(
    seams: Mapping[int, Seam],
    numbers: Sequence[int],
    middle: FloatArray,
    long_from: Metre,
    before: FloatArray | None = None,
) -> tuple[int, ...]:
    """Short seams first, then long ones; each time the one that leaves the least pull to one side.

    Of equals the one nearer to the middle comes first, and none beside the seam just
    welded where there is another. What is found so is then bettered: two seams change
    places wherever that lowers the greatest pull on the way and brings no more neighbours
    together. Where the long seams at the very end make the pull greater than it is when
    all are welded, they may come a little sooner, within the last third.
    """
    start = np.zeros(2) if before is None else np.array(before)
    pull = start.copy()
    found: list[int] = []
    for is_long in (False, True):
        waiting = [n for n in numbers if (seams[n].length >= long_from) == is_long]
        while waiting:
            last = seams[found[-1]] if found else None
            best = min(
                waiting,
                key=lambda n: (
                    last is not None and _touch(seams[n], last),
                    round(float(np.linalg.norm(pull + moment_of(seams[n], middle))), 12),
                    round(float(np.linalg.norm(moment_of(seams[n], middle))), 12),
                    n,
                ),
            )
            found.append(best)
            waiting.remove(best)
            pull = pull + moment_of(seams[best], middle)
    return _bettered(seams, tuple(found), middle, long_from, start)


LATE = 2.0 / 3.0
"""Share of the seams before which no long one is welded: common practice."""

MOST_ROUNDS = 6
"""So often all pairs are tried for a change of places."""


def _bettered(
    seams: Mapping[int, Seam],
    order: tuple[int, ...],
    middle: FloatArray,
    long_from: Metre,
    start: FloatArray,
) -> tuple[int, ...]:
    """The order after every change of two places that lowers the greatest pull; long seams stay late."""
    moments = {n: tuple(float(v) for v in moment_of(seams[n], middle)) for n in order}
    touching = {(a, b): _touch(seams[a], seams[b]) for a in order for b in order if a != b}

    def cost(tried: list[int]) -> tuple[int, float]:
        x, y = float(start[0]), float(start[1])
        greatest, beside = 0.0, 0
        for k, n in enumerate(tried):
            x, y = x + moments[n][0], y + moments[n][1]
            greatest = max(greatest, math.hypot(x, y))
            beside += k > 0 and touching[tried[k - 1], n]
        return beside, round(greatest, 12)

    best = list(order)
    least = cost(best)
    in_the_end = float(np.linalg.norm(start + sum((moment_of(seams[n], middle) for n in order), np.zeros(2))))
    soonest = math.ceil(LATE * len(order))
    for _ in range(MOST_ROUNDS):
        was = least
        for i in range(len(best)):
            for j in range(i + 1, len(best)):
                mixed = (seams[best[i]].length >= long_from) != (seams[best[j]].length >= long_from)
                if mixed and (i < soonest or least[1] <= in_the_end + 1e-12):
                    continue
                tried = best.copy()
                tried[i], tried[j] = tried[j], tried[i]
                now = cost(tried)
                if now[0] <= least[0] and now < least:
                    best, least = tried, now
        if least == was:
            break
    return tuple(best)


def greatest_pull(seams: Mapping[int, Seam], numbers: Sequence[int], middle: FloatArray) -> float:
    """The greatest moment that builds up on the way [m4]."""
    pull, greatest = np.zeros(2), 0.0
    for number in numbers:
        pull = pull + moment_of(seams[number], middle)
        greatest = max(greatest, float(np.linalg.norm(pull)))
    return greatest


def _touch(one: Seam, other: Seam) -> bool:
    ends = np.stack([one.path[0], one.path[-1]])
    others = np.stack([other.path[0], other.path[-1]])
    return bool(np.linalg.norm(ends[:, None] - others[None], axis=2).min() < TOUCHING)
