"""What a face is called: its lump, the way it looks, and what it is."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body.model import FaceRole, Lump
from sumpwright.body.snapping import SnappedLump
from sumpwright.quantities.units import FloatArray, IntArray, SquareMetre

ROLE_ORDER = {"rail": 0, "wall": 1, "roof": 2, "floor": 3}
_SECTORS = ("front", "front left", "left", "rear left", "rear", "rear right", "right", "front right")


def direction_word(normal: FloatArray) -> str:
    """The way a wall looks, in the engine's own directions."""
    return _SECTORS[round(math.atan2(float(normal[1]), float(normal[0])) / (math.pi / 4.0)) % 8]


def face_role(normal: FloatArray, is_rail: bool) -> FaceRole:
    """Rail, wall, floor or roof, by how the face lies; 45 degrees parts walls from the others."""
    if is_rail:
        return "rail"
    if normal[2] < -math.sqrt(0.5):
        return "floor"
    if normal[2] > math.sqrt(0.5):
        return "roof"
    return "wall"


def lump_shares(lump: IntArray, face: IntArray, areas: FloatArray, count: int) -> list[dict[int, float]]:
    """Area of each face by lump, as the join has it; the rail prism counts for none."""
    shares: list[dict[int, float]] = [{} for _ in range(count)]
    for f, origin, area in zip(face.tolist(), lump.tolist(), areas.tolist(), strict=True):
        if origin >= 0:
            shares[f][origin] = shares[f].get(origin, 0.0) + area
    return shares


def sides_in_plane(
    snapped: tuple[SnappedLump, ...], plane: int, normal: FloatArray, axes: FloatArray
) -> list[tuple[int, FloatArray]]:
    """Lumps with a side in a face's plane that looks the same way, and that side (k, 2) on its axes."""
    sides = []
    for lump in snapped:
        outwards = 1.0 if lump.solid.lump.adds else -1.0
        for side in np.flatnonzero(lump.plane_of_loop == plane).tolist():
            if outwards * float(lump.solid.normals[side] @ normal) > 0.0:
                points = lump.solid.points[list(lump.solid.loops[side])]
                sides.append((lump.solid.number, points @ axes))
    return sides


def lump_of_face(
    share: dict[int, float], sides: list[tuple[int, FloatArray]], outline: list[FloatArray]
) -> int:
    """The lump that covers most of a face, the earlier where two cover the same; -1 for none.

    Where lumps lie flush, the join names either of them by chance; so all lumps with a side
    in that plane are laid over the face and compared.
    """
    if len({lump for lump, _ in sides} | set(share)) > 1:
        share = dict(share)
        for lump, side in sides:
            share[lump] = max(share.get(lump, 0.0), _common_area(side, outline))
    return max(sorted(share), key=lambda lump: round(share[lump], 9)) if share else -1


def _common_area(side: FloatArray, outline: list[FloatArray]) -> SquareMetre:
    import manifold3d

    # Millimetres inside, because the plane-shape library rounds to fixed decimals.
    first = manifold3d.CrossSection([1e3 * side], manifold3d.FillRule.NonZero)
    second = manifold3d.CrossSection([1e3 * loop for loop in outline], manifold3d.FillRule.NonZero)
    return 1e-6 * float((first ^ second).area())


def face_names(
    order: list[int], roles: list[FaceRole], normals: FloatArray, lump_of: list[int], lumps: tuple[Lump, ...]
) -> dict[int, str]:
    """Unique shop names, numbered where two would be the same."""
    wanted: dict[str, list[int]] = {}
    for f in order:
        lump = lumps[lump_of[f]].name if lump_of[f] >= 0 else ""
        if roles[f] == "rail":
            name = "rail opening"
        elif roles[f] == "wall":
            name = f"{lump} {direction_word(normals[f])} wall".strip()
        else:
            name = f"{lump} {roles[f]}".strip()
        wanted.setdefault(name, []).append(f)
    names: dict[int, str] = {}
    for name, faces in wanted.items():
        for k, f in enumerate(faces, start=1):
            names[f] = name if len(faces) == 1 else f"{name} {k}"
    return names
