"""Bends along edges of the cavity: their place, their curves, and which edges can have one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from manifold3d import Manifold, Mesh64, triangulate

from sumpwright.body import Cavity, Edge
from sumpwright.geometry import FlatFrame
from sumpwright.geometry.polygons import signed_area
from sumpwright.kit import bend_formulas
from sumpwright.kit.joints import Seam
from sumpwright.kit.model import Folder, KitInputs
from sumpwright.kit.packing import tidy
from sumpwright.kit.panels import face_polygon
from sumpwright.kit.solids import Sheet, joined, less, polygons_of
from sumpwright.quantities.units import FloatArray, Metre, Radian, Ratio
from sumpwright.tables.bends import k_factor, least_bend_radius
from sumpwright.tables.materials import materials

FACET: Radian = math.radians(5.0)
"""A bend is set up from facets that turn by no more than this."""

SQUARE_WITHIN: Radian = math.radians(0.5)
LEAST_TURN: Radian = math.radians(8.0)
LEAST_ACROSS = math.cos(math.radians(65.0))
"""A bend must not run more slantingly than this into the plane that ends it."""


@dataclass(frozen=True, slots=True, eq=False)
class Bend:
    """One edge of the cavity that is bent instead of welded."""

    edge: int
    face_a: int
    face_b: int
    is_inward: bool
    turn: Radian
    radius: Metre  # inside
    allowance: Metre
    setback: Metre
    start_curve: FloatArray  # (n, 3) m on the oil side, from A's tangent to B's, at the edge's start
    end_curve: FloatArray  # (n, 3) m, at the edge's end
    start_face: int | None  # face that ends the bend at the start; None = the flange
    end_face: int | None
    length: Metre
    k: Ratio
    source: str  # of k


@dataclass(frozen=True, slots=True)
class BendSetting:
    """What the shop's machine makes of the pan's sheet."""

    radius: Metre
    k: Ratio
    source: str  # of K
    thickness: Metre


def bend_setting(inputs: KitInputs, thickness: Metre) -> BendSetting | str:
    """Radius and K for the pan's sheet, or in words why it is not bent."""
    folder = inputs.folder
    if folder is None:
        return "the shop has no folder"
    if thickness > folder.thickest:
        return "the sheet is thicker than the folder can bend"
    least = least_bend_radius(inputs.material, thickness)
    if least is not None and folder.radius < least.value - 1e-9:
        return "the folder's radius is tighter than this metal may be bent"
    for coupon in inputs.coupons:
        same = coupon.material == inputs.material and abs(coupon.thickness - thickness) < 1e-5
        if same and abs(coupon.radius - folder.radius) < 1e-4:
            return BendSetting(folder.radius, coupon.k, "shop-file", thickness)
    known = next((metal for metal in materials() if metal.id == inputs.material), None)
    table = None if known is None else k_factor(known.family, folder.radius, thickness)
    if table is None:
        return "no figure is known for how this metal bends"
    return BendSetting(folder.radius, table.value, table.source, thickness)


def possible_bends(
    cavity: Cavity, seams: Mapping[int, Seam], setting: BendSetting, folder: Folder, flange_thickness: Metre
) -> dict[int, Bend]:
    """Edges that can be bent: plain ends, angle and length within the machine, legs long enough."""
    around: dict[int, list[int]] = {}
    for edge in cavity.edges:
        for vertex in (edge.start, edge.end):
            around.setdefault(vertex, []).append(edge.index)
    found = {}
    for edge in cavity.edges:
        if not _may_turn(edge, seams[edge.index], folder):
            continue
        ends = [
            _end_plane(cavity, seams, edge, vertex, around[vertex], flange_thickness)
            for vertex in (edge.start, edge.end)
        ]
        if ends[0] is None or ends[1] is None:
            continue
        bend = _bend(cavity, edge, setting, ends[0], ends[1])
        if bend is None or bend.length > folder.longest:
            continue
        if (
            min(_leg(cavity, edge, face, bend, setting) for face in (edge.face_a, edge.face_b))
            < folder.least_leg
        ):
            continue
        found[edge.index] = bend
    return found


def bend_seam(bend: Bend) -> Seam:
    """The bend as a seam: both sheets end at their tangent lines, nothing is welded."""
    return Seam(bend.edge, "bend", bend.setback, bend.setback, None, None)


def _may_turn(edge: Edge, seam: Seam, folder: Folder) -> bool:
    if seam.kind not in ("open corner", "inward lap", "inward cut back"):
        return False
    turn = abs(math.pi - edge.corner_angle)
    if folder.only_square:
        return abs(turn - 0.5 * math.pi) <= SQUARE_WITHIN
    return LEAST_TURN <= turn <= folder.sharpest


EndPlane = tuple[FloatArray, float, int | None]
"""Normal and offset of the plane in which a bend ends, and its face (None: under the flange)."""


def _end_plane(
    cavity: Cavity,
    seams: Mapping[int, Seam],
    edge: Edge,
    vertex: int,
    edges: list[int],
    flange_thickness: Metre,
) -> EndPlane | None:
    """Where a bend ends: at one third sheet by open corners, or square under the flange; None otherwise."""
    others = [cavity.edges[k] for k in edges if k != edge.index]
    if len(others) != 2:
        return None
    for other in others:
        kind = seams[other.index].kind
        upright = kind == "wall under flange" and abs(other.corner_angle - 0.5 * math.pi) < 1e-6
        if not upright and kind != "open corner":
            return None
    faces = {f for other in others for f in (other.face_a, other.face_b)} - {edge.face_a, edge.face_b}
    if len(faces) != 1:
        return None
    third = cavity.faces[faces.pop()]
    if third.role == "rail":
        return np.array([0.0, 0.0, 1.0]), -flange_thickness, None
    return np.asarray(third.plane.normal), float(third.plane.offset), third.index


