"""The Motion section's pictures and tables: where the pickup stays covered, held for ever."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.motion.model import MotionResult
from sumpwright.outputs.cover_picture import draw_acceleration_cover, draw_slope_cover
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import write_length, write_value


def motion_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the oil in motion that is not a finding."""
    motion = results.motion
    if motion is None:
        return
    if motion.accelerations is not None or motion.slopes is not None:
        _pictures(form, job, motion)
    if motion.held_to:
        form.caption("How hard each way, held for ever")
        form.table(
            (Column("", 70), Column("asked", 30, "right"), Column("covered up to", 40, "right")),
            tuple(
                Row(
                    (
                        held.words,
                        write_value(held.asked, "m/s2", "acceleration", job.units, 2),
                        "not even standing still"
                        if held.acceleration != held.acceleration
                        else write_value(held.acceleration, "m/s2", "acceleration", job.units, 2),
                    ),
                    not held.is_all,
                )
                for held in motion.held_to
            ),
        )
    if motion.nearest:
        form.caption("On slopes, what the oil comes nearest to")
        form.table(
            (
                Column("", 44),
                Column("when", 60),
                Column("nose up", 24, "right"),
                Column("leaned right", 26, "right"),
                Column("oil stands below it by", 36, "right"),
            ),
            tuple(
                Row(
                    (
                        row.name,
                        row.words,
                        write_value(row.nose_up, "rad", "angle", job.units, 1),
                        write_value(row.lean_right, "rad", "angle", job.units, 1),
                        write_length(row.height_left, job.units, 1),
                    ),
                    row.height_left < 0.0,
                )
                for row in motion.nearest
            ),
        )


def _pictures(form: Form, job: Job, motion: MotionResult) -> None:
    wanted = write_length(motion.least_cover, job.units)
    volume = "" if motion.volume is None else write_value(motion.volume, "m3", "volume", job.units, 2)
    form.caption("Where the pickup stays covered, held for ever", follow=120.0)
    form.words(
        f"With {volume} in the pan: low mark, most oil up in the engine. White: {wanted} or more over the"
        " mouth. Grey: less than that. Black: the mouth draws air. The space above the rail counts as open.",
        8.5,
    )

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        half = width / 2
        if motion.accelerations is not None:
            draw_acceleration_cover(sheet, motion.accelerations, motion.least_cover, x, y, half, height)
        if motion.slopes is not None:
            draw_slope_cover(sheet, motion.slopes, motion.least_cover, x + half, y, half, height)

    form.picture(94.0, draw)
