"""Invented pans as a scanner would see them: points or triangles on a flange, walls and floor."""

from __future__ import annotations

import math

import numpy as np
from scipy.spatial import Delaunay

from sumpwright.rail.hole_names import KnownHoles
from sumpwright.rail.scan_model import ScanInput

MM = 1e-3
RADIUS = 3.3 * MM
BOX = (-0.012, 0.342, -0.222, 0.012)  # outer flange
INNER = (0.012, 0.318, -0.198, -0.012)
DEPTH = 0.09

# Twelve holes, anticlockwise seen from above, not alike when turned half round.
HOLES = np.array(
    [
        (0, 0), (0, -0.07), (0, -0.13), (0, -0.21), (0.085, -0.21), (0.18, -0.21),
        (0.26, -0.21), (0.33, -0.21), (0.33, -0.12), (0.33, 0), (0.21, 0), (0.1, 0),
    ]
)  # fmt: skip
NAMES = tuple(f"h{k + 1}" for k in range(len(HOLES)))


def known(xy=HOLES, names=NAMES, u=0.03 * MM, ring=NAMES) -> KnownHoles:
    return KnownHoles(ring, (2 * RADIUS,) * len(ring), names, np.asarray(xy), np.full(len(names), u))


def _inside(p, box):
    return (p[:, 0] > box[0]) & (p[:, 0] < box[1]) & (p[:, 1] > box[2]) & (p[:, 1] < box[3])


def in_flange(p, holes=HOLES, radius=RADIUS):
    d = np.hypot(p[:, None, 0] - holes[None, :, 0], p[:, None, 1] - holes[None, :, 1]).min(axis=1)
    return _inside(p, BOX) & ~_inside(p, INNER) & (d > radius)


def flange_points(rng, spacing, holes=HOLES):
    count = int((BOX[1] - BOX[0]) * (BOX[3] - BOX[2]) / spacing**2)
    p = rng.uniform((BOX[0], BOX[2]), (BOX[1], BOX[3]), (count, 2))
    p = p[in_flange(p, holes)]
    return np.column_stack((p, np.zeros(len(p))))


def wall_and_floor(rng, spacing):
    x0, x1, y0, y1 = INNER
    parts = []
    for a, b in (((x0, y0), (x1, y0)), ((x1, y0), (x1, y1)), ((x1, y1), (x0, y1)), ((x0, y1), (x0, y0))):
        n = int(math.dist(a, b) * DEPTH / spacing**2)
        s = rng.random(n)[:, None]
        xy = np.array(a) + s * (np.array(b) - np.array(a))
        parts.append(np.column_stack((xy, -DEPTH * rng.random(n))))
    n = int((x1 - x0) * (y1 - y0) / spacing**2)
    floor = rng.uniform((x0, y0), (x1, y1), (n, 2))
    parts.append(np.column_stack((floor, np.full(n, -DEPTH))))
    return np.concatenate(parts)


def turned(points, rng, unit=1e-3, at=None):
    """Moved and turned anywhere, in the unit of a file."""
    q, _ = np.linalg.qr(rng.normal(size=(3, 3)))
    if np.linalg.det(q) < 0:
        q[:, 0] = -q[:, 0]
    shift = rng.uniform(-0.3, 0.3, 3)
    if at is not None:
        at.update(turn=q, shift=shift)
    return (points @ q.T + shift) / unit


def cloud(
    seed=0,
    spacing=0.8 * MM,
    noise=0.03 * MM,
    outliers=0.01,
    unit=1e-3,
    scale=1.0,
    holes=HOLES,
    cut=None,
    at=None,
):
    """A pan as loose points; ``cut`` (n, 2) -> bool takes away part of the flange."""
    rng = np.random.default_rng(seed)
    flange = flange_points(rng, spacing, holes)
    if cut is not None:
        flange = flange[~cut(flange[:, :2])]
    p = np.concatenate((flange, wall_and_floor(rng, 2 * spacing)))
    p = scale * p + rng.normal(0, noise, p.shape)
    wild = rng.uniform(p.min(axis=0) - 0.02, p.max(axis=0) + 0.02, (int(outliers * len(p)), 3))
    p = np.concatenate((p, wild))
    return ScanInput("pan.xyz", "old pan", turned(p, rng, unit, at), None, None)


def mesh(seed=0, spacing=0.8 * MM, noise=0.03 * MM, unit=1e-3, holes=HOLES, cut=None, edge_points=0):
    """A pan as triangles as a scanner makes them: their corners know nothing of the holes' edges."""
    rng = np.random.default_rng(seed)
    count = int((BOX[1] - BOX[0]) * (BOX[3] - BOX[2]) / spacing**2)
    p = rng.uniform((BOX[0], BOX[2]), (BOX[1], BOX[3]), (count, 2))
    if edge_points:
        t = np.arange(edge_points) / edge_points * 2 * math.pi
        rims = [h + RADIUS * np.stack((np.cos(t), np.sin(t)), axis=1) for h in holes]
        d = np.hypot(p[:, None, 0] - holes[None, :, 0], p[:, None, 1] - holes[None, :, 1]).min(axis=1)
        p = np.concatenate((p[(d > RADIUS + 0.4 * spacing) & in_flange(p, holes)], *rims))
    else:
        p = p[in_flange(p, holes)]
    if cut is not None:
        p = p[~cut(p)]
    faces = Delaunay(p).simplices
    middle = p[faces].mean(axis=1)
    keep = in_flange(middle, holes, RADIUS if not edge_points else RADIUS * math.cos(math.pi / edge_points))
    # Long thin triangles close over the edge of a scan: a mesher leaves them out.
    side = np.linalg.norm(p[faces] - np.roll(p[faces], 1, axis=1), axis=2).max(axis=1)
    keep &= side < (6.0 if edge_points == 0 else 12.0) * spacing
    faces = faces[keep]
    a, b, c = p[faces[:, 0]], p[faces[:, 1]], p[faces[:, 2]]
    wrong = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]) < 0
    faces[wrong] = faces[wrong][:, ::-1]
    points = np.column_stack((p, np.zeros(len(p))))
    x0, x1, y0, y1 = INNER
    box = np.array([(x, y, z) for z in (0.0, -DEPTH) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
    walls = [(i, (i + 1) % 4, (i + 1) % 4 + 4) for i in range(4)] + [
        (i, (i + 1) % 4 + 4, i + 4) for i in range(4)
    ]
    walls += [(4, 5, 6), (4, 6, 7)]
    faces = np.concatenate((faces, np.array(walls) + len(points)))
    points = np.concatenate((points, box))
    points = points + rng.normal(0, noise, points.shape)
    return ScanInput("pan.stl", "old pan", turned(points, rng, unit), faces.astype(np.int64), None)


def hole_list():
    from tests.rail.rails import hole

    return [hole(name, 2 * RADIUS) for name in NAMES]


def laid_misses(holes, count, true=None, seen=None):
    """Misses (n, 2) of seen holes after the true ones are laid over them, and the freedoms used.

    Freedoms as in ``rail.seen``; with five, a sixth is added: the scale from true to seen.
    """
    from sumpwright.rail.hole_names import best_similarity
    from sumpwright.rail.seen import _laid

    if holes is not None:
        named = [h for h in holes if h.name is not None]
        true = np.array([HOLES[NAMES.index(h.name)] for h in named])
        seen = np.array([(h.x, h.y) for h in named])
    ways, away = _laid(true, seen, np.ones(len(true)), count)
    return away, np.append(ways[:count], best_similarity(true, seen, np.ones(len(true))).scale)
