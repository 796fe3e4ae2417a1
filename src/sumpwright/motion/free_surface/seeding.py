"""Where the oil is before it moves: parcels below a plane, litres exact."""

from __future__ import annotations

import numpy as np

from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.layout import WHOLE, lattice, sample_distance
from sumpwright.motion.free_surface.model import FreeSurfaceError
from sumpwright.quantities.units import CubicMetre, FloatArray

PER_SIDE = 2
"""Parcels along each side of a cell."""
ROWS = 6
"""Of parcels: place and velocity."""


def evenly_spread(domain: Domain, per_side: int, seed: int) -> FloatArray:
    """One jittered point (n, 3) [cells] in each of per_side**3 parts of every open cell.

    Cut cells get as many as they are open: drawn from a finer set of points, since a coarse
    one misjudges a cut cell by a tenth and more.
    """
    rng = np.random.default_rng(seed)
    per_cell = per_side**3
    whole = np.argwhere(domain.open_volume >= WHOLE).astype(float)
    points = (whole[:, None, :] + lattice(per_side)[None, :, :]).reshape(-1, 3)
    points += rng.uniform(-0.5, 0.5, points.shape) / per_side
    cut = np.argwhere((domain.open_volume > 0.0) & (domain.open_volume < WHOLE))
    fine = lattice(3 * per_side)
    jitter = rng.uniform(-0.5, 0.5, (len(cut), len(fine), 3)) / (3 * per_side)
    candidates = cut[:, None, :] + fine[None, :, :] + jitter
    inside = (sample_distance(domain, candidates.reshape(-1, 3)) > 0.0).reshape(len(cut), len(fine))
    wanted = np.floor(per_cell * domain.open_volume[tuple(cut.T)] + rng.random(len(cut))).astype(int)
    order = np.argsort(np.where(inside, rng.random(inside.shape), 2.0), axis=1)
    chosen = np.arange(len(fine))[None, :] < np.minimum(wanted, inside.sum(axis=1))[:, None]
    picked = np.take_along_axis(candidates, order[:, :, None], axis=1)[chosen]
    return np.concatenate([points, picked])


def lowest(points: FloatArray, up: FloatArray, count: int) -> FloatArray:
    """The ``count`` lowest points along ``up`` (3,)."""
    if count > len(points):
        raise FreeSurfaceError(
            f"the oil does not fit: {count} parcels asked, the space up to its top holds {len(points)}"
        )
    heights = points @ up
    order = np.argsort(heights, kind="stable")
    return points[np.sort(order[:count])]


def fill(
    domain: Domain, up: FloatArray, oil: CubicMetre, per_side: int = PER_SIDE, seed: int = 1
) -> tuple[np.ndarray, CubicMetre]:
    """Parcels (6, n) at rest below one level along ``up`` (3,), and the oil in one [m3], exact together."""
    if not oil > 0.0:
        raise FreeSurfaceError("there is no oil to move")
    count = max(1, round(oil / domain.cell**3 * per_side**3))
    points = lowest(evenly_spread(domain, per_side, seed), np.asarray(up, dtype=float), count)
    return at_rest(points), oil / count


def at_rest(points: FloatArray) -> np.ndarray:
    """Parcels (6, n) without velocity at points (n, 3) [cells]."""
    parcels = np.zeros((ROWS, len(points)), dtype=np.float32)
    parcels[:3] = points.T
    return parcels
