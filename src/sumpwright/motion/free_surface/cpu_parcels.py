"""The one loop over all parcels of a step, and their sorting by cell; compiled.

Lengths in cells, velocities in cells per second. Everything on the grid stands in flat arrays of
one size, ``cells`` = (nx + 1)(ny + 1)(nz + 1), z running fastest, so that one number finds a cell,
its lower faces and its lower corner; ``sx`` and ``sy`` are the steps along x and y. What stands on
faces has three such arrays one behind the other: those across x, y, z. ``parcels`` (6, n) float32:
place and velocity, one oil parcel a column.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from sumpwright.motion.free_surface import cpu_pairs
from sumpwright.motion.free_surface.constants import LARGEST_MOVE, LIQUID, OFF_WALL

# What these take and give is known to the compiler only.
add_bulk: Any = cpu_pairs.add_bulk
add_momentum: Any = cpu_pairs.add_momentum
between: Any = cpu_pairs.between

# A number that is none must still be found, so the rules for those are left on.
RELAXED = {"reassoc", "contract", "nsz", "arcp"}

F0, F05, F1 = np.float32(0.0), np.float32(0.5), np.float32(1.0)
EDGE = np.float32(2.001)
INSET = np.float32(1e-3)
FURTHEST = np.float32(LARGEST_MOVE)
OFF = np.float32(OFF_WALL)


@njit(cache=True, fastmath=RELAXED, forceinline=True)
def _kept(x: Any, last: Any) -> Any:
    """On the grid; a value that is no number lands on its edge instead of outside an array."""
    if not (x > EDGE):
        return EDGE
    if not (x < last):
        return last
    return x


@njit(cache=True, fastmath=RELAXED)
def _stopped(here: Any, move: Any, shut: Any, at: Any, step: Any) -> Any:
    """New coordinate along one axis; a shut face is met exactly where it stands on the grid.

    ``at``: the lower face of the cell along this axis; ``step`` to the next face.
    """
    target = here + move
    c = int(here)
    up = 1 if move > F0 else 0
    guard = 0
    while int(target) != c and guard < 8:
        if shut[np.uint64(at + up * step)] != 0:
            return np.float32(c + 1) - INSET if up == 1 else np.float32(c) + INSET
        if up == 1:
            c += 1
            at += step
        else:
            c -= 1
            at -= step
        guard += 1
    return target


@njit(cache=True, fastmath=RELAXED)
def _pushed_inside(x: Any, y: Any, z: Any, d: Any, sx: Any, sy: Any, last: Any) -> Any:
    """Bring a point that is beyond a wall back to just inside it, along the wall's normal."""
    for _ in range(2):
        i, j, k = int(x), int(y), int(z)
        here, gx, gy, gz = between(
            d, i * sx + j * sy + k, sx, sy, x - np.float32(i), y - np.float32(j), z - np.float32(k)
        )
        short = OFF - here
        if short <= F0:
            break
        size = gx * gx + gy * gy + gz * gz
        if size < np.float32(1e-12):
            break
        scale = short / max(size, np.float32(0.25))
        x = _kept(x + scale * gx, last[0])
        y = _kept(y + scale * gy, last[1])
        z = _kept(z + scale * gz, last[2])
    return x, y, z


@njit(cache=True, fastmath=RELAXED)
def _walked(
    x: Any, y: Any, z: Any, dx: Any, dy: Any, dz: Any, distance: Any, shut: Any, cells: Any,
    sx: Any, sy: Any, last: Any,
) -> Any:  # fmt: skip
    """Move by (dx, dy, dz) where faces are shut, stop at those, stay inside the walls and on the grid."""
    for turn in range(2):
        x = _kept(_stopped(x, dx, shut, int(x) * sx + int(y) * sy + int(z), sx), last[0])
        y = _kept(_stopped(y, dy, shut, cells + int(x) * sx + int(y) * sy + int(z), sy), last[1])
        z = _kept(_stopped(z, dz, shut, 2 * cells + int(x) * sx + int(y) * sy + int(z), 1), last[2])
        if turn == 1:
            break
        # The way back from the outer wall must not lead through an inner one either.
        xn, yn, zn = _pushed_inside(x, y, z, distance, sx, sy, last)
        dx, dy, dz = xn - x, yn - y, zn - z
        if dx == F0 and dy == F0 and dz == F0:
            break
    return x, y, z


