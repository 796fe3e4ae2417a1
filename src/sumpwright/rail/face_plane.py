"""Planes in a cloud of points, found though most of the points lie elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre

_TRIES = 4000
_SMALL = 1500
_LARGE = 40_000
_SEED = 20


@dataclass(frozen=True, slots=True, eq=False)
class FacePlane:
    """A plane through points of a face."""

    origin: FloatArray  # (3,) m, middle of its points
    normal: FloatArray  # (3,)
    noise: Metre  # standard scatter of its points
    share: float  # of all points that were looked at

    def height(self, points: FloatArray) -> FloatArray:
        """Signed distance of points (n, 3) from it, (n,) [m]."""
        return np.asarray((points - self.origin) @ self.normal)


def find_planes(points: FloatArray, band: Metre, most: int = 6) -> tuple[FacePlane, ...]:
    """The planes that hold most points of a cloud (n, 3) [m], the fullest first.

    Many planes through three points drawn at random (seeded), the fullest refined by least
    squares with the points near it; its points are taken away and the rest searched again.
    ``band`` [m] is how near a point must lie at first.
    """
    rng = np.random.default_rng(_SEED)
    pool = points if len(points) <= _LARGE else points[rng.choice(len(points), _LARGE, replace=False)]
    total = len(pool)
    found: list[FacePlane] = []
    for _ in range(most):
        if len(pool) < max(50, total // 100):
            break
        plane = _fullest(pool, band, rng, total)
        if plane is None:
            break
        found.append(plane)
        pool = pool[np.abs(plane.height(pool)) > 2.0 * band]
    return tuple(found)


def _fullest(pool: FloatArray, band: Metre, rng: np.random.Generator, total: int) -> FacePlane | None:
    small = pool if len(pool) <= _SMALL else pool[rng.choice(len(pool), _SMALL, replace=False)]
    picks = small[rng.integers(0, len(small), (_TRIES, 3))]
    normal = np.cross(picks[:, 1] - picks[:, 0], picks[:, 2] - picks[:, 0])
    length = np.linalg.norm(normal, axis=1)
    good = length > 1e-9
    normal, base = normal[good] / length[good, None], picks[good, 0]
    counts = np.zeros(len(normal), dtype=np.int64)
    for k in range(0, len(normal), 500):
        part = slice(k, k + 500)
        away = small @ normal[part].T - np.sum(base[part] * normal[part], axis=1)
        counts[part] = (np.abs(away) < band).sum(axis=0)
    best: tuple[int, FloatArray, FloatArray] | None = None
    for k in np.argsort(-counts, kind="stable")[:4].tolist():
        origin, n = base[k], normal[k]
        for _ in range(4):
            near = np.abs((pool - origin) @ n) < band
            if near.sum() < 30:
                break
            origin, n = least_squares_plane(pool[near])
        count = int((np.abs((pool - origin) @ n) < band).sum())
        if best is None or count > best[0]:
            best = (count, origin, n)
    if best is None or best[0] < max(30, total // 50):
        return None
    count, origin, n = best
    out = (pool - origin) @ n
    near = np.abs(out) < band
    noise = 1.4826 * float(np.median(np.abs(out[near] - np.median(out[near]))))
    return FacePlane(origin, n, noise, count / total)


def least_squares_plane(points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Middle and normal of the plane with the least squared distances of points (n, 3) [m]."""
    origin = points.mean(axis=0)
    away = points - origin
    _, turn = np.linalg.eigh(away.T @ away)
    return origin, np.asarray(turn[:, 0])


def refined(plane: FacePlane, points: FloatArray, band: Metre) -> FacePlane:
    """The plane through all points (n, 3) [m] near it, first within ``band``, then within its noise."""
    noise = plane.noise
    near = np.abs(plane.height(points)) < band
    for _ in range(3):
        if near.sum() < 3:
            break
        origin, normal = least_squares_plane(points[near])
        if normal @ plane.normal < 0.0:
            normal = -normal
        plane = FacePlane(origin, normal, noise, plane.share)
        out = plane.height(points)
        inner = out[np.abs(out) < band]
        noise = max(1.4826 * float(np.median(np.abs(inner - np.median(inner)))), 1e-7)
        near = np.abs(out) < min(band, max(4.0 * noise, 2e-5))
        plane = FacePlane(origin, normal, noise, plane.share)
    return plane
