"""A folded sheet put together from its triangles, pulled by its seams, free or held.

The stiffness is factored once; every seam's pull is one more right side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray
from sumpwright.weld.bow_elements import SheetMesh, element_stiffness


@dataclass(frozen=True, slots=True, eq=False)
class SeamLine:
    """One seam along sides of triangles, and where its pull acts beside the sheet's middle."""

    name: str
    nodes: IntArray  # (k,) in order along the seam
    beside: FloatArray  # (3,) m, from the middle line to the weld metal


def stiffness(mesh: SheetMesh) -> Any:
    """Stiffness of the whole sheet as a sparse matrix (6 n, 6 n)."""
    from scipy import sparse

    elements = element_stiffness(mesh)
    freedoms = (6 * mesh.triangles[:, :, None] + np.arange(6)).reshape(len(mesh.triangles), 18)
    rows = np.repeat(freedoms, 18, axis=1).ravel()
    columns = np.tile(freedoms, (1, 18)).ravel()
    size = 6 * len(mesh.nodes)
    return sparse.csc_matrix((elements.ravel(), (rows, columns)), shape=(size, size))


def seam_pull(mesh: SheetMesh, seam: SeamLine) -> FloatArray:
    """Forces and moments (6 n,) of a seam that pulls with one newton along itself.

    Every piece between two nodes pulls them together, beside the sheet's middle, so that
    only ends and turns of a seam load the sheet.
    """
    load = np.zeros((len(mesh.nodes), 6))
    for i, j in zip(seam.nodes[:-1], seam.nodes[1:], strict=True):
        along = mesh.nodes[j] - mesh.nodes[i]
        along = along / np.linalg.norm(along)
        moment = np.cross(seam.beside, along)
        load[i, :3] += along
        load[i, 3:] += moment
        load[j, :3] -= along
        load[j, 3:] -= moment
    return load.ravel()


def held_still(mesh: SheetMesh) -> IntArray:
    """Six freedoms that hold a free sheet without forcing it: three corners of a wide triangle."""
    nodes = mesh.nodes
    first = int(np.argmin(nodes @ np.array([1.0, 0.3, 0.1])))
    second = int(np.argmax(np.linalg.norm(nodes - nodes[first], axis=1)))
    axis = nodes[second] - nodes[first]
    axis = axis / np.linalg.norm(axis)
    off = nodes - nodes[first]
    third = int(np.argmax(np.linalg.norm(off - np.outer(off @ axis, axis), axis=1)))
    # The freedoms of the three points are chosen so that the six rigid moves are determined best.
    rigid = rigid_moves(nodes)
    candidates = [6 * node + k for node in (first, second, third) for k in range(3)]
    chosen: list[int] = []
    scale = np.array([1.0, 1.0, 1.0, *(3 * [1.0 / max(float(np.ptp(nodes)), 1e-6)])])
    for _ in range(6):
        best = max(
            (c for c in candidates if c not in chosen),
            key=lambda c: (round(_volume(rigid[[*chosen, c]] * scale), 12), -c),
        )
        chosen.append(best)
    return np.array(sorted(chosen))


def rigid_moves(nodes: FloatArray) -> FloatArray:
    """The six rigid moves of a sheet as columns (6 n, 6), turns about the middle of its nodes."""
    centre = nodes.mean(axis=0)
    moves = np.zeros((len(nodes), 6, 6))
    moves[:, np.arange(3), np.arange(3)] = 1.0
    for k in range(3):
        axis = np.eye(3)[k]
        moves[:, :3, 3 + k] = np.cross(axis, nodes - centre)
        moves[:, 3 + k, 3 + k] = 1.0
    return moves.reshape(-1, 6)


def _volume(rows: FloatArray) -> float:
    """How independent some rows are."""
    return float(np.prod(np.linalg.svd(rows, compute_uv=False)))


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A sheet ready to be loaded: what is free, and its factored stiffness."""

    mesh: SheetMesh
    free: IntArray  # freedoms that may move
    factor: Any

    def moved_by(self, loads: FloatArray) -> FloatArray:
        """Shifts and turns (k, n, 6) under loads (k, 6 n)."""
        moved = np.zeros_like(loads)
        moved[:, self.free] = self.factor.solve(np.ascontiguousarray(loads[:, self.free].T)).T
        return moved.reshape(len(loads), len(self.mesh.nodes), 6)


def ready(mesh: SheetMesh, whole: Any, held: IntArray) -> Sheet:
    """The sheet with some freedoms held."""
    from scipy.sparse.linalg import splu

    free = np.setdiff1d(np.arange(6 * len(mesh.nodes)), held)
    inside = whole[free][:, free].tocsc()
    factor = splu(inside, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    return Sheet(mesh, free, factor)
