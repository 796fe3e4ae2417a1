"""What a run needs of the grid before it starts, worked out once with numpy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.motion.free_surface.domain import Domain
from sumpwright.quantities.units import BoolArray, FloatArray

WHOLE = 1.0 - 1e-6
"""Cells more open than this are not cut."""

CUT_AT = 0.75
"""Deepest a closed face's mirrored value reaches, as a part of the value inside."""


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """Full deposits, closed faces beside the oil, wetted wall beside each face."""

    full: FloatArray  # (nx, ny, nz), deposit of a full pan in full cells
    wall_faces: tuple[np.ndarray, np.ndarray, np.ndarray]  # each (m, 3) int32: closed faces near the oil
    wall_normals: tuple[FloatArray, FloatArray, FloatArray]  # each (m, 3), into the oil
    wall_beyond: tuple[FloatArray, FloatArray, FloatArray]  # each (m,): see ``turn_along_walls``
    friction: tuple[FloatArray, FloatArray, FloatArray]  # wall area over volume [1/cell] beside each face


def lattice(per_side: int) -> FloatArray:
    """Evenly spread points of a unit cell (per_side**3, 3)."""
    steps = (np.arange(per_side) + 0.5) / per_side
    return np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), -1).reshape(-1, 3)


def sample_distance(domain: Domain, points: FloatArray) -> FloatArray:
    """Distance to the walls (n,) in cells at grid points (n, 3), positive inside."""
    d = domain.wall_distance
    base = np.floor(points).astype(np.int64)
    f = points - base
    out = np.zeros(points.shape[0])
    for a in (0, 1):
        for b in (0, 1):
            for c in (0, 1):
                weight = (
                    (f[:, 0] if a else 1 - f[:, 0])
                    * (f[:, 1] if b else 1 - f[:, 1])
                    * (f[:, 2] if c else 1 - f[:, 2])
                )
                out += weight * d[base[:, 0] + a, base[:, 1] + b, base[:, 2] + c]
    return out


def lay_out(domain: Domain) -> Layout:
    """Work it all out."""
    opens = (domain.open_x, domain.open_y, domain.open_z)
    found = [_wall_faces(domain, opens[axis], axis) for axis in range(3)]
    return Layout(
        _full_deposit(domain),
        (found[0][0], found[1][0], found[2][0]),
        (found[0][1], found[1][1], found[2][1]),
        (found[0][2], found[1][2], found[2][2]),
        (_friction(domain, 0), _friction(domain, 1), _friction(domain, 2)),
    )


def _full_deposit(domain: Domain) -> FloatArray:
    """What a pan full of evenly spread oil would leave in each cell, in full cells."""
    volume = domain.open_volume
    whole = volume >= WHOLE
    touched = _grown(~whole)
    # What these receive comes from their neighbours too.
    cells = np.argwhere(_grown(touched) & (volume > 0.0))
    per_side = 6 if len(cells) < 200_000 else 4
    points_of = lattice(per_side)
    shape = volume.shape
    total = np.zeros(volume.size)
    for first in range(0, len(cells), 4000):
        some = cells[first : first + 4000]
        points = (some[:, None, :] + points_of[None, :, :]).reshape(-1, 3)
        inside = (sample_distance(domain, points) > 0.0).reshape(len(some), -1)
        # Points misjudge a cut cell by a tenth; its open part is known better.
        each = volume[tuple(some.T)] * per_side**3 / np.maximum(inside.sum(axis=1), 1)
        bulk = np.repeat(each, inside.sum(axis=1))
        points = points[inside.ravel()]
        low = np.floor(points - 0.5).astype(np.int64)
        f = points - 0.5 - low
        for corner in range(8):
            a, b, c = corner >> 2 & 1, corner >> 1 & 1, corner & 1
            weight = (
                (f[:, 0] if a else 1 - f[:, 0])
                * (f[:, 1] if b else 1 - f[:, 1])
                * (f[:, 2] if c else 1 - f[:, 2])
            )
            flat = ((low[:, 0] + a) * shape[1] + low[:, 1] + b) * shape[2] + low[:, 2] + c
            if len(flat):
                _count(total, flat, bulk * weight)
    near = (total / per_side**3).reshape(shape)
    # Whole cells with none but whole ones about them receive exactly one full cell.
    return np.where(touched, near, 1.0)


def _grown(marked: BoolArray) -> BoolArray:
    """The marked cells and all that touch them."""
    for axis in range(3):
        marked = marked | np.roll(marked, 1, axis) | np.roll(marked, -1, axis)
    return marked


def _count(total: FloatArray, flat: np.ndarray, weight: FloatArray) -> None:
    low, high = int(flat.min()), int(flat.max()) + 1
    total[low:high] += np.bincount(flat - low, weights=weight, minlength=high - low)


def _wall_faces(domain: Domain, opened: FloatArray, axis: int) -> tuple[np.ndarray, FloatArray, FloatArray]:
    """Closed faces within two cells of the oil space, the wall's normal there, and how it mirrors."""
    half = np.array([[0.0, 0.5, 0.5], [0.5, 0.0, 0.5], [0.5, 0.5, 0.0]])[axis]
    where = np.argwhere(opened <= 0.0)
    limits = np.array(opened.shape) - 1
    where = where[np.all((where >= 1) & (where < limits), axis=1)]
    points = where + half
    distance = sample_distance(domain, points)
    near = np.abs(distance) < 1.8
    where, points, distance = where[near], points[near], distance[near]
    eps = 0.25
    slope = np.stack(
        [
            sample_distance(domain, points + eps * np.eye(3)[c])
            - sample_distance(domain, points - eps * np.eye(3)[c])
            for c in range(3)
        ],
        axis=1,
    )
    size = np.linalg.norm(slope, axis=1)
    ok = size > 1e-3
    depth = distance[ok]
    beyond = np.clip(depth / np.maximum(1.0 + depth, 0.3), -CUT_AT, 0.5)
    return where[ok].astype(np.int32), slope[ok] / size[ok, None], beyond


def _friction(domain: Domain, axis: int) -> FloatArray:
    """Wetted wall beside each face, in wall area over volume [1/cell]."""
    opens = (domain.open_x, domain.open_y, domain.open_z)
    is_open = (domain.open_volume > 0).astype(float)
    total = np.zeros(opens[axis].shape)
    before = [(0, 0)] * 3
    after = [(0, 0)] * 3
    before[axis], after[axis] = (1, 0), (0, 1)
    beside = np.maximum(np.pad(is_open, before) + np.pad(is_open, after), 1.0)
    for other in range(3):
        if other == axis:
            continue
        a = opens[other]
        low = np.take(a, range(a.shape[other] - 1), axis=other)
        high = np.take(a, range(1, a.shape[other]), axis=other)
        closed = np.where(domain.open_volume > 0, (1.0 - low) + (1.0 - high), 0.0)
        total += (np.pad(closed, before) + np.pad(closed, after)) / beside
    total[opens[axis] <= 0.0] = 0.0
    return total
