"""Processor back end of the free surface: the loops over particles and cells, compiled.

Grid units throughout: lengths in cells, velocities in cells per second. Face arrays are
staggered: ``u[i, j, k]`` stands at (i, j + 1/2, k + 1/2), ``v`` at (i + 1/2, j, k + 1/2),
``w`` at (i + 1/2, j + 1/2, k). ``parcels`` (15, n) holds one oil parcel a column: place,
velocity, and d velocity_a / d x_b row by row [1/s].
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, prange

from sumpwright.motion.free_surface.constants import (
    AIR,
    FILLED,
    LARGEST_MOVE,
    LEAST_THETA,
    LIQUID,
    LIQUID_SHARE,
    OFF_WALL,
    WALL,
)


@njit(cache=True, fastmath=True, inline="always")
def _split(x: Any) -> Any:
    """Whole and broken part of a positive grid coordinate."""
    i = int(x)
    return i, x - i


@njit(cache=True, fastmath=True, inline="always")
def _centre(x: Any, c: Any, shut_below: Any, shut_above: Any) -> Any:
    """Lower of the two cell centres beside x in cell c, and the part of the upper one.

    A shut face keeps everything on this side of it.
    """
    f = x - c - 0.5
    if f < 0.0:
        return c - 1, (1.0 if shut_below else f + 1.0)
    return c, (0.0 if shut_above else f)


@njit(cache=True, fastmath=True, inline="always")
def _sample(q: Any, i: Any, j: Any, k: Any, x: Any, y: Any, z: Any) -> Any:
    """Value and slopes of ``q`` between its eight values at i, j, k and above."""
    q000, q001 = q[i, j, k], q[i, j, k + 1]
    q010, q011 = q[i, j + 1, k], q[i, j + 1, k + 1]
    q100, q101 = q[i + 1, j, k], q[i + 1, j, k + 1]
    q110, q111 = q[i + 1, j + 1, k], q[i + 1, j + 1, k + 1]
    d00, d01, d10, d11 = q001 - q000, q011 - q010, q101 - q100, q111 - q110
    e00, e01, e10, e11 = q000 + z * d00, q010 + z * d01, q100 + z * d10, q110 + z * d11
    g0, g1 = e01 - e00, e11 - e10
    f0, f1 = e00 + y * g0, e10 + y * g1
    h0, h1 = d00 + y * (d01 - d00), d10 + y * (d11 - d10)
    gx = f1 - f0
    return f0 + x * gx, gx, g0 + x * (g1 - g0), h0 + x * (h1 - h0)


@njit(cache=True, fastmath=True, inline="always")
def _add(
    sums: Any, i: Any, j: Any, k: Any, x: Any, y: Any, z: Any, v: Any, gx: Any, gy: Any, gz: Any
) -> None:
    """Add mass and momentum to eight faces; ``v`` is the velocity at i, j, k, ``g`` its slopes."""
    x0, y0, z0 = 1.0 - x, 1.0 - y, 1.0 - z
    a, b, c, d = x0 * y0, x0 * y, x * y0, x * y
    m = a * z0
    sums[i, j, k, 0] += m
    sums[i, j, k, 1] += m * v
    m = a * z
    sums[i, j, k + 1, 0] += m
    sums[i, j, k + 1, 1] += m * (v + gz)
    vy = v + gy
    m = b * z0
    sums[i, j + 1, k, 0] += m
    sums[i, j + 1, k, 1] += m * vy
    m = b * z
    sums[i, j + 1, k + 1, 0] += m
    sums[i, j + 1, k + 1, 1] += m * (vy + gz)
    vx = v + gx
    m = c * z0
    sums[i + 1, j, k, 0] += m
    sums[i + 1, j, k, 1] += m * vx
    m = c * z
    sums[i + 1, j, k + 1, 0] += m
    sums[i + 1, j, k + 1, 1] += m * (vx + gz)
    vxy = vx + gy
    m = d * z0
    sums[i + 1, j + 1, k, 0] += m
    sums[i + 1, j + 1, k, 1] += m * vxy
    m = d * z
    sums[i + 1, j + 1, k + 1, 0] += m
    sums[i + 1, j + 1, k + 1, 1] += m * (vxy + gz)


@njit(cache=True, fastmath=True, inline="always")
def _stencil(x: Any, y: Any, z: Any, shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any) -> Any:
    """Cell and parts, centre and parts of a place."""
    ci, fx = _split(x)
    cj, fy = _split(y)
    ck, fz = _split(z)
    b0 = b1 = b2 = b3 = b4 = b5 = False
    if has_shut:
        b0, b1 = shut_x[ci, cj, ck] != 0, shut_x[ci + 1, cj, ck] != 0
        b2, b3 = shut_y[ci, cj, ck] != 0, shut_y[ci, cj + 1, ck] != 0
        b4, b5 = shut_z[ci, cj, ck] != 0, shut_z[ci, cj, ck + 1] != 0
    hi, hx = _centre(x, ci, b0, b1)
    hj, hy = _centre(y, cj, b2, b3)
    hk, hz = _centre(z, ck, b4, b5)
    return ci, cj, ck, fx, fy, fz, hi, hj, hk, hx, hy, hz


@njit(cache=True, fastmath=True, parallel=True)
def gather_and_move(
    parcels: Any, n: Any, u: Any, v: Any, w: Any, dt: Any, distance: Any,
    shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any, share: Any, number: Any, lanes: Any,
) -> None:  # fmt: skip
    """Grid velocities to parcels, parcels along them, their bulk to the cells.

    The path is second order: the affine part gives the velocity half a step on without a
    second look-up. ``share`` and ``number`` (lanes, nx, ny, nz) receive the moved parcels.
    """
    nx, ny, nz = distance.shape[0] - 1, distance.shape[1] - 1, distance.shape[2] - 1
    for lane in prange(lanes):
        my_share, my_number = share[lane], number[lane]
        my_share[:, :, :] = 0.0
        my_number[:, :, :] = 0
        for p in range(n * lane // lanes, n * (lane + 1) // lanes):
            x, y, z = parcels[0, p], parcels[1, p], parcels[2, p]
            ci, cj, ck, fx, fy, fz, hi, hj, hk, hx, hy, hz = _stencil(
                x, y, z, shut_x, shut_y, shut_z, has_shut
            )
            pu, gux, guy, guz = _sample(u, ci, hj, hk, fx, hy, hz)
            pv, gvx, gvy, gvz = _sample(v, hi, cj, hk, hx, fy, hz)
            pw, gwx, gwy, gwz = _sample(w, hi, hj, ck, hx, hy, fz)
            # A one-sided stencil carries no slope across the shut face.
            if has_shut:
                if hx == 0.0 or hx == 1.0:
                    gvx = 0.0
                    gwx = 0.0
                if hy == 0.0 or hy == 1.0:
                    guy = 0.0
                    gwy = 0.0
                if hz == 0.0 or hz == 1.0:
                    guz = 0.0
                    gvz = 0.0
            parcels[3, p], parcels[4, p], parcels[5, p] = pu, pv, pw
            parcels[6, p], parcels[7, p], parcels[8, p] = gux, guy, guz
            parcels[9, p], parcels[10, p], parcels[11, p] = gvx, gvy, gvz
            parcels[12, p], parcels[13, p], parcels[14, p] = gwx, gwy, gwz
            half = 0.5 * dt
            dx = dt * (pu + half * (gux * pu + guy * pv + guz * pw))
            dy = dt * (pv + half * (gvx * pu + gvy * pv + gvz * pw))
            dz = dt * (pw + half * (gwx * pu + gwy * pv + gwz * pw))
            x, y, z = _walk(x, y, z, dx, dy, dz, distance, shut_x, shut_y, shut_z, has_shut, nx, ny, nz)
            parcels[0, p], parcels[1, p], parcels[2, p] = x, y, z
            _deposit(my_share, my_number, x, y, z, shut_x, shut_y, shut_z, has_shut)


@njit(cache=True, fastmath=True, inline="always")
def _deposit(
    share: Any, number: Any, x: Any, y: Any, z: Any, shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any
) -> None:
    ci, cj, ck, _, _, _, i, j, k, x1, y1, z1 = _stencil(x, y, z, shut_x, shut_y, shut_z, has_shut)
    x0, y0, z0 = 1.0 - x1, 1.0 - y1, 1.0 - z1
    share[i, j, k] += x0 * y0 * z0
    share[i, j, k + 1] += x0 * y0 * z1
    share[i, j + 1, k] += x0 * y1 * z0
    share[i, j + 1, k + 1] += x0 * y1 * z1
    share[i + 1, j, k] += x1 * y0 * z0
    share[i + 1, j, k + 1] += x1 * y0 * z1
    share[i + 1, j + 1, k] += x1 * y1 * z0
    share[i + 1, j + 1, k + 1] += x1 * y1 * z1
    number[ci, cj, ck] += 1


@njit(cache=True, fastmath=True, inline="always")
def _walk_axis(here: Any, move: Any, shut: Any, i: Any, j: Any, k: Any, axis: Any) -> Any:
    """New coordinate along one axis; a shut face is met exactly where it stands on the grid."""
    nxt = here + move
    c = int(here)
    step = 1 if move > 0.0 else 0
    guard = 0
    while int(nxt) != c and guard < 8:
        if axis == 0:
            blocked = shut[c + step, j, k]
        elif axis == 1:
            blocked = shut[i, c + step, k]
        else:
            blocked = shut[i, j, c + step]
        if blocked != 0:
            return c + step - 1e-3 if step == 1 else c + 1e-3
        c += 1 if step == 1 else -1
        guard += 1
    return nxt


@njit(cache=True, fastmath=True, inline="always")
def _kept(x: Any, most: Any) -> Any:
    """On the grid; a value that is no number lands on its edge instead of outside an array."""
    if not (x > 2.001):
        return 2.001
    if not (x < most - 2.001):
        return most - 2.001
    return x


@njit(cache=True, fastmath=True, inline="always")
def _walk(
    x: Any, y: Any, z: Any, dx: Any, dy: Any, dz: Any, distance: Any,
    shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any, nx: Any, ny: Any, nz: Any,
) -> Any:  # fmt: skip
    """Move by (dx, dy, dz), stop at shut faces, stay inside the walls and on the grid."""
    dx = min(max(dx, -LARGEST_MOVE), LARGEST_MOVE)
    dy = min(max(dy, -LARGEST_MOVE), LARGEST_MOVE)
    dz = min(max(dz, -LARGEST_MOVE), LARGEST_MOVE)
    if not has_shut:
        return _push_inside(_kept(x + dx, nx), _kept(y + dy, ny), _kept(z + dz, nz), distance, nx, ny, nz)
    x1 = _kept(_walk_axis(x, dx, shut_x, int(x), int(y), int(z), 0), nx)
    y1 = _kept(_walk_axis(y, dy, shut_y, int(x1), int(y), int(z), 1), ny)
    z1 = _kept(_walk_axis(z, dz, shut_z, int(x1), int(y1), int(z), 2), nz)
    xn, yn, zn = _push_inside(x1, y1, z1, distance, nx, ny, nz)
    # The way back from the outer wall must not lead through an inner one either.
    x2 = _kept(_walk_axis(x1, xn - x1, shut_x, int(x1), int(y1), int(z1), 0), nx)
    y2 = _kept(_walk_axis(y1, yn - y1, shut_y, int(x2), int(y1), int(z1), 1), ny)
    z2 = _kept(_walk_axis(z1, zn - z1, shut_z, int(x2), int(y2), int(z1), 2), nz)
    return x2, y2, z2


@njit(cache=True, fastmath=True, inline="always")
def _push_inside(x: Any, y: Any, z: Any, d: Any, nx: Any, ny: Any, nz: Any) -> Any:
    """Bring a point that is beyond a wall back to just inside it, along the wall's normal."""
    for _ in range(2):
        i, fx = _split(x)
        j, fy = _split(y)
        k, fz = _split(z)
        here, gx, gy, gz = _sample(d, i, j, k, fx, fy, fz)
        short = OFF_WALL - here
        if short <= 0.0:
            break
        size = gx * gx + gy * gy + gz * gz
        if size < 1e-12:
            break
        scale = short / max(size, 0.25)
        x = _kept(x + scale * gx, nx)
        y = _kept(y + scale * gy, ny)
        z = _kept(z + scale * gz, nz)
    return x, y, z


