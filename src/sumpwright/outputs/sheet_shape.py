"""The Shape section's pictures and tables: three views, lumps, faces, places that are too small."""

from __future__ import annotations

import math

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.pan_views import draw_views
from sumpwright.outputs.sheet_room import compartment_tables, room_tables
from sumpwright.outputs.words import write_shop_length, write_value


def shape_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the shape that is not a finding."""
    body = results.body
    if body is None or body.cavity is None:
        return
    cavity = body.cavity
    form.caption("What each lump brings")
    form.table(
        (Column("lump", 40), Column("volume below the rail", 40, "right"), Column("floor", 80)),
        tuple(
            Row((name, write_value(volume, "m3", "volume", job.units, 2), _floor(job, name)))
            for name, volume in cavity.lump_volumes
        ),
    )
    form.caption("The faces")
    form.table(
        (
            Column("face", 50),
            Column("of lump", 30),
            Column("area", 26, "right"),
            Column("off the rail plane", 30, "right"),
            Column("corners", 18, "right"),
        ),
        tuple(
            Row(
                (
                    face.name,
                    face.lump,
                    write_value(face.area, "m2", "area", job.units, 0),
                    write_value(_off_rail(float(face.plane.normal[2])), "rad", "angle", job.units, 1),
                    str(sum(len(loop) for loop in face.loops)),
                )
            )
            for face in cavity.faces
            if face.role != "rail"
        ),
    )
    if body.gate:
        form.caption("Places that are too small or too sharp for this sheet")
        form.table(
            (
                Column("where", 60),
                Column("is", 20, "right"),
                Column("at least", 20, "right"),
                Column("cure", 60),
            ),
            tuple(
                Row((breach.where, *_breach(breach.value, breach.limit, breach.unit, job), breach.cure), True)
                for breach in body.gate
            ),
        )
    if body.division is not None:
        compartment_tables(form, body.division, job.units)
    if body.fit is not None:
        room_tables(form, body.fit, job.units)
    form.caption("The pan, oil-side size", follow=225.0)
    form.words(
        "In the engine's own axes. Dashed dark: oil at the full mark; dotted: at the low mark, both level as"
        " the engine stands in the vehicle.",
        8.5,
    )
    form.picture(
        212.0,
        lambda sheet, x, y, width, height: draw_views(
            sheet, body, results.oil, job.units, x, y, width, height
        ),
    )


def _off_rail(normal_z: float) -> float:
    """Angle between a face and the rail plane [rad]."""
    return math.acos(min(1.0, abs(normal_z)))


def _floor(job: Job, lump: str) -> str:
    return next((entry.floor_words for entry in job.body.lumps if entry.name == lump), "")


def _breach(value: float, limit: float, unit: str, job: Job) -> tuple[str, str]:
    if unit == "m":
        return write_shop_length(value, job.units), write_shop_length(limit, job.units)
    kind = {"rad": "angle", "1": "count"}.get(unit, "")
    return write_value(value, unit, kind, job.units), write_value(limit, unit, kind, job.units)
