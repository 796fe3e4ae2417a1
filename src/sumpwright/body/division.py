"""The cavity parted by its inner walls: which spaces are left, and the ways between them.

The whole plane of every wall cuts the cavity into cells. Where two neighbouring cells have
no metal between them they belong together; what is left are the compartments. Between two of
them, the common stretch of plane less the panel, and every window in the panel, is an opening.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from sumpwright.body.flooding import Flooded, enclosed_volume, fill_face, flood
from sumpwright.body.joining import half_space, solid_of
from sumpwright.body.model import Cavity
from sumpwright.body.naming import direction_word
from sumpwright.body.panels import (
    Panel,
    Shape,
    area_of,
    centre_of,
    loops_of,
    panel_sides,
    panel_trouble,
    panels_cross,
    pieces_of,
    placed_wall,
    shape_of,
    wall_panel,
)
from sumpwright.body.slivers import without_slivers
from sumpwright.body.wall_model import Compartment, Division, InnerWall, Opening
from sumpwright.geometry.solid_shapes import Surface, axes_in_plane
from sumpwright.quantities.units import (
    CubicMetre,
    FloatArray,
    Metre,
    Radian,
    SquareMetre,
    frozen_array,
    frozen_indices,
)

SPECK_VOLUME: CubicMetre = 1e-10
"""A tenth of a cubic centimetre is no compartment, only rounding or a hair's breadth."""
SPECK_AREA: SquareMetre = 1e-7
"""A tenth of a square millimetre is no way for oil and no metal either."""
RAIL_REACH: Metre = 1e-6
"""An opening that comes this near to the rail plane reaches it."""
PRESSED = 0.125
"""Share of the snapping distance by which cells that belong together are pressed into each other."""


@dataclass(frozen=True, slots=True, eq=False)
class _Planes:
    """Face planes first, then the walls' own."""

    normals: FloatArray  # (f + w, 3)
    offsets: FloatArray  # (f + w,) m
    first: int  # number of the first wall plane
    of_wall: tuple[int, ...]  # plane number of each wall
    flush: dict[int, tuple[int, ...]]  # wall plane -> cavity faces in the same plane
    keep_off: dict[int, tuple[float, ...]]  # wall plane -> sides on which a flush face's oil does not lie
    hair: Metre


@dataclass(frozen=True, slots=True, eq=False)
class _Cell:
    """A part of the cavity that no wall plane crosses."""

    solid: Any
    sides: dict[int, float]  # wall plane -> +1 beyond it, -1 before it, where the plane made a difference
    exact: Flooded


@dataclass(frozen=True, slots=True, eq=False)
class _Border:
    """Where a cell before a plane and a cell beyond it have a stretch of that plane in common."""

    before: int
    beyond: int
    plane: int
    shape: Shape


def divide(
    cavity: Cavity,
    walls: tuple[InnerWall, ...],
    pickup_mouth: FloatArray | None,
    snap_distance: Metre,
    snap_angle: Radian,
) -> Division:
    """Compartments and openings of a cavity with these walls; what is wrong with a wall is said."""
    planes = _planes(cavity, walls, snap_distance, snap_angle)
    base = solid_of(cavity.vertices, cavity.triangles, cavity.face_of_triangle)
    centre, reach = _reach(cavity)
    cells = _cells(base, planes, centre, reach, snap_distance)
    if cells is None:
        return Division(
            (),
            (),
            (),
            tuple(
                (
                    wall.name,
                    "the walls and the shape touch so closely that no compartments can be told apart",
                    "move the wall by some millimetres",
                )
                for wall in walls[:1]
            ),
        )
    borders = _borders(cells, planes)
    panels = tuple(
        wall_panel(wall, number, planes.normals[number], _section(borders, number))
        for wall, number in zip(walls, planes.of_wall, strict=True)
    )
    group = _groups(cells, borders, panels)
    compartments, order = _compartments(
        cavity, base, cells, group, borders, planes, centre, reach, pickup_mouth, snap_distance
    )
    place = {root: k for k, root in enumerate(order)}
    openings = _openings(borders, panels, [place[root] for root in group], planes)
    placed = []
    trouble: list[tuple[str, str, str]] = []
    for k, panel in enumerate(panels):
        trouble += panel_trouble(panel)
        if not panel.is_there:
            continue
        trouble += [
            (panel.wall.name, f"it runs through wall '{other.wall.name}'", "end one of the two at the other")
            for other in panels[:k]
            if other.is_there and panels_cross(panel, other)
        ]
        before = {group[b.before] for b in borders if b.plane == panel.plane}
        if before and all(group[b.before] == group[b.beyond] for b in borders if b.plane == panel.plane):
            trouble.append(
                (
                    panel.wall.name,
                    "oil runs round it freely, so it parts nothing",
                    "let it reach from wall to wall, or end it at another inner wall",
                )
            )
        placed.append(placed_wall(panel, panel_sides(panel, cavity, panels)))
    return Division(compartments, openings, tuple(placed), tuple(trouble))


