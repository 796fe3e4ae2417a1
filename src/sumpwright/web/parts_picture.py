"""The parts' picture: each flat, each at its place, and the seams between them."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.job.model import Job
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.model import Fold, is_flange
from sumpwright.outputs.parts_list import part_mass, part_size
from sumpwright.outputs.solids import part_solid
from sumpwright.outputs.words import write_number
from sumpwright.quantities.units import FloatArray
from sumpwright.web.picture_messages import (
    FlatShape,
    FoldOfPart,
    GapShape,
    HoleOfPart,
    MarkOfPart,
    PartsPicture,
    SeamShape,
)
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import flat_list_mm, outline_mm, point_mm, unit_vector


def parts_picture(now: Snapshot, revision: str) -> PartsPicture:
    """Every part of the kit; none where there is no kit."""
    kit, job = now.results().kit, now.job
    if kit is None or job is None:
        return PartsPicture(
            revision=revision, trouble=["No parts were made yet."], parts=[], seams=[], gaps=[]
        )
    middle = _middle(kit)
    steps = _steps(kit, now)
    return PartsPicture(
        revision=revision,
        trouble=[kit.rebuild.why] if kit.rebuild.refused and kit.rebuild.why else [],
        parts=[_flat(part, job, middle, steps[part.name]) for part in kit.parts],
        seams=[
            SeamShape(
                name=f"{joint.part_a} to {joint.part_b}",
                kind=joint.kind,
                part_a=joint.part_a,
                part_b=joint.part_b,
                start_mm=point_mm(joint.start),
                end_mm=point_mm(joint.end),
                length_mm=round(joint.length * 1e3, 2),
                step=None,
            )
            for joint in kit.joints
        ],
        gaps=[
            GapShape(kind=gap.kind, where=gap.where, place_mm=point_mm(gap.place)) for gap in kit.rebuild.gaps
        ],
    )


def _middle(kit: SheetKit) -> FloatArray:
    cavity = kit.body.cavity
    middle: FloatArray = np.zeros(3) if cavity is None else np.mean(cavity.vertices, axis=0)
    return middle


def _steps(kit: SheetKit, now: Snapshot) -> dict[str, int]:
    """In which order the parts go on: that of the weld plan, and as they are listed where none is planned."""
    loose = () if kit.internals is None else kit.internals.loose
    ordered = sorted(kit.parts, key=lambda part: (part.name in loose, is_flange(part)))
    outcome = now.outcomes.get("weld")
    plan = None if outcome is None or outcome.result is None else outcome.result.plan
    if plan is None:
        return {part.name: at for at, part in enumerate(ordered, 1)}
    steps: dict[str, int] = {}
    at = 0
    for step in plan.steps:
        new = [name for name in step.parts if name not in steps] if step.action == "set" else []
        if new:
            at += 1
            steps |= dict.fromkeys(new, at)
    for part in ordered:
        if part.name not in steps:
            at += 1
            steps[part.name] = at
    return steps


def _flat(part: FlatPart, job: Job, middle: FloatArray, step: int) -> FlatShape:
    surface = part_solid(part).surface
    length, width = part_size(part)
    frame = part.frame
    return FlatShape(
        name=part.name,
        material=part.material,
        thickness_mm=round(part.thickness * 1e3, 4),
        quantity=part.quantity,
        mass_kg=round(part_mass(part, job.kit), 5),
        length_mm=round(length * 1e3, 3),
        width_mm=round(width * 1e3, 3),
        note=part.note,
        seen_from="seen from below" if is_flange(part) else "seen from the pan's outside",
        outline_mm=outline_mm(part.outline),
        cut_outs_mm=[outline_mm(one) for one in part.cut_outs],
        holes=[
            HoleOfPart(
                label=hole.label,
                x_mm=round(hole.x * 1e3, 4),
                y_mm=round(hole.y * 1e3, 4),
                diameter_mm=round(hole.diameter * 1e3, 4),
            )
            for hole in part.holes
        ],
        folds=[
            FoldOfPart(
                order=fold.order,
                start_mm=(round(fold.start[0] * 1e3, 4), round(fold.start[1] * 1e3, 4)),
                end_mm=(round(fold.end[0] * 1e3, 4), round(fold.end[1] * 1e3, 4)),
                words=_fold_words(fold),
            )
            for fold in part.folds
        ],
        marks=[
            MarkOfPart(
                kind=mark.kind, words=mark.words, lines_mm=[flat_list_mm(one.points) for one in mark.strokes]
            )
            for mark in part.marks
        ],
        step=step,
        apart=unit_vector(_apart(part, surface.vertices, middle)),
        origin_mm=point_mm(frame.origin),
        x_axis=unit_vector(frame.x_axis),
        y_axis=unit_vector(frame.y_axis),
        solid_mm=flat_list_mm(surface.vertices),
        triangles=surface.triangles.ravel().tolist(),
    )


def _fold_words(fold: Fold) -> str:
    return f"{'up' if fold.towards_viewer else 'down'} {write_number(math.degrees(fold.turn), 1)}°"


def _apart(part: FlatPart, vertices: FloatArray, middle: FloatArray) -> FloatArray:
    """The way a part is drawn away from the others: across its sheet, outwards; the flange upwards."""
    if is_flange(part):
        return np.array([0.0, 0.0, 1.0])
    normal = part.frame.normal
    outwards = float(normal @ (np.mean(vertices, axis=0) - middle)) >= 0.0
    return normal if outwards or part.face is not None else -normal
