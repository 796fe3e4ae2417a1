"""The flange in one piece: a ring with its holes, drawn as seen from below.

Its outer edge is the body's flange outline. Its inner edge stands upright along the
cavity's opening; where a wall flares outward going down, the edge moves out to the widest
place the cavity reaches within the flange's thickness, so that no flange metal stands in
the oil.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.model import Cavity
from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.kit.metal import chords, mirrored, reversed_outline
from sumpwright.kit.model import FlangeHole, FlatPart, KitInputs
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

if TYPE_CHECKING:
    from shapely import Polygon

FLANGE_NAME = "flange"

_GRID: Metre = 1e-9
"""Corners closer than a nanometre are one, when shadows of faces are joined."""


def flange_frame(thickness: Metre) -> FlatFrame:
    """Where the flange's drawn side lies: its lower face, front to the right, engine's left down."""
    return FlatFrame(
        origin=frozen_array([0.0, 0.0, -thickness]),
        x_axis=frozen_array([1.0, 0.0, 0.0]),
        y_axis=frozen_array([0.0, -1.0, 0.0]),
    )


# One run asks for the opening of the same cavity eight times; a shape being changed has few at once.
@lru_cache(maxsize=4)
def flange_opening(cavity: Cavity, thickness: Metre) -> tuple[Outline, ...]:
    """What the flange leaves open, seen from above, anticlockwise, widest opening first.

    The shadow of all of the cavity that lies within the flange's thickness. Islands of
    metal inside an opening are not part of the ring and are left out.
    """
    openings: list[FloatArray] = []
    flared = [shadow for shadow in _shadows(cavity, thickness) if shadow.area > _GRID * _GRID]
    rail = [face for face in cavity.faces if face.role == "rail"]
    mouths = [np.asarray(cavity.vertices)[np.asarray(face.loops[0])][:, :2] for face in rail]
    if not flared:
        openings = [_anticlockwise(mouth) for mouth in mouths]
    else:
        from shapely import Polygon, get_parts, union_all

        shapes = [Polygon(mouth) for mouth in mouths] + flared
        for piece in get_parts(union_all(shapes, grid_size=_GRID)):
            if not isinstance(piece, Polygon):
                continue
            ring = np.array(piece.exterior.coords)[:-1]
            openings.append(_anticlockwise(_without_straight_corners(ring)))
    openings.sort(key=lambda ring: (-_area(ring), ring[:, 0].min(), ring[:, 1].min()))
    return tuple(Outline(frozen_array(ring), frozen_array(np.zeros(len(ring)))) for ring in openings)


def island_areas(cavity: Cavity) -> tuple[float, ...]:
    """Areas [m2] of metal islands inside the rail opening: places where a cut reaches the rail."""
    vertices = np.asarray(cavity.vertices)
    return tuple(
        abs(_area(vertices[np.asarray(loop)][:, :2]))
        for face in cavity.faces
        if face.role == "rail"
        for loop in face.loops[1:]
    )


def flange_part(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> FlatPart | None:
    """The whole flange, or None where the body has no cavity, no outer edge or no room between.

    ``flange_findings`` says why there is none.
    """
    if body.cavity is None or body.flange_outside is None:
        return None
    thickness = body.inputs.flange_thickness
    openings = flange_opening(body.cavity, thickness)
    if not openings or not ring_is_whole(body.flange_outside, openings):
        return None
    frame = flange_frame(thickness)
    circles = tuple(
        Circle(
            x=float(body.pattern.xy[i][0]),
            y=-float(body.pattern.xy[i][1]),
            diameter=hole.diameter,
            label=hole.hole,
        )
        for i, hole in ((body.pattern.index(hole.hole), hole) for hole in holes)
    )
    return FlatPart(
        name=FLANGE_NAME,
        face=None,
        outline=mirrored(body.flange_outside),
        cut_outs=tuple(reversed_outline(mirrored(opening)) for opening in openings),
        holes=circles,
        marks=(),
        frame=frame,
        thickness=thickness,
        material=inputs.flange_material,
        note="drawn as seen from below, front to the right; the sealing face is the other side",
    )


def ring_is_whole(outside: Outline, openings: tuple[Outline, ...]) -> bool:
    """Whether every opening lies inside the outer edge with metal all round."""
    from shapely import Polygon

    outer = Polygon(chords(outside))
    return outer.is_valid and all(outer.contains_properly(Polygon(chords(opening))) for opening in openings)


def _shadows(cavity: Cavity, thickness: Metre) -> list[Polygon]:
    """Shadows of the faces that look up within the flange's thickness: flared walls, shelves."""
    from shapely import Polygon

    is_rail = {face.index for face in cavity.faces if face.role == "rail"}
    vertices = np.asarray(cavity.vertices)
    corners = vertices[np.asarray(cavity.triangles)]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    looks_up = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0] > 0.0
    on_rail = np.isin(cavity.face_of_triangle, list(is_rail))
    within = looks_up & ~on_rail & (corners[:, :, 2].max(axis=1) > -thickness)
    clipped = [_above(each, -thickness) for each in corners[within]]
    return [Polygon(each[:, :2]) for each in clipped if len(each) >= 3]


def _above(corners: FloatArray, level: Metre) -> FloatArray:
    """The part (k, 3) of a triangle above a level; shared edges are cut at the same point."""
    kept: list[FloatArray] = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if a[2] >= level:
            kept.append(a)
        if (a[2] >= level) != (b[2] >= level):
            low, high = (a, b) if tuple(a) < tuple(b) else (b, a)
            kept.append(low + (high - low) * ((level - low[2]) / (high[2] - low[2])))
    return np.array(kept) if kept else np.empty((0, 3))


def _area(ring: FloatArray) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _anticlockwise(ring: FloatArray) -> FloatArray:
    return ring if _area(ring) > 0.0 else ring[::-1]


def _without_straight_corners(ring: FloatArray) -> FloatArray:
    """The ring without corners that stand less than two grid steps off their neighbours' line."""
    corners = [np.asarray(corner) for corner in ring]
    changed = True
    while changed and len(corners) > 3:
        changed = False
        for i in range(len(corners)):
            before, here, after = corners[i - 1], corners[i], corners[(i + 1) % len(corners)]
            chord = after - before
            length = float(np.hypot(*chord))
            off = abs(chord[0] * (here - before)[1] - chord[1] * (here - before)[0])
            if length == 0.0 or off / length <= 2.0 * _GRID:
                del corners[i]
                changed = True
                break
    return np.array(corners)
