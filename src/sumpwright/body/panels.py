"""An inner wall as flat metal: how far it reaches, what is cut out of it, what its sides meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.body.model import Cavity
from sumpwright.body.wall_model import InnerWall, PanelSide, PlacedCut, PlacedWall
from sumpwright.geometry.polygons import contains, is_simple, nearest_on_outline, signed_area
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.quantities.units import FloatArray, Metre, SquareMetre, frozen_array

Shape = Any
"""A plane region of the plane-shape library, in millimetres on a plane's own axes."""

MILLIMETRE = 1e-3
NEAR: Metre = 5e-6
"""A panel's side this near to a face or another wall meets it."""
LEAST_OVERHANG: SquareMetre = 1e-6
"""A cut that hangs over its panel's edge by less than a square millimetre is taken as within."""


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """An inner wall laid into its plane; shapes on the plane's own axes."""

    wall: InnerWall
    plane: int
    axes: FloatArray  # (3, 2) of the plane
    section: Shape  # of the cavity
    shape: Shape  # metal and cuts
    cuts: tuple[Shape, ...]  # as far as they lie in the panel
    asked: tuple[SquareMetre, ...]  # area of each cut as asked

    @property
    def is_there(self) -> bool:
        """Whether any metal lies in the cavity."""
        return area_of(self.shape) > LEAST_OVERHANG


def shape_of(loops: list[FloatArray]) -> Shape:
    """A region from its loops (n, 2) [m]; which way round they run carries no meaning for single ones."""
    import manifold3d

    if not loops:
        return manifold3d.CrossSection()
    return manifold3d.CrossSection([loop / MILLIMETRE for loop in loops], manifold3d.FillRule.NonZero)


def area_of(shape: Shape) -> SquareMetre:
    """Area of a region [m2]."""
    return float(shape.area()) * MILLIMETRE**2


def loops_of(shape: Shape) -> list[FloatArray]:
    """The lines (n, 2) [m] round a region: outer ones anticlockwise, islands clockwise, largest first."""
    loops = [np.asarray(loop, dtype=np.float64) * MILLIMETRE for loop in shape.simplify(1e-6).to_polygons()]
    return sorted(loops, key=lambda loop: -signed_area(loop))


def pieces_of(shape: Shape) -> list[Shape]:
    """The separate parts of a region, the largest first."""
    parts = [part for part in shape.decompose() if float(part.area()) > 0.0]
    return sorted(parts, key=lambda part: -float(part.area()))


def centre_of(shape: Shape) -> FloatArray:
    """Centre of a region's area (2,) [m]."""
    total, moment = 0.0, np.zeros(2)
    for loop in loops_of(shape):
        middle = loop.mean(axis=0)
        away = loop - middle
        following = np.roll(away, -1, axis=0)
        cross = away[:, 0] * following[:, 1] - following[:, 0] * away[:, 1]
        area = 0.5 * float(cross.sum())
        total += area
        moment += area * middle + ((away + following) * cross[:, None]).sum(axis=0) / 6.0
    return np.asarray(moment / total)


def wall_panel(wall: InnerWall, plane: int, normal: FloatArray, section: Shape) -> Panel:
    """The wall as far as the cavity's section, its limits and its outline let it reach."""
    axes = np.stack(axes_in_plane(normal), axis=1)
    shape = section
    if wall.outline is not None:
        shape = shape ^ shape_of([_onto_plane(wall, wall.outline, axes)])
    offset = float(np.asarray(wall.frame.origin) @ normal)
    for limit in wall.limits:
        shape = shape ^ _half_plane(limit.normal @ axes, limit.offset - offset * float(limit.normal @ normal))
    asked = tuple(abs(signed_area(np.asarray(cut.outline))) for cut in wall.cuts)
    cuts = tuple(shape_of([_onto_plane(wall, cut.outline, axes)]) ^ shape for cut in wall.cuts)
    return Panel(wall, plane, axes, section, shape, cuts, asked)


def _onto_plane(wall: InnerWall, points: FloatArray, axes: FloatArray) -> FloatArray:
    return np.asarray(wall.frame.to_space(np.asarray(points)) @ axes)


def _half_plane(normal: FloatArray, offset: float) -> Shape:
    """All of the plane with normal . point at most the offset, ten metres of it."""
    length = float(np.hypot(*normal))
    if length < 1e-9:
        return shape_of([10.0 * np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])] if offset >= 0.0 else [])
    out = normal / length
    along = np.array([-out[1], out[0]])
    foot = out * offset / length
    return shape_of(
        [
            np.array(
                [
                    foot - 10.0 * along,
                    foot + 10.0 * along,
                    foot + 10.0 * (along - out),
                    foot - 10.0 * (along + out),
                ]
            )
        ]
    )


def panel_trouble(panel: Panel) -> list[tuple[str, str, str]]:
    """What is wrong with one wall by itself: (wall, what, cure)."""
    name = panel.wall.name
    if area_of(panel.section) <= LEAST_OVERHANG:
        return [(name, "its plane misses the oil space", "move it into the pan")]
    if not panel.is_there:
        return [
            (name, "its limits leave nothing of it inside the pan", "check from where to where it reaches")
        ]
    found = []
    metal = panel.shape
    for cut, shape, asked in zip(panel.wall.cuts, panel.cuts, panel.asked, strict=True):
        if not is_simple(np.asarray(cut.outline)):
            found.append(
                (name, f"{cut.kind} '{cut.name}' crosses itself", "give its corners in order round it")
            )
        inside = area_of(shape)
        if inside <= 0.0:
            found.append((name, f"{cut.kind} '{cut.name}' lies beside the wall", "move it onto the wall"))
        elif inside < asked - LEAST_OVERHANG and cut.kind != "drain slot":
            found.append(
                (
                    name,
                    f"{cut.kind} '{cut.name}' reaches beyond the wall",
                    "make it smaller, or move it inwards",
                )
            )
        if area_of(shape ^ metal) < inside - LEAST_OVERHANG:
            found.append(
                (
                    name,
                    f"{cut.kind} '{cut.name}' overlaps another opening",
                    "move the two apart, or make them one",
                )
            )
        metal = metal - shape
    before = [part for part in pieces_of(panel.shape) if area_of(part) > LEAST_OVERHANG]
    after = [part for part in pieces_of(metal) if area_of(part) > LEAST_OVERHANG]
    if len(after) > len(before):
        found.append((name, "its openings cut it in two", "leave a bridge of metal, or make two walls"))
    return found


