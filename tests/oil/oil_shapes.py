"""Closed shapes for the oil tests: simple ones with closed forms, and random ones."""

from __future__ import annotations

import manifold3d as m3
import numpy as np

from sumpwright.body import BodyInputs, Cavity, DipstickTube, Face, FlangeOutline, Lump, PanBody, Pickup
from sumpwright.geometry import Plane, Surface
from sumpwright.quantities.units import FloatArray, frozen_array, frozen_indices

LEVEL = np.array([0.0, 0.0, 1.0])


def surface_of(solid: m3.Manifold) -> Surface:
    mesh = solid.to_mesh64()
    return Surface(frozen_array(mesh.vert_properties[:, :3]), frozen_indices(mesh.tri_verts))


def box(length: float, width: float, depth: float) -> m3.Manifold:
    """Corner at the origin, top in z = 0."""
    return m3.Manifold.cube((length, width, depth)).translate((0.0, 0.0, -depth))


def random_solid(rng: np.random.Generator) -> m3.Manifold:
    """A lump of hulls and turned boxes, added and cut, of very different proportions."""
    solid = m3.Manifold.hull_points(
        rng.normal(size=(int(rng.integers(5, 40)), 3)) * rng.uniform(0.02, 1.0, 3)
    )
    for _ in range(3):
        for sign in (1, -1):
            cube = (
                m3.Manifold.cube(rng.uniform(0.1, 0.8, 3))
                .rotate(rng.uniform(0.0, 360.0, 3))
                .translate(rng.uniform(-0.5, 0.5, 3))
            )
            solid = solid + cube if sign > 0 else solid - cube
    return solid


def direction(rng: np.random.Generator) -> FloatArray:
    up = rng.normal(size=3)
    return up / np.linalg.norm(up)


def cavity_of(solid: m3.Manifold) -> Cavity:
    """A cavity from a solid whose top lies in z = 0: faces are the triangles themselves."""
    surface = surface_of(solid)
    faces = []
    for index, triangle in enumerate(surface.triangles):
        a, b, c = surface.vertices[triangle]
        normal = np.cross(b - a, c - a)
        area = 0.5 * float(np.linalg.norm(normal))
        normal = normal / np.linalg.norm(normal)
        on_rail = bool(np.all(np.abs(surface.vertices[triangle, 2]) < 1e-12))
        role = "rail" if on_rail else ("floor" if normal[2] < -0.7 else "wall")
        faces.append(
            Face(
                index=index,
                name=f"face {index}",
                role=role,  # type: ignore[arg-type]
                lump="pan",
                plane=Plane(frozen_array(normal), float(normal @ a)),
                loops=(frozen_indices(triangle),),
                area=area,
            )
        )
    return Cavity(
        vertices=surface.vertices,
        faces=tuple(faces),
        edges=(),
        triangles=surface.triangles,
        face_of_triangle=frozen_indices(np.arange(len(surface.triangles))),
        lump_volumes=(("pan", solid.volume()),),
        volume=solid.volume(),
    )


def body_of(
    solid: m3.Manifold,
    dipstick: DipstickTube | None = None,
    pickup: Pickup | None = None,
    cavity: Cavity | None = None,
    lumps: tuple[Lump, ...] = (),
    drain: tuple[float, float, float] | None = None,
) -> PanBody:
    """A body around a ready-made cavity; the hole pattern plays no part here."""
    inputs = BodyInputs(
        lumps=lumps,
        sheet=3e-3,
        flange_thickness=10e-3,
        flange=FlangeOutline(outside=11e-3, land=5e-3),
        up=frozen_array(LEVEL),
        dipstick=dipstick,
        pickup=pickup,
        drain=None if drain is None else frozen_array(drain),
    )
    return PanBody(
        inputs=inputs,
        pattern=None,  # type: ignore[arg-type]
        cavity=cavity_of(solid) if cavity is None else cavity,
        trouble=(),
        gate=(),
        flange_outside=None,
    )


def stick(
    stop: tuple[float, float, float], towards: tuple[float, float, float], length: float
) -> DipstickTube:
    axis = np.array(towards) - np.array(stop)
    return DipstickTube(frozen_array(stop), frozen_array(axis / np.linalg.norm(axis)), length)


def sump_pan() -> m3.Manifold:
    """A shallow tray 450 x 200 x 60 with a sump 200 x 200 below it, floor at 140."""
    return box(0.45, 0.2, 0.06) + box(0.2, 0.2, 0.14)