def _reach(cavity: Cavity) -> tuple[FloatArray, Metre]:
    low, high = cavity.vertices.min(axis=0), cavity.vertices.max(axis=0)
    return 0.5 * (low + high), 4.0 * float(np.linalg.norm(high - low)) + 1.0


def _planes(
    cavity: Cavity, walls: tuple[InnerWall, ...], snap_distance: Metre, snap_angle: Radian
) -> _Planes:
    """Wall planes put onto the face planes and the earlier wall planes that they nearly are."""
    normals = [np.asarray(face.plane.normal) for face in cavity.faces]
    offsets = [face.plane.offset for face in cavity.faces]
    first = len(normals)
    least_cosine = float(np.cos(snap_angle))
    of_wall: list[int] = []
    flush: dict[int, tuple[int, ...]] = {}
    for wall in walls:
        normal = np.asarray(wall.frame.normal)
        offset = float(normal @ wall.frame.origin)
        beside = []
        for face in cavity.faces:
            cosine = float(normal @ face.plane.normal)
            corners = cavity.vertices[face.loops[0]]
            off_face = float(np.abs(corners @ normal - offset).max())
            if abs(cosine) >= least_cosine and off_face <= snap_distance:
                beside.append(face.index)
                sign = 1.0 if cosine > 0.0 else -1.0
                normal, offset = sign * np.asarray(face.plane.normal), sign * face.plane.offset
        same = None
        for number in range(first, len(normals)):
            cosine = float(normal @ normals[number])
            heights = cavity.vertices @ normals[number] - offsets[number]
            dropped = cavity.vertices - heights[:, None] * normals[number]
            off_wall = float(np.abs(dropped @ normal - offset).max())
            if abs(cosine) >= least_cosine and off_wall <= snap_distance:
                same = number
                break
        if same is None:
            same = len(normals)
            normals.append(normal)
            offsets.append(offset)
            flush[same] = tuple(beside)
        of_wall.append(same)
    keep_off = {
        number: tuple({-1.0 if float(normals[f] @ normals[number]) < 0.0 else 1.0 for f in faces})
        for number, faces in flush.items()
    }
    return _Planes(
        np.array(normals), np.array(offsets), first, tuple(of_wall), flush, keep_off, PRESSED * snap_distance
    )


def _side_of(
    planes: _Planes, number: int, side: float, centre: FloatArray, reach: Metre, press: Metre
) -> Any:
    """All space before (-1) or beyond (+1) a wall plane, and a hair more.

    Where a face of the cavity lies flush with the plane and its oil is on the other side, a
    hair less, so that no zero-thick skin of that face stays on.
    """
    if press == 0.0 and side in planes.keep_off.get(number, ()):
        press = -planes.hair
    normal, offset = -side * planes.normals[number], -side * float(planes.offsets[number])
    return half_space(normal, offset + press, number, centre, reach)


def _cells(base: Any, planes: _Planes, centre: FloatArray, reach: Metre, snap: Metre) -> list[_Cell] | None:
    regions: list[tuple[Any, dict[int, float]]] = [(base, {})]
    for number in sorted(set(planes.of_wall)):
        parted = []
        for solid, sides in regions:
            halves = [
                (side, solid ^ _side_of(planes, number, side, centre, reach, 0.0)) for side in (-1.0, 1.0)
            ]
            if min(float(half.volume()) for _, half in halves) < SPECK_VOLUME:
                parted.append((solid, sides))
            else:
                parted += [(half, sides | {number: side}) for side, half in halves]
        regions = parted
    cells = []
    for solid, sides in regions:
        for piece in solid.decompose():
            if float(piece.volume()) < SPECK_VOLUME:
                continue
            exact = _exact(piece, planes, snap)
            if exact is None:
                return None
            cells.append(_Cell(piece, sides, exact))
    return cells


def _exact(solid: Any, planes: _Planes, snap: Metre) -> Flooded | None:
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    plane = np.asarray(mesh.face_id, dtype=np.int64)
    triangles, plane, _ = without_slivers(points, triangles, plane, np.zeros_like(plane), snap)
    flooded, trouble = flood(points, triangles, plane, planes.normals, planes.offsets, snap)
    return None if trouble else flooded


