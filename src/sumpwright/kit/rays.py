"""A hundred thousand looks from inside: every one must end on metal."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from sumpwright.body import Cavity
from sumpwright.geometry import FlatFrame
from sumpwright.kit.leaks import first_hits, swollen
from sumpwright.kit.solids import Sheet
from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre

FAR: Metre = 10.0
"""Longer than any pan."""


@dataclass(frozen=True, slots=True, eq=False)
class RayLook:
    """Rays that left the pan."""

    rays: int
    escaped_from: FloatArray  # (k, 3) where each leaves the oil side
    slits: int  # rays that only got out through a slit narrower than the gap allowed


def look_out(
    cavity: Cavity,
    sheets: Sequence[Sheet],
    frames: dict[int, FlatFrame],
    count: int,
    seed: int,
    slit: Metre,
    rounded: Sequence[tuple[int, Metre]] = (),
    block: Sequence[Sheet] = (),
) -> RayLook:
    """Send rays from inside the oil space to every face and, half of them, close to the seams.

    The rail opening counts as closed by the blanking plate. A ray is stopped by the sheet
    of the face through which it leaves the oil space, or else by the first metal it meets
    beside a seam. ``rounded`` names edges that are bends, with their setbacks: there metal
    stands before the face, so rays are followed from their start, and none starts within.
    ``block`` is what of the block stands below the rail plane: a ray ends on it or within it.
    """
    rng = np.random.default_rng(seed)
    origins, directions = _rays(cavity, count, rng)
    distance, face = _ways_out(cavity, frames, origins, directions)
    # A ray through an edge may find no face; it is followed from its start.
    place = origins + np.where(face >= 0, distance, 0.0)[:, None] * directions
    stopped: BoolArray = np.zeros(len(face), dtype=bool)
    by_face = {sheet.face: sheet for sheet in sheets if sheet.face is not None}
    for index, sheet in by_face.items():
        mine = np.flatnonzero(face == index)
        flat = sheet.frame.to_flat(place[mine])
        shapely.prepare(sheet.outline)
        stopped[mine] = shapely.intersects_xy(sheet.outline, flat[:, 0], flat[:, 1])
    for face_index, record in enumerate(cavity.faces):
        if record.role == "rail":
            stopped[face == face_index] = True
    for solid in block:
        height = (place - solid.frame.origin) @ solid.frame.normal
        within = np.flatnonzero((height > -1e-9) & (height < solid.thickness + 1e-9))
        flat = solid.frame.to_flat(place[within])
        stopped[within] |= shapely.intersects_xy(solid.outline, flat[:, 0], flat[:, 1])
    for edge, setback in rounded:
        stopped |= _starts_near(cavity, edge, setback, origins)
    if rounded:
        place = np.where(stopped[:, None], place, origins)
    metal = (*sheets, *block)
    left = np.flatnonzero(~stopped)
    if len(left):
        stopped[left] = _stopped_outside(cavity, metal, place[left], directions[left], 0.0)
    out = np.flatnonzero(~stopped)
    if len(out):
        by = slit / math.sqrt(8.0)
        stopped[out] = _stopped_outside(cavity, metal, place[out], directions[out], by)
    return RayLook(count, place[~stopped], len(out) - int((~stopped).sum()))


def _starts_near(cavity: Cavity, index: int, reach: Metre, origins: FloatArray) -> BoolArray:
    """Which rays start within reach of an edge's line."""
    edge = cavity.edges[index]
    start = cavity.vertices[edge.start]
    along = (cavity.vertices[edge.end] - start) / edge.length
    away = origins - start
    off = away - np.outer(away @ along, along)
    near: BoolArray = np.linalg.norm(off, axis=1) < 1.05 * reach + 1e-4
    return near


