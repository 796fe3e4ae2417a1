"""Every panel of the kit as a plate: its own outline, what holds it, what stiffens it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from sumpwright.body import Cavity, Face
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.geometry.meshing import TriangleMesh, mesh_polygon
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.metal import chords
from sumpwright.kit.panels import face_frame, face_polygon
from sumpwright.proof.formulas import plate_stiffness
from sumpwright.proof.model import PanelStrength
from sumpwright.proof.plates import unit_plates
from sumpwright.proof.stretched_panels import PanelMetal, stretch_of
from sumpwright.quantities.units import FloatArray, Metre, Pascal, Ratio
from sumpwright.tables.materials import Material, find_material

POISSON: Ratio = 0.3
"""Of steel; aluminium has 0.33, which changes deflection by 2 % and stress by 2 %."""
ACROSS = 13
"""Triangles over the short way of a panel."""
STIFF_PATCH = 27.0
"""A boss counts as at least three thicknesses of sheet."""
_DRAWN_TOGETHER: Ratio = 2.0
"""By which stress at inward corners, openings and bosses may exceed the plain strip's."""
_ROOM: Ratio = 1.3
"""The same of a plain panel, for what the triangles are off."""
SIMPLER: Metre = 2e-4
"""Corners of an outline that lie this near to the straight line beside them are left out."""


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """One flat of the pan between its seams."""

    name: str
    part: str
    thickness: Metre
    outline: Polygon  # in the flat's axes, m; holes that a boss closes are filled
    frame: FlatFrame
    lines: tuple[FloatArray, ...]  # (2, 2) m each, where a welded inner wall holds it
    patches: tuple[tuple[FloatArray, Metre], ...]  # middle (2,) and diameter of bosses


def panels_of(kit: SheetKit) -> tuple[Panel, ...]:
    """Every wall, floor and roof of the kit, in the order of the cavity's faces."""
    cavity = kit.body.cavity
    if cavity is None:
        return ()
    own = {part.face: part for part in kit.parts if part.face is not None and not part.folds}
    bent = {face: part for part in kit.parts if part.folds for face, _, _ in part.faces}
    found = []
    for face in cavity.faces:
        if face.role == "rail":
            continue
        part = own.get(face.index) or bent.get(face.index)
        if part is None:
            continue
        found.append(_panel(kit, cavity, face, part, is_bent=face.index not in own))
    return tuple(found)


def _panel(kit: SheetKit, cavity: Cavity, face: Face, part: FlatPart, *, is_bent: bool) -> Panel:
    outline: BaseGeometry
    if is_bent:
        frame = face_frame(cavity, face)
        outline = face_polygon(cavity, face, frame)
    else:
        frame = part.frame
        outline = Polygon(chords(part.outline))
        # Slots for tabs are welded shut; only what is wide open counts as an opening.
        wide = [Polygon(chords(cut)) for cut in part.cut_outs if not _is_patched(kit, face, cut)]
        wide = [cut for cut in wide if not cut.buffer(-1.5 * part.thickness).is_empty]
        if wide:
            outline = outline.difference(shapely.union_all(wide))
    whole = _one_piece(outline)
    lines = tuple(line for line in _welded_walls(kit, face, frame) if whole.intersects(_line(line)))
    bosses = () if kit.internals is None else kit.internals.bosses
    patches = tuple(
        (frame.to_flat(np.asarray(boss.place)[None])[0], boss.fitting.boss_diameter)
        for boss in bosses
        if boss.face == face.name
    )
    if kit.internals is not None:
        # With its plate the sheet has to reach three thicknesses to count like a boss.
        thick = {each.name for each in kit.parts if each.thickness >= 2.0 * part.thickness}
        patches += tuple(
            (frame.to_flat(np.asarray(plate.place)[None])[0], plate.plate_diameter)
            for plate in kit.internals.plates
            if plate.face == face.name and plate.plate in thick
        )
    return Panel(face.name, part.name, part.thickness, whole, frame, lines, patches)


def _is_patched(kit: SheetKit, face: Face, cut: Outline) -> bool:
    """Whether a patch plate closes this cut-out: the panel then carries across it."""
    placed = () if kit.patches is None else kit.patches.placed
    middle = np.asarray(cut.points).mean(axis=0)
    return any(
        patch.face == face.index and bool(np.allclose(np.asarray(patch.opening.points).mean(axis=0), middle))
        for patch in placed
    )


def _one_piece(outline: BaseGeometry) -> Polygon:
    pieces = [piece for piece in shapely.get_parts(outline) if isinstance(piece, Polygon)]
    largest = max(pieces, key=lambda piece: piece.area)
    simple = largest.simplify(SIMPLER)
    return orient(simple if simple.is_valid and isinstance(simple, Polygon) else largest)


def _line(line: FloatArray) -> shapely.LineString:
    return shapely.LineString(line)


def _welded_walls(kit: SheetKit, face: Face, frame: FlatFrame) -> list[FloatArray]:
    """Where inner walls that are welded in stand on this face."""
    division = kit.body.division
    if division is None or kit.internals is None:
        return []
    welded = {fixing.wall for fixing in kit.internals.fixings if fixing.way == "tacked"}
    lines = []
    for placed in division.walls:
        if placed.wall.name not in welded:
            continue
        for side in placed.sides:
            if side.face == face.index:
                ends = placed.wall.frame.to_space(np.stack([side.start, side.end]))
                flat = frame.to_flat(ends)
                if float(np.hypot(*(flat[1] - flat[0]))) > 0.01:
                    lines.append(np.asarray(flat))
    return lines


