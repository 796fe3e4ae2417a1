"""From the oil-side shape to flat parts that close, and the proof that they do."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.kit.flange import FLANGE_NAME, flange_part
from sumpwright.kit.flange_holes import flange_holes, slip_anchor
from sumpwright.kit.flange_segments import in_segments
from sumpwright.kit.fold_marks import with_fold_words
from sumpwright.kit.internals import make_internals
from sumpwright.kit.internals_model import RUBBER
from sumpwright.kit.joints import Seam
from sumpwright.kit.land_parts import on_lands
from sumpwright.kit.marks import with_marks
from sumpwright.kit.model import FlatPart, Gap, Joint, KitInputs, OnLands, RebuildReport, SheetKit, density_of
from sumpwright.kit.nesting import nest_parts
from sumpwright.kit.patch_model import Patches
from sumpwright.kit.patches import place_patches
from sumpwright.kit.price import price_of
from sumpwright.kit.rebuild import measure, sheet_of
from sumpwright.kit.set_on import with_warning
from sumpwright.kit.shell import TooThin, folded_together, make_shell
from sumpwright.quantities.units import Metre, frozen_array


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
    follows = body.uneven is not None and bool(body.uneven.steps or body.uneven.arches)
    shell = make_shell(inputs, body, cavity, flange, prove=not follows)
    if isinstance(shell, TooThin):
        return _refused(body, f"{shell.gap.where} is thinner than what its joints take off", shell.gap)
    parts = shell.flats
    joints = _joints(cavity, shell.seams, body.inputs.flange_thickness)
    report = shell.report
    laid = None
    if body.uneven is not None and follows:
        laid = on_lands(body, cavity, body.uneven, parts, flange, joints)
        parts, joints = laid.flats, laid.joints
        as_bent = folded_together(cavity, parts, shell.bends, replace(inputs, folder=None))
        report = measure(body, as_bent, inputs.seed, bends=shell.bends, block=laid.block, top=laid.top)
    shell_flats = parts
    if inputs.flange_in_segments and laid is None:
        parts, joints = in_segments(inputs, body.pattern, parts, joints)
    inside = make_internals(inputs, body, parts)
    if inside is not None:
        parts = (*inside.panels, *inside.parts)
    patches: Patches | None = None
    if inputs.patch_plates:
        internals = None if inside is None else inside.internals
        patched = place_patches(inputs.patch_plates, parts, cavity, body.division, internals, inputs.material)
        parts, joints = (*patched.panels, *patched.plates), (*joints, *patched.joints)
        patches = patched.patches
        if patched.plates:
            # The proof again, with the openings cut and their plates on.
            opened = {part.face: part for part in patched.panels if part.face is not None}
            flats = tuple(part if part.face is None else opened[part.face] for part in shell_flats)
            as_bent = folded_together(
                cavity, (*flats, *patched.plates), shell.bends, replace(inputs, folder=None)
            )
            block, top = ((), 0.0) if laid is None else (laid.block, laid.top)
            report = measure(body, as_bent, inputs.seed, bends=shell.bends, block=block, top=top)
    if inputs.etched:
        parts = with_warning(with_marks(parts, joints, body), body)
    if shell.bends:
        parts = folded_together(cavity, parts, shell.bends, inputs)
        parts = with_fold_words(parts) if inputs.etched else parts
        joints = _of_bent_parts(joints, parts, cavity)
        patches = _of_bent_panels(patches, parts)
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
        lands=None if laid is None else OnLands(laid.spots, laid.trouble),
        patches=patches,
    )


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


def _of_bent_parts(
    joints: tuple[Joint, ...], parts: tuple[FlatPart, ...], cavity: Cavity
) -> tuple[Joint, ...]:
    """The joints with the bent parts' names in place of their faces'."""
    name = {cavity.faces[face].name: part.name for part in parts for face, _, _ in part.faces}
    return tuple(
        replace(
            joint, part_a=name.get(joint.part_a, joint.part_a), part_b=name.get(joint.part_b, joint.part_b)
        )
        for joint in joints
    )


def _of_bent_panels(patches: Patches | None, parts: tuple[FlatPart, ...]) -> Patches | None:
    """The patch plates with the names of the bent parts that carry them."""
    if patches is None:
        return None
    name = {face: part.name for part in parts for face, _, _ in part.faces}
    return replace(
        patches,
        placed=tuple(replace(patch, panel=name.get(patch.face, patch.panel)) for patch in patches.placed),
    )


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
