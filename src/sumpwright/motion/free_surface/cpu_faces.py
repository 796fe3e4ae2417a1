"""Loops over faces: momentum to velocity, viscosity, what flies above the oil, closed faces; compiled.

Arrays as in ``cpu_parcels.py``: those across x first, then y, then z, ``size`` numbers each.
Marks: 1 oil reaches an open face, 2 the pressure has made it good, 3 and 4 carried out from those;
-1 oil reaches a closed face, 6 and 7 it has been given a value.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from sumpwright.motion.free_surface.constants import LIQUID
from sumpwright.motion.free_surface.cpu_parcels import RELAXED


@njit(cache=True, fastmath=RELAXED, nogil=True)
def average(
    first: Any, end: Any, box: Any, size: Any, sx: Any, sy: Any, sums: Any, opened: Any, value: Any, mark: Any
) -> None:
    """Face velocity from the lanes' sums (lanes, 2 faces), for the box's planes ``first`` to ``end`` along x.

    The sums are set back to nothing. A closed face that oil reaches is marked -1.
    """
    lanes = sums.shape[0]
    for axis in range(3):
        for i in range(first, end):
            for j in range(box[2], box[3]):
                base = axis * size + i * sx + j * sy
                for k in range(box[4], box[5]):
                    f = np.uint64(base + k)
                    g = np.uint64(2) * f
                    h = g + np.uint64(1)
                    m, s = sums[0, g], sums[0, h]
                    sums[0, g] = 0.0
                    sums[0, h] = 0.0
                    for lane in range(1, lanes):
                        m += sums[lane, g]
                        s += sums[lane, h]
                        sums[lane, g] = 0.0
                        sums[lane, h] = 0.0
                    v = np.float32(0.0)
                    kind = 0
                    if m > 1e-6:
                        if opened[f] > 0.0:
                            v = s / m
                            kind = 1
                        else:
                            kind = -1
                    value[f] = v
                    mark[f] = kind


@njit(cache=True, nogil=True)
def list_wet(
    count: Any, cells: Any, size: Any, sx: Any, sy: Any, opened: Any, kind: Any,
    wet: Any, listed: Any,
) -> Any:  # fmt: skip
    """Open faces with liquid on a side, flagged in ``wet`` and listed by colour; returns both counts.

    ``listed`` (2, faces): even and odd faces of the red-black relaxation.
    """
    even, odd = 0, 0
    for r in range(count):
        c = np.int64(cells[r])
        i = c // sx
        j = c // sy - i * (sx // sy)
        parity = (i + j + c % sy) % 2
        for axis in range(3):
            step = sx if axis == 0 else (sy if axis == 1 else 1)
            low = axis * size + c
            if opened[low] > 0.0:
                wet[low] = 1
                if parity == 0:
                    listed[0, even] = low
                    even += 1
                else:
                    listed[1, odd] = low
                    odd += 1
            if kind[c + step] != LIQUID and opened[low + step] > 0.0:
                wet[low + step] = 1
                if parity == 1:
                    listed[0, even] = low + step
                    even += 1
                else:
                    listed[1, odd] = low + step
                    odd += 1
    return even, odd


@njit(cache=True, fastmath=RELAXED, nogil=True)
def diffuse(
    even: Any, odd: Any, listed: Any, sx: Any, sy: Any, wet: Any, value: Any, old: Any, friction: Any,
    alpha: Any, drag: Any, relax: Any, sweeps: Any,
) -> None:  # fmt: skip
    """Implicit viscosity: red-black relaxation of (1 - alpha laplace + drag) v = old v.

    Only faces with liquid beside them take part: what flies above the surface carries no stress.
    Their flags are taken back at the end.
    """
    for colour in range(2):
        for n in range(even if colour == 0 else odd):
            f = np.uint64(listed[colour, n])
            old[f] = value[f]
    for sweep in range(2 * sweeps):
        colour = sweep % 2
        for n in range(even if colour == 0 else odd):
            at = listed[colour, n]
            s = np.float32(0.0)
            c = np.float32(0.0)
            for side in range(6):
                step = sx if side < 2 else (sy if side < 4 else 1)
                o = np.uint64(at + step if side % 2 == 1 else at - step)
                on = np.float32(wet[o])
                s += on * value[o]
                c += on
            f = np.uint64(at)
            new = (old[f] + alpha * s) / (1.0 + alpha * c + drag * friction[f])
            value[f] += relax * (new - value[f])
    for colour in range(2):
        for n in range(even if colour == 0 else odd):
            wet[np.uint64(listed[colour, n])] = 0


@njit(cache=True, nogil=True)
def list_marked(box: Any, size: Any, sx: Any, sy: Any, mark: Any, flying: Any, closed: Any) -> Any:
    """Faces of the box that oil only flies over (mark 1), and closed ones that it reaches (-1)."""
    count, shut = 0, 0
    for axis in range(3):
        for i in range(box[0], box[1]):
            for j in range(box[2], box[3]):
                base = axis * size + i * sx + j * sy
                for k in range(box[4], box[5]):
                    m = mark[np.uint64(base + k)]
                    if m == 1:
                        flying[count] = base + k
                        count += 1
                    elif m == -1:
                        closed[shut] = base + k
                        shut += 1
    return count, shut


@njit(cache=True, fastmath=RELAXED, nogil=True)
def spread_over_flying(count: Any, flying: Any, sx: Any, sy: Any, value: Any, mark: Any, work: Any) -> None:
    """Carry the oil's velocity two faces out over parcels that fly free (marks 3, then 4).

    Beyond these two layers what flies keeps its own velocity. Faces that no parcel reaches
    are left alone: no parcel will ask them.
    """
    for best in range(2, 4):
        for n in range(count):
            at = flying[n]
            f = np.uint64(at)
            if mark[f] != 1:
                continue
            s = np.float32(0.0)
            c = 0
            for side in range(6):
                step = sx if side < 2 else (sy if side < 4 else 1)
                o = np.uint64(at + step if side % 2 == 1 else at - step)
                if 2 <= mark[o] <= best:
                    s += value[o]
                    c += 1
            if c > 0:
                work[f] = s / np.float32(c)
                mark[f] = 5
        for n in range(count):
            f = np.uint64(flying[n])
            if mark[f] == 5:
                value[f] = work[f]
                mark[f] = best + 1


@njit(cache=True, fastmath=RELAXED, nogil=True)
def carry_to_wall(count: Any, closed: Any, wall_of: Any, sx: Any, sy: Any, value: Any, mark: Any) -> None:
    """Give closed faces beside the oil the mean of their open neighbours; corners from those (mark 6, 7)."""
    for turn in range(2):
        for n in range(count):
            at = closed[n]
            f = np.uint64(at)
            if mark[f] != -1 or wall_of[f] < 0:
                continue
            s = np.float32(0.0)
            c = 0
            for side in range(6):
                step = sx if side < 2 else (sy if side < 4 else 1)
                o = np.uint64(at + step if side % 2 == 1 else at - step)
                m = mark[o]
                if 0 < m < 6 or (turn == 1 and m == 6):
                    s += value[o]
                    c += 1
            if c > 0:
                value[f] = s / np.float32(c)
                mark[f] = 6 + turn


@njit(cache=True, fastmath=RELAXED, forceinline=True)
def _mean4(q: Any, m: Any, a: Any, b: Any, c: Any, d: Any) -> Any:
    """Mean of those of four face values that are set."""
    s = np.float32(0.0)
    n = 0
    if m[a] > 0:
        s += q[a]
        n += 1
    if m[b] > 0:
        s += q[b]
        n += 1
    if m[c] > 0:
        s += q[c]
        n += 1
    if m[d] > 0:
        s += q[d]
        n += 1
    return s / np.float32(n) if n > 0 else s


@njit(cache=True, fastmath=RELAXED, nogil=True)
def turn_along_walls(
    count: Any, closed: Any, wall_of: Any, normals: Any, beyond: Any, size: Any, sx: Any, sy: Any,
    value: Any, mark: Any, turned: Any,
) -> None:  # fmt: skip
    """At closed faces let the part across the wall go through zero at the wall itself.

    ``beyond``: what stays of the part across the wall, by the face's depth in the wall; negative.
    """
    for n in range(count):
        at = np.int64(closed[n])
        turned[n] = np.float32(0.0)
        wall = wall_of[np.uint64(at)]
        if wall < 0 or mark[np.uint64(at)] <= 0:
            continue
        axis = at // size
        c = at - axis * size
        back = sx if axis == 0 else (sy if axis == 1 else 1)
        keep = np.float32(1.0) - beyond[wall]
        own = value[np.uint64(at)]
        across = normals[wall, axis] * own
        # The other two components stand on the faces of the two cells beside this one.
        for other in range(3):
            if other != axis:
                step = sx if other == 0 else (sy if other == 1 else 1)
                f = other * size + c
                mean = _mean4(
                    value, mark, np.uint64(f - back), np.uint64(f), np.uint64(f - back + step),
                    np.uint64(f + step),
                )  # fmt: skip
                across += normals[wall, other] * mean
        turned[n] = own - keep * normals[wall, axis] * across
    for n in range(count):
        f = np.uint64(closed[n])
        if wall_of[f] >= 0:
            value[f] = turned[n]
