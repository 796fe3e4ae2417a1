"""Which seam next: pulls on both sides of the flange's middle kept even, long seams late."""

from __future__ import annotations

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
    welded where there is another.
    """
    pull = np.zeros(2) if before is None else np.array(before)
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
    return tuple(found)


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
