"""The Oil section's pictures and tables: the dipstick, level against volume."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.oil.model import StickSlope
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.sheet_old_pan import old_pan_table
from sumpwright.outputs.stick_drawing import draw_stick
from sumpwright.outputs.words import (
    UnitSystem,
    lean_words,
    nose_words,
    write_length,
    write_shop_length,
    write_value,
)


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
    truth = oil.stick_truth
    if truth is not None and truth.slopes:
        form.caption("What the full reading shows on a floor that is not level")
        _slopes(form, truth.slopes, units)
    form.caption("The volume, lump by lump")
    rows = [Row((name, write_value(volume, "m3", "volume", units, 2))) for name, volume in oil.balance]
    rows.append(
        Row(("all of it, up to the rail plane", write_value(oil.whole_volume, "m3", "volume", units, 2)))
    )
    rows.append(
        Row(
            (
                "level oil, up to the lowest point of the rail",
                write_value(oil.capacity_to_rail, "m3", "volume", units, 2),
            ),
            True,
        )
    )
    poured = None if results.proof is None else results.proof.correction
    if poured is not None and poured.fits:
        held = poured.capacity
        rows.append(
            Row(
                (
                    "the same by what was poured in, within"
                    f" {write_value(2.0 * held.volume_u, 'm3', 'volume', units, 2)}",
                    write_value(held.volume, "m3", "volume", units, 2),
                ),
                True,
            )
        )
    if oil.target is not None:
        whose = "what the old pan held" + (", by its scan" if job.oil.target_capacity is None else "")
        rows.append(Row((whose, write_value(oil.target, "m3", "volume", units, 2))))
    form.table((Column("", 80), Column("volume", 40, "right")), tuple(rows))
    if oil.old_pan is not None:
        old_pan_table(form, oil.old_pan, units)
    if oil.heights:
        form.caption("What the oil must not touch")
        form.table(
            (
                Column("", 50),
                Column("oil in the pan, hot", 40, "right"),
                Column("oil stands below it by", 40, "right"),
            ),
            tuple(
                Row(
                    (
                        row.name,
                        write_value(row.oil_volume, "m3", "volume", units, 2),
                        write_length(row.height_left, units, 1),
                    ),
                    row.height_left < 0.0,
                )
                for row in oil.heights
            ),
        )
    if oil.drained:
        form.caption("What stays in when the plug is out")
        form.table(
            (Column("vehicle stands", 50), Column("left inside", 40, "right"), Column("where", 70)),
            tuple(
                Row(
                    (
                        row.words,
                        write_value(row.left_behind, "m3", "volume", units),
                        ", ".join(dict.fromkeys(pool.face for pool in row.pools)) or "nowhere",
                    )
                )
                for row in oil.drained
            ),
        )
    if oil.extractions:
        form.caption("What stays in when it is sucked out, the vehicle level")
        form.table(
            (Column("tube", 50), Column("left inside", 40, "right"), Column("end above floor", 40, "right")),
            tuple(
                Row(
                    (
                        row.name,
                        "–"
                        if row.left_behind is None
                        else write_value(row.left_behind, "m3", "volume", units),
                        "–" if row.off_floor is None else write_length(row.off_floor, units, 1),
                    )
                )
                for row in oil.extractions
            ),
        )
    if oil.sensors:
        form.caption("Where a level sensor goes dry")
        form.table(
            (
                Column("sensor", 50),
                Column("oil in the pan", 36, "right"),
                Column("under the low mark", 36, "right"),
            ),
            tuple(
                Row(
                    (
                        row.name,
                        write_value(row.switches_at, "m3", "volume", units, 2),
                        "–"
                        if row.under_low is None
                        else write_value(row.under_low, "m3", "volume", units, 2),
                    )
                )
                for row in oil.sensors
            ),
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


def _slopes(form: Form, slopes: tuple[StickSlope, ...], units: UnitSystem) -> None:
    """A square of corrections: one line a nose attitude, one column a lean."""
    leans = sorted({row.lean_right for row in slopes})
    noses = sorted({row.nose_up for row in slopes}, reverse=True)
    shift = {(row.nose_up, row.lean_right): _reads(row.shift, units) for row in slopes}
    form.table(
        (Column("", 30), *(Column(lean_words(lean), 30, "right") for lean in leans)),
        tuple(Row((nose_words(nose), *(shift.get((nose, lean), "") for lean in leans))) for nose in noses),
    )


def _reads(shift: float | None, units: UnitSystem) -> str:
    """How far the full reading moves, in words."""
    if shift is None:
        return "off the stick"
    if abs(shift) < 5e-5:
        return "true"
    return f"{write_length(abs(shift), units, 1)} too {'full' if shift > 0 else 'low'}"