def panels_cross(first: Panel, second: Panel) -> bool:
    """Whether two walls run through each other, rather than one ending at the other."""
    n1, n2 = np.asarray(first.wall.frame.normal), np.asarray(second.wall.frame.normal)
    along = np.cross(n1, n2)
    if float(np.linalg.norm(along)) < 1e-6:
        return False
    along /= float(np.linalg.norm(along))
    start = np.linalg.solve(
        np.stack([n1, n2, along]),
        np.array([float(n1 @ first.wall.frame.origin), float(n2 @ second.wall.frame.origin), 0.0]),
    )
    width = 2.0 * max(first.wall.thickness, second.wall.thickness, MILLIMETRE)
    steps = start + np.linspace(-2.0, 2.0, 4001)[:, None] * along
    inside = np.ones(len(steps), dtype=np.bool_)
    for panel in (first, second):
        flat = steps @ panel.axes
        loops = loops_of(panel.shape)
        within = np.zeros(len(steps), dtype=np.bool_)
        for loop in loops:
            within ^= contains(loop, flat)
        inside &= within
    for place in steps[inside]:
        if all(
            min(nearest_on_outline(loop, place @ panel.axes)[0] for loop in loops_of(panel.shape)) > width
            for panel in (first, second)
        ):
            return True
    return False


def panel_sides(panel: Panel, cavity: Cavity, panels: tuple[Panel, ...]) -> tuple[PanelSide, ...]:
    """The straight sides round the panel, each with the face or the wall that it meets."""
    frame, normal = panel.wall.frame, np.asarray(panel.wall.frame.normal)
    offset = float(np.asarray(frame.origin) @ normal)
    sides = []
    for loop in loops_of(panel.shape):
        space = loop @ panel.axes.T + (offset - (loop @ panel.axes.T) @ normal)[:, None] * normal
        for start, end in zip(space, np.roll(space, -1, axis=0), strict=True):
            meets, face = _met(0.5 * (start + end), panel, cavity, panels)
            ends = frame.to_flat(np.stack([start, end]))
            sides.append(PanelSide(frozen_array(ends[0]), frozen_array(ends[1]), meets, face))
    return tuple(sides)


def _met(
    place: FloatArray, panel: Panel, cavity: Cavity, panels: tuple[Panel, ...]
) -> tuple[str, int | None]:
    for face in cavity.faces:
        if abs(float(place @ face.plane.normal) - face.plane.offset) > NEAR:
            continue
        if abs(float(face.plane.normal @ panel.wall.frame.normal)) > 0.9999:
            continue
        axes = np.stack(axes_in_plane(face.plane.normal), axis=1)
        loops = [cavity.vertices[loop] @ axes for loop in face.loops]
        inside = sum(bool(contains(loop, (place @ axes)[None])[0]) for loop in loops) % 2 == 1
        if inside or min(nearest_on_outline(loop, place @ axes)[0] for loop in loops) < NEAR:
            return face.name, face.index
    for other in panels:
        if other is panel or not other.is_there:
            continue
        normal = np.asarray(other.wall.frame.normal)
        if abs(float((place - other.wall.frame.origin) @ normal)) > NEAR:
            continue
        flat = place @ other.axes
        loops = loops_of(other.shape)
        inside = sum(bool(contains(loop, flat[None])[0]) for loop in loops) % 2 == 1
        if inside or min(nearest_on_outline(loop, flat)[0] for loop in loops) < NEAR:
            return other.wall.name, None
    return "", None


def placed_wall(panel: Panel, sides: tuple[PanelSide, ...]) -> PlacedWall:
    """The panel in the wall's own axes, with its metal's area and what it takes the place of."""
    metal = panel.shape
    cuts = []
    for cut, shape in zip(panel.wall.cuts, panel.cuts, strict=True):
        metal = metal - shape
        for piece in pieces_of(shape):
            cuts.append(PlacedCut(cut, _in_frame(panel, loops_of(piece)[0]), area_of(piece)))
    area = area_of(metal)
    return PlacedWall(
        panel.wall,
        tuple(_in_frame(panel, loop) for loop in loops_of(panel.shape)),
        tuple(cuts),
        sides,
        area,
        area * panel.wall.thickness,
    )


def _in_frame(panel: Panel, loop: FloatArray) -> FloatArray:
    """A line on the plane's axes, in the wall's own; metal stays on its left."""
    normal = np.asarray(panel.wall.frame.normal)
    space = loop @ panel.axes.T
    offset = float(np.asarray(panel.wall.frame.origin) @ normal)
    space = space + (offset - space @ normal)[:, None] * normal
    flat = panel.wall.frame.to_flat(space)
    turned = float(np.cross(panel.axes[:, 0], panel.axes[:, 1]) @ normal) < 0.0
    return frozen_array(flat[::-1] if turned else flat)
