"""Loops over cells: which hold oil, and the rows of the two solves; compiled.

Arrays as in ``cpu_parcels.py``: one number finds a cell and its lower face across x, that face across y
and z stands ``size`` and two ``size`` further on. ``box`` bounds the cells that oil can reach.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from sumpwright.motion.free_surface.constants import AIR, FILLED, LEAST_THETA, LIQUID, LIQUID_SHARE, WALL
from sumpwright.motion.free_surface.cpu_parcels import RELAXED


@njit(cache=True, fastmath=RELAXED, nogil=True)
def classify(
    first: Any, end: Any, box: Any, sx: Any, sy: Any, share: Any, number: Any, full: Any, per_cell: Any,
    open_volume: Any, kind: Any, rho: Any, row: Any,
) -> None:  # fmt: skip
    """Liquid, air or wall for each cell of the box between ``first`` and ``end`` along x.

    The lanes' shares (lanes, cells) and numbers are read and set back to nothing.
    """
    lanes = share.shape[0]
    for i in range(first, end):
        for j in range(box[2], box[3]):
            base = i * sx + j * sy
            for k in range(box[4], box[5]):
                c = np.uint64(base + k)
                row[c] = -1
                s = share[0, c]
                held = number[0, c]
                share[0, c] = 0.0
                number[0, c] = 0
                for lane in range(1, lanes):
                    s += share[lane, c]
                    held += number[lane, c]
                    share[lane, c] = 0.0
                    number[lane, c] = 0
                if open_volume[c] <= 0.0:
                    kind[c] = WALL
                    rho[c] = 0.0
                    continue
                r = s / full[c] if full[c] > 1e-6 else np.float32(0.0)
                rho[c] = r
                # The second way catches oil that lies crowded on a floor. It must ask for a nearly
                # full cell: with half a full one, chance alone raises the surface by a tenth of a cell.
                crowded = held >= FILLED * per_cell * open_volume[c] and held >= 3
                kind[c] = LIQUID if (r > LIQUID_SHARE or crowded) else AIR


@njit(cache=True, fastmath=RELAXED, nogil=True)
def number_rows(
    box: Any, sx: Any, sy: Any, hosts: Any, judges: Any, host_kind: Any, host_rho: Any,
    kind: Any, rho: Any, row: Any, cells: Any, levels: Any,
) -> Any:  # fmt: skip
    """Number the liquid cells by i + j + k, so that no row waits for the one before it. Returns their count.

    ``hosts`` lists the slivers, ``judges`` the cells that decide for them.
    """
    for h in range(hosts.shape[0]):
        host_kind[h], host_rho[h] = kind[judges[h]], rho[judges[h]]
    for h in range(hosts.shape[0]):
        kind[hosts[h]], rho[hosts[h]] = host_kind[h], host_rho[h]
    levels[:] = 0
    for i in range(box[0], box[1]):
        for j in range(box[2], box[3]):
            base = i * sx + j * sy
            for k in range(box[4], box[5]):
                if kind[np.uint64(base + k)] == LIQUID:
                    levels[np.uint64(i + j + k + 1)] += 1
    for level in range(levels.shape[0] - 1):
        levels[level + 1] += levels[level]
    count = levels[levels.shape[0] - 1]
    for i in range(box[0], box[1]):
        for j in range(box[2], box[3]):
            base = i * sx + j * sy
            for k in range(box[4], box[5]):
                c = np.uint64(base + k)
                if kind[c] == LIQUID:
                    at = np.uint64(i + j + k)
                    row[c] = levels[at]
                    cells[np.uint64(levels[at])] = base + k
                    levels[at] += 1
    return count


@njit(cache=True, fastmath=RELAXED, forceinline=True)
def _phi(r: Any) -> Any:
    """Signed distance to the surface in cells, from a cell's share; negative in the oil."""
    if r < 0.5:
        return 1.0 - np.sqrt(2.0 * max(r, 0.0))
    return np.sqrt(2.0 * (1.0 - min(r, 1.0))) - 1.0


@njit(cache=True, fastmath=RELAXED)
def _over_theta(inside: Any, outside: Any) -> Any:
    """One over the part of the way from a liquid centre to an air centre at which the surface stands."""
    a = min(_phi(inside), -1e-3)
    b = max(_phi(outside), 1e-3)
    return 1.0 / max(a / (a - b), LEAST_THETA)


