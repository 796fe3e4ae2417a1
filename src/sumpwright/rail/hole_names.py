"""Which seen hole is which: the pattern by caliper laid over the holes of a scan or picture."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre, Ratio

_LONGEST = 5
_CLEARLY = 2.0
"""Times worse the second-best way of laying it must fit, or it is not told apart."""


@dataclass(frozen=True, slots=True, eq=False)
class Similarity:
    """target = scale * turn @ source + shift."""

    scale: Ratio
    turn: FloatArray  # (2, 2)
    shift: FloatArray  # (2,)

    def laid(self, points: FloatArray) -> FloatArray:
        """The points (n, 2) moved."""
        return np.asarray(self.scale * points @ self.turn.T + self.shift)


def best_similarity(source: FloatArray, target: FloatArray, weights: FloatArray) -> Similarity:
    """Scale, turn and shift with the least weighted squared misses; never a mirror (Umeyama).

    Both (n, 2); weights (n,). Source: umeyama-1991.
    """
    w = weights / weights.sum()
    a0, b0 = w @ source, w @ target
    a, b = source - a0, target - b0
    cross = (b * w[:, None]).T @ a
    left, values, right = np.linalg.svd(cross)
    hand = np.array([1.0, math.copysign(1.0, float(np.linalg.det(left) * np.linalg.det(right)))])
    turn = left @ np.diag(hand) @ right
    size = float(values @ hand) / float(w @ np.sum(a * a, axis=1))
    return Similarity(size, turn, b0 - size * turn @ a0)


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A way of laying the known pattern over the seen holes."""

    seen: IntArray  # (n,) which seen hole each known one falls on; -1 = none
    similarity: Similarity  # from known to seen
    miss: Metre  # root mean square, in the known pattern's size


@dataclass(frozen=True, slots=True, eq=False)
class Naming:
    """The best way of laying it, and whether another is nearly as good."""

    best: Laid | None
    is_doubtful: bool = False
    mirrored_is_better: bool = False


def name_holes(
    known: FloatArray,
    seen: FloatArray,
    scales: tuple[tuple[float, float], ...],
    give: Ratio,
    pointed_out: dict[int, int] | None = None,
) -> Naming:
    """Lay the known pattern (n, 2) [m] over the seen holes (k, 2), turned and shifted.

    ``scales`` are ranges of seen size over known size that may be; ``give`` is how far a
    hole may miss at first, in parts of the pattern's size. A mirrored pattern is
    tried only to be able to say that it would fit better. ``pointed_out`` are seen holes
    whose known one was shown by hand.
    """
    shown = (pointed_out or {}).items()
    straight = [
        laid for laid in _layings(known, seen, scales, give) if all(int(laid.seen[i]) == k for i, k in shown)
    ]
    flipped = _layings(known * np.array([1.0, -1.0]), seen, scales, give)
    if not straight:
        return Naming(None, mirrored_is_better=bool(flipped))
    best = straight[0]
    count = _count(best)
    mirrored = bool(flipped) and (
        _count(flipped[0]) > count or (_count(flipped[0]) == count and flipped[0].miss * _CLEARLY < best.miss)
    )
    if mirrored:
        return Naming(None, mirrored_is_better=True)
    doubtful = any(
        _count(other) >= count and other.miss < _CLEARLY * max(best.miss, 1e-5) for other in straight[1:]
    )
    return Naming(best, is_doubtful=doubtful)


def _count(laid: Laid) -> int:
    return int((laid.seen >= 0).sum())


def _layings(
    known: FloatArray, seen: FloatArray, scales: tuple[tuple[float, float], ...], give: Ratio
) -> list[Laid]:
    """Different ways of laying it, the best first."""
    n, k = len(known), len(seen)
    if n < 3 or k < 3:
        return []
    away = known[:, None, :] - known[None, :, :]
    length = np.hypot(away[..., 0], away[..., 1])
    size = float(length.max())
    first, second = np.triu_indices(n, 1)
    order = np.argsort(-length[first, second], kind="stable")[: max(_LONGEST, n)]
    q = seen[:, 0] + 1j * seen[:, 1]
    p = known[:, 0] + 1j * known[:, 1]
    across = q[None, :] - q[:, None]
    starts: list[tuple[int, float, complex, complex]] = []
    for i, j in zip(first[order].tolist(), second[order].tolist(), strict=True):
        factor = across / (p[j] - p[i])
        ratio = np.abs(factor)
        may = np.zeros(ratio.shape, dtype=np.bool_)
        for low, high in scales:
            may |= (ratio >= low) & (ratio <= high)
        a, b = np.nonzero(may)
        for at in range(0, a.size, 2000):
            f = factor[a[at : at + 2000], b[at : at + 2000]]
            shift = q[a[at : at + 2000]] - f * p[i]
            laid = f[:, None] * p[None, :] + shift[:, None]
            miss = np.abs(laid[:, :, None] - q[None, None, :]).min(axis=2) / np.abs(f)[:, None]
            hits = (miss < give * size).sum(axis=1)
            cost = np.minimum(miss, give * size).sum(axis=1)
            for s in np.lexsort((cost, -hits))[:6].tolist():
                starts.append((int(hits[s]), float(cost[s]), complex(f[s]), complex(shift[s])))
    starts.sort(key=lambda item: (-item[0], item[1]))
    found: list[Laid] = []
    kept: set[tuple[int, ...]] = set()
    for hits, _, f, shift in starts[:60]:
        if hits < 3:
            break
        turn = np.array([[f.real, -f.imag], [f.imag, f.real]]) / abs(f)
        laid_one = _settled(
            known, seen, Similarity(abs(f), turn, np.array([shift.real, shift.imag])), give * size
        )
        key = tuple(laid_one.seen.tolist()) if laid_one is not None else ()
        if laid_one is None or key in kept:
            continue
        kept.add(key)
        found.append(laid_one)
    found.sort(key=lambda item: (-_count(item), item.miss))
    return found