def _borders(cells: list[_Cell], planes: _Planes) -> list[_Border]:
    borders = []
    for number in sorted(set(planes.of_wall)):
        normal = planes.normals[number]
        axes = np.stack(axes_in_plane(normal), axis=1)
        numbers = (number, *planes.flush[number])
        before: list[tuple[int, Shape]] = []
        beyond: list[tuple[int, Shape]] = []
        for k, cell in enumerate(cells):
            for looks, found in ((1.0, before), (-1.0, beyond)):
                loops = [
                    cell.exact.vertices[loop] @ axes
                    for f in range(len(cell.exact.loops))
                    if int(cell.exact.plane_of[f]) in numbers
                    and looks * float(cell.exact.normals[f] @ normal) > 0.0
                    for loop in cell.exact.loops[f]
                ]
                if loops:
                    found.append((k, shape_of(loops)))
        for a, shape_a in before:
            for b, shape_b in beyond:
                common = shape_a ^ shape_b
                if area_of(common) > SPECK_AREA:
                    borders.append(_Border(a, b, number, common))
    return borders


def _section(borders: Iterable[_Border], number: int) -> Shape:
    section = shape_of([])
    for border in borders:
        if border.plane == number:
            section = section + border.shape
    return section


def _metal(panels: tuple[Panel, ...], number: int) -> Shape:
    metal = shape_of([])
    for panel in panels:
        if panel.plane == number:
            metal = metal + panel.shape
    return metal


def _groups(cells: list[_Cell], borders: list[_Border], panels: tuple[Panel, ...]) -> list[int]:
    """The leading cell of each cell's compartment."""
    leader = list(range(len(cells)))

    def lead(k: int) -> int:
        while leader[k] != k:
            k = leader[k]
        return k

    for border in borders:
        if area_of(border.shape ^ _metal(panels, border.plane)) <= SPECK_AREA:
            a, b = sorted((lead(border.before), lead(border.beyond)))
            leader[b] = a
    return [lead(k) for k in range(len(cells))]


def _compartments(
    cavity: Cavity,
    base: Any,
    cells: list[_Cell],
    group: list[int],
    borders: list[_Border],
    planes: _Planes,
    centre: FloatArray,
    reach: Metre,
    pickup_mouth: FloatArray | None,
    snap: Metre,
) -> tuple[tuple[Compartment, ...], list[int]]:
    """Compartments from the front to the rear and from left to right, and the leading cell of each."""
    made: dict[int, tuple[Flooded, Surface, FloatArray, CubicMetre, FloatArray]] = {}
    holds: int | None = None
    for root in sorted(set(group)):
        members = [k for k in range(len(cells)) if group[k] == root]
        solid, exact = _whole(base, cells, members, borders, planes, centre, reach, snap)
        surface, normals = _surface(exact)
        volume = enclosed_volume(surface.vertices, surface.triangles)
        made[root] = exact, surface, normals, volume, _centroid(surface)
        if pickup_mouth is not None and _is_inside(solid, pickup_mouth):
            holds = root
    order = sorted(made, key=lambda root: tuple(np.round(-made[root][4], 5)))
    middle = _centroid(cavity.surface())
    names: dict[int, str] = {}
    for root in order:
        word = "around the pickup" if root == holds else direction_word(made[root][4] - middle)
        names[root] = word
    return (
        tuple(
            Compartment(
                k,
                _unique(names, root, order),
                made[root][1],
                frozen_array(made[root][2]),
                made[root][3],
                frozen_array(made[root][4]),
                tuple(sorted({int(p) for p in made[root][0].plane_of if p < planes.first})),
            )
            for k, root in enumerate(order)
        ),
        order,
    )


def _unique(names: dict[int, str], root: int, order: list[int]) -> str:
    same = [other for other in order if names[other] == names[root]]
    return names[root] if len(same) == 1 else f"{names[root]} {same.index(root) + 1}"


def _whole(
    base: Any,
    cells: list[_Cell],
    members: list[int],
    borders: list[_Border],
    planes: _Planes,
    centre: FloatArray,
    reach: Metre,
    snap: Metre,
) -> tuple[Any, Flooded]:
    """One compartment from its cells, the planes between them gone."""
    if len(members) == 1:
        return cells[members[0]].solid, cells[members[0]].exact
    whole = None
    for k in members:
        inner = {
            border.plane
            for border in borders
            if k in (border.before, border.beyond) and border.before in members and border.beyond in members
        }
        pressed = base
        for number, side in cells[k].sides.items():
            press = planes.hair if number in inner else 0.0
            pressed = pressed ^ _side_of(planes, number, side, centre, reach, press)
        pieces = pressed.decompose()
        piece = max(pieces, key=lambda one, k=k: float((one ^ cells[k].solid).volume()))  # type: ignore[misc]
        whole = piece if whole is None else whole + piece
    exact = _exact(whole, planes, snap)
    if exact is None:
        # The cells touch only along an edge somewhere; they stay side by side as one space.
        exact = _side_by_side([cells[k].exact for k in members])
    return whole, exact