@njit(cache=True, fastmath=True, parallel=True)
def push_and_scatter(
    parcels: Any, n: Any, push_x: Any, push_y: Any, push_z: Any, distance: Any,
    shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any, sum_u: Any, sum_v: Any, sum_w: Any, lanes: Any,
) -> None:  # fmt: skip
    """Parcels along the density push, then mass and momentum to the faces (one copy a lane)."""
    nx, ny, nz = distance.shape[0] - 1, distance.shape[1] - 1, distance.shape[2] - 1
    for lane in prange(lanes):
        my_u, my_v, my_w = sum_u[lane], sum_v[lane], sum_w[lane]
        my_u[:, :, :, :] = 0.0
        my_v[:, :, :, :] = 0.0
        my_w[:, :, :, :] = 0.0
        for p in range(n * lane // lanes, n * (lane + 1) // lanes):
            x, y, z = parcels[0, p], parcels[1, p], parcels[2, p]
            ci, cj, ck, fx, fy, fz, hi, hj, hk, hx, hy, hz = _stencil(
                x, y, z, shut_x, shut_y, shut_z, has_shut
            )
            sx, _, _, _ = _sample(push_x, ci, hj, hk, fx, hy, hz)
            sy, _, _, _ = _sample(push_y, hi, cj, hk, hx, fy, hz)
            sz, _, _, _ = _sample(push_z, hi, hj, ck, hx, hy, fz)
            x, y, z = _walk(x, y, z, sx, sy, sz, distance, shut_x, shut_y, shut_z, has_shut, nx, ny, nz)
            parcels[0, p], parcels[1, p], parcels[2, p] = x, y, z
            ci, cj, ck, fx, fy, fz, hi, hj, hk, hx, hy, hz = _stencil(
                x, y, z, shut_x, shut_y, shut_z, has_shut
            )
            ox, oy, oz = x - hi - 0.5, y - hj - 0.5, z - hk - 0.5
            a, b, c = parcels[6, p], parcels[7, p], parcels[8, p]
            _add(my_u, ci, hj, hk, fx, hy, hz, parcels[3, p] - a * fx - b * oy - c * oz, a, b, c)
            a, b, c = parcels[9, p], parcels[10, p], parcels[11, p]
            _add(my_v, hi, cj, hk, hx, fy, hz, parcels[4, p] - a * ox - b * fy - c * oz, a, b, c)
            a, b, c = parcels[12, p], parcels[13, p], parcels[14, p]
            _add(my_w, hi, hj, ck, hx, hy, fz, parcels[5, p] - a * ox - b * oy - c * fz, a, b, c)


@njit(cache=True, fastmath=True, parallel=True)
def average(sums: Any, out: Any, mark: Any, open_part: Any, added: Any) -> None:
    """Face velocity from the lanes' sums plus ``added``; ``mark`` 1 where oil reaches an open face.

    A closed face that oil reaches is marked -1: it wants a value from the wall's rule.
    """
    lanes, n0, n1, n2, _ = sums.shape
    for i in prange(n0):
        for j in range(n1):
            for k in range(n2):
                m = sums[0, i, j, k, 0]
                s = sums[0, i, j, k, 1]
                for lane in range(1, lanes):
                    m += sums[lane, i, j, k, 0]
                    s += sums[lane, i, j, k, 1]
                out[i, j, k] = 0.0
                mark[i, j, k] = 0
                if m > 1e-6:
                    if open_part[i, j, k] > 0.0:
                        out[i, j, k] = s / m + added
                        mark[i, j, k] = 1
                    else:
                        mark[i, j, k] = -1


@njit(cache=True, fastmath=True)
def classify(
    share: Any, number: Any, full: Any, per_cell: Any, open_volume: Any, host: Any,
    kind: Any, rho: Any, row: Any, cells: Any,
) -> Any:  # fmt: skip
    """Liquid, air or wall for each cell; numbers the liquid cells in grid order. Returns their count."""
    lanes, nx, ny, nz = share.shape
    for i in range(nx):
        for j in range(ny):
            for k in range(nz):
                row[i, j, k] = -1
                if open_volume[i, j, k] <= 0.0:
                    kind[i, j, k] = WALL
                    rho[i, j, k] = 0.0
                    continue
                s = share[0, i, j, k]
                c = number[0, i, j, k]
                for lane in range(1, lanes):
                    s += share[lane, i, j, k]
                    c += number[lane, i, j, k]
                r = s / full[i, j, k] if full[i, j, k] > 1e-6 else 0.0
                rho[i, j, k] = r
                # The second way catches oil that lies crowded on a floor. It must ask for a nearly
                # full cell: with half a full one, chance alone raises the surface by a tenth of a cell.
                crowded = c >= FILLED * per_cell * open_volume[i, j, k] and c >= 3
                kind[i, j, k] = LIQUID if (r > LIQUID_SHARE or crowded) else AIR
    count = 0
    for i in range(nx):
        for j in range(ny):
            for k in range(nz):
                if kind[i, j, k] == WALL:
                    continue
                h = host[i, j, k]
                if h > 0:
                    step = 2 * ((h - 1) % 2) - 1
                    axis = (h - 1) // 2
                    ni = i + (step if axis == 0 else 0)
                    nj = j + (step if axis == 1 else 0)
                    nk = k + (step if axis == 2 else 0)
                    kind[i, j, k] = kind[ni, nj, nk]
                    rho[i, j, k] = rho[ni, nj, nk]
                if kind[i, j, k] == LIQUID:
                    row[i, j, k] = count
                    cells[count, 0] = i
                    cells[count, 1] = j
                    cells[count, 2] = k
                    count += 1
    return count


@njit(cache=True, fastmath=True, inline="always")
def _phi(r: Any) -> Any:
    """Signed distance to the surface in cells, from a cell's share; negative in the oil."""
    if r < 0.5:
        return 1.0 - np.sqrt(2.0 * max(r, 0.0))
    return np.sqrt(2.0 * (1.0 - min(r, 1.0))) - 1.0


@njit(cache=True, fastmath=True, inline="always")
def _theta(r_in: Any, r_out: Any) -> Any:
    """Part of the way from a liquid centre to an air centre at which the surface stands."""
    a = min(_phi(r_in), -1e-3)
    b = max(_phi(r_out), 1e-3)
    return max(a / (a - b), LEAST_THETA)


@njit(cache=True, fastmath=True)
def build_matrix(
    count: Any,
    cells: Any,
    kind: Any,
    rho: Any,
    row: Any,
    open_x: Any,
    open_y: Any,
    open_z: Any,
    diagonal: Any,
    upper: Any,
    links: Any,
    lower: Any,
) -> Any:
    """Rows of sum of A/theta (p_here - p_there).

    ``links``/``lower`` (n, 3): rows above and below along x, y, z.
    """
    for r in range(count):
        i, j, k = cells[r, 0], cells[r, 1], cells[r, 2]
        here = rho[i, j, k]
        d = 0.0
        for axis in range(3):
            for side in range(2):
                if axis == 0:
                    a = open_x[i + side, j, k]
                    ni, nj, nk = i + 2 * side - 1, j, k
                elif axis == 1:
                    a = open_y[i, j + side, k]
                    ni, nj, nk = i, j + 2 * side - 1, k
                else:
                    a = open_z[i, j, k + side]
                    ni, nj, nk = i, j, k + 2 * side - 1
                other = -1
                if a > 0.0:
                    if kind[ni, nj, nk] == LIQUID:
                        d += a
                        other = row[ni, nj, nk]
                    elif kind[ni, nj, nk] == AIR:
                        d += a / _theta(here, rho[ni, nj, nk])
                if side == 1:
                    links[r, axis] = other
                    upper[r, axis] = a if other >= 0 else 0.0
                else:
                    lower[r, axis] = other
        # A closed-in liquid cell without any opening has nothing to solve.
        diagonal[r] = d if d > 1e-12 else 1.0


@njit(cache=True, fastmath=True)
def factor(count: Any, diagonal: Any, upper: Any, lower: Any, scale: Any) -> Any:
    """Modified incomplete Cholesky, one reciprocal root a row."""
    tune, safety = 0.97, 0.25
    for r in range(count):
        e = diagonal[r]
        for axis in range(3):
            m = lower[r, axis]
            if m >= 0:
                t = upper[m, axis] * scale[m]
                rest = upper[m, (axis + 1) % 3] + upper[m, (axis + 2) % 3]
                e -= t * t + tune * upper[m, axis] * rest * scale[m] * scale[m]
        if e < safety * diagonal[r]:
            e = diagonal[r]
        scale[r] = 1.0 / np.sqrt(e)


@njit(cache=True, fastmath=True)
def solve(
    count: Any,
    diagonal: Any,
    upper: Any,
    links: Any,
    lower: Any,
    scale: Any,
    b: Any,
    x: Any,
    r: Any,
    z: Any,
    s: Any,
    tolerance: Any,
    most: Any,
) -> Any:
    """Conjugate gradients with the factor; starts from ``x``. Returns iterations and last residual."""
    b_norm = 0.0
    for i in range(count):
        acc = diagonal[i] * x[i]
        for axis in range(3):
            m = links[i, axis]
            if m >= 0:
                acc -= upper[i, axis] * x[m]
            m = lower[i, axis]
            if m >= 0:
                acc -= upper[m, axis] * x[m]
        r[i] = b[i] - acc
        b_norm += b[i] * b[i]
    target = tolerance * tolerance * b_norm
    if b_norm == 0.0:
        for i in range(count):
            x[i] = 0.0
        return 0, 0.0
    rr = 0.0
    for i in range(count):
        rr += r[i] * r[i]
    sigma = 0.0
    for it in range(most):
        if rr <= target:
            return it, np.sqrt(rr / b_norm)
        # z = M^-1 r
        for i in range(count):
            t = r[i]
            for axis in range(3):
                m = lower[i, axis]
                if m >= 0:
                    t += upper[m, axis] * scale[m] * z[m]
            z[i] = t * scale[i]
        new = 0.0
        for i in range(count - 1, -1, -1):
            t = z[i]
            sc = scale[i]
            for axis in range(3):
                m = links[i, axis]
                if m >= 0:
                    t += upper[i, axis] * sc * z[m]
            z[i] = t * sc
            new += z[i] * r[i]
        beta = new / sigma if it > 0 else 0.0
        sigma = new
        for i in range(count):
            s[i] = z[i] + beta * s[i] if it > 0 else z[i]
        dot = 0.0
        for i in range(count):
            acc = diagonal[i] * s[i]
            for axis in range(3):
                m = links[i, axis]
                if m >= 0:
                    acc -= upper[i, axis] * s[m]
                m = lower[i, axis]
                if m >= 0:
                    acc -= upper[m, axis] * s[m]
            z[i] = acc
            dot += acc * s[i]
        if dot == 0.0:
            return it, np.sqrt(rr / b_norm)
        alpha = sigma / dot
        rr = 0.0
        for i in range(count):
            x[i] += alpha * s[i]
            r[i] -= alpha * z[i]
            rr += r[i] * r[i]
    return most, np.sqrt(rr / b_norm)


@njit(cache=True, fastmath=True)
def density_source(
    count: Any, cells: Any, kind: Any, rho: Any, open_volume: Any, b: Any, strength: Any
) -> Any:
    """What each liquid cell must give away: share above one; surface cells never draw in."""
    for r in range(count):
        i, j, k = cells[r, 0], cells[r, 1], cells[r, 2]
        excess = min(max(strength * (rho[i, j, k] - 1.0), -0.5), 0.5)
        if excess < 0.0 and (
            kind[i - 1, j, k] == AIR
            or kind[i + 1, j, k] == AIR
            or kind[i, j - 1, k] == AIR
            or kind[i, j + 1, k] == AIR
            or kind[i, j, k - 1] == AIR
            or kind[i, j, k + 1] == AIR
        ):
            excess = 0.0
        b[r] = excess * open_volume[i, j, k]


@njit(cache=True, fastmath=True)
def divergence(
    count: Any, cells: Any, u: Any, v: Any, w: Any, open_x: Any, open_y: Any, open_z: Any, b: Any
) -> Any:
    """Minus the net outflow of every liquid cell."""
    for r in range(count):
        i, j, k = cells[r, 0], cells[r, 1], cells[r, 2]
        b[r] = -(
            open_x[i + 1, j, k] * u[i + 1, j, k]
            - open_x[i, j, k] * u[i, j, k]
            + open_y[i, j + 1, k] * v[i, j + 1, k]
            - open_y[i, j, k] * v[i, j, k]
            + open_z[i, j, k + 1] * w[i, j, k + 1]
            - open_z[i, j, k] * w[i, j, k]
        )


@njit(cache=True, fastmath=True)
def apply_gradient(
    count: Any,
    cells: Any,
    kind: Any,
    rho: Any,
    row: Any,
    x: Any,
    open_x: Any,
    open_y: Any,
    open_z: Any,
    u: Any,
    v: Any,
    w: Any,
    mark_u: Any,
    mark_v: Any,
    mark_w: Any,
    limit: Any,
) -> Any:
    """Take the pressure gradient off the faces of liquid cells; marks them 2. ``limit`` > 0 clips it."""
    for r in range(count):
        i, j, k = cells[r, 0], cells[r, 1], cells[r, 2]
        here = x[r]
        share = rho[i, j, k]
        for axis in range(3):
            for side in range(2):
                if axis == 0:
                    a = open_x[i + side, j, k]
                    ni, nj, nk = i + 2 * side - 1, j, k
                elif axis == 1:
                    a = open_y[i, j + side, k]
                    ni, nj, nk = i, j + 2 * side - 1, k
                else:
                    a = open_z[i, j, k + side]
                    ni, nj, nk = i, j, k + 2 * side - 1
                if a <= 0.0:
                    continue
                other = kind[ni, nj, nk]
                if other == LIQUID:
                    if side == 0:
                        continue  # the cell below has done it
                    step = x[row[ni, nj, nk]] - here
                elif other == AIR:
                    step = -here / _theta(share, rho[ni, nj, nk])
                    if side == 0:
                        step = -step
                else:
                    continue
                if limit > 0.0:
                    step = min(max(step, -limit), limit)
                if axis == 0:
                    u[i + side, j, k] -= step
                    mark_u[i + side, j, k] = 2
                elif axis == 1:
                    v[i, j + side, k] -= step
                    mark_v[i, j + side, k] = 2
                else:
                    w[i, j, k + side] -= step
                    mark_w[i, j, k + side] = 2


@njit(cache=True, fastmath=True, parallel=True)
def spread_over_flying(value: Any, mark: Any, work: Any) -> None:
    """Carry the oil's velocity two faces out over parcels that fly free (marks 3, then 4).

    Beyond these two layers what flies keeps its own velocity. Faces that no parcel reaches
    are left alone: no parcel will ask them.
    """
    n0, n1, n2 = value.shape
    for layer in range(2):
        best = 2 if layer == 0 else 3
        for i in prange(1, n0 - 1):
            for j in range(1, n1 - 1):
                for k in range(1, n2 - 1):
                    if mark[i, j, k] != 1:
                        continue
                    s = 0.0
                    c = 0
                    if 2 <= mark[i - 1, j, k] <= best:
                        s += value[i - 1, j, k]
                        c += 1
                    if 2 <= mark[i + 1, j, k] <= best:
                        s += value[i + 1, j, k]
                        c += 1
                    if 2 <= mark[i, j - 1, k] <= best:
                        s += value[i, j - 1, k]
                        c += 1
                    if 2 <= mark[i, j + 1, k] <= best:
                        s += value[i, j + 1, k]
                        c += 1
                    if 2 <= mark[i, j, k - 1] <= best:
                        s += value[i, j, k - 1]
                        c += 1
                    if 2 <= mark[i, j, k + 1] <= best:
                        s += value[i, j, k + 1]
                        c += 1
                    if c > 0:
                        work[i, j, k] = s / c
                        mark[i, j, k] = 5
        for i in prange(1, n0 - 1):
            for j in range(1, n1 - 1):
                for k in range(1, n2 - 1):
                    if mark[i, j, k] == 5:
                        value[i, j, k] = work[i, j, k]
                        mark[i, j, k] = best + 1


@njit(cache=True, fastmath=True)
def carry_to_wall(faces: Any, value: Any, mark: Any) -> None:
    """Give closed faces beside the oil the mean of their open neighbours; corners from those (mark 6, 7)."""
    for turn in range(2):
        for f in range(faces.shape[0]):
            i, j, k = faces[f, 0], faces[f, 1], faces[f, 2]
            if mark[i, j, k] != -1:
                continue
            s = 0.0
            c = 0
            for side in range(6):
                step = 2 * (side % 2) - 1
                axis = side // 2
                ni = i + (step if axis == 0 else 0)
                nj = j + (step if axis == 1 else 0)
                nk = k + (step if axis == 2 else 0)
                m = mark[ni, nj, nk]
                if 0 < m < 6 or (turn == 1 and m == 6):
                    s += value[ni, nj, nk]
                    c += 1
            if c > 0:
                value[i, j, k] = s / c
                mark[i, j, k] = 6 + turn


@njit(cache=True, fastmath=True, inline="always")
def _mean4(
    q: Any, m: Any, i0: Any, j0: Any, k0: Any, i1: Any, j1: Any, k1: Any,
    i2: Any, j2: Any, k2: Any, i3: Any, j3: Any, k3: Any,
) -> Any:  # fmt: skip
    """Mean of those of four face values that are set."""
    s = 0.0
    c = 0
    if m[i0, j0, k0] > 0:
        s += q[i0, j0, k0]
        c += 1
    if m[i1, j1, k1] > 0:
        s += q[i1, j1, k1]
        c += 1
    if m[i2, j2, k2] > 0:
        s += q[i2, j2, k2]
        c += 1
    if m[i3, j3, k3] > 0:
        s += q[i3, j3, k3]
        c += 1
    return s / c if c > 0 else 0.0


@njit(cache=True, fastmath=True)
def turn_along_walls(
    faces: Any, normals: Any, beyond: Any, axis: Any,
    u: Any, v: Any, w: Any, mark_u: Any, mark_v: Any, mark_w: Any, out: Any,
) -> None:  # fmt: skip
    """At closed faces let the part across the wall go through zero at the wall itself.

    ``beyond``: what stays of the part across the wall, by the face's depth in the wall; negative.
    """
    for f in range(faces.shape[0]):
        i, j, k = faces[f, 0], faces[f, 1], faces[f, 2]
        nx, ny, nz = normals[f, 0], normals[f, 1], normals[f, 2]
        keep = 1.0 - beyond[f]
        if axis == 0:
            if mark_u[i, j, k] <= 0:
                out[f] = 0.0
                continue
            a = u[i, j, k]
            b = _mean4(v, mark_v, i - 1, j, k, i, j, k, i - 1, j + 1, k, i, j + 1, k)
            c = _mean4(w, mark_w, i - 1, j, k, i, j, k, i - 1, j, k + 1, i, j, k + 1)
            out[f] = a - keep * nx * (nx * a + ny * b + nz * c)
        elif axis == 1:
            if mark_v[i, j, k] <= 0:
                out[f] = 0.0
                continue
            b = v[i, j, k]
            a = _mean4(u, mark_u, i, j - 1, k, i, j, k, i + 1, j - 1, k, i + 1, j, k)
            c = _mean4(w, mark_w, i, j - 1, k, i, j, k, i, j - 1, k + 1, i, j, k + 1)
            out[f] = b - keep * ny * (nx * a + ny * b + nz * c)
        else:
            if mark_w[i, j, k] <= 0:
                out[f] = 0.0
                continue
            c = w[i, j, k]
            a = _mean4(u, mark_u, i, j, k - 1, i, j, k, i + 1, j, k - 1, i + 1, j, k)
            b = _mean4(v, mark_v, i, j, k - 1, i, j, k, i, j + 1, k - 1, i, j + 1, k)
            out[f] = c - keep * nz * (nx * a + ny * b + nz * c)


@njit(cache=True, fastmath=True)
def write_faces(faces: Any, values: Any, target: Any) -> None:
    """Put the turned values back."""
    for f in range(faces.shape[0]):
        target[faces[f, 0], faces[f, 1], faces[f, 2]] = values[f]


@njit(cache=True, fastmath=True)
def wet_faces(kind: Any, open_part: Any, axis: Any, wet: Any) -> None:
    """1 where an open face has liquid on a side."""
    n0, n1, n2 = wet.shape
    for i in range(1, n0 - 1):
        for j in range(1, n1 - 1):
            for k in range(1, n2 - 1):
                wet[i, j, k] = 0
                if open_part[i, j, k] > 0.0:
                    if axis == 0:
                        other = kind[i - 1, j, k]
                    elif axis == 1:
                        other = kind[i, j - 1, k]
                    else:
                        other = kind[i, j, k - 1]
                    if kind[i, j, k] == LIQUID or other == LIQUID:
                        wet[i, j, k] = 1


@njit(cache=True, fastmath=True)
def diffuse(
    value: Any, rhs: Any, wet: Any, friction: Any, alpha: Any, drag: Any, relax: Any, sweeps: Any
) -> None:
    """Implicit viscosity of one component: red-black relaxation of (1 - alpha laplace + drag) v = rhs.

    Only faces with liquid beside them take part: what flies above the surface carries no stress.
    """
    n0, n1, n2 = value.shape
    rhs[:, :, :] = value
    for sweep in range(2 * sweeps):
        colour = sweep % 2
        for i in range(1, n0 - 1):
            for j in range(1, n1 - 1):
                for k in range(1 + (i + j + 1 + colour) % 2, n2 - 1, 2):
                    if wet[i, j, k] == 0:
                        continue
                    s = 0.0
                    c = 0
                    if wet[i - 1, j, k] != 0:
                        s += value[i - 1, j, k]
                        c += 1
                    if wet[i + 1, j, k] != 0:
                        s += value[i + 1, j, k]
                        c += 1
                    if wet[i, j - 1, k] != 0:
                        s += value[i, j - 1, k]
                        c += 1
                    if wet[i, j + 1, k] != 0:
                        s += value[i, j + 1, k]
                        c += 1
                    if wet[i, j, k - 1] != 0:
                        s += value[i, j, k - 1]
                        c += 1
                    if wet[i, j, k + 1] != 0:
                        s += value[i, j, k + 1]
                        c += 1
                    new = (rhs[i, j, k] + alpha * s) / (1.0 + alpha * c + drag * friction[i, j, k])
                    value[i, j, k] += relax * (new - value[i, j, k])


@njit(cache=True, fastmath=True)
def largest(value: Any, mark: Any) -> Any:
    """Largest speed on faces that the pressure has made good."""
    best = 0.0
    n0, n1, n2 = value.shape
    for i in range(n0):
        for j in range(n1):
            for k in range(n2):
                if mark[i, j, k] == 2:
                    best = max(best, abs(value[i, j, k]))
    return best


@njit(cache=True, fastmath=True)
def guess(count: Any, cells: Any, pressure: Any, dt: Any, x: Any) -> None:
    """Start of the pressure solve: the last step's pressure."""
    for r in range(count):
        x[r] = pressure[cells[r, 0], cells[r, 1], cells[r, 2]] * dt


@njit(cache=True, fastmath=True)
def keep_pressure(count: Any, cells: Any, x: Any, dt: Any, pressure: Any) -> None:
    """Pressure over density [cells2/s2] back on the grid, 0 outside the oil."""
    pressure[:, :, :] = 0.0
    for r in range(count):
        pressure[cells[r, 0], cells[r, 1], cells[r, 2]] = x[r] / dt


@njit(cache=True, fastmath=True)
def deposit_all(
    position: Any, share: Any, number: Any, shut_x: Any, shut_y: Any, shut_z: Any, has_shut: Any
) -> None:
    """Deposit of all points (n, 3), one after the other."""
    for p in range(position.shape[0]):
        _deposit(
            share, number, position[p, 0], position[p, 1], position[p, 2], shut_x, shut_y, shut_z, has_shut
        )


@njit(cache=True)
def order_by_cell(parcels: Any, n: Any, shape_y: Any, shape_z: Any, key: Any, start: Any, order: Any) -> None:
    """Counting sort of parcels by cell: writes ``order`` (n,)."""
    start[:] = 0
    for p in range(n):
        c = (int(parcels[0, p]) * shape_y + int(parcels[1, p])) * shape_z + int(parcels[2, p])
        key[p] = c
        start[c + 1] += 1
    for c in range(start.shape[0] - 1):
        start[c + 1] += start[c]
    for p in range(n):
        c = key[p]
        order[start[c]] = p
        start[c] += 1
