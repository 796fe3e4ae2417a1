"""From pixels to the plane of the gasket: by resolution, by two marks, or by four known points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.rail.rows import ARM
from sumpwright.rail.scan_model import SetUpShape

_STEP = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class PicturePlane:
    """A straight map from the picture to the plane: homogeneous, y upwards in the plane."""

    matrix: FloatArray  # (3, 3)

    def laid(self, pixels: FloatArray) -> FloatArray:
        """Pixels (n, 2), right and down, in the plane (n, 2) [m]."""
        h = np.column_stack((pixels, np.ones(len(pixels)))) @ self.matrix.T
        return np.asarray(h[:, :2] / h[:, 2:])

    def pixels(self, points: FloatArray) -> FloatArray:
        """Points of the plane (n, 2) [m] as pixels (n, 2)."""
        h = np.column_stack((points, np.ones(len(points)))) @ np.linalg.inv(self.matrix).T
        return np.asarray(h[:, :2] / h[:, 2:])


def flat_plane(pixel: Metre) -> PicturePlane:
    """The plane of a picture taken square on, of this much a pixel."""
    return PicturePlane(np.diag([pixel, -pixel, 1.0]))


def plane_by_points(pixels: FloatArray, places: FloatArray) -> PicturePlane | None:
    """The plane in which four pixels (4, 2) lie at four places (4, 2) [m].

    None where three of them lie in one line. Source: plane-geometry.
    """
    if _thinnest(pixels) < 0.02 or _thinnest(places) < 0.02:
        return None
    size_p, size_q = np.ptp(pixels, axis=0).max(), np.ptp(places, axis=0).max()
    mid_p, mid_q = pixels.mean(axis=0), places.mean(axis=0)
    p, q = (pixels - mid_p) / size_p, (places - mid_q) / size_q
    rows = []
    for (x, y), (u, v) in zip(p.tolist(), q.tolist(), strict=True):
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u])
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v])
    h = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    to_small = np.array([[1 / size_p, 0, -mid_p[0] / size_p], [0, 1 / size_p, -mid_p[1] / size_p], [0, 0, 1]])
    to_large = np.array([[size_q, 0, mid_q[0]], [0, size_q, mid_q[1]], [0, 0, 1]])
    matrix = to_large @ h @ to_small
    if abs(matrix[2, 2]) < 1e-12:
        return None
    return PicturePlane(matrix / matrix[2, 2])


def _thinnest(points: FloatArray) -> float:
    """Least height of the triangles of four points against their size."""
    size = float(np.hypot(*np.ptp(points, axis=0)))
    least = np.inf
    for k in range(4):
        a, b, c = np.delete(points, k, axis=0)
        twice = abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
        sides = max(np.hypot(*(b - a)), np.hypot(*(c - a)), np.hypot(*(c - b)))
        least = min(least, twice / max(sides * size, 1e-30))
    return float(least)


def shape_by_points(
    group: str, pixels: FloatArray, places: FloatArray, pick_u: float, place_u: Metre
) -> tuple[SetUpShape, Metre]:
    """How far the plane by four points may be out of shape, and how far off that puts a place of it.

    Every pick and place is moved by itself, the plane made anew, and the map between the
    two planes taken apart into shift, turn, scale, stretch, skew and lean over the quadrangle.
    """
    base = plane_by_points(pixels, places)
    assert base is not None, "the caller has made it"
    low, high = places.min(axis=0), places.max(axis=0)
    grid = np.stack(np.meshgrid(*(np.linspace(low[k], high[k], 5) for k in range(2))), axis=-1).reshape(-1, 2)
    spots = base.pixels(grid)
    x, y = (grid - grid.mean(axis=0)).T
    one, nil = np.ones(len(x)), np.zeros(len(x))
    A = np.concatenate(
        (
            np.stack((one, nil, x, -y, x, y, x * x, x * y), axis=1),
            np.stack((nil, one, y, x, -y, x, x * y, y * y), axis=1),
        )
    )
    size = np.abs(A).max(axis=0)
    variance = np.zeros(8)
    off = np.zeros(len(grid))
    for moved, u in ((pixels, pick_u), (places, place_u)):
        for k in range(8):
            step = np.zeros((4, 2))
            step.flat[k] = u * _STEP
            there = (
                plane_by_points(moved + step, places)
                if moved is pixels
                else plane_by_points(pixels, moved + step)
            )
            if there is None:
                continue
            gap = (there.laid(spots) - grid) / _STEP
            ways = np.linalg.lstsq(A / size, np.concatenate((gap[:, 0], gap[:, 1])), rcond=None)[0] / size
            variance += ways**2
            off += np.sum(gap**2, axis=1)
    sd = np.sqrt(variance)
    lean = float(np.hypot(sd[6], sd[7])) * ARM / np.sqrt(2.0)
    worst = float(np.sqrt(off.max() / 2.0))
    return SetUpShape(group, float(sd[4]), float(sd[5]), lean), worst
