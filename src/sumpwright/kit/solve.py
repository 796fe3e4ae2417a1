"""From the oil-side shape to flat parts that close, and the proof that they do."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.corners import close_corners
from sumpwright.kit.flange import FLANGE_NAME, flange_part
from sumpwright.kit.flange_holes import flange_holes, slip_anchor
from sumpwright.kit.flange_segments import in_segments
from sumpwright.kit.internals import make_internals
from sumpwright.kit.internals_model import RUBBER
from sumpwright.kit.joints import Seam, choose_seams
from sumpwright.kit.marks import with_marks
from sumpwright.kit.model import FlatPart, Gap, Joint, KitInputs, RebuildReport, SheetKit, density_of
from sumpwright.kit.nesting import nest_parts
from sumpwright.kit.panels import face_polygon, face_sheets
from sumpwright.kit.price import price_of
from sumpwright.kit.rebuild import measure, sheet_of
from sumpwright.kit.solids import Sheet, rings, surface_solid
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


def solve(inputs: KitInputs, body: PanBody) -> SheetKit:
    """The kit of flat parts with its rebuild report.

    Where the body has no single cavity, is outside the gate or leaves no room for a
    flange, the kit has no parts and its report says why.
    """
    holes = flange_holes(inputs, body)
    flange = flange_part(inputs, body, holes)
    if body.cavity is None:
        return _refused(body, "the lumps make no single oil space")
    if body.gate:
        first = body.gate[0]
        gap = Gap("outline", first.where, first.value, first.limit, first.place)
        return _refused(body, f"{first.where}: {first.cure}", gap)
    if flange is None:
        return _refused(body, "there is no whole flange round the opening")
    cavity = body.cavity
    thickness = {face.index: body.inputs.sheet for face in cavity.faces}
    seams = choose_seams(
        cavity, thickness, body.inputs.flange_thickness, inputs.seam_overlap, inputs.joint_choices
    )
    sheets = face_sheets(cavity, seams, thickness)
    for sheet in sheets.values():
        if sheet.outline.is_empty:
            origin = sheet.frame.origin
            place = (float(origin[0]), float(origin[1]), float(origin[2]))
            gap = Gap("outline", sheet.name, 0.0, body.inputs.sheet, place)
            return _refused(body, f"{sheet.name} is thinner than what its joints take off", gap)
    faces = {key: face_polygon(cavity, cavity.faces[key], sheet.frame) for key, sheet in sheets.items()}
    work = close_corners(
        cavity,
        surface_solid(cavity.vertices, cavity.triangles),
        sheets,
        faces,
        sheet_of(flange),
        seams,
    )
    parts = (*(flat_part(inputs.material, sheet) for sheet in work.sheets.values()), flange)
    joints = _joints(cavity, seams, body.inputs.flange_thickness)
    report = measure(body, parts, inputs.seed)
    if inputs.flange_in_segments:
        parts, joints = in_segments(inputs, body.pattern, parts, joints)
    inside = make_internals(inputs, body, parts)
    if inside is not None:
        parts = (*inside.panels, *inside.parts)
    if inputs.etched:
        parts = with_marks(parts, joints, body)
    metal = tuple(part for part in parts if part.material != RUBBER)
    nests = nest_parts(inputs, metal) if inputs.nests else None
    return SheetKit(
        body,
        parts,
        joints,
        report,
        holes,
        slip_anchor(body.pattern),
        _mass(inputs, parts),
        math.fsum(joint.length for joint in joints if joint.kind != "bend"),
        nests=nests,
        price=None if inputs.rates is None else price_of(inputs, inputs.rates, metal, joints, nests),
        internals=None if inside is None else inside.internals,
    )


def flat_part(material: str, sheet: Sheet) -> FlatPart:
    """The sheet as a flat to cut: drawn side outside, lowest corner of its box at the origin."""
    low = np.array(sheet.outline.bounds[:2])
    frame = sheet.frame
    corner = frame.to_space(low[None])[0] + sheet.thickness * frame.normal
    moved = FlatFrame(frozen_array(corner), frame.x_axis, frame.y_axis)
    outer, *inner = (ring - low for ring in rings(sheet.outline))
    return FlatPart(
        name=sheet.name,
        face=sheet.face,
        outline=_straight(outer),
        cut_outs=tuple(_straight(ring) for ring in inner),
        holes=(),
        marks=(),
        frame=moved,
        thickness=sheet.thickness,
        material=material,
    )


def _straight(ring: FloatArray) -> Outline:
    return Outline(frozen_array(ring), frozen_array(np.zeros(len(ring))))


def _joints(cavity: Cavity, seams: Mapping[int, Seam], flange_thickness: Metre) -> tuple[Joint, ...]:
    joints = []
    for edge in cavity.edges:
        seam = seams[edge.index]
        names = [cavity.faces[f].name for f in (edge.face_a, edge.face_b)]
        start, end = cavity.vertices[edge.start], cavity.vertices[edge.end]
        if seam.kind == "wall under flange":
            names = [
                FLANGE_NAME if cavity.faces[f].role == "rail" else cavity.faces[f].name
                for f in (edge.face_a, edge.face_b)
            ]
        joints.append(
            Joint(
                edge.index,
                names[0],
                names[1],
                seam.kind,
                edge.corner_angle,
                edge.length,
                seam.groove_angle,
                seam.fill_area,
                (float(start[0]), float(start[1]), float(start[2])),
                (float(end[0]), float(end[1]), float(end[2])),
            )
        )
    return tuple(joints)


def _mass(inputs: KitInputs, parts: tuple[FlatPart, ...]) -> float:
    total = 0.0
    for part in parts:
        sheet = sheet_of(part)
        holes = math.fsum(math.pi / 4.0 * hole.diameter**2 for hole in part.holes)
        total += (
            density_of(part, inputs) * part.thickness * (float(sheet.outline.area) - holes) * part.quantity
        )
    return total


def _refused(body: PanBody, why: str, gap: Gap | None = None) -> SheetKit:
    report = RebuildReport(math.inf, 0.0, 0.0, 0, 0, (gap,) if gap else (), True, why)
    return SheetKit(body, (), (), report, (), frozen_array(np.zeros(2)), 0.0, 0.0)
