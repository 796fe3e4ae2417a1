"""Where the holes roughly are, found from the readings alone.

Holes are set one after the other by crossing circles round holes already set, the
side chosen by the readings that are left over; one wild reading is outvoted. Where
that gets stuck, all distances are completed along the graph of readings and laid out
in the plane at once (classical scaling).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre, frozen_indices
from sumpwright.rail.network import Network

_MOST_NEIGHBOURS = 7  # circles crossed pair by pair for one hole
_SEEDS = 5  # first triangles tried
_MOST_LAYOUTS = 32  # followed side by side
_PLACES = 3  # distinct places followed for one hole
_SAME_PLACE: Metre = 0.003
_FARTHEST_MISS: Metre = 0.002  # a miss beyond this counts as wild, not as worse


@dataclass(frozen=True, slots=True, eq=False)
class RoughDistances:
    """Centre distances as read, one a pair of holes; nan where none was read."""

    d: FloatArray  # (n, n) m, symmetric
    lines: IntArray  # (k, 3) holes a, b, c in line
    offsets: FloatArray  # (k,) m

    @property
    def count(self) -> int:
        """Number of holes."""
        return int(self.d.shape[0])


def rough_distances(network: Network) -> RoughDistances:
    """Median centre distance of every pair that was read, or that one set-up's readout tells."""
    rows = network.distances
    n = network.hole_count
    d = np.full((n, n), np.nan)
    centre = (
        network.value[rows.rows]
        - rows.part_a * network.diameter_start[rows.a]
        - rows.part_b * network.diameter_start[rows.b]
    )
    centre = np.maximum(centre, 1e-6)
    low, high = np.minimum(rows.a, rows.b), np.maximum(rows.a, rows.b)
    key = low * n + high
    order = np.argsort(key, kind="stable")
    keys, first = np.unique(key[order], return_index=True)
    ends = np.append(first, key.size)[1:]
    for k, begin, end in zip(keys.tolist(), first.tolist(), ends.tolist(), strict=True):
        i, j = divmod(k, n)
        own = centre[order[begin:end]]
        d[i, j] = d[j, i] = own[0] if own.size == 1 else np.median(own)
    for readout in network.readouts:
        told = readout.places(network.value)
        holes = np.array(sorted(told), dtype=np.int64)
        if holes.size < 2:
            continue
        at = np.stack([told[h] for h in holes.tolist()])
        apart = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1])
        block = np.ix_(holes, holes)
        d[block] = np.where(np.isnan(d[block]), np.maximum(apart, 1e-6), d[block])
    np.fill_diagonal(d, np.nan)
    lines = network.lines
    return RoughDistances(
        d, np.stack((lines.a, lines.b, lines.c), axis=1), network.value[lines.rows].astype(np.float64)
    )


@cache
def _pairs_of(n: int) -> IntArray:
    """All pairs of n things, (2, n (n - 1) / 2): asked for the same few numbers over and over."""
    return frozen_indices(np.triu_indices(n, 1))


