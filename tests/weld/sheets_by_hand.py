"""Sheets made by hand for the movement's tests: strips, plates, and open boxes with a flange."""

from __future__ import annotations

import numpy as np

from sumpwright.weld.bow_elements import SheetMesh
from sumpwright.weld.bow_mesh import Panel, mesh_panels
from sumpwright.weld.bow_solve import SeamLine

MODULUS, POISSON = 70e9, 0.33


def flat_sheet(length, width, along, across, thickness=0.003, modulus=MODULUS, poisson=POISSON, uneven=0.0):
    """A rectangle in the x-y plane, its inner nodes shifted by a share of a cell."""
    chance = np.random.default_rng(7)
    x, y = np.linspace(0.0, length, along + 1), np.linspace(0.0, width, across + 1)
    nodes = np.array([[(a, b, 0.0) for b in y] for a in x])
    if along > 1 and across > 1:
        shift = uneven * min(length / along, width / across)
        nodes[1:-1, 1:-1, :2] += shift * chance.uniform(-1.0, 1.0, (along - 1, across - 1, 2))
    triangles = []
    for i in range(along):
        for j in range(across):
            a, b = i * (across + 1) + j, (i + 1) * (across + 1) + j
            c, d = b + 1, a + 1
            triangles += [(a, b, c), (a, c, d)] if (i + j) % 2 else [(a, b, d), (b, c, d)]
    one = np.ones(len(triangles))
    return SheetMesh(
        nodes.reshape(-1, 3),
        np.array(triangles),
        np.zeros(len(triangles), dtype=np.int64),
        thickness * one,
        modulus * one,
        poisson * one,
    )


def open_box(length, width, height, sheet, flange, rim, inner=None):
    """Corners and panels of an open box with a flange, middle planes; perhaps an inner wall along it.

    Sizes are those of the oil side, the flange's upper face is at z = 0. Corners 0 to 3 go
    round the floor, 4 to 7 round the flange's inner line, 8 to 11 round its outer edge. The
    inner wall stands at a y and ends at the flange's lower face.
    """
    h = 0.5 * sheet
    rings = [
        (-h, -h, length + h, width + h, -height - h),
        (-h, -h, length + h, width + h, -0.5 * flange),
        (-rim, -rim, length + rim, width + rim, -0.5 * flange),
    ]
    corners = [(x, y, z) for x0, y0, x1, y1, z in rings for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]

    def panel(name, outer, normal, thickness, lines=(), holes=()):
        return Panel(name, (outer, *holes), tuple(lines), normal, thickness, MODULUS, POISSON)

    stands, more = {"front": (), "rear": (), "floor": ()}, ()
    if inner is not None:
        corners += [(x, inner, z) for x, z in (
            (-h, -height - h), (length + h, -height - h), (length + h, -flange), (-h, -flange)
        )]  # fmt: skip
        more = (panel("inner wall", (12, 13, 14, 15), (0.0, -1.0, 0.0), sheet),)
        stands = {"floor": ((12, 13),), "front": ((13, 14),), "rear": ((12, 15),)}
    panels = (
        panel("floor", (0, 3, 2, 1), (0.0, 0.0, -1.0), sheet, stands["floor"]),
        panel("right wall", (0, 1, 5, 4), (0.0, -1.0, 0.0), sheet),
        panel("front wall", (1, 2, 6, 5), (1.0, 0.0, 0.0), sheet, stands["front"]),
        panel("left wall", (2, 3, 7, 6), (0.0, 1.0, 0.0), sheet),
        panel("rear wall", (3, 0, 4, 7), (-1.0, 0.0, 0.0), sheet, stands["rear"]),
        panel("flange", (8, 9, 10, 11), (0.0, 0.0, 1.0), flange, (), ((7, 6, 5, 4),)),
        *more,
    )
    return np.array(corners), panels


def meshed(corners, panels, size):
    """Triangles of the panels and a maker of seams from corner to corner."""
    mesh, chains = mesh_panels(corners, panels, size)

    def seam(start, end, beside=(0.0, 0.0, 0.0)):
        return SeamLine(f"{start}-{end}", chains.along(start, end), np.array(beside))

    return mesh, seam
