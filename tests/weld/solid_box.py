"""The same open box as solid bricks: another element, another library, no thought of plates.

Bricks of 20 nodes with quadratic sides; the sheet is one brick thick.
"""

from __future__ import annotations

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, ElementHexS2, ElementVector, LinearForm, MeshHex, asm, condense
from skfem.models.elasticity import lame_parameters, linear_elasticity

from tests.weld.sheets_by_hand import MODULUS, POISSON


def box_bow(length, width, height, sheet, flange, rim, pull, seams, inner=None, cells=(8, 4, 2)):  # fmt: skip
    """Places (n, 3) and lifts (n,) of the flange's upper face when seams of the floor pull.

    ``seams`` names sides of the floor, "right" or "left": the column of bricks where floor and
    wall meet pulls along x with ``pull`` newtons. ``inner`` is the y of an inner wall along x.
    """
    x = np.array([-rim, -sheet, *np.linspace(0.0, length, cells[0] + 1), length + sheet, length + rim])
    y = np.linspace(0.0, width, cells[1] + 1)
    if inner is not None:
        y = np.sort([*y[np.abs(y - inner) > 4.0 * sheet], inner - 0.5 * sheet, inner + 0.5 * sheet])
    y = np.array([-rim, -sheet, *y, width + sheet, width + rim])
    z = np.array([-height - sheet, *np.linspace(-height, -flange, cells[2] + 1), 0.0])
    mesh = MeshHex.init_tensor(x, y, z)
    mx, my, mz = mesh.p[:, mesh.t].mean(axis=1)
    in_x, in_y = (mx > 0) & (mx < length), (my > 0) & (my < width)
    near_x, near_y = (mx > -sheet) & (mx < length + sheet), (my > -sheet) & (my < width + sheet)
    is_flange = (mz > -flange) & ~(in_x & in_y)
    is_floor = (mz < -height) & near_x & near_y
    is_wall = (mz > -height) & (mz < -flange) & near_x & near_y & ~(in_x & in_y)
    is_inner = np.zeros(len(mx), dtype=bool)
    if inner is not None:
        is_inner = (np.abs(my - inner) < 0.5 * sheet) & (mz > -height) & (mz < -flange) & in_x
    mesh = mesh.restrict(np.flatnonzero(is_flange | is_floor | is_wall | is_inner))
    basis = Basis(mesh, ElementVector(ElementHexS2()), intorder=3)
    stiff = asm(linear_elasticity(*lame_parameters(MODULUS, POISSON)), basis)

    mx, my, mz = mesh.p[:, mesh.t].mean(axis=1)
    pulled = np.zeros(mesh.nelements)
    for side in seams:
        beside = (my < 0) if side == "right" else (my > width)
        column = beside & (my > -sheet) & (my < width + sheet) & (mz < -height)
        pulled[column] = pull / sheet**2

    @LinearForm
    def tendon(v, w):
        # A pull along x that is there before anything moves shortens what it is in.
        return -w["stress"] * v.grad[0, 0]

    load = asm(tendon, basis, stress=np.repeat(pulled[:, None], basis.X.shape[-1], axis=1))
    p = basis.doflocs
    corner = [
        np.array([-rim, -rim, 0.0]),
        np.array([length + rim, -rim, 0.0]),
        np.array([-rim, width + rim, 0.0]),
    ]
    held = []
    for place, components in zip(corner, ((0, 1, 2), (1, 2), (2,)), strict=True):
        at = np.flatnonzero(np.linalg.norm(p - place[:, None], axis=0) < 1e-9)
        held += [at[k] for k in components]
    inside, right, moved, free = condense(stiff, load, D=np.array(held))
    moved[free] = splu(inside.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
                       options={"SymmetricMode": True}).solve(right)  # fmt: skip
    top = np.flatnonzero(np.abs(p[2]) < 1e-9)
    lifts = top[2::3]  # the three shifts of a place stand side by side
    return p[:, lifts].T, moved[lifts]