def _side_by_side(parts: list[Flooded]) -> Flooded:
    loops: list[list[list[int]]] = []
    start = 0
    for part in parts:
        loops += [[[v + start for v in loop] for loop in face] for face in part.loops]
        start += len(part.vertices)
    return Flooded(
        np.concatenate([part.vertices for part in parts]),
        loops,
        np.concatenate([part.normals for part in parts]),
        np.concatenate([part.offsets for part in parts]),
        np.concatenate([part.plane_of for part in parts]),
        np.zeros(0, dtype=np.int64),
        np.zeros(0),
    )


def _surface(exact: Flooded) -> tuple[Surface, FloatArray]:
    triangles, normals = [], []
    for f, loops in enumerate(exact.loops):
        sizes = sorted(loops, key=lambda loop: -_spread(exact.vertices[loop]))
        filled = fill_face(exact.vertices, tuple(np.array(loop) for loop in sizes), exact.normals[f])
        triangles.append(filled)
        normals.append(np.repeat(exact.normals[f][None], len(filled), axis=0))
    return (
        Surface(frozen_array(exact.vertices), frozen_indices(np.concatenate(triangles))),
        np.concatenate(normals),
    )


def _spread(points: FloatArray) -> float:
    return float(np.linalg.norm(np.ptp(points, axis=0)))


def _centroid(surface: Surface) -> FloatArray:
    middle = surface.vertices.mean(axis=0)
    corners = surface.vertices[surface.triangles] - middle
    volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return np.asarray(middle + (volumes[:, None] * corners.sum(axis=1) / 4.0).sum(axis=0) / volumes.sum())


def _is_inside(solid: Any, point: FloatArray) -> bool:
    import manifold3d

    speck = manifold3d.Manifold.cube((1e-5, 1e-5, 1e-5), True).translate(tuple(float(c) for c in point))
    return float((solid ^ speck).volume()) > 0.5e-15


def _openings(
    borders: list[_Border], panels: tuple[Panel, ...], place: list[int], planes: _Planes
) -> tuple[Opening, ...]:
    shared: dict[tuple[int, int, int], Shape] = {}
    for border in borders:
        a, b = place[border.before], place[border.beyond]
        if a != b:
            key = border.plane, a, b
            shared[key] = shared[key] + border.shape if key in shared else border.shape
    openings: list[Opening] = []
    for (number, a, b), shape in sorted(shared.items(), key=lambda item: item[0]):
        on_plane = [panel for panel in panels if panel.plane == number]
        for panel in on_plane:
            along = float(panel.wall.frame.normal @ planes.normals[number]) > 0.0
            for cut, cut_shape in zip(panel.wall.cuts, panel.cuts, strict=True):
                way = cut_shape ^ shape
                if area_of(way) <= SPECK_AREA:
                    continue
                opening = _opening(
                    len(openings), f"{cut.name} of {panel.wall.name}", panel, a, b, way, planes
                )
                passes: Literal["both", "forward", "backward"] = "both"
                if cut.door is not None:
                    passes = "forward" if (cut.door.passes == "with normal") == along else "backward"
                openings.append(replace(opening, kind=cut.kind, door=cut.door, passes=passes))
        for piece in pieces_of(shape - _metal(panels, number)):
            if area_of(piece) > SPECK_AREA:
                name = f"past {' and '.join(panel.wall.name for panel in on_plane)}"
                opening = _opening(len(openings), name, on_plane[0], a, b, piece, planes)
                openings.append(replace(opening, thickness=0.0))
    return tuple(openings)


def _opening(index: int, name: str, panel: Panel, a: int, b: int, shape: Shape, planes: _Planes) -> Opening:
    normal, offset = planes.normals[panel.plane], float(planes.offsets[panel.plane])
    axes = np.stack(axes_in_plane(normal), axis=1)
    flat = loops_of(shape)
    in_space = tuple(frozen_array(loop @ axes.T + offset * normal) for loop in flat)
    area = area_of(shape)
    girth = sum(float(np.hypot(*(loop - np.roll(loop, 1, axis=0)).T).sum()) for loop in flat)
    return Opening(
        index=index,
        name=name,
        kind="past the wall",
        wall=panel.wall.name,
        from_compartment=a,
        to_compartment=b,
        outlines=in_space,
        area=area,
        centre=frozen_array(centre_of(shape) @ axes.T + offset * normal),
        normal=frozen_array(normal),
        thickness=panel.wall.thickness,
        hydraulic_diameter=4.0 * area / girth,
        reaches_rail=max(float(loop[:, 2].max()) for loop in in_space) > -RAIL_REACH,
    )
