"""Do the readings fit a second shape just as well?

A hole held by two readings can lie on either side of the line between its two
neighbours; a whole end of the rail can be folded over if two holes alone (or holes in
one straight row) tie it to the rest. Each such fold is tried, adjusted, and compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain, combinations

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, Metre
from sumpwright.rail.network import Network
from sumpwright.rail.rows import CircleRows, LineRows, MirrorRows, OffsetRows, ReadoutRows, SquareRows
from sumpwright.rail.shape import Datum, adjust_shape
from sumpwright.rail.suspects import Sifted

_AS_GOOD = 10.8  # drop of the weighted sum that a thousand to one would need
_WORTH_TRYING = 1e4  # a fold that starts out worse than this a reading never comes good
_DIFFERENT: Metre = 1e-4
_ROW_WIDTH: Metre = 0.004  # holes this close to a line count as lying in it, for trying a fold
_MOST_HOLES_FOR_PAIRS = 120
_NEEDED = 1e-4  # a reading of which less than this share is checked keeps the network stiff
_TRIES = 12
_SEED = 40
_AT_ONCE = 2000  # hinges looked at together


@dataclass(frozen=True, slots=True)
class SecondShape:
    """Another shape that fits, and the distance that would tell the two apart."""

    moved: tuple[int, ...]  # holes that lie elsewhere
    a: int
    b: int
    here: Metre  # a-b in the first shape
    there: Metre  # a-b in the second


def second_shape(network: Network, unknowns: FloatArray, datum: Datum, sifted: Sifted) -> SecondShape | None:
    """The first other shape found that fits as well, or None.

    A network of distances in general position has one shape only if no two holes part
    it and no reading is needed to keep it stiff. So folds are tried over every pair of
    holes (and row of holes) that parts it; and where some reading is needed, starts
    all over the place.
    """
    weights, best = sifted.weights, sifted.fit.weighted_sum
    n = network.hole_count
    xy = unknowns[: 2 * n].reshape(n, 2)
    measured, tied = _neighbours(network, weights)
    if _stands_by_threes(xy, measured):
        return None
    tried: set[frozenset[int]] = set()
    for group, p, q in chain(_single_folds(network, xy, weights), _group_folds(xy, tied)):
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
        found = _settles_elsewhere(network, unknowns, start, datum, weights, best)
        if found is not None:
            return replace(found, moved=tuple(members))
    used = (network.source >= 0) & ~sifted.dropped
    if sifted.cofactors.redundancy[used].min(initial=1.0) > _NEEDED:
        return None
    rng = np.random.default_rng(_SEED)
    size = float(np.hypot(*np.ptp(xy, axis=0)))
    for spread in np.linspace(0.05, 0.6, _TRIES):
        start = network.moved(unknowns, datum.turned(xy + rng.normal(0.0, spread * size, xy.shape)))
        found = _settles_elsewhere(network, unknowns, start, datum, weights, best)
        if found is not None:
            return found
    return None


def _settles_elsewhere(
    network: Network,
    unknowns: FloatArray,
    start: FloatArray,
    datum: Datum,
    weights: FloatArray,
    best: float,
) -> SecondShape | None:
    """The shape that a fit from ``start`` finds, if it fits as well and is another."""
    n = network.hole_count
    other, fit = adjust_shape(network, start, datum, weights, most_steps=60, tolerance=1e-9)
    if not fit.has_converged or fit.weighted_sum > best + _AS_GOOD:
        return None
    return _difference(unknowns[: 2 * n].reshape(n, 2), other[: 2 * n].reshape(n, 2))


def _neighbours(network: Network, weights: FloatArray) -> tuple[list[int], list[int]]:
    """Bit sets: to which holes each hole's distance is told; with which it shares any reading."""
    out = [0] * network.hole_count
    rows = network.distances
    for a, b, row in zip(rows.a.tolist(), rows.b.tolist(), rows.rows.tolist(), strict=True):
        if weights[row] > 0.0:
            out[a] |= 1 << b
            out[b] |= 1 << a
    measured = list(out)
    for group in network.groups:
        if isinstance(group, (LineRows, SquareRows)):
            together = np.stack((group.a, group.b, group.c), axis=1).tolist()
        elif isinstance(group, (OffsetRows, CircleRows)):
            together = [sorted(set(group.hole.tolist()))]
        elif isinstance(group, MirrorRows):
            together = [sorted({*group.a.tolist(), *group.b.tolist()})]
        elif isinstance(group, ReadoutRows):
            together = [sorted(group.places(network.value))]
        else:
            continue
        for members in together:
            bits = sum(1 << k for k in members)
            for k in members:
                out[k] |= bits & ~(1 << k)
                if isinstance(group, ReadoutRows):
                    measured[k] |= bits & ~(1 << k)
    return measured, out


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