@njit(cache=True, fastmath=RELAXED, nogil=True)
def build(
    first: Any, end: Any, count: Any, cells: Any, size: Any, sx: Any, sy: Any,
    opened: Any, kind: Any, rho: Any, row: Any, open_volume: Any,
    diagonal: Any, link: Any, above: Any, below: Any, to_air: Any, source: Any,
) -> None:  # fmt: skip
    """Rows ``first`` to ``end`` of sum of A/theta (p_here - p_there), and what the density solve gives away.

    ``link`` (3, rows + 1): open part to the liquid cell above; ``above`` and ``below`` (3, rows): its row
    and that of the cell below, ``count`` where there is none. ``to_air`` (6, rows): 1/theta towards air,
    below and above along x, y, z. ``source``: share above one; surface cells never draw in.
    """
    for r in range(first, end):
        q = np.uint64(r)
        c = np.int64(cells[q])
        here = rho[np.uint64(c)]
        d = 0.0
        at_air = False
        for axis in range(3):
            low = axis * size + c
            stride = sx if axis == 0 else (sy if axis == 1 else 1)
            for side in range(2):
                to = np.uint64(c + stride if side == 1 else c - stride)
                a = opened[np.uint64(low + stride if side == 1 else low)]
                other = count
                over = 0.0
                at_air |= kind[to] == AIR
                if a > 0.0:
                    if kind[to] == LIQUID:
                        d += a
                        other = row[to]
                    elif kind[to] == AIR:
                        over = _over_theta(here, rho[to])
                        d += a * over
                to_air[2 * axis + side, q] = over
                if side == 1:
                    above[axis, q] = other
                    link[axis, q] = a if other != count else np.float32(0.0)
                else:
                    below[axis, q] = other
        # A closed-in liquid cell without any opening has nothing to solve.
        diagonal[q] = d if d > 1e-12 else 1.0
        excess = min(max(here - 1.0, -0.5), 0.5)
        if at_air and excess < 0.0:
            excess = 0.0
        source[q] = excess * open_volume[np.uint64(c)]


@njit(cache=True, fastmath=RELAXED, nogil=True)
def divergence(
    first: Any, end: Any, cells: Any, size: Any, sx: Any, sy: Any, velocity: Any, opened: Any,
    pressure: Any, dt: Any, b: Any, x: Any,
) -> None:  # fmt: skip
    """Minus the net outflow of liquid cells, and the last step's pressure as the start of the solve."""
    stride, across = np.uint64(sx), np.uint64(size)
    for r in range(first, end):
        q = np.uint64(r)
        c = np.uint64(cells[q])
        y, z = c + across, c + across + across
        y1, z1 = y + np.uint64(sy), z + np.uint64(1)
        b[q] = -(
            opened[c + stride] * velocity[c + stride] - opened[c] * velocity[c]
            + opened[y1] * velocity[y1] - opened[y] * velocity[y]
            + opened[z1] * velocity[z1] - opened[z] * velocity[z]
        )  # fmt: skip
        x[q] = pressure[c] * dt


@njit(cache=True, fastmath=RELAXED, nogil=True)
def take_gradient(
    first: Any, end: Any, count: Any, cells: Any, size: Any, sx: Any, sy: Any,
    above: Any, to_air: Any, x: Any, value: Any, mark: Any, limit: Any,
) -> Any:  # fmt: skip
    """Take the gradient of ``x`` off the faces of liquid cells and mark them 2; ``limit`` > 0 clips it.

    Every face is met once, so what is left on it is final: returns the largest.
    """
    best = np.float32(0.0)
    for r in range(first, end):
        q = np.uint64(r)
        c = np.int64(cells[q])
        here = x[q]
        for axis in range(3):
            low = np.uint64(axis * size + c)
            high = np.uint64(axis * size + c + (sx if axis == 0 else (sy if axis == 1 else 1)))
            over = to_air[2 * axis, q]
            if over > 0.0:
                step = here * over
                if limit > 0.0:
                    step = min(max(step, -limit), limit)
                value[low] -= step
                mark[low] = 2
                best = max(best, abs(value[low]))
            over = to_air[2 * axis + 1, q]
            other = above[axis, q]
            if over > 0.0:
                step = -here * over
            elif other != count:
                step = x[np.uint64(other)] - here
            else:
                continue
            if limit > 0.0:
                step = min(max(step, -limit), limit)
            value[high] -= step
            mark[high] = 2
            best = max(best, abs(value[high]))
    return best


@njit(cache=True, nogil=True)
def clear_faces(count: Any, cells: Any, size: Any, sx: Any, sy: Any, value: Any) -> None:
    """Nothing on the faces of these cells."""
    for r in range(count):
        c = np.int64(cells[r])
        for axis in range(3):
            value[np.uint64(axis * size + c)] = 0.0
        value[np.uint64(c + sx)] = 0.0
        value[np.uint64(size + c + sy)] = 0.0
        value[np.uint64(2 * size + c + 1)] = 0.0


@njit(cache=True, nogil=True)
def put(count: Any, cells: Any, x: Any, over: Any, field: Any) -> None:
    """Values of rows over ``over`` on the grid."""
    for r in range(count):
        field[np.uint64(cells[r])] = x[r] / over
