"""The pan as flat panels in their middle planes, ready to be cut into triangles.

Walls and floors lie half a thickness outside the oil-side faces, the flange's middle half a
thickness below the rail; inner walls stand on the panels that they are tacked to. Left out:
bolt holes, openings of inner walls, roof baffles that are bolted, and parts that hang loose.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.body.wall_model import PlacedWall
from sumpwright.kit.metal import chords
from sumpwright.kit.model import SheetKit, is_flange
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.tables.materials import Material, find_material
from sumpwright.weld.bow_elements import poisson_of
from sumpwright.weld.bow_mesh import Panel

FLANGE = "flange"

OUTLINE_ACCURACY: Metre = 0.0004
"""To which the flange's outer line is kept where its arcs become straight."""


@dataclass(frozen=True, slots=True, eq=False)
class PullLine:
    """One seam on the panels' corners, what it joins, and where its metal lies beside the middle line."""

    name: str
    start: int  # corner
    end: int
    panels: tuple[int, int]  # numbers of the two panels that it joins
    beside: FloatArray  # (3,) m
    joint: int | None  # number of the kit's joint; None for an inner wall's tacks


@dataclass(frozen=True, slots=True, eq=False)
class PanPanels:
    """All panels of the pan with their common corners, and the seams along them."""

    corners: FloatArray  # (n, 3) m
    panels: tuple[Panel, ...]
    metals: tuple[Material, ...]  # of each panel
    seams: tuple[PullLine, ...]
    flange: int  # number of the flange's panel
    left_out: tuple[str, ...]  # inner walls that could not be set in


class NotOnePanError(Exception):
    """Why the pan cannot be laid out as panels, in words for the sheet."""


def pan_panels(kit: SheetKit, with_inner_walls: bool = True) -> PanPanels:
    """The panels of a kit; a pan without one opening and one flange raises ``NotOnePanError``."""
    body = kit.body
    cavity = body.cavity
    if cavity is None or not kit.parts:
        raise NotOnePanError("there is no kit to weld")
    rails = [face.index for face in cavity.faces if face.role == "rail"]
    if len(rails) != 1 or len(cavity.faces[rails[0]].loops) != 1 or body.flange_outside is None:
        raise NotOnePanError("the pan has not one plane opening with one flange round it")
    sheet_metal, flange_metal = _metals(kit)
    thickness = _thicknesses(kit, cavity)
    flange_thickness = next(part.thickness for part in kit.parts if is_flange(part))
    corners = _middle_corners(cavity, thickness, rails[0], flange_thickness)
    panels: list[Panel] = []
    metals: list[Material] = []
    number: dict[int, int] = {}
    for face in cavity.faces:
        if face.index == rails[0]:
            continue
        number[face.index] = len(panels)
        rings = tuple(tuple(int(v) for v in loop) for loop in face.loops)
        normal = face.plane.normal
        panels.append(_panel(face.name, rings, (), normal, thickness[face.index], sheet_metal))
        metals.append(sheet_metal)
    opening = [int(v) for v in cavity.faces[rails[0]].loops[0]]
    outer = _outer_ring(body, flange_thickness)
    first = len(corners)
    corners = np.concatenate([corners, outer])
    number[rails[0]] = len(panels)
    rings = (tuple(range(first, first + len(outer))), tuple(opening[::-1]))
    panels.append(_panel(FLANGE, rings, (), np.array([0.0, 0.0, 1.0]), flange_thickness, flange_metal))
    metals.append(flange_metal)
    seams = _shell_seams(kit, cavity, number, thickness, flange_thickness, rails[0])
    left_out: tuple[str, ...] = ()
    if with_inner_walls and body.division is not None:
        corners, left_out = _set_in(
            body, cavity, corners, thickness, panels, metals, number, seams, sheet_metal
        )
    return PanPanels(corners, tuple(panels), tuple(metals), tuple(seams), number[rails[0]], left_out)


def _panel(
    name: str,
    rings: tuple[tuple[int, ...], ...],
    lines: tuple[tuple[int, int], ...],
    normal: FloatArray,
    thickness: Metre,
    metal: Material,
) -> Panel:
    x, y, z = (float(value) for value in normal)
    return Panel(name, rings, lines, (x, y, z), thickness, metal.modulus.value, poisson_of(metal.family))


def _metals(kit: SheetKit) -> tuple[Material, Material]:
    found = []
    for wanted in (False, True):
        names = [p.material for p in kit.parts if is_flange(p) is wanted and (wanted or p.face is not None)]
        metal = find_material(names[0]) if names else None
        if metal is None:
            raise NotOnePanError("a part's metal is not in the table")
        found.append(metal)
    return found[0], found[1]


def _thicknesses(kit: SheetKit, cavity: Cavity) -> dict[int, Metre]:
    """Sheet thickness of every face; a bent part has several faces."""
    found: dict[int, Metre] = {}
    for part in kit.parts:
        if part.face is not None:
            found[part.face] = part.thickness
        for face, _, _ in part.faces:
            found[face] = part.thickness
    sheet = kit.body.inputs.sheet
    return {face.index: found.get(face.index, sheet) for face in cavity.faces}


def _middle_corners(
    cavity: Cavity, thickness: dict[int, Metre], rail: int, flange_thickness: Metre
) -> FloatArray:
    """Every corner of the oil side moved to where the middle planes of its faces meet."""
    touching: dict[int, list[int]] = {k: [] for k in range(len(cavity.vertices))}
    for face in cavity.faces:
        for vertex in {int(v) for loop in face.loops for v in loop}:
            touching[vertex].append(face.index)
    moved = []
    for vertex, faces in touching.items():
        place = cavity.vertices[vertex]
        normals = np.array([cavity.faces[f].plane.normal for f in faces])
        shift = np.array([-0.5 * flange_thickness if f == rail else 0.5 * thickness[f] for f in faces])
        moved.append(place + np.linalg.lstsq(normals, shift, rcond=1e-3)[0])
    return np.array(moved)