@njit(cache=True, fastmath=RELAXED, nogil=True)
def carry(
    parcels: Any, first: Any, end: Any, cells: Any, sx: Any, sy: Any, last: Any, velocity: Any, push: Any,
    dt: Any, distance: Any, beside_wall: Any, shut: Any, has_shut: Any, force: Any, spin: Any, has_spin: Any,
    sums: Any, share: Any, number: Any, kind: Any, box: Any,
) -> Any:  # fmt: skip
    """Grid velocities to parcels ``first`` to ``end``, parcels along them and along the density push,
    their bulk to the cells and their mass and momentum to the faces.

    The path is second order: the slopes give the velocity half a step on without a second look-up.
    ``force`` (3,) is what every parcel gains [cells/s]; ``spin`` (6, 3) what it gains by its place and
    its velocity in a turning pan; ``kind`` (cells,) as the last step had it; ``last`` (3,) the furthest
    place. ``box`` (6,) becomes the cells' bounds. Returns the sum of all velocities, which is no number
    if one of them is none.
    """
    step = np.float32(dt)
    half = F05 * step
    force_x, force_y, force_z = np.float32(force[0]), np.float32(force[1]), np.float32(force[2])
    last_x, last_y, last_z = last[0], last[1], last[2]
    two_x, two_y = 2 * sx, 2 * sy
    big = 1 << 30
    i0, i1, j0, j1, k0, k1 = big, 0, big, 0, big, 0
    total = F0
    for p in range(first, end):
        q = np.uint64(p)
        x, y, z = parcels[np.uint64(0), q], parcels[np.uint64(1), q], parcels[np.uint64(2), q]
        ci, cj, ck = int(x), int(y), int(z)
        fx, fy, fz = x - np.float32(ci), y - np.float32(cj), z - np.float32(ck)
        c = ci * sx + cj * sy + ck
        # The lower one of the two cell centres beside the parcel, along each axis, and the upper's part.
        di, hx = (-sx, fx + F05) if fx < F05 else (0, fx - F05)
        dj, hy = (-sy, fy + F05) if fy < F05 else (0, fy - F05)
        dk, hz = (-1, fz + F05) if fz < F05 else (0, fz - F05)
        is_cut_x = is_cut_y = is_cut_z = False
        if has_shut:
            # A shut face keeps everything on this side of it, and no slope goes across.
            is_cut_x = shut[np.uint64(c + sx + di)] != 0
            is_cut_y = shut[np.uint64(cells + c + sy + dj)] != 0
            is_cut_z = shut[np.uint64(2 * cells + c + 1 + dk)] != 0
            if is_cut_x:
                hx = F1 if di < 0 else F0
            if is_cut_y:
                hy = F1 if dj < 0 else F0
            if is_cut_z:
                hz = F1 if dk < 0 else F0
        at_x, at_y, at_z = c + dj + dk, cells + c + di + dk, 2 * cells + c + di + dj
        pu, gux, guy, guz = between(velocity, at_x, sx, sy, fx, hy, hz)
        pv, gvx, gvy, gvz = between(velocity, at_y, sx, sy, hx, fy, hz)
        pw, gwx, gwy, gwz = between(velocity, at_z, sx, sy, hx, hy, fz)
        dx, _, _, _ = between(push, at_x, sx, sy, fx, hy, hz)
        dy, _, _, _ = between(push, at_y, sx, sy, hx, fy, hz)
        dz, _, _, _ = between(push, at_z, sx, sy, hx, hy, fz)
        if has_shut:
            if is_cut_x:
                gvx = F0
                gwx = F0
            if is_cut_y:
                guy = F0
                gwy = F0
            if is_cut_z:
                guz = F0
                gvz = F0
        # The velocity is that where the push sets the parcel down.
        pu += gux * dx + guy * dy + guz * dz
        pv += gvx * dx + gvy * dy + gvz * dz
        pw += gwx * dx + gwy * dy + gwz * dz
        total += pu + pv + pw
        dx += step * (pu + half * (gux * pu + guy * pv + guz * pw))
        dy += step * (pv + half * (gvx * pu + gvy * pv + gvz * pw))
        dz += step * (pw + half * (gwx * pu + gwy * pv + gwz * pw))
        dx = min(max(dx, -FURTHEST), FURTHEST)
        dy = min(max(dy, -FURTHEST), FURTHEST)
        dz = min(max(dz, -FURTHEST), FURTHEST)
        wanted_x, wanted_y, wanted_z = x + dx, y + dy, z + dz
        if has_shut:
            x, y, z = _walked(x, y, z, dx, dy, dz, distance, shut, cells, sx, sy, last)
        else:
            x, y, z = _kept(x + dx, last_x), _kept(y + dy, last_y), _kept(z + dz, last_z)
            if beside_wall[np.uint64(int(x) * sx + int(y) * sy + int(z))] != 0:
                x, y, z = _pushed_inside(x, y, z, distance, sx, sy, last)
        # What a wall has stopped outside the oil loses its speed into the wall: a parcel that lies alone on
        # a slope has no pressure to hold it, and would gather speed into the floor for ever.
        bx, by, bz = x - wanted_x, y - wanted_y, z - wanted_z
        into = bx * pu + by * pv + bz * pw
        if into < F0 and kind[np.uint64(int(x) * sx + int(y) * sy + int(z))] != LIQUID:
            into /= bx * bx + by * by + bz * bz
            pu -= into * bx
            pv -= into * by
            pw -= into * bz
        parcels[np.uint64(0), q], parcels[np.uint64(1), q], parcels[np.uint64(2), q] = x, y, z
        parcels[np.uint64(3), q], parcels[np.uint64(4), q], parcels[np.uint64(5), q] = pu, pv, pw
        ci, cj, ck = int(x), int(y), int(z)
        i0, i1 = min(i0, ci), max(i1, ci)
        j0, j1 = min(j0, cj), max(j1, cj)
        k0, k1 = min(k0, ck), max(k1, ck)
        fx, fy, fz = x - np.float32(ci), y - np.float32(cj), z - np.float32(ck)
        c = ci * sx + cj * sy + ck
        # ox, oy, oz: from the lower centre; with a shut face that is not the upper one's part.
        di, ox = (-sx, fx + F05) if fx < F05 else (0, fx - F05)
        dj, oy = (-sy, fy + F05) if fy < F05 else (0, fy - F05)
        dk, oz = (-1, fz + F05) if fz < F05 else (0, fz - F05)
        hx, hy, hz = ox, oy, oz
        if has_shut:
            if shut[np.uint64(c + sx + di)] != 0:
                hx = F1 if di < 0 else F0
            if shut[np.uint64(cells + c + sy + dj)] != 0:
                hy = F1 if dj < 0 else F0
            if shut[np.uint64(2 * cells + c + 1 + dk)] != 0:
                hz = F1 if dk < 0 else F0
        number[np.uint64(c)] += np.int32(1)
        add_bulk(share, c + di + dj + dk, sx, sy, hx, hy, hz)
        if has_spin:
            # What a turning pan adds, and how it changes from place to place.
            ax = spin[3, 0] * pu + spin[3, 1] * pv + spin[3, 2] * pw
            ay = spin[4, 0] * pu + spin[4, 1] * pv + spin[4, 2] * pw
            az = spin[5, 0] * pu + spin[5, 1] * pv + spin[5, 2] * pw
            pu += ax + spin[0, 0] * x + spin[0, 1] * y + spin[0, 2] * z
            pv += ay + spin[1, 0] * x + spin[1, 1] * y + spin[1, 2] * z
            pw += az + spin[2, 0] * x + spin[2, 1] * y + spin[2, 2] * z
            gux += spin[0, 0]
            guy += spin[0, 1]
            guz += spin[0, 2]
            gvx += spin[1, 0]
            gvy += spin[1, 1]
            gvz += spin[1, 2]
            gwx += spin[2, 0]
            gwy += spin[2, 1]
            gwz += spin[2, 2]
        value = pu + force_x - gux * fx - guy * oy - guz * oz
        add_momentum(sums, 2 * (c + dj + dk), two_x, two_y, fx, hy, hz, value, gux, guy, guz)
        value = pv + force_y - gvx * ox - gvy * fy - gvz * oz
        add_momentum(sums, 2 * (cells + c + di + dk), two_x, two_y, hx, fy, hz, value, gvx, gvy, gvz)
        value = pw + force_z - gwx * ox - gwy * oy - gwz * fz
        add_momentum(sums, 2 * (2 * cells + c + di + dj), two_x, two_y, hx, hy, fz, value, gwx, gwy, gwz)
    box[0], box[1], box[2], box[3], box[4], box[5] = i0, i1 + 1, j0, j1 + 1, k0, k1 + 1
    return total


@njit(cache=True)
def sort_by_cell(parcels: Any, sx: Any, sy: Any, key: Any, start: Any, spare: Any) -> None:
    """Parcels in the order of their cells; those of one cell keep theirs. ``start`` (cells + 1,)."""
    n = parcels.shape[1]
    start[:] = 0
    for p in range(n):
        c = int(parcels[0, p]) * sx + int(parcels[1, p]) * sy + int(parcels[2, p])
        key[p] = c
        start[c + 1] += 1
    for c in range(start.shape[0] - 1):
        start[c + 1] += start[c]
    for p in range(n):
        c = key[p]
        key[p] = start[c]
        start[c] += 1
    for row in range(6):
        for p in range(n):
            spare[key[p]] = parcels[row, p]
        for p in range(n):
            parcels[row, p] = spare[p]
