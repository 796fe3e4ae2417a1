"""Which distance to read next: every pair of holes tried, ranked by what it would do.

Adding one reading with row g and variance s2 to a network of covariance C gives
C - C g gT C / (s2 + gT C g), so no pair needs a new adjustment.
"""

from __future__ import annotations

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail.formulas import off_by_axes
from sumpwright.rail.model import NextReading
from sumpwright.rail.network import Network
from sumpwright.rail.shape import Datum
from sumpwright.rail.suspects import LEAST_REDUNDANCY, Sifted
from sumpwright.rail.uncertainty import floating_covariance, hole_blocks, rigid_moves

_MOST_HOLES = 150  # beyond it only some partners of each hole are tried
_LEAST_WORTH = 0.01  # a reading that does not lower the worst figure by one part in a hundred is no use


def next_readings(
    network: Network, sifted: Sifted, datum: Datum, factor: float, names: tuple[str, ...], most: int = 5
) -> tuple[NextReading, ...]:
    """The most useful centre distances, those that check what nothing checks first."""
    n = network.hole_count
    free = datum.free(network)
    covariance = np.zeros((network.unknown_count, network.unknown_count))
    covariance[np.ix_(free, free)] = factor * sifted.cofactors.unknowns
    xy = sifted.unknowns[: 2 * n].reshape(n, 2)
    a, b = np.triu_indices(n, 1)
    if n > _MOST_HOLES:
        few = (b - a) % max(1, n // 40) == 0
        a, b = a[few], b[few]
    e = xy[b] - xy[a]
    length = np.hypot(e[:, 0], e[:, 1])
    a, b, e, length = a[length > 1e-3], b[length > 1e-3], e[length > 1e-3], length[length > 1e-3]
    e = e / length[:, None]
    u = _usual_u(network)
    # C g for all pairs at once: only four columns of C take part in each.
    moved = (
        covariance[:, 2 * b] * e[:, 0]
        + covariance[:, 2 * b + 1] * e[:, 1]
        - covariance[:, 2 * a] * e[:, 0]
        - covariance[:, 2 * a + 1] * e[:, 1]
    )  # (unknowns, pairs)
    k = np.arange(a.size)
    own = (moved[2 * b, k] - moved[2 * a, k]) * e[:, 0] + (moved[2 * b + 1, k] - moved[2 * a + 1, k]) * e[
        :, 1
    ]
    gain = 1.0 / (u**2 + own)

    floating = floating_covariance(xy, covariance[: 2 * n, : 2 * n])
    after = _worst_after(xy, floating, moved[: 2 * n], gain)
    now = max(off_by_axes(c[0, 0], c[0, 1], c[1, 1])[0] for c in hole_blocks(floating))

    unchecked = [
        row
        for row in np.nonzero(network.source >= 0)[0].tolist()
        if sifted.cofactors.redundancy[row] < LEAST_REDUNDANCY and not sifted.dropped[row]
    ]
    rows = sifted.fit.jacobian[unchecked]
    shift = rows @ moved[free]  # (unchecked, pairs)
    redundancy = sifted.cofactors.redundancy[unchecked][:, None] + (
        shift**2 * gain[None, :] / (factor * network.u[unchecked][:, None] ** 2)
    )
    cured = redundancy >= LEAST_REDUNDANCY
    # First what checks most, then what sharpens most.
    order = np.lexsort((after, -cured.sum(axis=0)))
    out: list[NextReading] = []
    for pick in order.tolist():
        if not cured[:, pick].any() and after[pick] > (1.0 - _LEAST_WORTH) * now:
            continue
        out.append(
            NextReading(
                names[int(a[pick])],
                names[int(b[pick])],
                u,
                float(after[pick]),
                tuple(unchecked[q] for q in range(len(unchecked)) if cured[q, pick]),
            )
        )
        if len(out) == most:
            break
    return tuple(out)


def _usual_u(network: Network) -> Metre:
    rows = network.distances.rows
    return float(np.median(network.u[rows])) if rows.size else float(np.median(network.u))


def _worst_after(xy: FloatArray, floating: FloatArray, moved: FloatArray, gain: FloatArray) -> FloatArray:
    """What the least sure hole could be off by after each candidate, (pairs,) [m]."""
    # A distance does not change when the pattern moves as a whole, so the floating part
    # of C g is C g with the rigid moves taken out.
    basis, _ = np.linalg.qr(rigid_moves(xy))
    h = moved - basis @ (basis.T @ moved)
    blocks = hole_blocks(floating)
    hx, hy = h[0::2], h[1::2]  # (n, pairs)
    xx = blocks[:, 0, 0][:, None] - hx * hx * gain
    yy = blocks[:, 1, 1][:, None] - hy * hy * gain
    xy_ = blocks[:, 0, 1][:, None] - hx * hy * gain
    longest = (xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy_)
    return np.asarray(np.sqrt(-2.0 * np.log(0.05) * np.maximum(longest.max(axis=0), 0.0)))
