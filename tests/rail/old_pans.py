"""An invented old pan of exactly known inside: a shallow tray with drafted walls and a deep sump in it."""

from __future__ import annotations

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.rail.scan_model import ScanInput
from tests.rail.scans import HOLES, INNER, MM, flange_points, turned

TRAY, SUMP = 40 * MM, 95 * MM
DRAFT = 6 * MM  # the tray's walls come in by so much
X0, X1, Y0, Y1 = INNER
SUMP_TOP = (X0 + 150 * MM, X1 - 20 * MM, Y0 + 25 * MM, Y1 - 30 * MM)
SUMP_IN = 8 * MM


def _ring(box, z, inwards=0.0):
    x0, x1, y0, y1 = box
    return np.array(
        [
            (x0 + inwards, y0 + inwards, z),
            (x1 - inwards, y0 + inwards, z),
            (x1 - inwards, y1 - inwards, z),
            (x0 + inwards, y1 - inwards, z),
        ]
    )


def _band(a, b):
    """Triangles between two rings of four."""
    out = []
    for k in range(4):
        n = (k + 1) % 4
        out += [(a + k, b + k, b + n), (a + k, b + n, a + n)]
    return out


def inside_skin():
    """Corners and triangles of the inside, open at the rail; they look into the oil."""
    points = np.concatenate(
        (
            _ring(INNER, 0.0),
            _ring(INNER, -TRAY, DRAFT),
            _ring(SUMP_TOP, -TRAY),
            _ring(SUMP_TOP, -SUMP, SUMP_IN),
        )
    )
    # From outside in: each band runs down or inwards.
    faces = [*_band(0, 4), *_band(4, 8), *_band(8, 12), (12, 14, 13), (12, 15, 14)]
    corners = points[np.array(faces)]
    up = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    inward = np.array([0.5 * (X0 + X1), 0.5 * (Y0 + Y1), 1.0]) - corners.mean(axis=1)
    away = np.sum(up * inward, axis=1) < 0
    faces = np.array(faces)
    faces[away] = faces[away][:, ::-1]
    return points, faces


def oil_space() -> Surface:
    """The same, closed over at the rail, looking out of the oil."""
    points, faces = inside_skin()
    lid = np.array([(0, 1, 2), (0, 2, 3)])
    return Surface(points, np.concatenate((faces[:, ::-1], lid)))


def strewn(rng, points, faces, spacing):
    """Points strewn evenly over triangles."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    area = 0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1)
    pick = rng.choice(len(faces), int(area.sum() / spacing**2), p=area / area.sum())
    s, t = rng.random((2, len(pick), 1))
    s, t = np.where(s + t > 1, 1 - s, s), np.where(s + t > 1, 1 - t, t)
    return a[pick] + s * (b - a)[pick] + t * (c - a)[pick]


def scanned(seed=0, spacing=0.7 * MM, noise=0.03 * MM, scale=1.0, away=None, outliers=0.003, holes=HOLES):
    """A cloud of flange and inside; ``away`` (n, 3) -> bool takes points out of it."""
    rng = np.random.default_rng(seed)
    points, faces = inside_skin()
    p = np.concatenate((flange_points(rng, spacing, holes), strewn(rng, points, faces, spacing)))
    if away is not None:
        p = p[~away(p)]
    p = scale * p + rng.normal(0, noise, p.shape)
    wild = rng.uniform(p.min(axis=0) - 0.02, p.max(axis=0) + 0.02, (int(outliers * len(p)), 3))
    return ScanInput("pan.xyz", "old pan", turned(np.concatenate((p, wild)), rng), None, None)


def outside(metal, seed=0, spacing=0.7 * MM, noise=0.02 * MM):
    """The outside of a plain box pan of this sheet, its flange's underside in the plane; and its volume.

    The box inside reaches from the sealing face to ``metal`` above the floor that is scanned.
    """
    rng = np.random.default_rng(seed)
    deep = 80 * MM
    box = (X0, X1, Y0, Y1)
    points = np.concatenate((_ring(box, 0.0, -metal), _ring(box, -deep, -metal)))
    faces = np.array([*_band(0, 4), (4, 5, 6), (4, 6, 7)])
    flange = flange_points(rng, spacing)
    x0, x1, y0, y1 = X0 - metal, X1 + metal, Y0 - metal, Y1 + metal
    flange = flange[~((flange[:, 0] > x0) & (flange[:, 0] < x1) & (flange[:, 1] > y0) & (flange[:, 1] < y1))]
    p = np.concatenate((flange, strewn(rng, points, faces, spacing)))
    p = p + rng.normal(0, noise, p.shape)
    volume = (X1 - X0) * (Y1 - Y0) * deep
    return ScanInput("pan.xyz", "old pan", turned(p, rng), None, None, (), "outside", metal), volume
