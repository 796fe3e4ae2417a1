"""The Oil section's pictures and tables: the dipstick, level against volume."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.stick_drawing import draw_stick
from sumpwright.outputs.words import write_shop_length, write_value


def oil_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the oil that is not a finding."""
    oil = results.oil
    if oil is None:
        return
    units = job.units
    stick = job.body.dipstick
    if stick is not None and any(mark.from_stop is not None for mark in oil.marks):
        form.caption("Marks on the dipstick", follow=60.0)
        form.picture(
            42.0,
            lambda sheet, x, y, width, height: draw_stick(
                sheet, stick.stick_length, oil.marks, units, x, y, width, height
            ),
        )
        if oil.stick_mm_per_litre is not None:
            slope = write_value(oil.stick_mm_per_litre, "m/m3", "length per volume", units)
            form.words(f"At the full mark the stick shows {slope}.")
    if oil.balance:
        form.caption("Where the oil stands at the full mark")
        form.table(
            (Column("lump", 60), Column("oil in it", 40, "right")),
            tuple(Row((name, write_value(volume, "m3", "volume", units, 2))) for name, volume in oil.balance),
        )
    if oil.table:
        form.caption("Level against volume, as the engine stands")
        form.table(
            (
                Column("oil at the deepest place", 40, "right"),
                Column("surface below the rail", 40, "right"),
                Column("oil in the pan", 40, "right"),
            ),
            tuple(
                Row(
                    (
                        write_shop_length(row.depth_at_deepest, units),
                        write_shop_length(row.below_rail, units),
                        write_value(row.volume, "m3", "volume", units, 2),
                    )
                )
                for row in oil.table
            ),
        )
