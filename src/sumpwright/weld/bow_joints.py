"""How the joints of a flange in segments draw its hole pattern together.

The ring by itself, before any wall stands on it, lying free: at every joint a strip of the
ring shrinks across the joint by what the seam draws. Joints on both long sides shorten the
ring evenly; one alone, or joints that do not face each other, bend it in its plane.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sumpwright.kit.model import SheetKit
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.weld.bow_elements import SheetMesh, areas, local_axes, mean_strain, plane_stress
from sumpwright.weld.bow_mesh import mesh_panels
from sumpwright.weld.bow_pan import PanPanels
from sumpwright.weld.bow_solve import held_still, ready, stiffness

CELLS_ACROSS = 3.0
"""Triangles across the narrowest stretch of the ring, about."""


def hole_shifts(kit: SheetKit, pan: PanPanels, draw: Metre) -> FloatArray:
    """Shift of every rail hole (n, 2) m for one draw at each joint, less sliding and turning as a whole."""
    ring = replace(pan.panels[pan.flange], lines=())
    used = sorted({corner for line in ring.rings for corner in line})
    renamed = {corner: k for k, corner in enumerate(used)}
    ring = replace(ring, rings=tuple(tuple(renamed[c] for c in line) for line in ring.rings))
    joints = [
        (np.asarray(joint.start)[:2], np.asarray(joint.end)[:2])
        for joint in kit.joints
        if joint.kind == "flange joint"
    ]
    shortest = min(float(np.linalg.norm(end - start)) for start, end in joints)
    size = shortest / CELLS_ACROSS
    mesh, _ = mesh_panels(pan.corners[used], (ring,), size)
    load = np.zeros(6 * len(mesh.nodes))
    for start, end in joints:
        load += _shrunk(mesh, start, end, size, draw)
    moved = ready(mesh, stiffness(mesh), held_still(mesh)).moved_by(load[None])[0]
    at = np.asarray(kit.body.pattern.xy)
    return shifts_at(mesh.nodes[:, :2], moved[:, :2], at)


def _shrunk(mesh: SheetMesh, start: FloatArray, end: FloatArray, size: Metre, draw: Metre) -> FloatArray:
    """Forces (6 n,) of a strip along a joint that shortens across it by ``draw`` in all."""
    along = end - start
    length = float(np.linalg.norm(along))
    along = along / length
    across = np.array([-along[1], along[0]])
    axes, flat = local_axes(mesh)
    area = areas(flat)
    middle = mesh.nodes[mesh.triangles].mean(axis=1)[:, :2] - start
    in_strip = (np.abs(middle @ across) < size) & (middle @ along > -size) & (middle @ along < length + size)
    width = float(area[in_strip].sum()) / length  # as the triangles have it
    strain = -draw / width
    load = np.zeros((len(mesh.nodes), 6))
    law = plane_stress(mesh.modulus, mesh.poisson)
    rows = mean_strain(flat)
    for k in np.flatnonzero(in_strip):
        c, s = axes[k, :2, :2] @ across
        own = np.array([c * c, s * s, 2.0 * c * s]) * strain
        forces = area[k] * mesh.thickness[k] * rows[k].T @ law[k] @ own
        for corner in range(3):
            node = mesh.triangles[k, corner]
            load[node, :3] += axes[k, :2].T @ forces[3 * corner : 3 * corner + 2]
            load[node, 3:] += axes[k, 2] * forces[3 * corner + 2]
    return load.ravel()


def shifts_at(nodes: FloatArray, moved: FloatArray, at: FloatArray) -> FloatArray:
    """Shifts (n, 2) at places, less what is sliding and turning of all of them."""
    from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

    inside = LinearNDInterpolator(nodes, moved)(at)
    nearest = NearestNDInterpolator(nodes, moved)(at)
    shift = np.where(np.isnan(inside), nearest, inside)
    return np.asarray(shift - rigid_fit(at, shift))


def rigid_fit(at: FloatArray, shift: FloatArray) -> FloatArray:
    """The part of small shifts (n, 2) that is sliding and turning as a whole."""
    off = at - at.mean(axis=0)
    turn = np.column_stack([-off[:, 1], off[:, 0]])
    spread = float((turn**2).sum())
    angle = float((turn * shift).sum()) / spread if spread > 0.0 else 0.0
    return np.asarray(shift.mean(axis=0) + angle * turn)