def meshed(panel: Panel) -> TriangleMesh:
    """Triangles over a panel, about ``ACROSS`` of them over its short way."""
    area = panel.outline.area
    short = min(2.0 * area / panel.outline.length, np.sqrt(area) / 2.0)
    size = float(max(2.0 * short / ACROSS, np.sqrt(area / 300.0)))
    rounds = []
    for middle, diameter in panel.patches:
        angles = np.linspace(0.0, 2.0 * np.pi, 9)
        ring = middle + 0.5 * diameter * np.stack([np.cos(angles), np.sin(angles)], axis=1)
        if panel.outline.contains(shapely.LineString(ring)):
            rounds.append(ring)
    return mesh_polygon(panel.outline, size, lines=(*panel.lines, *rounds), least=size / 8.0)


def strength_of(panel: Panel, metal: Material, pressure: Pascal, tested_at_most: Pascal) -> PanelStrength:
    """How far a panel bulges and how hard its metal works at a pressure, and its two limits.

    Two bounds: edges that turn freely, and edges that do not turn. A welded corner lies
    between them.
    """
    mesh = meshed(panel)
    held, stiff = _without_rounds(mesh, len(panel.lines)), _stiffness(panel, mesh)
    t = panel.thickness
    clamped, supported = unit_plates(held, POISSON, stiff, corner_reach=t)
    bend = plate_stiffness(metal.modulus.value, t, POISSON)
    weld, parent = _strengths(metal)
    at_weld = 6.0 * clamped.worst_at_edge / t**2  # Pa for each Pa
    inside = 6.0 * max(supported.worst_inside, supported.worst_at_edge) / t**2
    metal_limit = min(0.5 * weld / at_weld, 0.5 * parent / inside)
    formula_limit = 0.5 * t * bend / supported.worst_deflection
    # Where the metal comes to its limit first, the formula still holds there.
    is_beyond = formula_limit < min(tested_at_most, metal_limit)
    stretch = None
    if is_beyond:
        skin = PanelMetal(metal.modulus.value, POISSON, t, 0.5 * weld, 0.5 * parent)
        stretch = stretch_of(held, skin, tested_at_most, None if stiff is None else np.cbrt(stiff))
    if stretch is not None:
        metal_limit = stretch.metal_limit
    middle = panel.frame.to_space(np.asarray(panel.outline.representative_point().coords))[0]
    return PanelStrength(
        panel=panel.name,
        part=panel.part,
        thickness=t,
        area=float(panel.outline.area),
        walls_across=len(panel.lines),
        patches=len(panel.patches),
        stress_at_weld=at_weld * pressure,
        stress_inside=inside * pressure,
        bulge_clamped=clamped.worst_deflection * pressure / bend,
        bulge_supported=supported.worst_deflection * pressure / bend,
        metal_limit=metal_limit,
        formula_limit=formula_limit,
        formula_limit_clamped=0.5 * t * bend / clamped.worst_deflection,
        place=(float(middle[0]), float(middle[1]), float(middle[2])),
        stretch=stretch,
        gives_way=is_beyond and stretch is None,
    )


def at_least(panel: Panel, metal: Material) -> tuple[Pascal, Pascal]:
    """Pressures that the panel bears at the least: by its metal, and to half its thickness.

    From the strip across the smallest box round it: no panel within the box bends as hard or
    bulges as far. Inward corners, openings and bosses draw stress together, walls across turn
    a span into two: each is allowed for with room.
    """
    corners = shapely.get_coordinates(panel.outline.minimum_rotated_rectangle)
    wide = float(np.hypot(*np.diff(corners, axis=0).T)[:2].min())
    t = panel.thickness
    hull = panel.outline.convex_hull.area
    is_plain = not panel.outline.interiors and not panel.patches and panel.outline.area > 0.97 * hull
    more = _ROOM if is_plain else _DRAWN_TOGETHER
    weld, parent = _strengths(metal)
    at_weld = more * (0.75 if panel.lines else 0.5) * (wide / t) ** 2
    inside = more * 0.75 * (wide / t) ** 2
    bend = plate_stiffness(metal.modulus.value, t, POISSON)
    bulge = _ROOM * 5.0 / 384.0 * wide**4 / bend
    return min(0.5 * weld / at_weld, 0.5 * parent / inside), 0.5 * t / bulge


def _strengths(metal: Material) -> tuple[Pascal, Pascal]:
    """Yield strength at a weld and away from it."""
    weld = metal.yield_at_weld or metal.yield_strength
    parent = metal.yield_strength or metal.yield_at_weld
    assert weld is not None
    assert parent is not None
    return weld.value, parent.value


def _without_rounds(mesh: TriangleMesh, walls: int) -> TriangleMesh:
    """The mesh with only the walls' lines held: a boss moves with its sheet."""
    keep = mesh.line_of_edge < walls
    return TriangleMesh(
        mesh.points, mesh.triangles, mesh.rings, mesh.line_edges[keep], mesh.line_of_edge[keep]
    )


def _stiffness(panel: Panel, mesh: TriangleMesh) -> FloatArray | None:
    if not panel.patches:
        return None
    factor = np.ones(len(mesh.triangles))
    middles = mesh.points[mesh.triangles].mean(axis=1)
    for middle, diameter in panel.patches:
        factor[np.hypot(*(middles - middle).T) < 0.5 * diameter] = STIFF_PATCH
    return factor


def metal_of(kit_material: str) -> Material | None:
    """The sheet's metal, where the tables know its strength."""
    metal = find_material(kit_material)
    if metal is None or (metal.yield_at_weld is None and metal.yield_strength is None):
        return None
    return metal
