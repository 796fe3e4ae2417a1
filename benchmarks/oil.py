"""Level at one attitude beside a general mesh library in the same run, and the cover map.

Run: python -m benchmarks.oil
"""

from __future__ import annotations

import time
from collections.abc import Callable

import manifold3d as m3
import numpy as np
import trimesh
from scipy.optimize import brentq

from benchmarks import Row
from sumpwright.body import Cavity, Face, PanBody, Pickup
from sumpwright.geometry import Plane, Surface
from sumpwright.motion.cover import OpenTop, cover_map
from sumpwright.motion.loads import (
    HEADINGS,
    LEANS,
    NOSES,
    RINGS,
    acceleration_loads,
    envelope_of,
    pull_of_accelerations,
    pull_of_slopes,
    slope_loads,
)
from sumpwright.motion.model import Loads
from sumpwright.oil.level import LevelCurve, levels
from sumpwright.oil.level_compiled import levels_compiled
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import frozen_array, frozen_indices


def hundred_faces() -> Surface:
    """A pan with 100 plane faces: 98 walls drawn in towards a flat floor.

    One outline without holes at every level, so that the reference can cap its slices.
    """
    sides = 98
    angle = np.arange(sides) * 2.0 * np.pi / sides
    ring = np.stack([0.22 * np.cos(angle), 0.10 * np.sin(angle)], axis=1)
    upper = np.column_stack([ring, np.zeros(sides)])
    lower = np.column_stack([0.8 * ring, np.full(sides, -0.14)])
    mesh = m3.Manifold.hull_points(np.vstack([upper, lower])).to_mesh64()
    return Surface(frozen_array(mesh.vert_properties[:, :3]), frozen_indices(mesh.tri_verts))


def face_count(surface: Surface) -> int:
    """Different planes of the surface."""
    a, b, c = (surface.vertices[surface.triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    offset = np.einsum("mk,mk->m", normal, a)
    return len(np.unique(np.round(np.column_stack([normal, offset]), 6), axis=0))


def best_of(work: Callable[[], object], repeats: int, rounds: int = 5) -> float:
    """Seconds for one call, the best of several rounds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        for _ in range(repeats):
            work()
        best = min(best, (time.perf_counter() - start) / repeats)
    return best


def run() -> list[Row]:
    """All rows; the reference solves the same level to the same answer."""
    surface = hundred_faces()
    faces = face_count(surface)
    up = np.array([0.26, -0.12, 0.95])
    up /= np.linalg.norm(up)
    volume = 0.4 * LevelCurve.prepare(surface, up).whole
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    heights = surface.vertices @ up

    def slice_cap_root_find() -> float:
        def missing(level: float) -> float:
            below = trimesh.intersections.slice_mesh_plane(mesh, -up, up * level, cap=True)
            return float(below.volume) - volume

        low, high = float(np.min(heights)), float(np.max(heights))
        return float(brentq(missing, low + 1e-6, high - 1e-6, xtol=1e-9))

    ups = np.ascontiguousarray(up[None, :])
    volumes = np.array([volume])

    def one_compiled() -> float:
        return float(levels_compiled(surface.vertices, surface.triangles, ups, volumes)[0])

    many = np.tile(up, (2000, 1))
    curve = LevelCurve.prepare(surface, up)
    theirs = slice_cap_root_find()
    for ours in (one_compiled(), curve.level_for(volume), float(levels(surface, many, volume)[0])):
        if abs(ours - theirs) > 1e-7:
            raise SystemExit(f"levels differ: {ours} against {theirs}")
    reference = best_of(slice_cap_root_find, 3)
    rows = []
    for work, seconds in (
        ("one call, compiled", best_of(one_compiled, 2000)),
        ("in a batch of 2,000", best_of(lambda: levels(surface, many, volume), 1) / 2000),
        ("curve prepared for the attitude, then asked", best_of(lambda: curve.level_for(volume), 2000)),
        (
            "curve prepared and asked once, no compiler",
            best_of(lambda: LevelCurve.prepare(surface, up).level_for(volume), 50),
        ),
    ):
        rows.append(
            Row(
                f"level, {faces} faces: {work}",
                seconds,
                reference,
                reference / seconds,
                "slice, cap and root find with a general mesh library",
                "under 10 us, 300 times faster" if "one call" in work else "",
            )
        )
    for name, body in (("tray and sump, 10 faces", tray_and_sump()), (f"{faces} faces", surface)):
        rows.append(
            Row(
                f"cover map, {RINGS * HEADINGS + LEANS * NOSES} loads, {name}",
                best_of(map_of(body), 1),
                target="under 0.1 s",
            )
        )
    return rows


def tray_and_sump() -> Surface:
    """A shallow tray with a sump at one end: at many loads the oil lies in two pools."""
    solid = m3.Manifold.cube((0.45, 0.2, 0.06)).translate((0.0, 0.0, -0.06))
    solid = solid + m3.Manifold.cube((0.2, 0.2, 0.14)).translate((0.0, 0.0, -0.14))
    mesh = solid.to_mesh64()
    return Surface(frozen_array(mesh.vert_properties[:, :3]), frozen_indices(mesh.tri_verts))


def map_of(surface: Surface) -> Callable[[], object]:
    """Both maps of one pan, ready to be timed; the first call compiles."""
    on_rail = np.all(np.abs(surface.vertices[surface.triangles, 2]) < 1e-12, axis=1)
    up = frozen_array([0.0, 0.0, 1.0])
    opening = tuple(frozen_indices(triangle) for triangle in surface.triangles[on_rail])
    cavity = Cavity(
        vertices=surface.vertices,
        faces=(
            Face(0, "opening", "rail", "pan", Plane(up, 0.0), opening, 0.0),
            Face(1, "sheet", "wall", "pan", Plane(up, 0.0), (), 0.0),
        ),
        edges=(),
        triangles=surface.triangles,
        face_of_triangle=frozen_indices(np.where(on_rail, 0, 1)),
        lump_volumes=(),
        volume=0.0,
    )
    body = PanBody(
        inputs=None,  # type: ignore[arg-type]
        pattern=None,  # type: ignore[arg-type]
        cavity=cavity,
        trouble=(),
        gate=(),
        flange_outside=None,
    )
    pan = OpenTop.of(body)
    pickup = Pickup(frozen_array([0.05, 0.05, -0.12]), 0.03)
    asked = envelope_of(Loads("slicks"))
    placement = EnginePlacement()
    forward, left = acceleration_loads(asked)
    nose, lean = slope_loads(asked)

    def both() -> object:
        moved = pull_of_accelerations(forward, left, placement)
        sloped = pull_of_slopes(nose, lean, placement)
        return (
            cover_map("accelerations", (forward, left), (RINGS, HEADINGS), moved, pan, pickup, up, 2.5e-3),
            cover_map("slopes", (nose, lean), (LEANS, NOSES), sloped, pan, pickup, up, 2.5e-3),
        )

    both()
    return both


if __name__ == "__main__":
    for row in run():
        theirs = "" if row.reference is None else f"{row.reference * 1e6:11.1f} us {row.ratio:8.0f} x"
        print(f"{row.work:75s} {row.ours * 1e6:9.2f} us {theirs}")
