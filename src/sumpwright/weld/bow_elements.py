"""Flat triangles of a folded sheet: stiffness in its plane with turning corners, and in bending.

Each node has three displacements and three rotations, so that panels that meet at any
angle share their nodes. In its plane a triangle bends exactly whatever its shape (the
optimal triangle with drilling freedoms of Felippa); out of its plane it is the discrete
Kirchhoff triangle of Batoz. Both pass the patch test; neither locks.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.geometry.plate_triangles import areas as areas
from sumpwright.geometry.plate_triangles import bending_stiffness
from sumpwright.quantities.units import FloatArray, IntArray

_BETA = (1.0, 2.0, 1.0, 0.0, 1.0, -1.0, -1.0, -1.0, -2.0)
_Q_ORDER = (
    ((1, 2, 3), (4, 5, 6), (7, 8, 9)),
    ((9, 7, 8), (3, 1, 2), (6, 4, 5)),
    ((5, 6, 4), (8, 9, 7), (2, 3, 1)),
)


@dataclass(frozen=True, slots=True, eq=False)
class SheetMesh:
    """A folded sheet as flat triangles."""

    nodes: FloatArray  # (n, 3) m
    triangles: IntArray  # (m, 3)
    panel: IntArray  # (m,) number of the panel that a triangle belongs to
    thickness: FloatArray  # (m,) m
    modulus: FloatArray  # (m,) Pa
    poisson: FloatArray  # (m,)


def local_axes(mesh: SheetMesh) -> tuple[FloatArray, FloatArray]:
    """Axes of each triangle (m, 3, 3), rows along side 1-2, across, out; and its corners there (m, 3, 2)."""
    corners = mesh.nodes[mesh.triangles]
    along = corners[:, 1] - corners[:, 0]
    out = np.cross(along, corners[:, 2] - corners[:, 0])
    along = along / np.linalg.norm(along, axis=1)[:, None]
    out = out / np.linalg.norm(out, axis=1)[:, None]
    axes = np.stack([along, np.cross(out, along), out], axis=1)
    flat = np.einsum("mij,mkj->mki", axes[:, :2], corners - corners[:, :1])
    return axes, flat


def plane_stress(modulus: FloatArray, poisson: FloatArray) -> FloatArray:
    """Hooke's law of a sheet in its plane (m, 3, 3), for unit thickness."""
    law = np.zeros((len(modulus), 3, 3))
    factor = modulus / (1.0 - poisson**2)
    law[:, 0, 0] = law[:, 1, 1] = factor
    law[:, 0, 1] = law[:, 1, 0] = factor * poisson
    law[:, 2, 2] = 0.5 * factor * (1.0 - poisson)
    return law


def membrane_stiffness(
    flat: FloatArray, thickness: FloatArray, law: FloatArray, poisson: FloatArray
) -> FloatArray:
    """Stiffness in the plane (m, 9, 9), freedoms u, v and turn at each corner.

    Basic part (mean strain, alpha = 3/2) plus 3/4 beta0 of the higher part, with the nine
    numbers that make a strip bend exactly in its plane.
    """
    lump, area = _lumping(flat), areas(flat)
    basic = np.einsum("mia,mab,mjb->mij", lump, law, lump) * (thickness / area)[:, None, None]
    beta0 = np.maximum(0.5 * (1.0 - 4.0 * poisson**2), 0.01)
    quadrature = _higher(flat, law)
    turn = _turning(flat)
    scale = 0.75 * beta0 * thickness
    higher = np.einsum("mai,mab,mbj->mij", turn, quadrature, turn) * scale[:, None, None]
    return np.asarray(basic + higher)


def mean_strain(flat: FloatArray) -> FloatArray:
    """Strain-displacement matrix (m, 3, 9) of the mean strain in each triangle."""
    return np.asarray(np.swapaxes(_lumping(flat), 1, 2) / areas(flat)[:, None, None])


def _lumping(flat: FloatArray) -> FloatArray:
    """Felippa's lumping matrix for unit thickness, alpha = 3/2."""
    alpha = 1.5
    x, y = flat[:, :, 0], flat[:, :, 1]
    lump = np.zeros((len(flat), 9, 3))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        y_jk, x_kj = y[:, j] - y[:, k], x[:, k] - x[:, j]
        y_ik, y_ji = y[:, i] - y[:, k], y[:, j] - y[:, i]
        x_ki, x_ij = x[:, k] - x[:, i], x[:, i] - x[:, j]
        lump[:, 3 * i, 0] = lump[:, 3 * i + 1, 2] = y_jk
        lump[:, 3 * i, 2] = lump[:, 3 * i + 1, 1] = x_kj
        lump[:, 3 * i + 2, 0] = alpha * y_jk * (y_ik - y_ji) / 6.0
        lump[:, 3 * i + 2, 1] = alpha * x_kj * (x_ki - x_ij) / 6.0
        lump[:, 3 * i + 2, 2] = alpha * (x_ki * y_ik - x_ij * y_ji) / 3.0
    return 0.5 * lump


