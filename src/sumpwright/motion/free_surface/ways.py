"""Inner walls on the grid: which faces are shut, which belong to a door, what is too narrow.

Every cell belongs to one compartment, by where its centre lies among the exact compartment
surfaces. A face between two compartments is shut unless the line between the two centres
passes through an opening. So a wall of any slope is a closed flight of shut faces: no line
from cell to cell gets past it except through an opening.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.motion.driven_model import Way
from sumpwright.motion.free_surface.domain import Domain, column_crossings
from sumpwright.quantities.units import FloatArray, Metre

NUDGE = 1.7e-7


@dataclass(frozen=True, slots=True, eq=False)
class OpenedWay:
    """A way with its faces on the grid."""

    way: Way
    faces: tuple[np.ndarray, np.ndarray, np.ndarray]  # each (m, 3), normal to x, y, z
    signs: tuple[np.ndarray, np.ndarray, np.ndarray]  # each (m,): +1 where the axis runs first to second
    is_link: bool
    narrowest: Metre


@dataclass(frozen=True, slots=True, eq=False)
class Walls:
    """Compartment of every cell, shut faces with every door shut, and the ways."""

    compartment: np.ndarray  # (nx, ny, nz) int16, -1 = wall
    shut: tuple[np.ndarray, np.ndarray, np.ndarray]  # uint8, doors and openings not counted
    ways: tuple[OpenedWay, ...]


def label_cells(domain: Domain, surfaces: tuple[Surface, ...]) -> np.ndarray:
    """Compartment (nx, ny, nz) of every open cell; -1 in the wall."""
    nx, ny, nz = domain.shape
    label = np.full((nx, ny, nz), -1, np.int16)
    is_open = domain.open_volume > 0.0
    if len(surfaces) == 1:
        label[is_open] = 0
        return label
    xs = np.arange(nx) + 0.5 + NUDGE
    ys = np.arange(ny) + 0.5 + 1.37 * NUDGE
    zs = np.arange(nz) + 0.5 + 0.73 * NUDGE
    for index, surface in enumerate(surfaces):
        vertices = (surface.vertices - domain.origin) / domain.cell
        heights, _ = column_crossings(vertices, surface.triangles, xs, ys)
        inside = (heights[..., None, :] < zs[:, None]).sum(axis=-1) % 2 == 1
        label[inside & is_open & (label < 0)] = index
    opens = (domain.open_x, domain.open_y, domain.open_z)
    for _ in range(8):
        lost = is_open & (label < 0)
        if not lost.any():
            break
        best = np.zeros(label.shape)
        taken = label.copy()
        for axis in range(3):
            count = label.shape[axis]
            for side, shift in ((0, 1), (1, -1)):
                part = np.take(opens[axis], range(side, count + side), axis=axis)
                beside = np.roll(label, shift, axis)
                better = lost & (beside >= 0) & (part > best)
                taken[better] = beside[better]
                best[better] = part[better]
        label = taken
    label[is_open & (label < 0)] = 0
    return label


def place_walls(domain: Domain, surfaces: tuple[Surface, ...], ways: tuple[Way, ...]) -> Walls:
    """Shut faces and opened ways."""
    label = label_cells(domain, surfaces)
    shut: list[np.ndarray] = []
    between: list[np.ndarray] = []
    opens = (domain.open_x, domain.open_y, domain.open_z)
    for axis in range(3):
        flags = np.zeros(opens[axis].shape, np.uint8)
        low = np.take(label, range(label.shape[axis] - 1), axis=axis)
        high = np.take(label, range(1, label.shape[axis]), axis=axis)
        apart = (low != high) & (low >= 0) & (high >= 0)
        inner = [slice(None)] * 3
        inner[axis] = slice(1, -1)
        flags[tuple(inner)] = apart
        shut.append(flags)
        between.append(np.argwhere(flags != 0))
    placed = []
    for way in ways:
        narrowest = narrowest_of(way)
        faces: list[np.ndarray] = []
        signs: list[np.ndarray] = []
        for axis in range(3):
            where = between[axis]
            step = np.eye(3, dtype=int)[axis]
            a, b = where - step, where
            la, lb = label[tuple(a.T)], label[tuple(b.T)]
            first, second = way.between
            ours = ((la == first) & (lb == second)) | ((la == second) & (lb == first))
            through = np.zeros(len(where), dtype=bool)
            if ours.any():
                start = domain.origin + (a[ours] + 0.5) * domain.cell
                end = domain.origin + (b[ours] + 0.5) * domain.cell
                through[ours] = _passes(start, end, way)
            faces.append(where[through])
            signs.append(np.where(la[through] == first, 1, -1))
        count = sum(len(f) for f in faces)
        is_link = narrowest < domain.cell or count == 0
        placed.append(
            OpenedWay(way, (faces[0], faces[1], faces[2]), (signs[0], signs[1], signs[2]), is_link, narrowest)
        )
    return Walls(label, (shut[0], shut[1], shut[2]), tuple(placed))


def narrowest_of(way: Way) -> Metre:
    """Smaller side of the way's outline."""
    corners = []
    for a in (-1.0, 1.0):
        for b in (-1.0, 1.0):
            corners.append(way.patches + a * way.patch_sides[:, 0] + b * way.patch_sides[:, 1])
    spread = np.concatenate(corners)
    sizes = []
    for side in range(2):
        along = way.patch_sides[:, side].sum(axis=0)
        size = float(np.linalg.norm(along))
        if size > 0.0:
            sizes.append(float(np.ptp(spread @ (along / size))))
    return min(sizes) if sizes else 0.0


def _passes(start: FloatArray, end: FloatArray, way: Way) -> np.ndarray:
    """Which of the lines start to end (m, 3) pass through a patch of the way."""
    through = np.zeros(len(start), dtype=bool)
    for centre, sides in zip(way.patches, way.patch_sides, strict=True):
        normal = np.cross(sides[0], sides[1])
        size = float(np.linalg.norm(normal))
        if size == 0.0:
            continue
        normal = normal / size
        da, db = (start - centre) @ normal, (end - centre) @ normal
        crosses = (da >= 0.0) != (db >= 0.0)
        if not crosses.any():
            continue
        t = np.where(crosses, da / np.where(crosses, da - db, 1.0), 0.0)
        at = start + t[:, None] * (end - start) - centre
        reach = [float(s @ s) for s in sides]
        inside = crosses
        for s, r in zip(sides, reach, strict=True):
            inside = inside & (np.abs(at @ s) <= r * (1.0 + 1e-9))
        through |= inside
    return through
