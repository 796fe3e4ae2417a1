"""The oil space on a grid of cubes: how much of each cell and each cell face is open.

Works with numpy alone, so that it also runs on a bare GPU host. Lengths in here are in
cells ("grid units") once a ``Domain`` is made: position = (metres - origin) / cell.

    z                      columns of samples run along z; where a column enters and
    ^   |   |   |          leaves the closed surface is exact, so only x and y are
    |---|---|---|          sampled. The same columns give cell volumes, and, laid on a
    |   |   |   |--> x     grid line, the open part of a cell face.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.motion.free_surface.model import FreeSurfaceError
from sumpwright.quantities.units import BoolArray, FloatArray, Metre, frozen_array

SLIVER = 0.3
"""Cells with less than this part open are wet or dry as their most open neighbour is: judged
by their own few particles they would flicker, and a dry one drains the cells below it."""

CLOSED = 0.005
"""Cells with less than this part open are wall."""

_NUDGE = 1.3e-7
"""Samples stand this far (in cells) beside round numbers, so that none meets an edge exactly."""


@dataclass(frozen=True, slots=True, eq=False)
class Domain:
    """Open parts of cells and faces; nx, ny, nz cells with two empty cells all round."""

    origin: FloatArray  # (3,) m, corner of cell 0, 0, 0 in the engine frame
    cell: Metre
    open_volume: FloatArray  # (nx, ny, nz), 0..1
    open_x: FloatArray  # (nx + 1, ny, nz), 0..1
    open_y: FloatArray  # (nx, ny + 1, nz)
    open_z: FloatArray  # (nx, ny, nz + 1)
    host: np.ndarray  # (nx, ny, nz) int8: 0 own judge, 1..6 = the neighbour at -x +x -y +y -z +z judges
    wall_distance: FloatArray  # (nx + 1, ny + 1, nz + 1) cells, at cell corners, positive inside, cut at +-3

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of cells along x, y, z."""
        nx, ny, nz = self.open_volume.shape
        return nx, ny, nz


def column_crossings(
    vertices: FloatArray, triangles: np.ndarray, xs: np.ndarray, ys: np.ndarray
) -> tuple[FloatArray, np.ndarray]:
    """Heights at which vertical lines through (x, y) cross a closed surface.

    Returns sorted heights (len(xs), len(ys), m) padded with +inf, and their number
    (len(xs), len(ys)). An odd number means that the surface is not closed there.
    """
    hits_x: list[np.ndarray] = []
    hits_y: list[np.ndarray] = []
    hits_z: list[np.ndarray] = []
    corners = vertices[triangles]
    for a, b, c in corners:
        area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        if area == 0.0:
            continue
        x0, x1 = min(a[0], b[0], c[0]), max(a[0], b[0], c[0])
        y0, y1 = min(a[1], b[1], c[1]), max(a[1], b[1], c[1])
        ix = np.arange(np.searchsorted(xs, x0), np.searchsorted(xs, x1, side="right"))
        iy = np.arange(np.searchsorted(ys, y0), np.searchsorted(ys, y1, side="right"))
        if ix.size == 0 or iy.size == 0:
            continue
        px, py = np.meshgrid(xs[ix], ys[iy], indexing="ij")
        wb = ((px - a[0]) * (c[1] - a[1]) - (py - a[1]) * (c[0] - a[0])) / area
        wc = ((b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])) / area
        inside = (wb >= 0.0) & (wc >= 0.0) & (wb + wc <= 1.0)
        gx, gy = np.nonzero(inside)
        hits_x.append(ix[gx])
        hits_y.append(iy[gy])
        hits_z.append(a[2] + wb[inside] * (b[2] - a[2]) + wc[inside] * (c[2] - a[2]))
    counts = np.zeros((xs.size, ys.size), dtype=np.int64)
    if not hits_z:
        return np.full((xs.size, ys.size, 1), np.inf), counts
    flat = np.concatenate(hits_x) * ys.size + np.concatenate(hits_y)
    z = np.concatenate(hits_z)
    order = np.lexsort((z, flat))
    flat, z = flat[order], z[order]
    counts = np.bincount(flat, minlength=xs.size * ys.size)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    table = np.full((xs.size * ys.size, max(int(counts.max()), 1)), np.inf)
    table[flat, np.arange(flat.size) - starts[flat]] = z
    return table.reshape(xs.size, ys.size, -1), counts.reshape(xs.size, ys.size)


def _filled(heights: FloatArray, nz: int) -> FloatArray:
    """Open part (..., nz) of each unit interval of z, from sorted crossings (..., m)."""
    enter = heights[..., 0::2]
    leave = heights[..., 1::2]
    if enter.shape[-1] > leave.shape[-1]:
        leave = np.concatenate([leave, np.full((*leave.shape[:-1], 1), np.inf)], axis=-1)
    out = np.zeros((*heights.shape[:-1], nz))
    k = np.arange(nz, dtype=np.float64)
    for m in range(enter.shape[-1]):
        lo, hi = enter[..., m, None], leave[..., m, None]
        real = np.isfinite(lo) & np.isfinite(hi)
        lo = np.where(real, lo, 0.0)
        hi = np.where(real, hi, 0.0)
        out += np.clip(np.minimum(hi, k + 1.0) - np.maximum(lo, k), 0.0, 1.0)
    return out