def _single_folds(
    network: Network, xy: FloatArray, weights: FloatArray
) -> Iterator[tuple[frozenset[int], int, int]]:
    """Holes that could lie on the other side of the line through their two farthest neighbours."""
    n = len(xy)
    rows = network.distances
    used = weights[rows.rows] > 0.0
    a, b, u = rows.a[used], rows.b[used], network.u[rows.rows[used]]
    tied = np.zeros((n, n), dtype=np.bool_)
    tied[a, b] = tied[b, a] = True
    lines = network.lines
    tied[lines.c, lines.a] = tied[lines.c, lines.b] = True
    apart = np.hypot(xy[:, None, 0] - xy[None, :, 0], xy[:, None, 1] - xy[None, :, 1])
    pair = np.full((n, 2), -1)
    for k in range(n):
        near = np.nonzero(tied[k])[0]
        if near.size >= 2:
            i, j = divmod(int(np.argmax(apart[np.ix_(near, near)])), near.size)
            if apart[near[i], near[j]] > 1e-6:
                pair[k] = near[i], near[j]
    able = np.nonzero(pair[:, 0] >= 0)[0]
    folded = xy.copy()
    for k in able.tolist():
        folded[k] = _mirrored(xy[k : k + 1], xy[pair[k, 0]], xy[pair[k, 1]])[0]
    worst = np.zeros(n)
    for here, other in ((a, b), (b, a)):
        moved = np.hypot(*(folded[here] - xy[other]).T) - apart[here, other]
        np.maximum.at(worst, here, (moved / u) ** 2)
    for one in np.nonzero((pair[:, 0] >= 0) & (worst < _WORTH_TRYING))[0].tolist():
        yield frozenset({one}), int(pair[one, 0]), int(pair[one, 1])


def _group_folds(xy: FloatArray, tied: list[int]) -> Iterator[tuple[frozenset[int], int, int]]:
    """Groups of holes that hang on two holes, or on holes in one straight row, and those two."""
    n = len(tied)
    if n <= _MOST_HOLES_FOR_PAIRS:
        p, q = np.triu_indices(n, 1)
    else:
        some = sorted({pq for k in range(n) for pq in combinations(_members(tied[k])[:4], 2)})
        p, q = np.array(some, dtype=np.int64).reshape(-1, 2).T
    e = xy[q] - xy[p]
    size = np.hypot(e[:, 0], e[:, 1])
    p, q, e, size = p[size > 1e-6], q[size > 1e-6], e[size > 1e-6], size[size > 1e-6]
    touching = np.zeros((n, n))
    for k in range(n):
        touching[k, _members(tied[k])] = 1.0
    for first in range(0, p.size, _AT_ONCE):
        part = slice(first, first + _AT_ONCE)
        away = xy[None] - xy[p[part], None]
        off = np.abs(e[part, 0, None] * away[..., 1] - e[part, 1, None] * away[..., 0]) / size[part, None]
        ends = np.zeros(off.shape, dtype=np.bool_)
        ends[np.arange(len(off)), p[part]] = ends[np.arange(len(off)), q[part]] = True
        rows = off < _ROW_WIDTH
        longer = np.nonzero(rows.sum(axis=1) > 2)[0]
        hinges = np.concatenate((ends, rows[longer]))
        pairs = np.stack((p[part], q[part]), axis=1)
        pairs = np.concatenate((pairs, pairs[longer]))
        falls_apart = _falls_apart(touching, ~hinges)
        for hinge, (i, j) in zip(hinges[falls_apart], pairs[falls_apart].tolist(), strict=True):
            for group in sorted(_parts(touching, ~hinge), key=lambda members: (len(members), min(members))):
                yield group, i, j


def _falls_apart(touching: FloatArray, left: BoolArray) -> BoolArray:
    """Whether the holes left (H, n) no longer hang together."""
    reached = np.zeros(left.shape)
    reached[np.arange(len(left)), np.argmax(left, axis=1)] = 1.0
    reached *= left
    count = 0.0
    while reached.sum() > count:
        count = float(reached.sum())
        reached = ((reached + reached @ touching) > 0.0).astype(np.float64) * left
    return np.asarray(reached.sum(axis=1) < left.sum(axis=1))


def _parts(touching: FloatArray, left: BoolArray) -> list[frozenset[int]]:
    rest = left.copy()
    parts = []
    while rest.any():
        part = np.zeros(rest.size, dtype=np.bool_)
        part[int(np.argmax(rest))] = True
        size = 0
        while part.sum() > size:
            size = int(part.sum())
            part = part | ((touching[part].sum(axis=0) > 0.0) & rest)
        rest = rest & ~part
        parts.append(frozenset(np.nonzero(part)[0].tolist()))
    return parts


def _mirrored(xy: FloatArray, p: FloatArray, q: FloatArray) -> FloatArray:
    e = (q - p) / np.hypot(*(q - p))
    away = xy - p
    return np.asarray(p + 2.0 * np.outer(away @ e, e) - away)


def _difference(first: FloatArray, second: FloatArray) -> SecondShape | None:
    def between(xy: FloatArray) -> FloatArray:
        return np.hypot(xy[:, None, 0] - xy[None, :, 0], xy[:, None, 1] - xy[None, :, 1])

    here, there = between(first), between(second)
    apart = np.abs(here - there)
    a, b = divmod(int(np.argmax(apart)), len(first))
    if apart[a, b] < _DIFFERENT:
        return None
    a, b = min(a, b), max(a, b)
    # Few holes have moved against most: each hole's own worst distance, told by the typical one.
    own = np.median(apart, axis=1)
    moved = np.nonzero(own > 0.5 * own.max())[0] if own.max() > _DIFFERENT else np.array([a, b])
    return SecondShape(tuple(moved.tolist()), a, b, float(here[a, b]), float(there[a, b]))
