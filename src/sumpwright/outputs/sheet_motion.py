"""The Motion section's pictures and tables: where the pickup stays covered, held for ever."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.motion.model import MotionResult
from sumpwright.outputs.cover_picture import draw_acceleration_cover, draw_slope_cover
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import slope_words, write_length, write_value


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
                Column("", 50),
                Column("when", 90),
                Column("oil stands below it by", 40, "right"),
            ),
            tuple(
                Row(
                    (
                        row.name,
                        slope_words(row.nose_up, row.lean_right),
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
        shown = [covers for covers in (motion.accelerations, motion.slopes) if covers is not None]
        share = width / len(shown)
        for k, covers in enumerate(shown):
            picture = draw_slope_cover if covers.kind == "slopes" else draw_acceleration_cover
            picture(sheet, covers, motion.least_cover, x + k * share, y, share, height)

    form.picture(94.0, draw)
