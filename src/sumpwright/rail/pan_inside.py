"""The inside of a scanned old pan: how deep it is under every place of its opening.

The scan, laid flat, is looked at from the rail: in each cell of a grid the first surface
met on the way down bounds the oil. A wall crosses its cells somewhere, and the first
surface met there is the wall's top; so a grid makes the pan smaller by half a cell all
round. A grid twice as coarse loses twice that, and twice the fine volume less the coarse
one loses nothing (Richardson's extrapolation). Where the outside was scanned, the fine grid
is counted once as scanned and once with the metal taken off it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre, Ratio, SquareMetre
from sumpwright.rail.hole_names import Similarity
from sumpwright.rail.scan_model import PanInside, SeenTrouble, Skin

LEAST_CELL: Metre = 0.001
MOST_MISSED: Ratio = 0.25
"""Part of the opening without a scanned place under it beyond which no volume is taken from a scan."""
HIDDEN_SAID: Ratio = 0.03

_FLANGE: Metre = 0.001
"""So near to the plane a place counts as flange, not as pan."""
_BRIDGED: Metre = 0.006
_HIDDEN: Metre = 0.008
"""Farther below the first surface, or beside the opening, than any wall is thick."""
_LEAST_DEPTH: Metre = 0.015
_MOST_CELLS = 3_000_000
_METAL_SHARE = 0.1
"""Standard uncertainty of a pressed or cast wall's thickness, in parts of it: common practice."""
_EDGE_SHARE = 0.3
"""Of what the walls' correction is, its own standard uncertainty: from pans of known volume."""


@dataclass(frozen=True, slots=True, eq=False)
class _Field:
    """How deep the first surface lies under each cell of the opening."""

    low: FloatArray  # (2,) m
    cell: Metre
    is_open: BoolArray  # (r, c)
    depth: FloatArray  # (r, c) m, nought outside the opening
    missed: SquareMetre
    missed_u: float  # m3
    first: FloatArray  # (r, c) m, height of the first surface, -inf where nothing was scanned

    @property
    def volume(self) -> float:
        """Of all columns, m3."""
        return float(self.depth.sum()) * self.cell**2


def pan_inside(
    flat: FloatArray, height: FloatArray, skin: Skin | None, metal: Metre | None
) -> PanInside | SeenTrouble:
    """The oil space under a flange's plane, from points that cover the surface evenly.

    Args:
        flat: places (n, 2) [m] in the plane, seen from above.
        height: above the plane, (n,) [m]; what stands above it is left out.
        skin: which side of the metal was scanned; None is taken as the inside.
        metal: thickness of an outer skin's wall, which is also taken as its flange's.
    """
    if skin == "outside" and metal is None:
        return SeenTrouble(
            "no metal",
            "it shows the old pan's outside; without the thickness of its sheet the inside is not known,"
            " and no volume is taken from it",
            "Measure the sheet at the flange's edge and give it as scan.metal.",
        )
    below: BoolArray = np.asarray(height < _FLANGE)
    flat, height = flat[below], height[below]
    if len(flat) < 2000:
        return _not_seen("it has too few points below the flange to tell the inside")
    spacing = _spacing(flat, height)
    cell = max(2.2 * spacing, LEAST_CELL)
    kept = ~_is_alone(flat, height, 3.0 * cell)
    flat, height = flat[kept], height[kept]
    fine = _field(flat, height, cell)
    coarse = None if fine is None else _field(flat, height, 2.0 * cell)
    if fine is None or coarse is None:
        return _not_seen("its flange is not scanned all round, so nothing bounds the opening")
    if float(fine.depth.max(initial=0.0)) < _LEAST_DEPTH:
        return _not_seen("nothing of the pan is seen below the flange; is the opening closed over?")
    opening = float(np.count_nonzero(fine.is_open)) * cell**2
    missed = fine.missed / opening
    if missed > MOST_MISSED:
        return SeenTrouble(
            "inside missed",
            "under {value} of the opening nothing was scanned (up to {limit} can be bridged), so no volume"
            " is taken from it",
            "Scan the inside again, or pour water in and measure it; then give oil.old_capacity.",
            missed,
            MOST_MISSED,
        )
    hidden = _hidden(flat, height, fine)
    lost = fine.volume - coarse.volume
    parts = [_columns(fine, 2.0), _columns(coarse, -1.0)]
    held, metal_u = fine, 0.0
    if skin == "outside" and metal is not None:
        held = _within(fine, metal)
        parts = [_columns(fine, 1.0), _columns(coarse, -1.0), _columns(held, 1.0)]
        metal_u = _METAL_SHARE * metal * max(lost, 0.0) / (0.5 * cell)
    columns, depths, areas = (np.concatenate([part[k] for part in parts]) for k in range(3))
    return PanInside(
        skin=skin or "inside",
        is_skin_told=skin is not None,
        columns=columns,
        depths=depths,
        areas=areas,
        rim=_rim(held),
        space=held.volume + lost,
        space_u=math.hypot(_EDGE_SHARE * lost, fine.missed_u, metal_u),
        opening=opening,
        missed=missed,
        hidden=hidden,
        metal=metal if skin == "outside" else None,
    )


