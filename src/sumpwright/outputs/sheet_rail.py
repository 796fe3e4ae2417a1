"""The Rail section's pictures and tables: sketch, readings, bolts."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.plan import rail_plan
from sumpwright.outputs.rail_sketch import draw_rail_sketch, sketch_height
from sumpwright.outputs.sheet_seen import seen_table
from sumpwright.outputs.words import UnitSystem, write_bare_length, write_bolt_length, write_length
from sumpwright.quantities.measured import COVERAGE_95
from sumpwright.rail import BoltLine, RailResult, ReadingCheck

_KINDS = {
    "centre": "centres",
    "inside": "inside",
    "outside": "outside",
    "same_side": "same side",
    "diameter": "diameter",
    "in_line": "in line",
    "offset": "offset",
    "on_one_circle": "on one circle",
    "square": "square",
    "mirrored": "mirrored",
    "readout": "readout",
    "scan": "seen",
    "height": "height",
    "chord": "chord",
    "rise": "rise",
}


def rail_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the rail that is not a finding."""
    rail = results.rail
    if rail is None:
        return
    plan = rail_plan(results)
    if plan is not None:
        height = sketch_height(plan, form.inner_width, 122.0)
        form.caption("The rail as it was measured", follow=height + 12.0)
        form.picture(
            height,
            lambda sheet, x, y, width, height: draw_rail_sketch(
                sheet,
                plan,
                rail.checks,
                rail.not_told_apart,
                job.rail.datum,
                job.units,
                x,
                y,
                width,
                height,
            ),
        )
    if rail.checks:
        _readings(form, rail, job.units)
    for seen in rail.seen:
        seen_table(form, seen, job.units)
    if rail.bolts:
        _bolts(form, rail.bolts, job.units)


def _readings(form: Form, rail: RailResult, units: UnitSystem) -> None:
    form.caption("The readings, one by one", follow=80.0)
    form.words(
        "Inside: between the holes' near edges; outside: over the far edges. Off: what the adjusted rail"
        " gives, less what was read. Good to: half width of the 95 % interval of one reading. Shows:"
        " the smallest mistake that the other readings would show.",
        8.5,
    )
    open_ones = {index for group in rail.not_told_apart for index in group}
    form.table(
        (
            Column("line", 11, "right"),
            Column("holes", 28),
            Column("how", 34),
            Column(f"read, {units}", 20, "right"),
            Column("off", 14, "right"),
            Column("good to", 16, "right"),
            Column("shows", 15, "right"),
            Column("what it says", 46),
        ),
        tuple(
            Row(_reading_cells(check, index in open_ones, units), check.set_aside or index in open_ones)
            for index, check in enumerate(rail.checks)
            if check.reading.line > 0 or check.reading.kind != "scan"  # these have a table of their own
        ),
        7.8,
    )


def _reading_cells(check: ReadingCheck, is_open: bool, units: UnitSystem) -> tuple[str, ...]:
    reading = check.reading
    holes = reading.a if reading.b is None else f"{reading.a} – {reading.b}"
    if reading.with_hole:
        holes += f", {reading.with_hole}"
    if check.set_aside:
        says = "BAD, left out"
        if check.should_have_been is not None:
            says += f"; should be {write_length(check.should_have_been, units, 2)}"
    elif is_open:
        says = "one of these is wrong: measure again"
    elif check.normalised is None:
        says = "nothing checks it"
    else:
        says = "agrees"
    return (
        str(reading.line),
        holes,
        f"{_KINDS[reading.kind]}, {reading.tool}",
        write_bare_length(reading.value, units, 2),
        write_bare_length(check.residual, units, 2),
        f"±{write_bare_length(COVERAGE_95 * reading.u, units, 2)}",
        "–" if check.least_visible_error is None else write_bare_length(check.least_visible_error, units, 2),
        says,
    )


def _bolts(form: Form, bolts: tuple[BoltLine, ...], units: UnitSystem) -> None:
    form.caption("Bolts and studs to buy", follow=70.0)
    form.words(
        "Under the new flange, washer and seal. Turned in: length of thread in the block; wanted: what it"
        " needs there; left at the bottom: room below the bolt's end in a blind hole.",
        8.5,
    )

    def sold(value: float | None, bolt: BoltLine, unknown: str) -> str:
        return unknown if value is None else write_bolt_length(value, bolt.thread)

    def length(value: float | None, unknown: str = "–") -> str:
        return unknown if value is None else write_length(value, units, 1)

    form.table(
        (
            Column("hole", 14),
            Column("thread", 18),
            Column("old", 18, "right"),
            Column("new", 18, "right"),
            Column("clamped", 20, "right"),
            Column("turned in", 20, "right"),
            Column("wanted", 20, "right"),
            Column("left at the bottom", 26, "right"),
            Column("", 30),
        ),
        tuple(
            Row(
                (
                    bolt.hole,
                    bolt.thread,
                    sold(bolt.old_length, bolt, "–"),
                    sold(bolt.new_length, bolt, "none fits"),
                    length(bolt.clamped),
                    length(bolt.new_engagement),
                    length(bolt.needed_engagement),
                    length(bolt.bottom_clearance),
                    "stud, standing out" if bolt.is_stud else "",
                ),
                bolt.new_length is None,
            )
            for bolt in bolts
        ),
    )
    counts: dict[tuple[str, float], int] = {}
    for bolt in bolts:
        if bolt.new_length is not None and not bolt.is_stud:
            counts[bolt.thread, bolt.new_length] = counts.get((bolt.thread, bolt.new_length), 0) + 1
    if counts:
        wanted = "; ".join(
            f"{count} × {thread} × {write_bolt_length(size, thread)}"
            for (thread, size), count in sorted(counts.items())
        )
        form.words(f"Bolts to buy: {wanted}.", 10.5, bold=True)
