"""Which variants are tried, in which order: one after the other, never all in memory."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product

import numpy as np

from sumpwright.explore.model import Axis, Levels, Question

BLOCK = 1024
"""Points of a spread drawn at once; a power of two keeps the sequence balanced."""


def size_of_grid(axes: Sequence[Axis]) -> int:
    """How many combinations there are."""
    return math.prod(axis.count for axis in axes)


def orders(question: Question) -> Iterator[Levels]:
    """Every variant of a grid, a spread, or the design that tells what matters."""
    if question.way == "grid":
        return product(*(range(axis.count) for axis in question.axes))
    if question.way == "spread":
        return spread(question.axes, question.variants, question.seed)
    if question.way == "matters":
        return (levels for levels, _ in design(question.axes, rounds_of(question), question.seed))
    raise ValueError("a search is bred from its own answers")


def spread(axes: Sequence[Axis], count: int, seed: int) -> Iterator[Levels]:
    """So many points of a scrambled Sobol sequence, each coordinate rounded down to a value."""
    points = unit_points(len(axes), seed)
    for _ in range(count):
        yield levels_at(next(points), axes)


def unit_points(dimensions: int, seed: int) -> Iterator[np.ndarray]:
    """Scrambled Sobol points in the unit cube, each (dimensions,)."""
    from scipy.stats import qmc

    engine = qmc.Sobol(dimensions, scramble=True, rng=np.random.default_rng(seed))
    while True:
        yield from engine.random(BLOCK)


def levels_at(point: np.ndarray, axes: Sequence[Axis]) -> Levels:
    """Number of the value that each coordinate (d,) of a point in the unit cube falls on."""
    return tuple(min(int(u * axis.count), axis.count - 1) for u, axis in zip(point, axes, strict=True))


def rounds_of(question: Question) -> int:
    """Rounds of the design that fit in the variants asked for: the next power of two below."""
    fit = question.variants // (len(question.axes) + 2)
    return 2 ** int(math.log2(fit)) if fit >= 1 else 0


def design(axes: Sequence[Axis], rounds: int, seed: int) -> Iterator[tuple[Levels, tuple[str, int]]]:
    """Variants of Saltelli's design, each with its row: ("A", 0), ("B", 0), ("AB 1", 0), ...

    Two independent points a round, then the first with one coordinate after the other taken
    from the second: Saltelli et al. 2010, Computer Physics Communications 181, 259-270.
    """
    from itertools import islice

    count = len(axes)
    for row, point in enumerate(islice(unit_points(2 * count, seed), rounds)):
        a, b = levels_at(point[:count], axes), levels_at(point[count:], axes)
        yield a, ("A", row)
        yield b, ("B", row)
        for k in range(count):
            yield (*a[:k], b[k], *a[k + 1 :]), (f"AB {k}", row)
