"""The circle of a hole among points that lie everywhere but in it.

A scanner's points know nothing of the edge: they are strewn over the metal and stop
there. How likely they are as they lie, for a hole of centre c and radius r, is a matter
of counting: strewn evenly with so many to the area, they leave a hole empty by chance the
more seldom, the larger it is; and a point inside it is only there by the scanner's noise.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, Metre, Radian
from sumpwright.rail.edge_circle import LEAST_ARC, EdgeCircle

_RAYS = 72
_STEPS = 11
_WILD = 0.01
"""Odds that a point stands where it stands for no reason."""
_LEAST_POINTS = 12
_ALL_ROUND = math.radians(250.0)


def opening_circle(
    points: FloatArray, start: tuple[float, float, float], spacing: Metre, noise: Metre
) -> EdgeCircle | None:
    """Mean and spread of the circle over all that the points (n, 2) [m] allow.

    ``start`` is a circle close by; ``spacing`` the side of the square that a point has to
    itself, ``noise`` the scanner's scatter. The likelihood of a circle is
    exp(density x its area over metal) times, for each point, the chance that noise
    puts it there; it is summed over a net of centres and radii that is drawn
    closer until it fits. Directions in which nothing was scanned have no say.
    None where too little was scanned round it. Source: derived.
    """
    x, y, r = start
    away = points - (x, y)
    d = np.hypot(away[:, 0], away[:, 1])
    near = d < r + 5.0 * spacing
    away, d = away[near], d[near]
    has = _has_metal(away, d, r, spacing)
    arc = float(has.mean()) * 2.0 * math.pi
    if arc < LEAST_ARC or len(d) < _LEAST_POINTS:
        return None
    ring = (d > r + 0.7 * spacing) & (d < r + 4.5 * spacing)
    area = 0.5 * arc * ((r + 4.5 * spacing) ** 2 - (r + 0.7 * spacing) ** 2)
    density = max(float(ring.sum()), 1.0) / area
    soft = max(noise, 0.02 * spacing)
    edge = away[d < r + 2.5 * spacing]
    theta = (np.arange(_RAYS) + 0.5) / _RAYS * 2.0 * math.pi
    rays = np.stack((np.cos(theta), np.sin(theta)), axis=1)[has]
    dense = _density_by_ray(away[ring], rays, density, arc)
    middle = np.zeros(3)
    width = np.array([0.6, 0.6, 0.6]) * spacing
    width = np.maximum(width, 3.0 * soft)
    spread = np.eye(3) * 0.0
    for _ in range(12):
        net = np.stack(
            np.meshgrid(
                *(middle[k] + width[k] * np.linspace(-1, 1, _STEPS) for k in range(3)), indexing="ij"
            ),
            axis=-1,
        ).reshape(-1, 3)
        score = _score(net, r, edge, rays, dense, soft)
        weight = np.exp(score - score.max())
        weight /= weight.sum()
        before = middle
        middle = weight @ net
        gone = net - middle
        spread = (gone * weight[:, None]).T @ gone
        sd = np.sqrt(np.maximum(np.diagonal(spread), (width / _STEPS) ** 2 / 4.0))
        now = 3.5 * sd
        # Where the best lies near the end of the net, the net has to follow before it is drawn closer.
        follows = np.abs(middle - before) > 0.3 * width
        if not follows.any() and np.all(np.abs(now / width - 1.0) < 0.2):
            break
        width = np.where(follows, width, np.minimum(now, 2.0 * width))
    u = math.sqrt(max(float(np.linalg.eigvalsh(spread[:2, :2])[-1]), 1e-16))
    radius = r + float(middle[2])
    if radius <= 0.0:
        return None
    return EdgeCircle(
        x + float(middle[0]),
        y + float(middle[1]),
        radius,
        u,
        1.0 / (density * 2 * math.pi * radius),
        arc,
        len(edge),
    )


def _has_metal(away: FloatArray, d: FloatArray, r: Metre, spacing: Metre) -> BoolArray:
    """Directions in which points were scanned just outside the hole."""
    close = (d > 0.7 * r) & (d < r + 3.0 * spacing)
    angle = np.arctan2(away[close, 1], away[close, 0])
    theta = (np.arange(_RAYS) + 0.5) / _RAYS * 2.0 * math.pi
    turn = np.abs((theta[:, None] - angle[None, :] + math.pi) % (2.0 * math.pi) - math.pi)
    reach = max(1.2 * spacing / (r + spacing), math.pi / _RAYS)
    return np.asarray((turn < reach).any(axis=1) if close.any() else np.zeros(_RAYS, dtype=np.bool_))


def _density_by_ray(ring: FloatArray, rays: FloatArray, density: float, arc: Radian) -> FloatArray:
    """Points to the area along each ray, (k,) [1/m2]: as much as it changes from one side to the other.

    A scan is often thinner on one side of a hole. Taken as even, its edge would be
    sought too far on the thin side, and be taken for surer than it is.
    """
    if arc < _ALL_ROUND:
        return np.full(len(rays), density)
    out = ring / np.hypot(ring[:, 0], ring[:, 1])[:, None]
    told = np.array([1.0, *out.mean(axis=0)])
    terms = np.column_stack((np.ones(len(rays)), rays))
    share = np.linalg.solve(terms.T @ terms / len(rays), told)
    return density * np.maximum(terms @ share, 0.2)


def _score(
    net: FloatArray, r: Metre, edge: FloatArray, rays: FloatArray, density: FloatArray, soft: Metre
) -> FloatArray:
    from scipy.special import ndtr

    centre, radius = net[:, :2], r + net[:, 2]
    along = centre @ rays.T
    inside = radius[:, None] ** 2 - np.sum(centre**2, axis=1)[:, None] + along**2
    reach = along + np.sqrt(np.maximum(inside, 0.0))
    metal = 0.5 * (reach**2 @ density) * (2.0 * math.pi / _RAYS)
    out = np.hypot(edge[None, :, 0] - centre[:, None, 0], edge[None, :, 1] - centre[:, None, 1])
    chance = ndtr((out - radius[:, None]) / soft)
    return np.asarray(metal + np.log(_WILD + (1.0 - _WILD) * chance).sum(axis=1))
