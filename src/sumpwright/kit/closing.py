"""Close one spot: try ways of filling it, then take away what is not needed.

More metal never opens a leak. So whole packings, in which no sheet could take more, are
tested first; what is not needed is taken away afterwards.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sumpwright.kit.packing import (
    cleaned,
    emptied,
    grown,
    mark_of,
    moved_area,
    refilled,
    side_of,
    swapped,
    taken_over,
)
from sumpwright.kit.solids import common, less
from sumpwright.kit.surroundings import Sheets, Surroundings, slice_lines
from sumpwright.quantities.units import Metre

SWELLS: tuple[Metre, ...] = (0.01e-3, 0.03e-3, 0.06e-3, 0.088e-3, 0.12e-3)
"""Corners are closed for sheets swollen by the first of these that works."""

CLASH = 1e-12
"""Shared volume [m3] that counts as a clash (a thousandth of a cubic millimetre)."""

WORTH: float = 1e-8
"""Area [m2] below which taking metal away is not worth a test."""

ORDERS = 24
KEEP = 2
TESTS = 300
LOOSE = 5


@dataclass(frozen=True, slots=True, eq=False)
class Closed:
    """How a spot was closed."""

    sheets: Sheets  # cropped to the neighbourhood
    is_shut: bool
    stage: int  # 0 as it was, 1 grown, 2 other joints, 3 one reaches past, 4 built anew, 9 not at all
    clash: float
    tests: int
    swell: Metre  # the corner is shut for sheets swollen by this much


def packings(
    around: Surroundings, alternatives: Iterable[dict[int, BaseGeometry]]
) -> Iterator[tuple[int, Sheets]]:
    """Whole packings, those nearest to the plain joints first."""
    keys = list(around.base)
    orders = [list(order) for order in itertools.islice(itertools.permutations(keys), ORDERS)]
    few = [keys[k:] + keys[:k] for k in range(len(keys))]
    for order in orders:
        yield from _staged(1, grown(around, around.base, order))
    starts = [around.base]
    for other in alternatives:
        starts.append(swapped(around, around.base, other))
        for order in few:
            yield from _staged(2, grown(around, starts[-1], order))
    for start in starts:
        for key in keys:
            for candidate in reaching_past(around, start, key):
                yield from _staged(3, grown(around, candidate, [k for k in keys if k != key] + [key]))
    for order in orders:
        yield from _staged(4, grown(around, emptied(around, around.base), order))


def _staged(stage: int, sheets: Sheets | None) -> Iterator[tuple[int, Sheets]]:
    if sheets is not None:
        yield stage, sheets


def reaching_past(around: Surroundings, local: Sheets, key: int) -> Iterator[Sheets]:
    """One sheet reaches past the corner up to a line, nearest lines first."""
    sheet = local[key]
    lines = [*slice_lines(around, local, key), *around.lines[key]]
    sides = [(abs(off), sign, (normal, off)) for normal, off in lines for sign in (1.0, -1.0)]
    sides = [side for side in sides if side[0] < 2.0 * sheet.thickness]
    for _, sign, line in sorted(
        sides, key=lambda side: (round(side[0], 9), side[1], *side[2][0], side[2][1])
    ):
        room = common(around.zones[key], side_of(around, key, line, sign))
        if less(room, sheet.outline).area < WORTH:
            continue
        candidate = taken_over(around, local, key, room)
        if candidate is not None:
            yield candidate


def close_spot(around: Surroundings, alternatives: Iterable[dict[int, BaseGeometry]]) -> Closed:
    """The least change found that shuts the spot without a clash, as tightly as any packing does."""
    base, tight = around.base, SWELLS[0]
    if not around.is_open(base, tight) and around.clash(base) < CLASH:
        return Closed(base, True, 0, 0.0, around.counts["tests"], tight)
    found: list[tuple[float, int, int, Sheets]] = []
    loose: list[tuple[int, Sheets]] = []
    seen: set[tuple[bytes, ...]] = set()
    for stage, candidate in packings(around, alternatives):
        if found and (stage > found[0][2] or len(found) >= KEEP):
            break
        if len(seen) >= TESTS:
            break
        mark = mark_of(candidate)
        if mark in seen:
            continue
        seen.add(mark)
        if around.is_open(candidate, tight):
            if len(loose) < LOOSE and not around.is_open(candidate, SWELLS[-1]):
                loose.append((stage, candidate))
            continue
        if around.clash(candidate) > CLASH:
            continue
        small = pruned(around, candidate, tight)
        found.append((moved_area(base, small), len(found), stage, small))
    swell = tight
    if not found:
        swell, found = _loosely(around, loose)
    if not found:
        return Closed(base, False, 9, around.clash(base), around.counts["tests"], swell)
    _, _, stage, best = min(found, key=lambda item: item[:2])
    return Closed(best, True, stage, around.clash(best), around.counts["tests"], swell)


def _loosely(
    around: Surroundings, loose: Sequence[tuple[int, Sheets]]
) -> tuple[Metre, list[tuple[float, int, int, Sheets]]]:
    """The packings that shut the spot at the least swelling at which any does."""
    candidates = [(0, around.base), *loose]
    for swell in SWELLS[1:]:
        found: list[tuple[float, int, int, Sheets]] = []
        for stage, candidate in candidates:
            if len(found) >= KEEP:
                break
            if around.is_open(candidate, swell) or around.clash(candidate) > CLASH:
                continue
            small = pruned(around, candidate, swell)
            found.append((moved_area(around.base, small), len(found), stage, small))
        if found:
            return swell, found
    return SWELLS[-1], []


def pruned(around: Surroundings, local: Sheets, by: Metre) -> Sheets:
    """Take away added metal, all of a sheet's or up to a line, as long as the spot stays shut."""
    result = refilled(around, local)
    keys = sorted(result, key=lambda k: (less(result[k].outline, around.base[k].outline).area, k))
    for key in keys:
        result = _without(around, result, key, None, by) or result
    for key in keys:
        for direction in _directions(around, key):
            result = _cut_to_nearest(around, result, key, direction, by)
    return refilled(around, result)


