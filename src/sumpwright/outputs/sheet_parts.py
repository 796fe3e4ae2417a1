"""The Parts section's pictures and tables: list, flats, flange holes, joints, gaps."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.model import is_flange
from sumpwright.outputs.flat_drawings import draw_flat, drawing_height
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.parts_list import burr_side, part_mass, part_size
from sumpwright.outputs.sheet_alternatives import alternatives_table
from sumpwright.outputs.sheet_inside import inside_pages
from sumpwright.outputs.sheet_nests import nest_pages, price_table
from sumpwright.outputs.words import UnitSystem, write_length, write_value
from sumpwright.quantities.units import Metre

_WIDE: Metre = 0.25
"""Parts longer than this get the whole width of the page."""
_TALL_WIDE, _TALL_PAIR = 116.0, 82.0
"""No drawing is higher than this on paper [mm]: alone across the page, or two side by side."""


def parts_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the kit that is not a finding."""
    kit = results.kit
    if kit is None:
        return
    if kit.rebuild.gaps:
        _gaps(form, kit, job.units)
    if kit.rebuild.refused:
        form.words("The kit was refused, so no flat is drawn: nothing here is to be cut.", 11, bold=True)
        return
    _list(form, job, kit)
    _flats(form, kit, job.units)
    if kit.nests is not None:
        nest_pages(form, kit, kit.nests, job.units)
    if kit.internals is not None:
        inside_pages(form, kit.internals, job.units)
    if kit.price is not None:
        price_table(form, kit.price, job.units)
    if results.alternatives:
        alternatives_table(form, results.alternatives, job.units)
    if kit.flange_holes:
        _flange_holes(form, job, results, kit)
    if kit.joints:
        _joints(form, kit, job.units)


def _list(form: Form, job: Job, kit: SheetKit) -> None:
    form.caption("Parts to order")
    rows = []
    for number, part in enumerate(kit.parts, start=1):
        length, width = part_size(part)
        rows.append(
            Row(
                (
                    str(number),
                    part.name,
                    str(part.quantity),
                    f"{part.material}, {write_length(part.thickness, job.units)}",
                    f"{write_length(length, job.units, 1)} × {write_length(width, job.units, 1)}",
                    write_value(part_mass(part, job.kit), "kg", "mass", job.units, 2),
                    part.note,
                )
            )
        )
    form.table(
        (
            Column("", 9, "right"),
            Column("part", 34),
            Column("off", 8, "right"),
            Column("stock", 32),
            Column("size", 38, "right"),
            Column("mass", 18, "right"),
            Column("note", 40),
        ),
        tuple(rows),
    )
    sheets, flange = burr_side(kit.parts[0]), _flange_burr(kit)
    form.words(f"Burr of the pan sheets: on the {sheets}. Of the flange: on the {flange}.", 9)


def _flange_burr(kit: SheetKit) -> str:
    return next((burr_side(part) for part in kit.parts if is_flange(part)), "back: deburr")


def _flats(form: Form, kit: SheetKit, units: UnitSystem) -> None:
    form.caption("The flats, as the cutter will see them", follow=100.0)
    numbered = list(enumerate(kit.parts, start=1))
    small = [entry for entry in numbered if part_size(entry[1])[0] <= _WIDE]
    for first in range(0, len(small), 2):
        _drawing(form, small[first : first + 2], units, _TALL_PAIR)
    for entry in numbered:
        if part_size(entry[1])[0] > _WIDE:
            _drawing(form, [entry], units, _TALL_WIDE)


def _drawing(form: Form, row: list[tuple[int, FlatPart]], units: UnitSystem, tallest: float) -> None:
    chosen = tuple(row)
    width = form.inner_width / (1 if tallest == _TALL_WIDE else 2) - 1.0
    height = max(drawing_height(part, width, tallest) for _, part in chosen)

    def draw(sheet: Sheet, x: float, y: float, width: float, tall: float) -> None:
        share = width / (1 if tallest == _TALL_WIDE else 2)
        for k, (number, part) in enumerate(chosen):
            draw_flat(sheet, part, number, units, x + k * share + 0.5, y, share - 1.0, tall)

    form.picture(height, draw)


def _flange_holes(form: Form, job: Job, results: JobResults, kit: SheetKit) -> None:
    form.caption("Flange holes: where they are and why they have that size", follow=70.0)
    form.words(
        f"Places from datum hole {job.rail.datum}, towards the engine's front and left. Each hole is opened"
        " all round by what a bolt needs, what measuring and cutting may be off, and what the flange grows"
        " more than the block when hot.",
        8.5,
    )
    pattern = None if results.rail is None else results.rail.pattern
    units = job.units
    rows = []
    for hole in kit.flange_holes:
        front = left = "–"
        if pattern is not None and hole.hole in pattern.names:
            x, y = pattern.xy[pattern.index(hole.hole)]
            front, left = write_length(float(x), units, 2), write_length(float(y), units, 2)
        rows.append(
            Row(
                (
                    hole.hole,
                    front,
                    left,
                    f"Ø {write_length(hole.diameter, units, 2)}",
                    write_length(hole.standard_clearance, units, 2),
                    write_length(hole.from_measuring, units, 2),
                    write_length(hole.from_cutter, units, 2),
                    write_length(hole.from_heat, units, 2),
                )
            )
        )
    form.table(
        (
            Column("hole", 14),
            Column("to the front", 24, "right"),
            Column("to the left", 24, "right"),
            Column("hole to cut", 24, "right"),
            Column("bolt", 20, "right"),
            Column("measuring", 22, "right"),
            Column("cutter", 20, "right"),
            Column("heat", 20, "right"),
        ),
        tuple(rows),
    )


def _joints(form: Form, kit: SheetKit, units: UnitSystem) -> None:
    form.caption("Edges to weld", follow=60.0)
    form.table(
        (
            Column("between", 46),
            Column("and", 46),
            Column("joint", 34),
            Column("corner", 18, "right"),
            Column("length", 22, "right"),
        ),
        tuple(
            Row(
                (
                    joint.part_a,
                    joint.part_b,
                    joint.kind,
                    write_value(joint.corner_angle, "rad", "angle", units, 0),
                    write_length(joint.length, units, 0),
                )
            )
            for joint in kit.joints
        ),
    )


def _gaps(form: Form, kit: SheetKit, units: UnitSystem) -> None:
    form.caption("Where the rebuilt kit does not close")
    form.table(
        (Column("what", 24), Column("where", 80), Column("is", 26, "right"), Column("allowed", 26, "right")),
        tuple(
            Row(
                (
                    gap.kind,
                    gap.where,
                    *(
                        write_value(value, "m3", "volume", units)
                        if gap.kind in ("overlap", "intrusion")
                        else write_length(value, units, 2)
                        for value in (gap.size, gap.limit)
                    ),
                ),
                True,
            )
            for gap in kit.rebuild.gaps
        ),
    )