def _turning(flat: FloatArray) -> FloatArray:
    """Corner turns less the triangle's own turn, from the nine freedoms (m, 3, 9)."""
    x, y = flat[:, :, 0], flat[:, :, 1]
    area4 = 4.0 * areas(flat)
    row = np.zeros((len(flat), 9))
    for i in range(3):
        j, k = (i + 1) % 3, (i + 2) % 3
        row[:, 3 * i] = x[:, k] - x[:, j]
        row[:, 3 * i + 1] = y[:, k] - y[:, j]
    turn = np.repeat((row / area4[:, None])[:, None, :], 3, axis=1)
    for i in range(3):
        turn[:, i, 3 * i + 2] += 1.0
    return turn


def _higher(flat: FloatArray, law: FloatArray) -> FloatArray:
    """Stiffness (m, 3, 3) against the corner turns, for unit thickness."""
    x, y, area = flat[:, :, 0], flat[:, :, 1], areas(flat)
    ends = ((1, 0), (2, 1), (0, 2))  # sides 21, 32, 13
    length2 = np.stack([(x[:, a] - x[:, b]) ** 2 + (y[:, a] - y[:, b]) ** 2 for a, b in ends], axis=1)
    q = np.zeros((3, len(flat), 3, 3))
    for n, order in enumerate(_Q_ORDER):
        for row in range(3):
            for column in range(3):
                q[n, :, row, column] = _BETA[order[row][column] - 1] / length2[:, row]
    q *= (2.0 * area / 3.0)[None, :, None, None]

    def d(values: FloatArray, i: int, j: int) -> FloatArray:
        return np.asarray(values[:, i - 1] - values[:, j - 1])

    from_sides = np.zeros((len(flat), 3, 3))
    pairs = (((2, 3), (1, 3)), ((3, 1), (2, 1)), ((1, 2), (3, 2)))
    for column, ((a, b), (c, e)) in enumerate(pairs):
        l2 = length2[:, column]
        from_sides[:, 0, column] = d(y, a, b) * d(y, c, e) * l2
        from_sides[:, 1, column] = d(x, a, b) * d(x, c, e) * l2
        from_sides[:, 2, column] = (d(y, a, b) * d(x, e, c) + d(x, b, a) * d(y, c, e)) * l2
    from_sides /= (4.0 * area**2)[:, None, None]
    natural = np.einsum("mai,mab,mbj->mij", from_sides, law, from_sides)
    total = np.zeros((len(flat), 3, 3))
    for one, two in ((0, 1), (1, 2), (2, 0)):
        mean = 0.5 * (q[one] + q[two])
        total += np.einsum("mai,mab,mbj->mij", mean, natural, mean)
    return np.asarray(total * area[:, None, None])


def element_stiffness(mesh: SheetMesh) -> FloatArray:
    """Stiffness of every triangle in common axes (m, 18, 18): three shifts, then three turns, a corner."""
    axes, flat = local_axes(mesh)
    law = plane_stress(mesh.modulus, mesh.poisson)
    local = np.zeros((len(flat), 18, 18))
    in_plane = np.array([0, 1, 5, 6, 7, 11, 12, 13, 17])
    out_of_plane = np.array([2, 3, 4, 8, 9, 10, 14, 15, 16])
    local[:, in_plane[:, None], in_plane] = membrane_stiffness(flat, mesh.thickness, law, mesh.poisson)
    stiff = law * (mesh.thickness**3 / 12.0)[:, None, None]
    local[:, out_of_plane[:, None], out_of_plane] = bending_stiffness(flat, stiff)
    turned = np.zeros((len(flat), 18, 18))
    for block in range(6):
        part = slice(3 * block, 3 * block + 3)
        turned[:, part, part] = axes
    return np.asarray(np.swapaxes(turned, 1, 2) @ local @ turned)


def panel_stress(mesh: SheetMesh, shifts: FloatArray) -> FloatArray:
    """Mean stress in the plane of every triangle (m, 3) Pa, in its own axes; shifts are (n, 6)."""
    axes, flat = local_axes(mesh)
    at = shifts[mesh.triangles]
    moved = np.einsum("mij,mkj->mki", axes, at[:, :, :3])
    turned = np.einsum("mij,mkj->mki", axes, at[:, :, 3:])
    freedoms = np.stack([moved[:, :, 0], moved[:, :, 1], turned[:, :, 2]], axis=2).reshape(-1, 9)
    strain = np.einsum("maf,mf->ma", mean_strain(flat), freedoms)
    return np.asarray(np.einsum("mab,mb->ma", plane_stress(mesh.modulus, mesh.poisson), strain))


def greatest_compression(stress: FloatArray) -> FloatArray:
    """The most compressive principal stress (m,) of plane stresses (m, 3), positive in compression [Pa]."""
    mean = 0.5 * (stress[:, 0] + stress[:, 1])
    half = np.hypot(0.5 * (stress[:, 0] - stress[:, 1]), stress[:, 2])
    return np.asarray(half - mean)


def poisson_of(family: str) -> float:
    """Poisson's ratio by family of metal: from memory."""
    return {"aluminium": 0.33, "iron": 0.26}.get(family, 0.29)