def in_engine(inside: PanInside, laid: Similarity, scale_u: Ratio) -> PanInside:
    """The same in the engine's axes and in true size; ``laid`` puts true places over scanned ones."""
    s = laid.scale

    def true(places: FloatArray) -> FloatArray:
        return np.asarray((places - laid.shift) @ laid.turn / s)

    return replace(
        inside,
        columns=true(inside.columns),
        depths=inside.depths / s,
        areas=inside.areas / s**2,
        rim=true(inside.rim),
        space=inside.space / s**3,
        space_u=math.hypot(inside.space_u, 3.0 * scale_u * inside.space) / s**3,
        opening=inside.opening / s**2,
    )


def skin_by_sides(points: FloatArray, faces: IntArray, up: FloatArray, deep: FloatArray) -> Skin | None:
    """Which skin the triangles say they are: those of the floor look up inside, down outside.

    ``deep`` (n,) [m] is the points' depth below the flange; None where they look both ways.
    """
    step = max(len(faces) // 60_000, 1)
    some = faces[::step]
    a, b, c = (points[some[:, k]] for k in range(3))
    way = np.cross(b - a, c - a)
    middle = deep[some].mean(axis=1)
    size = np.linalg.norm(way, axis=1)
    lies = (middle > 0.4 * float(np.percentile(middle, 98.0))) & (np.abs(way @ up) > 0.7 * size)
    total = float(size[lies].sum())
    if total <= 0.0:
        return None
    upward = float(size[lies & (way @ up > 0.0)].sum()) / total
    return "inside" if upward > 0.9 else "outside" if upward < 0.1 else None


def _not_seen(says: str) -> SeenTrouble:
    return SeenTrouble(
        "no inside",
        f"{says}; no volume is taken from it",
        "Nothing for the holes. For the volume, pour water into the old pan and give oil.old_capacity.",
    )


def _spacing(flat: FloatArray, height: FloatArray) -> Metre:
    """Side of the square of surface that one point has to itself, from the boxes that hold points."""
    box = 0.003
    step = max(len(flat) // 400_000, 1)
    at = np.floor(np.column_stack((flat[::step], height[::step])) / box).astype(np.int64)
    at -= at.min(axis=0)
    shape = at.max(axis=0) + 1
    key = (at[:, 0] * shape[1] + at[:, 1]) * shape[2] + at[:, 2]
    return math.sqrt(len(np.unique(key)) * box**2 / len(flat))


def _is_alone(flat: FloatArray, height: FloatArray, box: Metre) -> BoolArray:
    """Points with fewer than two others in their box: a scanner's wild ones."""
    low = np.array([*flat.min(axis=0), height.min()])
    at = [((flat[:, k] - low[k]) / box).astype(np.int64) for k in range(2)]
    at.append(((height - low[2]) / box).astype(np.int64))
    shape = [int(a.max()) + 1 for a in at]
    key = (at[0] * shape[1] + at[1]) * shape[2] + at[2]
    if shape[0] * shape[1] * shape[2] > 60_000_000:
        key = np.unique(key, return_inverse=True)[1].reshape(-1)
    return np.asarray(np.bincount(key)[key] < 3)


def _field(flat: FloatArray, height: FloatArray, cell: Metre) -> _Field | None:
    """The first surface under each cell, and where the opening is; None without a ring of flange."""
    from scipy import ndimage

    margin = math.ceil(3.0 * _BRIDGED / cell)
    low = flat.min(axis=0) - margin * cell
    shape = tuple((np.ceil((flat.max(axis=0) - low) / cell).astype(int) + 1 + margin).tolist())
    count = shape[0] * shape[1]
    if count > _MOST_CELLS:
        return None
    at = np.floor((flat - low) / cell).astype(np.int64)
    key = at[:, 0] * shape[1] + at[:, 1]
    top = np.full(count, -np.inf)
    np.maximum.at(top, key, height)
    # The highest of many is high by their scatter: the mean of those beside it is not.
    near = height > top[key] - 0.0004
    first = (
        np.bincount(key[near], height[near], count) / np.maximum(np.bincount(key[near], minlength=count), 1)
    ).reshape(shape)
    seen = np.isfinite(top).reshape(shape)
    first = np.where(seen, first, -np.inf)
    flange = seen & (first > -_FLANGE)
    is_open = None
    for reach in (0.25 * _BRIDGED, 0.5 * _BRIDGED, _BRIDGED, 2.0 * _BRIDGED):
        around = _grown(flange, reach / cell)
        within = ndimage.binary_fill_holes(around) & ~around
        label, kinds = ndimage.label(within)
        if kinds:
            sizes = np.bincount(label.ravel())[1:]
            largest = int(np.argmax(sizes)) + 1
            if float(sizes.max()) > 0.2 * np.count_nonzero(flange):
                is_open = _grown(label == largest, reach / cell + 1.5) & ~flange
                break
    if is_open is None:
        return None
    away, nearest = ndimage.distance_transform_edt(~seen, return_indices=True)
    filled = first[nearest[0], nearest[1]]
    depth = np.where(is_open, np.maximum(-filled, 0.0), 0.0)
    gaps, kinds = ndimage.label(is_open & (away > 1.5))
    missed_u2 = 0.0
    for k, box in enumerate(ndimage.find_objects(gaps), start=1):
        wider = tuple(slice(max(s.start - 3, 0), s.stop + 3) for s in box)
        mine = gaps[wider] == k
        beside = ndimage.binary_dilation(mine, iterations=3) & ~mine & is_open[wider] & seen[wider]
        area = float(np.count_nonzero(mine)) * cell**2
        range_ = float(np.ptp(depth[wider][beside])) if beside.any() else float(depth.max())
        missed_u2 += (area * max(range_ / math.sqrt(12.0), 0.001)) ** 2
    return _Field(
        low, cell, is_open, depth, float(np.count_nonzero(gaps)) * cell**2, math.sqrt(missed_u2), first
    )


def _grown(mask: BoolArray, cells: float) -> BoolArray:
    from scipy import ndimage

    return np.asarray(ndimage.distance_transform_edt(~mask) <= cells)


def _hidden(flat: FloatArray, height: FloatArray, field: _Field) -> Ratio:
    """Part of the surface well below the rail that is not met first from there."""
    low = height < -_LEAST_DEPTH
    if not low.any():
        return 0.0
    at = np.floor((flat[low] - field.low) / field.cell).astype(np.int64)
    is_beside = ~_grown(field.is_open, _HIDDEN / field.cell)[at[:, 0], at[:, 1]]
    is_under = height[low] < -field.depth[at[:, 0], at[:, 1]] - _HIDDEN
    # A wall is met all the way down in its own cells and, seen at a slant, in those beside them.
    edge = _grown(~field.is_open, _HIDDEN / field.cell)[at[:, 0], at[:, 1]]
    steep = _is_steep(field)[at[:, 0], at[:, 1]]
    return float(np.mean(is_beside | (is_under & ~edge & ~steep)))


def _is_steep(field: _Field) -> BoolArray:
    """Cells within a wall's thickness of a drop."""
    from scipy import ndimage

    size = 2 * math.ceil(_HIDDEN / field.cell) + 1
    return np.asarray(
        ndimage.maximum_filter(field.depth, size) - ndimage.minimum_filter(field.depth, size) > 2.0 * _HIDDEN
    )


def _within(field: _Field, metal: Metre) -> _Field:
    """The inside of an outer skin: all that a ball of the metal's thickness round it does not reach."""
    parts = min(max(math.ceil(4.0 * field.cell / metal), 1), 8)
    cell = field.cell / parts
    depth = np.kron(field.depth, np.ones((parts, parts)))
    # Outside the opening stands the flange, its underside in the plane.
    bottom = -depth
    # Half a cell more: a distance rounded to whole cells is as often too long as too short.
    reach = math.floor(metal / cell + 0.5)
    inner = np.full(depth.shape, -np.inf)
    for i in range(-reach, reach + 1):
        for j in range(-reach, reach + 1):
            away = math.hypot(i, j) * cell
            if away > metal + 0.5 * cell:
                continue
            moved = np.roll(bottom, (i, j), axis=(0, 1)) + math.sqrt(max(metal**2 - away**2, 0.0))
            inner = np.maximum(inner, moved)
    # The sealing face lies the flange's thickness above the underside that was scanned.
    inside = np.maximum(metal - inner, 0.0)
    is_open = inside > 1e-9
    return replace(field, cell=cell, is_open=is_open, depth=inside)


def _columns(field: _Field, weight: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    at = np.argwhere(field.is_open & (field.depth > 0.0))
    depth = field.depth[at[:, 0], at[:, 1]]
    return field.low + (at + 0.5) * field.cell, depth, np.full(len(at), weight * field.cell**2)


def _rim(field: _Field) -> FloatArray:
    from scipy import ndimage

    # The edge crosses the first cell that is not open, anywhere: on average at its middle.
    at = np.argwhere(ndimage.binary_dilation(field.is_open) & ~field.is_open)
    return np.asarray(field.low + (at + 0.5) * field.cell)