def _directions(around: Surroundings, key: int) -> list[list[tuple[float, Polygon]]]:
    """For each direction of lines, the far sides in order of their distance from the spot, nearest first."""
    groups: dict[tuple[int, int], list[tuple[float, Polygon]]] = {}
    for normal, off in around.lines[key]:
        for sign in (1.0, -1.0):
            group = (round(float(sign * normal[0]) * 1e3), round(float(sign * normal[1]) * 1e3))
            near = side_of(around, key, (normal, off), sign)
            groups.setdefault(group, []).append((sign * off, near))
    return [sorted(group, key=lambda cut: cut[0]) for _, group in sorted(groups.items())]


def _cut_to_nearest(
    around: Surroundings, local: Sheets, key: int, cuts: list[tuple[float, Polygon]], by: Metre
) -> Sheets:
    """Cut the added metal back to the nearest line of one direction that keeps the spot shut."""
    added = less(local[key].outline, around.base[key].outline)
    worth = [near for _, near in cuts if less(added, near).area > WORTH]
    best = local
    low, high = 0, len(worth)  # cut high..len is known to be shut or not worth a look
    while low < high:
        middle = (low + high) // 2
        trial = _without(around, local, key, worth[middle], by)
        if trial is not None:
            best, high = trial, middle
        else:
            low = middle + 1
    return best


def _without(around: Surroundings, local: Sheets, key: int, near: Polygon | None, by: Metre) -> Sheets | None:
    """The sheets with added metal of one taken away (outside ``near``), if the spot stays shut."""
    sheet = local[key]
    added = less(sheet.outline, around.base[key].outline)
    if near is not None:
        added = less(added, near)
    if added.area < WORTH:
        return None
    smaller = cleaned(sheet, less(sheet.outline, added), around.zones[key])
    if smaller is None:
        return None
    trial = {**local, key: smaller}
    return None if around.is_open(trial, by) else trial