def _settled(known: FloatArray, seen: FloatArray, start: Similarity, reach: Metre) -> Laid | None:
    """Pair each known hole with the nearest seen one, fit, and pair again."""
    similarity = start
    pairs = np.full(len(known), -1, dtype=np.int64)
    for _ in range(6):
        d = np.linalg.norm(similarity.laid(known)[:, None, :] - seen[None, :, :], axis=2) / similarity.scale
        before = pairs
        pairs = _one_to_one(d, reach)
        got = pairs >= 0
        if got.sum() < 3:
            return None
        similarity = best_similarity(known[got], seen[pairs[got]], np.ones(int(got.sum())))
        if np.array_equal(before, pairs):
            break
    got = pairs >= 0
    away = (similarity.laid(known[got]) - seen[pairs[got]]) / similarity.scale
    miss = math.sqrt(float(np.sum(away**2)) / max(int(got.sum()) - 2, 1))
    return Laid(pairs, similarity, miss)


def _one_to_one(distance: FloatArray, reach: Metre) -> IntArray:
    """Nearest partners, closest first, each used once; -1 where none is within reach."""
    pairs = np.full(distance.shape[0], -1, dtype=np.int64)
    taken: set[int] = set()
    order = np.argsort(distance, axis=None, kind="stable")
    for at in order.tolist():
        i, j = divmod(at, distance.shape[1])
        if distance[i, j] > reach:
            break
        if pairs[i] < 0 and j not in taken:
            pairs[i] = j
            taken.add(j)
    return pairs


@dataclass(frozen=True, slots=True, eq=False)
class KnownHoles:
    """What is known of the job's holes before a scan or picture is looked at."""

    ring: tuple[str, ...]  # all holes in ring order
    diameters: tuple[Metre | None, ...]  # of their edges, as far as known
    names: tuple[str, ...]  # holes that the calipers place
    xy: FloatArray  # (n, 2) m, seen from above, any turn
    u: FloatArray  # (n,) m standard uncertainty of each, pattern afloat


def by_ring_order(
    ring: tuple[str, ...], seen: FloatArray, pointed_out: dict[str, int]
) -> dict[str, int] | None:
    """Names for as many seen holes (k, 2) as the ring has, from two or more that were pointed out.

    The holes are taken in the order in which they stand about their middle, which suits a
    rail without deep bays; what does not fit the holes pointed out gives None.
    """
    n = len(ring)
    if len(seen) != n or len(pointed_out) < 2:
        return None
    away = seen - seen.mean(axis=0)
    order = np.argsort(np.arctan2(away[:, 1], away[:, 0]), kind="stable").tolist()
    place = {hole: at for at, hole in enumerate(order)}
    ways = []
    for step in (1, -1):
        begin = {(place[hole] - step * ring.index(name)) % n for name, hole in pointed_out.items()}
        if len(begin) == 1:
            first = begin.pop()
            ways.append({name: order[(first + step * k) % n] for k, name in enumerate(ring)})
    return ways[0] if len(ways) == 1 else None


def pointed_at(seen: FloatArray, radii: FloatArray, places: dict[str, tuple[float, float]]) -> dict[str, int]:
    """Which seen holes (k, 2) were pointed out: the nearest centre within one and a half radii."""
    found: dict[str, int] = {}
    for name, (x, y) in places.items():
        if not len(seen):
            continue
        d = np.hypot(seen[:, 0] - x, seen[:, 1] - y)
        k = int(np.argmin(d))
        if d[k] <= 1.5 * radii[k]:
            found[name] = k
    return found