def _rays(cavity: Cavity, count: int, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Origins just off random places of the surface, aimed at other places and at seams."""
    corners = cavity.vertices[cavity.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(across, axis=1)
    pick = rng.choice(len(area), size=count, p=area / area.sum())
    share = rng.uniform(size=(count, 2))
    flip = share.sum(axis=1) > 1.0
    share[flip] = 1.0 - share[flip]
    ground = corners[pick, 0] + np.einsum("rk,rkc->rc", share, corners[pick, 1:] - corners[pick, :1])
    normal = across[pick] / area[pick, None]
    origins = ground - 1e-5 * normal
    half = count // 2
    free = rng.normal(size=(count, 3))
    free /= np.linalg.norm(free, axis=1)[:, None]
    free -= np.maximum(0.0, 2.0 * np.einsum("rc,rc->r", free, normal))[:, None] * normal
    edges = np.array([(edge.start, edge.end) for edge in cavity.edges])
    length = np.array([edge.length for edge in cavity.edges])
    seam = rng.choice(len(edges), size=half, p=length / length.sum())
    along = rng.uniform(size=half)
    ends = cavity.vertices[edges[seam]]
    target = ends[:, 0] + along[:, None] * (ends[:, 1] - ends[:, 0]) + rng.normal(scale=3e-4, size=(half, 3))
    aimed = target - origins[:half]
    free[:half] = aimed / np.linalg.norm(aimed, axis=1)[:, None]
    inward = np.einsum("rc,rc->r", free, normal) < -1e-9
    free[~inward] = -normal[~inward]
    return origins, free


def _ways_out(
    cavity: Cavity, frames: dict[int, FlatFrame], origins: FloatArray, directions: FloatArray
) -> tuple[FloatArray, IntArray]:
    """Distance to where each ray first leaves the oil space, and through which face (-1: none found)."""
    best = np.full(len(origins), np.inf)
    face_of = np.full(len(origins), -1, dtype=np.int64)
    for face in cavity.faces:
        normal = face.plane.normal
        rate = directions @ normal
        away = face.plane.offset - origins @ normal
        with np.errstate(divide="ignore", invalid="ignore"):
            distance = np.where(rate > 1e-12, away / rate, np.inf)
        near = np.flatnonzero((distance > 0.0) & (distance < best))
        frame = frames[face.index]
        flat = frame.to_flat(origins[near] + distance[near, None] * directions[near])
        loops = [frame.to_flat(cavity.vertices[loop]) for loop in face.loops]
        polygon = shapely.Polygon(loops[0], loops[1:])
        shapely.prepare(polygon)
        inside = near[shapely.intersects_xy(polygon, flat[:, 0], flat[:, 1])]
        best[inside] = distance[inside]
        face_of[inside] = face.index
    return best, face_of


def _stopped_outside(
    cavity: Cavity, sheets: Sequence[Sheet], places: FloatArray, directions: FloatArray, by: Metre
) -> BoolArray:
    """Whether rays that left beside their own sheet meet metal before they are in the open.

    Sheets are swollen by ``by``. Metal met on the outer skin, well away from every seam,
    was met from outside.
    """
    meshes = []
    for sheet in sheets:
        mesh = (swollen(sheet, by) if by > 0.0 else sheet.solid()).to_mesh64()
        points = np.asarray(mesh.vert_properties)[:, :3]
        faces = points[np.asarray(mesh.tri_verts, dtype=np.int64)]
        # Met from outside; where sheets are swollen a ray may also start inside one.
        meshes.append(np.concatenate([faces[:, ::-1], faces]) if by > 0.0 else faces[:, ::-1])
    origins = places - (2.0 * by + 1e-7) * directions
    near: Metre = 15.0 * max(sheet.thickness for sheet in sheets)
    distance, whose = _first_metal(sheets, meshes, origins, directions, near, by)
    far = np.flatnonzero(whose < 0)
    distance[far], whose[far] = _first_metal(sheets, meshes, origins[far], directions[far], FAR, by)
    stopped: BoolArray = whose >= 0
    ends = origins + np.where(stopped, distance, 0.0)[:, None] * directions
    for k, sheet in enumerate(sheets):
        mine = np.flatnonzero(whose == k)
        if sheet.face is None or not len(mine):
            continue
        height = (ends[mine] - sheet.frame.origin) @ sheet.frame.normal
        core = sheet.outline.buffer(-2.5 * sheet.thickness)
        shapely.prepare(core)
        flat = sheet.frame.to_flat(ends[mine])
        outside = (height > 0.999 * sheet.thickness) & shapely.intersects_xy(core, flat[:, 0], flat[:, 1])
        stopped[mine[outside]] = False
    still = np.flatnonzero(whose < 0)
    lid, _ = first_hits(origins[still], directions[still], _lid(cavity))
    stopped[still] = np.isfinite(lid)
    return stopped


def _first_metal(
    sheets: Sequence[Sheet],
    meshes: Sequence[FloatArray],
    origins: FloatArray,
    directions: FloatArray,
    reach: Metre,
    by: Metre,
) -> tuple[FloatArray, IntArray]:
    """Distance to the first metal within reach along each ray (inf: none) and whose it is (-1)."""
    best = np.full(len(origins), np.inf)
    whose = np.full(len(origins), -1, dtype=np.int64)
    for k, (sheet, triangles) in enumerate(zip(sheets, meshes, strict=True)):
        height = (origins - sheet.frame.origin) @ sheet.frame.normal
        rate = directions @ sheet.frame.normal
        rate = np.where(np.abs(rate) < 1e-12, 1e-12, rate)
        one, other = (-by - height) / rate, (sheet.thickness + by - height) / rate
        first = np.clip(np.fmin(one, other), 0.0, reach)
        last = np.clip(np.fmax(one, other), 0.0, reach)
        possible = (last > first) & (first < best)
        flat = sheet.frame.to_flat(origins)
        run = np.stack([directions @ sheet.frame.x_axis, directions @ sheet.frame.y_axis], axis=1)
        ends = np.stack([flat + first[:, None] * run, flat + last[:, None] * run])
        low, high = ends.min(axis=0), ends.max(axis=0)
        x0, y0, x1, y1 = sheet.outline.bounds
        possible &= (high[:, 0] >= x0 - by) & (low[:, 0] <= x1 + by)
        possible &= (high[:, 1] >= y0 - by) & (low[:, 1] <= y1 + by)
        chosen = np.flatnonzero(possible)
        for start in range(0, len(chosen), 512):
            part = chosen[start : start + 512]
            distance, hit = first_hits(origins[part], directions[part], triangles)
            nearer = (hit >= 0) & (distance < best[part]) & (distance <= reach)
            best[part[nearer]] = distance[nearer]
            whose[part[nearer]] = k
    return best, whose


def _lid(cavity: Cavity) -> FloatArray:
    """The blanking plate: two big triangles in the rail plane that stop what comes from below."""
    low, high = cavity.vertices.min(axis=0) - 1.0, cavity.vertices.max(axis=0) + 1.0
    a, b = (low[0], low[1], 0.0), (high[0], low[1], 0.0)
    c, d = (high[0], high[1], 0.0), (low[0], high[1], 0.0)
    return np.array([(a, b, c), (a, c, d)])