def _bend(cavity: Cavity, edge: Edge, setting: BendSetting, start: EndPlane, end: EndPlane) -> Bend | None:
    """The bend along an edge, with its two end curves on the oil side."""
    turn = abs(math.pi - edge.corner_angle)
    t, r = setting.thickness, setting.radius
    if edge.is_inward:
        setback, reach, sign = bend_formulas.inward_setback(turn, r, t), r + t, -1.0
    else:
        setback, reach, sign = bend_formulas.outward_setback(turn, r), r, 1.0
    n_a, n_b = (np.asarray(cavity.faces[f].plane.normal) for f in (edge.face_a, edge.face_b))
    corner = np.asarray(cavity.vertices[edge.start])
    along = (cavity.vertices[edge.end] - corner) / edge.length
    # The axis lies a radius from both planes, on the oil side of an outward bend.
    centre = corner + np.linalg.solve(
        np.stack([n_a, n_b, along]), np.array([-sign * reach, -sign * reach, 0.0])
    )
    first = sign * n_a
    across = sign * n_b - math.cos(turn) * first
    across = across / np.linalg.norm(across)
    count = max(4, math.ceil(turn / FACET))
    angles = turn * np.arange(count + 1) / count
    ring = centre + reach * (np.cos(angles)[:, None] * first + np.sin(angles)[:, None] * across)
    curves = []
    for normal, offset, _ in (start, end):
        slope = float(normal @ along)
        if abs(slope) < LEAST_ACROSS:
            return None
        curves.append(ring + ((offset - ring @ normal) / slope)[:, None] * along)
    lengths = (curves[1] - curves[0]) @ along
    if float(lengths.min()) < 2.0 * t:
        return None
    return Bend(
        edge.index,
        edge.face_a,
        edge.face_b,
        edge.is_inward,
        turn,
        r,
        bend_formulas.bend_allowance(turn, r, setting.k, t),
        setback,
        curves[0],
        curves[1],
        start[2],
        end[2],
        float(lengths.max()),
        setting.k,
        setting.source,
    )


def _leg(cavity: Cavity, edge: Edge, face_index: int, bend: Bend, setting: BendSetting) -> Metre:
    """Shortest way across a face from the edge, measured outside, leaving out its slanting ends."""
    face = cavity.faces[face_index]
    start, end = cavity.vertices[edge.start], cavity.vertices[edge.end]
    along = (end - start) / edge.length
    into = np.cross(np.asarray(face.plane.normal), along)
    if face_index != edge.face_a:
        into = -into
    frame = FlatFrame(np.asarray(start), along, np.cross(np.asarray(face.plane.normal), along))
    polygon = face_polygon(cavity, face, frame)
    side = np.array([into @ frame.x_axis, into @ frame.y_axis])
    far = 10.0
    places = np.linspace(0.12, 0.88, 9) * edge.length
    feet = np.stack([places, np.zeros_like(places)], axis=1) + 1e-6 * side
    rays = shapely.linestrings(np.stack([feet, feet + far * side], axis=1))
    crossings = shapely.intersection(rays, polygon.boundary)
    legs = shapely.distance(shapely.points(feet), crossings)
    leg = float(np.nanmin(legs))
    return leg if bend.is_inward else bend_formulas.outside_leg(leg, bend.turn, setting.thickness)


def rounded(sheets: Mapping[int, Sheet], cavity: Cavity, bends: Sequence[Bend]) -> dict[int, Sheet]:
    """The sheets with the corners rounded at which bends end on them."""
    result = dict(sheets)
    for bend in bends:
        edge = cavity.edges[bend.edge]
        for face, vertex, curve in (
            (bend.start_face, edge.start, bend.start_curve),
            (bend.end_face, edge.end, bend.end_curve),
        ):
            if face is None:
                continue
            sheet = result[face]
            ring = sheet.frame.to_flat(np.concatenate([cavity.vertices[vertex][None], curve]))
            tip = shapely.Polygon(ring).buffer(0.0)
            shape = joined([sheet.outline, tip]) if bend.is_inward else less(sheet.outline, tip)
            result[face] = sheet.with_outline(polygons_of(tidy(shape))[0])
    return result


def taken_by_bends(cavity: Cavity, bends: Sequence[Bend]) -> list[Manifold]:
    """For each outward bend the corner of the oil space that its rounded inside takes up."""
    bodies = []
    for bend in bends:
        if bend.is_inward:
            continue
        edge = cavity.edges[bend.edge]
        ends = [
            np.concatenate([cavity.vertices[edge.start][None], bend.start_curve]),
            np.concatenate([cavity.vertices[edge.end][None], bend.end_curve]),
        ]
        along = (cavity.vertices[edge.end] - cavity.vertices[edge.start]) / edge.length
        one = np.cross(along, np.asarray(cavity.faces[edge.face_a].plane.normal))
        section = np.stack(
            [(ends[0] - ends[0][0]) @ one, (ends[0] - ends[0][0]) @ np.cross(along, one)], axis=1
        )
        if signed_area(section) < 0.0:
            section, ends = section[::-1], [ring[::-1] for ring in ends]
        count = len(section)
        caps = np.asarray(triangulate([np.ascontiguousarray(section)]), dtype=np.int64)
        here = np.arange(count)
        there = np.roll(here, -1)
        sides = [
            np.stack([here, there, there + count], axis=1),
            np.stack([here, there + count, here + count], axis=1),
        ]
        faces = np.concatenate([caps[:, ::-1], caps + count, *sides])
        bodies.append(Manifold(Mesh64(np.concatenate(ends), faces.astype(np.uint64))))
    return bodies
