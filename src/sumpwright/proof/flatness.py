"""How flat a face is, from heights of its points: the least gap between two flats, and least squares.

The least gap between two parallel planes that hold all points is found exactly. At the
best pair one plane touches three points and the other at least one, or each touches two
(an edge of the points' hull against an edge): those are all the candidates there are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.proof.model import (
    Flatness,
    HeightReading,
    ProofInputs,
    Sealing,
    State,
    StraightEdgeReading,
)
from sumpwright.quantities.units import FloatArray, Metre, Ratio, frozen_array

WHOLE: dict[Sealing, Metre] = {"anaerobic": 0.00012, "silicone": 0.00025, "gasket": 0.0003}
"""Flatness that usually seals over a whole rail (0.10-0.15, 0.2-0.3, 0.3 mm): common practice."""
ALONG: dict[Sealing, Ratio | None] = {"anaerobic": 0.00005 / 0.1, "silicone": None, "gasket": None}
"""The same over a short stretch: 0.05 mm in 100 mm for a film that sets without air."""
STEPS: Metre = 5e-6
"""Take-off smaller than this is not worth a place on the list."""


@dataclass(frozen=True, slots=True, eq=False)
class Flats:
    """Two flats that hold all points: z = slope_x x + slope_y y + low, and one that stands gap off it."""

    slope_x: float
    slope_y: float
    low: Metre
    gap: Metre


def least_gap(points: FloatArray) -> Flats:
    """The two flats nearest to each other that hold all points (n, 3) m.

    Raises:
        ValueError: for fewer than three points, or points that all stand in one line seen
            from above.
    """
    _refuse_a_line(points)
    best: Flats | None = None
    for slope_x, slope_y in _candidates(points):
        rest = points[:, 2] - slope_x * points[:, 0] - slope_y * points[:, 1]
        # Square to the flats, not along z: a part that stands askew on the table reads no worse.
        gap = float(rest.max() - rest.min()) / float(np.sqrt(1.0 + slope_x**2 + slope_y**2))
        if best is None or gap < best.gap:
            best = Flats(slope_x, slope_y, float(rest.min()), gap)
    assert best is not None
    return best


def fitted(points: FloatArray) -> Flats:
    """The least-squares plane, moved down to the lowest point, and highest less lowest over it."""
    _refuse_a_line(points)
    middle = points.mean(axis=0)
    away = points - middle
    (slope_x, slope_y), *_ = np.linalg.lstsq(away[:, :2], away[:, 2], rcond=None)
    rest = points[:, 2] - slope_x * points[:, 0] - slope_y * points[:, 1]
    tilt = float(np.sqrt(1.0 + slope_x**2 + slope_y**2))
    return Flats(float(slope_x), float(slope_y), float(rest.min()), float(rest.max() - rest.min()) / tilt)


def _refuse_a_line(points: FloatArray) -> None:
    if len(points) < 3:
        raise ValueError("a flat needs three points")
    away = points[:, :2] - points[:, :2].mean(axis=0)
    spread = np.linalg.svd(away, compute_uv=False)
    if spread[1] <= 1e-6 * max(float(spread[0]), 1e-300):
        raise ValueError("the points stand in one line, and a line has no flat")


def _candidates(points: FloatArray) -> list[tuple[float, float]]:
    """Slopes of every face of the points' hull, and of every pair of hull edges, one above one below."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        hull = ConvexHull(points)
    except QhullError:  # all points in one plane, in space: that plane is the answer
        fit = fitted(points)
        return [(fit.slope_x, fit.slope_y)]
    found: list[tuple[float, float]] = []
    upper: set[tuple[int, int]] = set()
    lower: set[tuple[int, int]] = set()
    for corners, (nx, ny, nz, _) in zip(hull.simplices, hull.equations, strict=True):
        if abs(nz) > 1e-12:
            found.append((-nx / nz, -ny / nz))
        for a, b in ((0, 1), (1, 2), (0, 2)):
            edge = (int(min(corners[a], corners[b])), int(max(corners[a], corners[b])))
            # A face that stands upright bounds both sides.
            if nz > -1e-12:
                upper.add(edge)
            if nz < 1e-12:
                lower.add(edge)
    for a, b in sorted(upper):
        along = points[b] - points[a]
        for c, d in sorted(lower):
            other = points[d] - points[c]
            normal = np.cross(along, other)
            if abs(normal[2]) > 1e-14 * (np.linalg.norm(along) * np.linalg.norm(other)):
                found.append((float(-normal[0] / normal[2]), float(-normal[1] / normal[2])))
    return found


def flatness_of(inputs: ProofInputs, state: State) -> Flatness | None:
    """What the readings of one state say of the face; None where nothing was read in it."""
    record = inputs.record
    if record is None:
        return None
    heights = [reading for reading in record.heights if reading.state == state]
    edges = [reading for reading in record.edges if reading.state == state]
    if not heights and not edges:
        return None
    tolerated = None if inputs.sealing is None else WHOLE[inputs.sealing]
    along = None if inputs.sealing is None else ALONG[inputs.sealing]
    widest = max(edges, key=lambda reading: reading.feeler, default=None)
    gap = squares = None
    off = np.empty((0, 3))
    take: list[tuple[Metre, Metre, Metre]] = []
    if len(heights) >= 3:
        points = _points(heights)
        flats, fit = least_gap(points), fitted(points)
        gap, squares = flats.gap, fit.gap
        over = points[:, 2] - flats.slope_x * points[:, 0] - flats.slope_y * points[:, 1] - flats.low
        off = np.column_stack([points[:, :2], over])
        allowed = 0.0 if tolerated is None else tolerated
        take = [
            (float(x), float(y), float(h - allowed))
            for x, y, h in off[np.argsort(-over, kind="stable")]
            if h - allowed > STEPS and gap > allowed
        ]
    return Flatness(
        state=state,
        count=len(heights),
        least_gap=gap,
        least_squares=squares,
        largest_feeler=None if widest is None else widest.feeler,
        feeler_place="" if widest is None else widest.place,
        tolerated=tolerated,
        tolerated_per_length=along,
        take_off=tuple(take),
        off_plane=frozen_array(off),
        # At most the difference of two readings: the other points of contact only share it out.
        gap_u95=None if gap is None else 2.0 * math.sqrt(2.0 / 3.0) * inputs.dial_off,
    )


def _points(heights: list[HeightReading]) -> FloatArray:
    return np.array([[reading.x, reading.y, reading.height] for reading in heights])


def steepest_edge(edges: tuple[StraightEdgeReading, ...], state: State) -> StraightEdgeReading | None:
    """The straight-edge line with the largest feeler for its length."""
    mine = [reading for reading in edges if reading.state == state and reading.span > 0.0]
    return max(mine, key=lambda reading: reading.feeler / reading.span, default=None)