def make_domain(surface: Surface, cell: Metre, samples: int = 6) -> Domain:
    """Grid of cubes of side ``cell`` [m] over the closed surface (engine frame, m).

    Raises FreeSurfaceError if the surface is not closed, holds no number, or fits no cell.
    """
    if not np.isfinite(surface.vertices).all():
        raise FreeSurfaceError("a corner of the oil space is no number")
    if not (np.isfinite(cell) and cell > 0.0):
        raise FreeSurfaceError(f"a cell of {cell} m is no size")
    low = surface.vertices.min(axis=0)
    high = surface.vertices.max(axis=0)
    # Half of what is left over on either side, so that a mirror-symmetrical pan has a
    # mirror-symmetrical grid.
    counts = np.ceil((high - low) / cell - 1e-9).astype(int)
    spare = counts * cell - (high - low)
    origin = low - 0.5 * spare - 2.0 * cell
    nx, ny, nz = (int(n) + 4 for n in counts)
    vertices = (surface.vertices - origin) / cell
    triangles = surface.triangles
    offsets = (np.arange(samples) + 0.5) / samples + _NUDGE
    fine_x = (np.arange(nx)[:, None] + offsets[None, :]).ravel()
    fine_y = (np.arange(ny)[:, None] + offsets[None, :] + 0.37 * _NUDGE).ravel()
    heights, number = column_crossings(vertices, triangles, fine_x, fine_y)
    if np.any(number % 2):
        raise FreeSurfaceError("the surface of the oil space is not closed")
    # A row of cells at a time: all samples at once would be the most memory that a run ever takes.
    volume = np.empty((nx, ny, nz))
    for i in range(nx):
        filled = _filled(heights[i * samples : (i + 1) * samples], nz)
        volume[i] = filled.reshape(samples, ny, samples, nz).mean(axis=(0, 2))

    at_x = np.arange(nx + 1) + _NUDGE
    crossing, _ = column_crossings(vertices, triangles, at_x, fine_y)
    open_x = _filled(crossing, nz).reshape(nx + 1, ny, samples, nz).mean(axis=2)
    at_y = np.arange(ny + 1) + 1.37 * _NUDGE
    crossing, _ = column_crossings(vertices, triangles, fine_x, at_y)
    open_y = _filled(crossing, nz).reshape(nx, samples, ny + 1, nz).mean(axis=1)
    at_z = np.arange(nz + 1) + _NUDGE
    below = (heights[..., None, :] < at_z[:, None]).sum(axis=-1)
    open_z = (below % 2 == 1).astype(float).reshape(nx, samples, ny, samples, nz + 1).mean(axis=(1, 3))

    closed = volume < CLOSED
    open_x = np.minimum(open_x, 1.0)
    open_x[:-1][closed] = 0.0
    open_x[1:][closed] = 0.0
    open_y[:, :-1][closed] = 0.0
    open_y[:, 1:][closed] = 0.0
    open_z[:, :, :-1][closed] = 0.0
    open_z[:, :, 1:][closed] = 0.0
    sides = np.stack(
        [open_x[:-1], open_x[1:], open_y[:, :-1], open_y[:, 1:], open_z[:, :, :-1], open_z[:, :, 1:]]
    )
    sliver = (volume < SLIVER) & ~closed & (sides.max(axis=0) > 0.0)
    host = np.where(sliver, sides.argmax(axis=0) + 1, 0).astype(np.int8)
    host.setflags(write=False)
    distance = _corner_distances(vertices, triangles, (nx, ny, nz))
    return Domain(
        frozen_array(origin),
        cell,
        frozen_array(np.where(closed, 0.0, volume)),
        frozen_array(open_x),
        frozen_array(open_y),
        frozen_array(open_z),
        host,
        frozen_array(distance),
    )


def _corner_distances(vertices: FloatArray, triangles: np.ndarray, shape: tuple[int, int, int]) -> FloatArray:
    """Signed distance of the cell corners to the surface, cut at 3 cells."""
    reach = 3.0
    nx, ny, nz = shape
    squared = np.full((nx + 1, ny + 1, nz + 1), reach * reach)
    for a, b, c in vertices[triangles]:
        low = np.floor(np.minimum(np.minimum(a, b), c) - reach).astype(int).clip(0)
        high = np.ceil(np.maximum(np.maximum(a, b), c) + reach).astype(int) + 1
        box = tuple(slice(int(low[d]), min(int(high[d]), squared.shape[d])) for d in range(3))
        grid = np.stack(
            np.meshgrid(*(np.arange(s.start, s.stop, dtype=float) for s in box), indexing="ij"), -1
        )
        near = _squared_distance_to_triangle(grid.reshape(-1, 3), a, b, c).reshape(grid.shape[:3])
        squared[box] = np.minimum(squared[box], near)
    at_x = np.arange(nx + 1) + _NUDGE
    at_y = np.arange(ny + 1) + 1.37 * _NUDGE
    heights, _ = column_crossings(vertices, triangles, at_x, at_y)
    at_z = np.arange(nz + 1) + _NUDGE
    inside = ((heights[..., None, :] < at_z[:, None]).sum(axis=-1) % 2) == 1
    return np.asarray(np.where(inside, 1.0, -1.0) * np.sqrt(squared))


def _squared_distance_to_triangle(p: FloatArray, a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    """Squared distance (n,) of points (n, 3) to one triangle: the plane inside it, edges outside."""
    best = np.full(p.shape[0], np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        line = end - start
        length2 = float(line @ line)
        along = np.clip((p - start) @ line / length2, 0.0, 1.0) if length2 > 0 else np.zeros(p.shape[0])
        away = p - start - along[:, None] * line
        best = np.minimum(best, np.einsum("ij,ij->i", away, away))
    normal = np.cross(b - a, c - a)
    size = float(normal @ normal)
    if size > 0.0:
        inside: BoolArray = np.ones(p.shape[0], dtype=bool)
        for start, end in ((a, b), (b, c), (c, a)):
            inside &= (p - start) @ np.cross(normal, end - start) >= 0.0
        above = (p - a) @ normal
        best = np.where(inside, np.minimum(best, above * above / size), best)
    return best
