"""Do the readings fit a second shape just as well?

A hole held by two readings can lie on either side of the line between its two
neighbours; a whole end of the rail can be folded over if two holes alone (or holes in
one straight row) tie it to the rest. Each such fold is tried, adjusted, and compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail.network import Network
from sumpwright.rail.shape import Datum, adjust_shape

_AS_GOOD = 10.8  # drop of the weighted sum that a thousand to one would need
_WORTH_TRYING = 1e4  # a fold that starts out worse than this a reading never comes good
_DIFFERENT: Metre = 1e-4
_ROW_WIDTH: Metre = 0.004  # holes this close to a line count as lying in it, for trying a fold
_MOST_HOLES_FOR_PAIRS = 60


@dataclass(frozen=True, slots=True)
class SecondShape:
    """Another shape that fits, and the distance that would tell the two apart."""

    moved: tuple[int, ...]  # holes that lie elsewhere
    a: int
    b: int
    here: Metre  # a-b in the first shape
    there: Metre  # a-b in the second


def second_shape(
    network: Network, unknowns: FloatArray, datum: Datum, weights: FloatArray, best: float
) -> SecondShape | None:
    """The first fold found that fits as well as the shape itself, or None."""
    n = network.hole_count
    xy = unknowns[: 2 * n].reshape(n, 2)
    tied = _neighbours(network, weights)
    if _stands_by_threes(xy, tied):
        return None
    tried: set[frozenset[int]] = set()
    for group, p, q in _folds(xy, tied):
        if not group or len(group) > n - 2 or group in tried:
            continue
        tried.add(group)
        folded = xy.copy()
        members = sorted(group)
        folded[members] = _mirrored(xy[members], xy[p], xy[q])
        if np.abs(folded - xy).max() < _DIFFERENT:
            continue
        start = network.moved(unknowns, datum.turned(folded))
        miss = (network.computed(start) - network.value) ** 2 * weights
        if miss.max() > _WORTH_TRYING * 10.0 + 10.0 * best:
            continue
        other, fit = adjust_shape(network, start, datum, weights, most_steps=60, tolerance=1e-9)
        if not fit.has_converged or fit.weighted_sum > best + _AS_GOOD:
            continue
        found = _difference(xy, other[: 2 * n].reshape(n, 2), members)
        if found is not None:
            return found
    return None


def _neighbours(network: Network, weights: FloatArray) -> list[int]:
    """Bit sets: which holes share a reading with each hole."""
    out = [0] * network.hole_count
    rows = network.distances
    for a, b, row in zip(rows.a.tolist(), rows.b.tolist(), rows.rows.tolist(), strict=True):
        if weights[row] > 0.0:
            out[a] |= 1 << b
            out[b] |= 1 << a
    lines = network.lines
    for a, b, c, row in zip(
        lines.a.tolist(), lines.b.tolist(), lines.c.tolist(), lines.rows.tolist(), strict=True
    ):
        if weights[row] > 0.0:
            for p, q in ((a, b), (b, c), (a, c)):
                out[p] |= 1 << q
                out[q] |= 1 << p
    return out


def _members(bits: int) -> list[int]:
    out = []
    while bits:
        low = bits & -bits
        out.append(low.bit_length() - 1)
        bits ^= low
    return out


def _width(xy: FloatArray) -> float:
    """Spread of points across their best line (k, 2) [m]."""
    away = xy - xy.mean(axis=0)
    return float(np.linalg.svd(away, compute_uv=False)[-1]) if len(xy) > 2 else 0.0


def _stands_by_threes(xy: FloatArray, tied: list[int]) -> bool:
    """Whether the shape can be built hole by hole on three earlier ones that are not in a row.

    Such a shape has no second form.
    """
    n = len(tied)
    for first in range(n):
        for second in _members(tied[first]):
            for third in _members(tied[first] & tied[second]):
                if first < second < third and _width(xy[[first, second, third]]) > _ROW_WIDTH:
                    # One start is enough: what can be built from one triangle can from most.
                    return _grows(xy, tied, (1 << first) | (1 << second) | (1 << third))
    return False


def _grows(xy: FloatArray, tied: list[int], built: int) -> bool:
    left = [k for k in range(len(tied)) if not built >> k & 1]
    while left:
        rest = []
        for k in left:
            near = tied[k] & built
            if near.bit_count() >= 3 and _width(xy[_members(near)]) > _ROW_WIDTH:
                built |= 1 << k
            else:
                rest.append(k)
        if len(rest) == len(left):
            return False
        left = rest
    return True


def _folds(xy: FloatArray, tied: list[int]) -> Iterator[tuple[frozenset[int], int, int]]:
    """Groups of holes and the two holes whose line they might be folded over."""
    n = len(tied)
    everyone = (1 << n) - 1
    for k in range(n):
        near = _members(tied[k])
        if len(near) < 2:
            continue
        pair = max(combinations(near[:8], 2), key=lambda pq: float(np.hypot(*(xy[pq[0]] - xy[pq[1]]))))
        yield frozenset({k}), *pair
    if n <= _MOST_HOLES_FOR_PAIRS:
        pairs = list(combinations(range(n), 2))
    else:
        pairs = sorted({pq for k in range(n) for pq in combinations(_members(tied[k])[:4], 2)})
    for p, q in pairs:
        e = xy[q] - xy[p]
        length = float(np.hypot(*e))
        if length < 1e-6:
            continue
        off = np.abs((xy - xy[p]) @ np.array([-e[1], e[0]])) / length
        row = sum(1 << int(k) for k in np.nonzero(off < _ROW_WIDTH)[0])
        for hinge in {row, (1 << p) | (1 << q)}:
            left = everyone & ~hinge
            parts = []
            while left:
                part = grown = left & -left
                while grown:
                    reach = 0
                    for k in _members(grown):
                        reach |= tied[k]
                    grown = reach & left & ~part
                    part |= grown
                left &= ~part
                parts.append(part)
            if len(parts) > 1:
                for part in sorted(parts, key=lambda bits: bits.bit_count()):
                    yield frozenset(_members(part)), p, q


def _mirrored(xy: FloatArray, p: FloatArray, q: FloatArray) -> FloatArray:
    e = (q - p) / np.hypot(*(q - p))
    away = xy - p
    return np.asarray(p + 2.0 * np.outer(away @ e, e) - away)


def _difference(first: FloatArray, second: FloatArray, moved: list[int]) -> SecondShape | None:
    def between(xy: FloatArray) -> FloatArray:
        return np.hypot(xy[:, None, 0] - xy[None, :, 0], xy[:, None, 1] - xy[None, :, 1])

    here, there = between(first), between(second)
    apart = np.abs(here - there)
    a, b = divmod(int(np.argmax(apart)), len(first))
    if apart[a, b] < _DIFFERENT:
        return None
    a, b = min(a, b), max(a, b)
    return SecondShape(tuple(moved), a, b, float(here[a, b]), float(there[a, b]))