def starting_layouts(rough: RoughDistances) -> list[FloatArray]:
    """Layouts (n, 2) [m], the most consistent first."""
    layouts: list[tuple[float, int, FloatArray]] = []
    for seed in _seed_triangles(rough):
        xy = _set_in_turn(rough, seed)
        if xy is None:
            continue
        cost = layout_miss(rough, xy)
        layouts.append((cost, len(layouts), xy))
        # Every reading within its cap on average far below it: nothing wild, no need to look further.
        if cost < 0.05 * _FARTHEST_MISS * max(1, np.isfinite(rough.d).sum() // 2):
            break
    else:
        scaled = _scaled_layout(rough)
        layouts.append((layout_miss(rough, scaled), len(layouts), scaled))
    layouts.sort(key=lambda entry: entry[:2])
    return [xy for *_, xy in layouts]


def layout_miss(rough: RoughDistances, xy: FloatArray) -> float:
    """Sum of capped misses of all readings [m]."""
    i, j = np.nonzero(np.triu(np.isfinite(rough.d)))
    away = np.hypot(*(xy[i] - xy[j]).T)
    miss = np.minimum(np.abs(away - rough.d[i, j]), _FARTHEST_MISS).sum()
    for (a, b, c), offset in zip(rough.lines, rough.offsets, strict=True):
        miss += min(abs(_off_line(xy[a], xy[b], xy[c]) - offset), _FARTHEST_MISS)
    return float(miss)


def _off_line(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    e, f = b - a, c - a
    return float(abs(e[0] * f[1] - e[1] * f[0]) / max(np.hypot(e[0], e[1]), 1e-12))


def _seed_triangles(rough: RoughDistances) -> list[tuple[int, int, int]]:
    """Well-shaped measured triangles, no two sharing a side."""
    d, n = rough.d, rough.count
    known = np.isfinite(d)
    found: list[tuple[float, int, int, int]] = []
    for i in range(n):
        near = np.nonzero(known[i])[0]
        near = near[near > i]
        if near.size < 2:
            continue
        j, k = near[_pairs_of(near.size)]
        has = known[j, k]
        j, k = j[has], k[has]
        a, b, c = d[i, j], d[i, k], d[j, k]
        s = (a + b + c) / 2.0
        square = s * (s - a) * (s - b) * (s - c)
        # Least height of the triangle: large is well conditioned.
        height = 2.0 * np.sqrt(np.maximum(square, 0.0)) / np.maximum(np.maximum(a, b), c)
        for t in np.argsort(-height, kind="stable")[:_SEEDS]:
            found.append((-float(height[t]), i, int(j[t]), int(k[t])))
    found.sort()
    chosen: list[tuple[int, int, int]] = []
    used: set[tuple[int, int]] = set()
    for height, i, j, k in found:
        sides = {(i, j), (i, k), (j, k)}
        if height < 0.0 and not sides & used:
            chosen.append((i, j, k))
            used |= sides
            if len(chosen) == _SEEDS:
                break
    return chosen


def _set_in_turn(rough: RoughDistances, seed: tuple[int, int, int]) -> FloatArray | None:
    """Set every hole from those already standing, following several layouts side by side.

    A hole held by two readings has two places; both are followed until a later reading
    tells them apart. None where some hole is never held by two readings.
    """
    d, n = rough.d, rough.count
    known = np.isfinite(d)
    i, j, k = seed
    first = np.full((n, 2), np.nan)
    first[i] = 0.0
    first[j] = d[i, j], 0.0
    x = (d[i, k] ** 2 - d[j, k] ** 2 + d[i, j] ** 2) / (2.0 * d[i, j])
    first[k] = x, np.sqrt(max(d[i, k] ** 2 - x**2, 0.0))
    layouts = first[None]  # (B, n, 2)
    cost = np.zeros(1)
    is_set = np.zeros(n, dtype=np.bool_)
    is_set[[i, j, k]] = True
    is_doubtful = np.zeros(n, dtype=np.bool_)
    held = known[:, is_set].sum(axis=1)
    lines_of = _lines_by_hole(rough)
    has_lines = len(rough.lines) > 0
    for _ in range(n - 3):
        ready = held + 0.5 * (known & is_doubtful[None, :]).any(axis=1)
        if has_lines:
            # A line through two holes that stand holds as well as a distance does.
            ready = ready + np.array([len(_standing(rough, lines_of[q], q, is_set)) for q in range(n)])
        ready = np.where(is_set, -1.0, ready)
        h = int(np.argmax(ready))
        if ready[h] < 2.0:
            return None
        lines = _standing(rough, lines_of[h], h, is_set)
        near = np.nonzero(known[h] & is_set)[0]
        places = _crossings(rough, layouts, near, lines, h)
        if places is None:
            return None
        layouts, cost = _follow(rough, layouts, cost, near, lines, h, places)
        is_set[h] = True
        is_doubtful[h] = near.size + len(lines) < 3
        held += known[:, h]
    return np.asarray(layouts[int(np.argmin(cost))])


def _lines_by_hole(rough: RoughDistances) -> list[list[int]]:
    out: list[list[int]] = [[] for _ in range(rough.count)]
    for k, holes in enumerate(rough.lines):
        for h in holes:
            out[int(h)].append(k)
    return out


def _standing(rough: RoughDistances, lines: list[int], h: int, is_set: BoolArray) -> list[int]:
    """Lines of hole h whose two other holes stand."""
    return [k for k in lines if all(is_set[q] for q in rough.lines[k] if q != h)]


def _follow(
    rough: RoughDistances,
    layouts: FloatArray,
    cost: FloatArray,
    near: IntArray,
    lines: list[int],
    h: int,
    places: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """The cheapest layouts after hole h took its best distinct places in each."""
    miss = _miss_at(rough, layouts, near, lines, h, places)
    kept_places, kept_cost, parent = [], [], []
    rows = np.arange(len(layouts))
    for _ in range(_PLACES):
        best = np.argmin(miss, axis=1)
        place = places[rows, best]
        kept_places.append(place)
        kept_cost.append(cost + miss[rows, best])
        parent.append(rows)
        apart = np.hypot(places[..., 0] - place[:, None, 0], places[..., 1] - place[:, None, 1])
        miss = np.where(apart < _SAME_PLACE, np.inf, miss)
    all_cost = np.concatenate(kept_cost)
    order = np.argsort(all_cost, kind="stable")
    order = order[np.isfinite(all_cost[order])][:_MOST_LAYOUTS]
    # Far behind the leader by more than a few wild readings: never comes back.
    order = order[all_cost[order] <= all_cost[order[0]] + 6.0 * _FARTHEST_MISS]
    out = layouts[np.concatenate(parent)[order]].copy()
    out[:, h] = _settled(rough, out, near, h, np.concatenate(kept_places)[order])
    return out, all_cost[order]


def _settled(
    rough: RoughDistances, layouts: FloatArray, near: IntArray, h: int, places: FloatArray
) -> FloatArray:
    """Places (B, 2) of hole h drawn to the best fit of all its distances, wild ones without a say."""
    if near.size < 3:
        return places
    at = layouts[:, near]
    for _ in range(2):
        away = places[:, None] - at
        length = np.maximum(np.hypot(away[..., 0], away[..., 1]), 1e-12)
        e = away / length[..., None]
        miss = rough.d[h, near] - length
        say = 1.0 / (1.0 + (miss / _FARTHEST_MISS) ** 2) ** 2
        N = np.einsum("bk,bki,bkj->bij", say, e, e) + 1e-6 * np.eye(2)
        places = places + np.linalg.solve(N, np.einsum("bk,bki->bi", say * miss, e)[..., None])[..., 0]
    return places


def _crossings(
    rough: RoughDistances, layouts: FloatArray, near: IntArray, lines: list[int], h: int
) -> FloatArray | None:
    """Crossings of two circles, of a circle and a line, or of two lines, for hole h, (B, c, 2)."""
    places = []
    if near.size > _MOST_NEIGHBOURS:
        # Spread over the neighbours, so that one wild reading cannot sit in every pair.
        near = near[np.linspace(0, near.size - 1, _MOST_NEIGHBOURS).round().astype(np.int64)]
    if near.size >= 2:
        p, q = near[_pairs_of(near.size)]
        places.append(_circle_crossings(layouts[:, p], rough.d[h, p], layouts[:, q], rough.d[h, q]))
    through = [
        layouts[:, [int(q) for q in rough.lines[k] if q != h]]
        for k in lines
        if rough.offsets[k] < _FARTHEST_MISS
    ]
    for t, ends in enumerate(through):
        if near.size:
            places.append(_line_circle_crossings(ends, layouts[:, near], rough.d[h, near]))
        for other in through[t + 1 :]:
            places.append(_line_crossings(ends, other))
    if not places:
        return None
    out = np.concatenate(places, axis=1)
    return out if np.isfinite(out).any() else None


def _miss_at(
    rough: RoughDistances,
    layouts: FloatArray,
    near: IntArray,
    lines: list[int],
    h: int,
    places: FloatArray,
) -> FloatArray:
    """Capped misses of all readings of hole h at each of its places, (B, c) [m]."""
    away = places[:, :, None] - layouts[:, None, near]
    length = np.hypot(away[..., 0], away[..., 1])
    miss = np.minimum(np.abs(length - rough.d[h, near]), _FARTHEST_MISS).sum(axis=2)
    for k in lines:
        a, b, c = (places if q == h else layouts[:, None, q] for q in rough.lines[k])
        e, f = b - a, c - a
        off = np.abs(e[..., 0] * f[..., 1] - e[..., 1] * f[..., 0])
        off = off / np.maximum(np.hypot(e[..., 0], e[..., 1]), 1e-12)
        miss = miss + np.minimum(np.abs(off - rough.offsets[k]), _FARTHEST_MISS)
    return np.where(np.isfinite(miss), miss, np.inf)


def _circle_crossings(p: FloatArray, rp: FloatArray, q: FloatArray, rq: FloatArray) -> FloatArray:
    """Both crossings of circles round p and q (B, k, 2); the nearest miss where they do not meet."""
    e = q - p
    d = np.maximum(np.hypot(e[..., 0], e[..., 1]), 1e-9)
    along = (rp**2 - rq**2 + d**2) / (2.0 * d)
    e = e / d[..., None]
    across = np.sqrt(np.maximum(rp**2 - along**2, 0.0))
    foot = p + along[..., None] * e
    side = across[..., None] * np.stack((-e[..., 1], e[..., 0]), axis=-1)
    return np.concatenate((foot + side, foot - side), axis=1)


def _line_circle_crossings(ends: FloatArray, centres: FloatArray, radii: FloatArray) -> FloatArray:
    """Crossings of a line through two holes (B, 2, 2) with circles (B, k, 2)."""
    e = ends[:, 1] - ends[:, 0]
    e = e / np.maximum(np.hypot(e[:, 0], e[:, 1]), 1e-12)[:, None]
    away = centres - ends[:, None, 0]
    along = np.einsum("bki,bi->bk", away, e)
    off = away - along[..., None] * e[:, None]
    reach = np.sqrt(np.maximum(radii**2 - np.einsum("bki,bki->bk", off, off), 0.0))
    start = ends[:, None, 0]
    return np.concatenate(
        (start + (along + reach)[..., None] * e[:, None], start + (along - reach)[..., None] * e[:, None]),
        axis=1,
    )


def _line_crossings(one: FloatArray, other: FloatArray) -> FloatArray:
    """Crossing of two lines, each through two holes (B, 2, 2); nan where nearly parallel."""
    e, f = one[:, 1] - one[:, 0], other[:, 1] - other[:, 0]
    g = other[:, 0] - one[:, 0]
    cross = e[:, 0] * f[:, 1] - e[:, 1] * f[:, 0]
    least = 1e-3 * np.hypot(e[:, 0], e[:, 1]) * np.hypot(f[:, 0], f[:, 1])
    share = (g[:, 0] * f[:, 1] - g[:, 1] * f[:, 0]) / np.where(np.abs(cross) > least, cross, np.nan)
    return np.asarray((one[:, 0] + share[:, None] * e)[:, None])


def _scaled_layout(rough: RoughDistances) -> FloatArray:
    """Classical scaling: missing distances along the graph, then the two longest axes."""
    n = rough.count
    d = np.where(np.isfinite(rough.d), rough.d, np.inf)
    for a, b, c in rough.lines:
        # Holes in line without distances between them still belong near each other.
        reach = np.nanmedian(rough.d) if np.isfinite(rough.d).any() else 0.1
        for p, q in ((a, b), (b, c), (a, c)):
            if not np.isfinite(d[p, q]):
                d[p, q] = d[q, p] = reach
    np.fill_diagonal(d, 0.0)
    for k in range(n):
        d = np.minimum(d, d[:, k, None] + d[None, k, :])
    d = np.where(np.isfinite(d), d, np.max(d[np.isfinite(d)], initial=1.0))
    square = d**2
    middle = square.mean(axis=0)
    gram = -0.5 * (square - middle[None, :] - middle[:, None] + square.mean())
    values, vectors = np.linalg.eigh(gram)
    xy = vectors[:, -2:] * np.sqrt(np.maximum(values[-2:], 1e-12))
    return np.asarray(xy[:, ::-1])
