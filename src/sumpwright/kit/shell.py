"""The pan's shell: flats of all faces and the flange, closed at the corners, bent where that saves weld."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit.bend_choice import choose_bends
from sumpwright.kit.bends import Bend, bend_seam, bend_setting, possible_bends, rounded
from sumpwright.kit.corners import close_corners
from sumpwright.kit.fold_order import in_order
from sumpwright.kit.joints import Seam, choose_seams
from sumpwright.kit.model import FlatPart, Gap, KitInputs, RebuildReport
from sumpwright.kit.panels import face_polygon, face_sheets
from sumpwright.kit.rebuild import measure, sheet_of
from sumpwright.kit.solids import Sheet, rings, surface_solid
from sumpwright.kit.unfolding import groups_of, unfolded
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

TRIES = 6
"""How many choices of bends are rebuilt before the pan is welded throughout."""

BLAME = 8.0
"""A gap within this many thicknesses of a bend is put down to it."""


@dataclass(frozen=True, slots=True, eq=False)
class Shell:
    """Flats of single faces and the flange, what joins them, and the proof."""

    flats: tuple[FlatPart, ...]  # one a face, and the flange
    seams: Mapping[int, Seam]
    bends: tuple[Bend, ...]
    report: RebuildReport


@dataclass(frozen=True, slots=True)
class TooThin:
    """A face of which its joints leave nothing."""

    gap: Gap


def make_shell(
    inputs: KitInputs, body: PanBody, cavity: Cavity, flange: FlatPart, prove: bool = True
) -> Shell | TooThin:
    """The shell with the bends that save the most weld, or welded throughout where nothing is bent.

    ``prove`` False leaves the proof of a shell without bends to the caller, who changes it
    further; its report then says nothing.
    """
    thickness = {face.index: body.inputs.sheet for face in cavity.faces}
    under = body.inputs.flange_thickness
    seams = choose_seams(cavity, thickness, under, inputs.seam_overlap, inputs.joint_choices)
    setting = bend_setting(inputs, body.inputs.sheet)
    if inputs.folder is not None and not isinstance(setting, str):
        possible = possible_bends(cavity, seams, setting, inputs.folder, under)

        def flats_with(bends: Sequence[Bend]) -> dict[int, FlatPart]:
            sheets = _sheets(cavity, {**seams, **{b.edge: bend_seam(b) for b in bends}}, thickness, bends)
            return {key: flat_part(inputs.material, sheet) for key, sheet in sheets.items()}

        barred: list[frozenset[int]] = []
        for _ in range(TRIES):
            choice = choose_bends(cavity, possible, flats_with, inputs.folder, inputs.stock, barred)
            if not choice.bends:
                break
            shell = _shell(inputs, body, cavity, flange, seams, choice.bends)
            if isinstance(shell, Shell) and not shell.report.refused:
                return shell
            gaps = (shell.gap,) if isinstance(shell, TooThin) else shell.report.gaps
            barred += _blamed(cavity, choice.bends, gaps, BLAME * body.inputs.sheet)
    return _shell(inputs, body, cavity, flange, seams, (), prove)


def folded_together(
    cavity: Cavity, parts: Sequence[FlatPart], bends: Sequence[Bend], inputs: KitInputs
) -> tuple[FlatPart, ...]:
    """The parts with the flats of bent groups laid out as one, at the place of the group's first."""
    group_of = {face: group for group in groups_of(bends) for face in group}
    by_face = {part.face: part for part in parts if part.face is not None}
    made: set[tuple[int, ...]] = set()
    together: list[FlatPart] = []
    for part in parts:
        group = None if part.face is None else group_of.get(part.face)
        if group is None:
            together.append(part)
        elif group not in made:
            made.add(group)
            own = [bend for bend in bends if bend.face_a in group]
            bent = unfolded(cavity, {face: by_face[face] for face in group}, own)
            together.append(bent if inputs.folder is None else in_order(bent, inputs.folder))
    return tuple(together)


def _sheets(
    cavity: Cavity, seams: Mapping[int, Seam], thickness: Mapping[int, Metre], bends: Sequence[Bend]
) -> dict[int, Sheet]:
    return rounded(face_sheets(cavity, seams, thickness), cavity, bends)


def _shell(
    inputs: KitInputs,
    body: PanBody,
    cavity: Cavity,
    flange: FlatPart,
    usual: Mapping[int, Seam],
    bends: tuple[Bend, ...],
    prove: bool = True,
) -> Shell | TooThin:
    thickness = {face.index: body.inputs.sheet for face in cavity.faces}
    seams = {**usual, **{bend.edge: bend_seam(bend) for bend in bends}}
    plain = face_sheets(cavity, seams, thickness)
    for sheet in plain.values():
        if sheet.outline.is_empty:
            x, y, z = (float(value) for value in sheet.frame.origin)
            return TooThin(Gap("outline", sheet.name, 0.0, body.inputs.sheet, (x, y, z)))
    sheets = rounded(plain, cavity, bends)
    faces = {key: face_polygon(cavity, cavity.faces[key], sheet.frame) for key, sheet in sheets.items()}
    solid = surface_solid(cavity.vertices, cavity.triangles)
    work = close_corners(cavity, solid, sheets, faces, sheet_of(flange), seams)
    flats = (*(flat_part(inputs.material, sheet) for sheet in work.sheets.values()), flange)
    if not prove:
        return Shell(flats, seams, bends, RebuildReport(0.0, 0.0, 0.0, 0, 0, (), False))
    parts = folded_together(cavity, flats, bends, replace(inputs, folder=None))
    return Shell(flats, seams, bends, measure(body, parts, inputs.seed, bends=bends))


def _blamed(cavity: Cavity, bends: Sequence[Bend], gaps: Sequence[Gap], reach: Metre) -> list[frozenset[int]]:
    """Bends near a fault, each barred by itself; where none is near, all of them together."""
    near: set[int] = set()
    for gap in gaps:
        for bend in bends:
            edge = cavity.edges[bend.edge]
            start, end = cavity.vertices[edge.start], cavity.vertices[edge.end]
            share = float(np.clip((np.array(gap.place) - start) @ (end - start) / edge.length**2, 0.0, 1.0))
            if np.linalg.norm(np.array(gap.place) - start - share * (end - start)) < reach:
                near.add(bend.edge)
    if near:
        return [frozenset((edge,)) for edge in sorted(near)]
    return [frozenset((bend.edge,)) for bend in bends]


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
