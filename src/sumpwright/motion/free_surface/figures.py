"""Shop figures from the state of a tank: cover over the mouth, gaps, levels, what is thin."""

from __future__ import annotations

import numpy as np

from sumpwright.motion.driven_model import Chambers
from sumpwright.motion.free_surface.constants import AIR, LIQUID
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.layout import sample_distance
from sumpwright.motion.free_surface.model import ThinPlace
from sumpwright.quantities.units import FloatArray, Metre

RIM_POINTS = 12
SEEN_ALONG: Metre = 0.5


def rim_points(chambers: Chambers) -> FloatArray:
    """Points (n, 3) [m] on the mouth's edge."""
    axis = np.asarray(chambers.mouth_axis, dtype=float)
    helper = np.array([1.0, 0.0, 0.0]) if abs(axis[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    first = np.cross(axis, helper)
    first /= np.linalg.norm(first)
    second = np.cross(axis, first)
    turn = np.arange(RIM_POINTS) * (2.0 * np.pi / RIM_POINTS)
    ring = np.cos(turn)[:, None] * first + np.sin(turn)[:, None] * second
    return np.asarray(chambers.mouth + chambers.mouth_radius * ring)


def sample_share(rho: np.ndarray, points: FloatArray) -> FloatArray:
    """Share of oil (n,) between cell centres at grid points (n, 3); 0 off the grid."""
    moved = points - 0.5
    low = np.floor(moved).astype(np.int64)
    f = moved - low
    limit = np.array(rho.shape) - 2
    off = np.any((low < 0) | (low > limit), axis=1)
    low = np.clip(low, 0, limit)
    out = np.zeros(len(points))
    for corner in range(8):
        a, b, c = corner >> 2 & 1, corner >> 1 & 1, corner & 1
        weight = (
            (f[:, 0] if a else 1 - f[:, 0])
            * (f[:, 1] if b else 1 - f[:, 1])
            * (f[:, 2] if c else 1 - f[:, 2])
        )
        out += weight * rho[low[:, 0] + a, low[:, 1] + b, low[:, 2] + c]
    return np.where(off, 0.0, out)


def depths_over(domain: Domain, rho: np.ndarray, points: FloatArray, up: FloatArray) -> FloatArray:
    """Oil standing over each point (n, 3) along ``up`` without a gap (n,) [m].

    Below 0: how far down the next oil is, or the wall where none lies before it. No further than
    ``SEEN_ALONG`` either way.
    """
    start = (np.asarray(points, dtype=float) - domain.origin) / domain.cell
    along = np.arange(0.0, SEEN_ALONG / domain.cell, 0.25)
    is_wet = sample_share(rho, start) >= 0.5
    sense = np.where(is_wet, 1.0, -1.0)
    found = start[:, None, :] + sense[:, None, None] * along[None, :, None] * up
    share = sample_share(rho, found.reshape(-1, 3)).reshape(len(start), len(along))
    out = np.empty(len(start))
    for n, row in enumerate(share):
        # Upwards the first dry sample, downwards the first wet one, and the place between the two.
        turned = np.flatnonzero(row < 0.5 if is_wet[n] else row >= 0.5)
        if not len(turned):
            out[n] = along[-1]
            if not is_wet[n]:
                room = sample_share(domain.open_volume, start[n] - along[:, None] * up)
                ends = np.flatnonzero(room < 0.5)
                out[n] = along[int(ends[0])] if len(ends) else along[-1]
            continue
        k = int(turned[0])
        part = (row[k - 1] - 0.5) / (row[k - 1] - row[k]) if k else 0.0
        out[n] = along[max(k - 1, 0)] + 0.25 * part
    return np.asarray(sense * out * domain.cell)


def cover(domain: Domain, rho: np.ndarray, chambers: Chambers, up: FloatArray) -> tuple[Metre, float]:
    """Oil over the mouth's worst edge [m], and the wet share of the mouth."""
    points = np.concatenate([rim_points(chambers), np.asarray(chambers.mouth)[None, :]])
    depths = depths_over(domain, rho, points, up)
    return float(depths[:-1].min()), float((depths > 0.0).mean())


def surface_cells(kind: np.ndarray) -> np.ndarray:
    """Liquid cells (m, 3) with air beside them."""
    air = kind == AIR
    beside = np.zeros(kind.shape, dtype=bool)
    for axis in range(3):
        beside |= np.roll(air, 1, axis) | np.roll(air, -1, axis)
    return np.argwhere((kind == LIQUID) & beside)


def levels(domain: Domain, kind: np.ndarray, label: np.ndarray, up: FloatArray, count: int) -> FloatArray:
    """Mean height (c,) [m] along ``up`` of each compartment's open surface; its lowest point when empty."""
    cells = surface_cells(kind)
    height = (domain.origin + (cells + 0.5) * domain.cell) @ up
    owner = label[tuple(cells.T)]
    out = np.empty(count)
    for c in range(count):
        mine = height[owner == c]
        if len(mine):
            out[c] = mine.mean()
        else:
            floor = np.argwhere(label == c)
            out[c] = ((domain.origin + floor * domain.cell) @ up).min() if len(floor) else np.nan
    return out


def gaps(domain: Domain, kind: np.ndarray, chambers: Chambers) -> tuple[Metre, Metre]:
    """Smallest way from the oil to the crank's sweep and to the rail plane [m]; below 0 = beyond it."""
    cells = surface_cells(kind)
    if not len(cells):
        return np.inf, np.inf
    at = domain.origin + (cells + 0.5) * domain.cell
    crank = np.inf
    for row in np.asarray(chambers.crank):
        crank = min(crank, float(np.linalg.norm(at - row[:3], axis=1).min() - row[3] - 0.5 * domain.cell))
    rail = float(-(at[:, 2].max() + 0.5 * domain.cell)) if len(chambers.rail_points) else np.inf
    return crank, rail


def thin_places(domain: Domain, most: int = 5) -> tuple[ThinPlace, ...]:
    """Where the oil space is narrower than two cells, beyond what every corner is.

    A cell is served if a ball of one cell's radius fits in the space and comes within three
    cells of it; what no such ball reaches is thin.
    """
    open_cells = np.argwhere(domain.open_volume > 0.0)
    width = sample_distance(domain, np.asarray(open_cells + 0.5, dtype=np.float64))
    roomy = np.zeros(domain.shape, dtype=bool)
    deep = width >= 0.95
    roomy[tuple(open_cells[deep].T)] = True
    served = roomy
    for _ in range(3):
        for axis in range(3):
            served = served | np.roll(served, 1, axis) | np.roll(served, -1, axis)
    lost = ~served[tuple(open_cells.T)]
    places: list[ThinPlace] = []
    rest, rest_width = open_cells[lost], width[lost]
    while len(rest) and len(places) < most:
        worst = int(np.argmax(rest_width))
        spot = rest[worst]
        half = max(float(rest_width[worst]), 0.1)
        where = domain.origin + (spot + 0.5) * domain.cell
        wide = 2.0 * half * domain.cell
        places.append(ThinPlace((float(where[0]), float(where[1]), float(where[2])), wide, 0.45 * wide))
        far = np.abs(rest - spot).max(axis=1) > 10
        rest, rest_width = rest[far], rest_width[far]
    return tuple(places)