def _outer_ring(body: PanBody, flange_thickness: Metre) -> FloatArray:
    """The flange's outer line (n, 3), anticlockwise seen from above, arcs as chords."""
    import shapely

    assert body.flange_outside is not None
    line = shapely.Polygon(chords(body.flange_outside)).simplify(OUTLINE_ACCURACY)
    points = np.asarray(shapely.get_coordinates(line))[:-1]
    turn = np.roll(points, -1, axis=0)
    if float((points[:, 0] * turn[:, 1] - points[:, 1] * turn[:, 0]).sum()) < 0.0:
        points = points[::-1]
    return np.column_stack([points, np.full(len(points), -0.5 * flange_thickness)])


def _shell_seams(
    kit: SheetKit,
    cavity: Cavity,
    number: dict[int, int],
    thickness: dict[int, Metre],
    flange_thickness: Metre,
    rail: int,
) -> list[PullLine]:
    """One line for every joint along an edge that is welded."""
    lines = []
    for k, joint in enumerate(kit.joints):
        if joint.edge is None or joint.kind == "bend":
            continue
        edge = cavity.edges[joint.edge]
        faces = (edge.face_a, edge.face_b)
        beside = np.zeros(3)
        if rail in faces:
            # The bead lies in the corner under the flange, outside the wall.
            wall = faces[0] if faces[1] == rail else faces[1]
            leg = thickness[wall]
            outwards = np.array(cavity.faces[wall].plane.normal, dtype=np.float64)
            outwards[2] = 0.0
            outwards /= np.linalg.norm(outwards)
            beside = outwards * (0.5 * thickness[wall] + leg / 3.0)
            beside[2] -= 0.5 * flange_thickness + leg / 3.0
        name = f"{joint.part_a} to {joint.part_b}"
        lines.append(PullLine(name, edge.start, edge.end, (number[faces[0]], number[faces[1]]), beside, k))
    return lines


def _set_in(
    body: PanBody,
    cavity: Cavity,
    corners: FloatArray,
    thickness: dict[int, Metre],
    panels: list[Panel],
    metals: list[Material],
    number: dict[int, int],
    seams: list[PullLine],
    metal: Material,
) -> tuple[FloatArray, tuple[str, ...]]:
    """Adds the inner walls that are tacked in, with the lines on which they stand."""
    from dataclasses import replace

    assert body.division is not None
    left_out = []
    points = [np.asarray(corner) for corner in corners]
    for placed in body.division.walls:
        if placed.wall.kind != "wall":
            continue
        laid = _wall_corners(placed, cavity, thickness, points)
        if laid is None:
            left_out.append(placed.wall.name)
            continue
        ring, stands = laid
        wall = len(panels)
        panels.append(
            _panel(placed.wall.name, (ring,), (), placed.wall.frame.normal, placed.wall.thickness, metal)
        )
        metals.append(metal)
        for a, b, face in stands:
            if face not in number or panels[number[face]].name == FLANGE:
                continue
            on = number[face]
            panels[on] = replace(panels[on], lines=(*panels[on].lines, (a, b)))
            seams.append(
                PullLine(f"{placed.wall.name} to {panels[on].name}", a, b, (wall, on), np.zeros(3), None)
            )
    return np.array(points), tuple(left_out)


def _wall_corners(
    placed: PlacedWall, cavity: Cavity, thickness: dict[int, Metre], points: list[FloatArray]
) -> tuple[tuple[int, ...], list[tuple[int, int, int]]] | None:
    """Ring of corners of an inner wall, carried out to the middle planes that it meets.

    None where the wall's sides make no single ring. New corners are added to ``points``.
    """
    sides = list(placed.sides)
    if len(sides) < 3 or len(placed.outlines) != 1:
        return None
    frame = placed.wall.frame
    normal = np.asarray(frame.normal)
    count = len(sides)
    for one, two in zip(sides, (*sides[1:], sides[0]), strict=True):
        if float(np.linalg.norm(np.asarray(one.end) - np.asarray(two.start))) > 1e-6:
            return None
    ring = []
    for k, side in enumerate(sides):
        before = sides[k - 1]
        place = np.asarray(frame.to_space(np.asarray(side.start)[None, :])[0])
        rows, shift = [normal], [0.0]
        for face in dict.fromkeys(f for f in (before.face, side.face) if f is not None):
            if cavity.faces[face].role == "rail":
                continue
            plane = cavity.faces[face].plane
            rows.append(np.asarray(plane.normal))
            shift.append(float(plane.offset - plane.normal @ place) + 0.5 * thickness[face])
        place = place + np.linalg.lstsq(np.array(rows), np.array(shift), rcond=1e-3)[0]
        ring.append(_corner_at(points, place))
    stands = [
        (ring[k], ring[(k + 1) % count], side.face)
        for k, side in enumerate(sides)
        if side.face is not None and ring[k] != ring[(k + 1) % count]
    ]
    clean = [corner for k, corner in enumerate(ring) if corner != ring[k - 1]]
    return (tuple(clean), stands) if len(clean) >= 3 else None


def _corner_at(points: list[FloatArray], place: FloatArray) -> int:
    """The corner at a place, a new one where there is none."""
    away = np.linalg.norm(np.array(points) - place, axis=1)
    nearest = int(np.argmin(away))
    if away[nearest] < 2e-6:
        return nearest
    points.append(place)
    return len(points) - 1
