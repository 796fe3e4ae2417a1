"""The Proof section's tables: pressure panel by panel, gear, steps of the test, what was read."""

from __future__ import annotations

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.proof_steps import test_steps
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_value
from sumpwright.proof.model import Flatness, PanelStrength, ProofResult, StickCorrection, TestGear
from sumpwright.proof.solve import CEILING
from sumpwright.quantities.units import Metre, Pascal

_MOST_PANELS = 14


def proof_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the proof that is not a finding."""
    proof = results.proof
    if proof is None:
        return
    if proof.panels:
        _panels(form, proof, job.units)
    if proof.gear is not None:
        _gear(form, proof.gear, job.units)
    if proof.test_pressure is not None:
        _steps(form, job, proof)
    _liquids(form, proof, job.units)
    for flatness in proof.flatness:
        _flatness(form, flatness, job.units)
    _record(form, job, proof)
    if proof.correction is not None:
        _poured(form, proof.correction, job.units)
    _for_the_shop(form, job, results)
    _earlier(form, job)


def _kpa(value: float, units: UnitSystem, digits: int = 1) -> str:
    return write_value(value, "Pa", "pressure", units, digits)


def _limit(value: float, units: UnitSystem) -> str:
    """A pressure; far beyond any test it does not matter how far."""
    most = 10.0 * CEILING
    return _kpa(value, units) if value < most else f"over {_kpa(most, units, 0)}"


def _panels(form: Form, proof: ProofResult, units: UnitSystem) -> None:
    form.caption("Panels under air, weakest first", follow=60.0)
    form.words(
        f"At {_kpa(proof.asked_pressure, units)}. Weld: stress at edges that do not turn; inside: with"
        f" edges that"
        " turn freely. Bulge: between the two. Metal: pressure at half the yield strength. Formula:"
        " pressure at"
        " which the bulge is half the thickness; a panel that comes to that before the test pressure"
        " is worked out with the pull of its skin (marked *).",
        8.5,
    )
    rows = [
        Row(
            (
                panel.panel + ("" if panel.stretch is None else " *"),
                f"{panel.walls_across}/{panel.patches}",
                write_value(_at_weld(panel), "Pa", "stress", units),
                write_value(_inside(panel), "Pa", "stress", units),
                f"{write_length(_bulge(panel)[0], units, 2)} to {write_length(_bulge(panel)[1], units, 2)}",
                _limit(panel.metal_limit, units),
                _limit(panel.formula_limit, units),
            ),
            is_marked=panel is proof.panels[0],
        )
        for panel in proof.panels[:_MOST_PANELS]
    ]
    form.table(
        (
            Column("panel", 44),
            Column("walls / bosses", 18, "middle"),
            Column("weld", 20, "right"),
            Column("inside", 20, "right"),
            Column("bulge", 36, "right"),
            Column("metal", 20, "right"),
            Column("formula", 20, "right"),
        ),
        tuple(rows),
        7.8,
    )
    if len(proof.panels) > _MOST_PANELS:
        form.words(f"{len(proof.panels) - _MOST_PANELS} stronger panels stand in results.json only.", 8.5)


def _at_weld(panel: PanelStrength) -> Pascal:
    return panel.stress_at_weld if panel.stretch is None else panel.stretch.stress_at_weld


def _inside(panel: PanelStrength) -> Pascal:
    return panel.stress_inside if panel.stretch is None else panel.stretch.stress_inside


def _bulge(panel: PanelStrength) -> tuple[Metre, Metre]:
    if panel.stretch is None:
        return panel.bulge_clamped, panel.bulge_supported
    return panel.stretch.bulge_least, panel.stretch.bulge_most


def _gear(form: Form, gear: TestGear, units: UnitSystem) -> None:
    form.caption("Gear for the leak test", follow=60.0)
    form.words(
        f"Blanking plate {write_length(gear.plate_thickness, units)} and gasket as in gear/*.dxf. The plate's"
        " holes are the flange's: clamp it on and open the flange's holes through it after welding.",
        8.5,
    )
    form.table(
        (Column("what", 46), Column("how many", 16, "middle"), Column("", 100)),
        tuple(Row((row.name, row.quantity, row.words)) for row in gear.rows),
    )


def _steps(form: Form, job: Job, proof: ProofResult) -> None:
    form.caption("The leak test, step by step", follow=60.0)
    for number, step in enumerate(test_steps(job.units, proof, job.proof), start=1):
        form.words(f"{number}.  {step.words}", 9.5)
        if step.caution:
            form.caution("", step.caution)


def _liquids(form: Form, proof: ProofResult, units: UnitSystem) -> None:
    form.caption("Without air", follow=40.0)
    form.table(
        (
            Column("with", 34),
            Column("weighs", 18, "right"),
            Column("presses", 20, "right"),
            Column("takes", 18, "right"),
            Column("", 90),
        ),
        tuple(
            Row(
                (
                    way.liquid,
                    "–" if way.mass == 0.0 else write_value(way.mass, "kg", "mass", units, 1),
                    "–" if way.deepest_pressure == 0.0 else _kpa(way.deepest_pressure, units),
                    f"{way.time / 60:.0f} min",
                    way.words,
                )
            )
            for way in proof.liquids
        ),
        7.8,
    )


def _flatness(form: Form, flatness: Flatness, units: UnitSystem) -> None:
    if not len(flatness.off_plane):
        return
    form.caption(f"Sealing face as read, {flatness.state}", follow=80.0)
    form.words(
        "Height of each point over the lower of the two flats that hold all of them; marked: where to"
        " take off,"
        " and how much to stay within what the sealant bears.",
        8.5,
    )
    form.picture(62.0, _face_picture(flatness, units))
    if flatness.take_off:
        form.table(
            (Column("x", 24, "right"), Column("y", 24, "right"), Column("take off", 30, "right")),
            tuple(
                Row(
                    tuple(
                        write_length(value, units, digits)
                        for value, digits in zip(row, (0, 0, 2), strict=True)
                    )
                )
                for row in flatness.take_off
            ),
        )


def _face_picture(flatness: Flatness, units: UnitSystem):  # type: ignore[no-untyped-def]
    """Points of the face seen from below: front to the right, the engine's left down."""
    points = flatness.off_plane
    marked = {(round(x, 6), round(y, 6)) for x, y, _ in flatness.take_off}

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
        span = high - low
        scale = min((width - 30.0) / max(float(span[0]), 1e-6), (height - 16.0) / max(float(span[1]), 1e-6))
        for px, py, off in points:
            at_x = x + 15.0 + (px - low[0]) * scale
            at_y = y + height - 8.0 - (py - low[1]) * scale
            is_high = (round(float(px), 6), round(float(py), 6)) in marked
            sheet.circle(at_x, at_y, 1.1, fill=0.0 if is_high else None)
            sheet.text(at_x + 1.8, at_y - 1.0, write_length(float(off), units, 2), 7.0, bold=is_high)
        sheet.text(x + width, y + 1.0, "seen from below, front to the right", 7.0, align="right", grey=0.3)

    return draw


def _poured(form: Form, poured: StickCorrection, units: UnitSystem) -> None:
    """What the stick says of the oil, as the pours put it right."""
    form.caption("What is in the pan for what the stick shows, by the pours", follow=60.0)
    if not poured.fits:
        form.words("The pours contradict each other: do not go by this table before they are repeated.", 8.5)
    form.table(
        (
            Column("stick, from its shoulder", 44, "right"),
            Column("in the pan", 34, "right"),
            Column("within", 30, "right"),
            Column("as drawn", 34, "right"),
        ),
        tuple(
            Row(
                (
                    write_length(row.reading, units, 1),
                    write_value(row.volume, "m3", "volume", units, 2),
                    write_value(2.0 * row.volume_u, "m3", "volume", units, 2),
                    write_value(row.drawn, "m3", "volume", units, 2),
                )
            )
            for row in poured.curve
        ),
        7.8,
    )


def _earlier(form: Form, job: Job) -> None:
    """What the pan before this one taught."""
    earlier = None if job.proof is None else job.proof.earlier
    if earlier is None:
        return
    form.caption("From the pan before this one", follow=40.0)
    rows = []
    if earlier.bow is not None:
        rows.append(Row(("bow off the strongback", write_length(earlier.bow, job.units, 2))))
    if earlier.weighed is not None:
        rows.append(Row(("weighed", write_value(earlier.weighed, "kg", "mass", job.units, 2))))
    if earlier.hours is not None:
        rows.append(Row(("hours", write_number(earlier.hours / 3600.0, 1))))
    rows += [Row((f"leaked: {look.seam}", str(look.growing))) for look in earlier.leaks]
    rows += [Row((f"welded: {row.seam}", row.words)) for row in earlier.settings]
    rows += [Row(("note", note)) for note in earlier.notes]
    rows += [Row((f"left out: {name}", what)) for name, what in earlier.trouble]
    form.table((Column("what", 60), Column("", 110)), tuple(rows or [Row(("nothing to tell", ""))]))


def _for_the_shop(form: Form, job: Job, results: JobResults) -> None:
    """The measured bow as it goes into the shop file, where the next pan learns from it."""
    record = None if job.proof is None else job.proof.record
    if record is None or record.bow is None or results.bow is None:
        return
    least, most = results.bow.released
    form.caption("For the next pan's sheet", follow=20.0)
    form.words(
        f"Told was a bow of {write_length(least, job.units, 2)} to {write_length(most, job.units, 2)},"
        f" {write_length(abs(record.bow), job.units, 2)} measured. 'sumpwright record --to-shop' writes that"
        " into shop.toml, and the next pan of this metal is told from it.",
        9.0,
    )


def _record(form: Form, job: Job, proof: ProofResult) -> None:
    record = None if job.proof is None else job.proof.record
    if record is None:
        form.words(
            "Nothing has been written down about the finished pan yet: fill in the bench sheet, then"
            " 'sumpwright record'.",
            9.5,
        )
        return
    units = job.units
    form.caption("Written down", follow=40.0)
    rows = [Row(("entries", ", ".join(record.entries)))]
    if record.weighed is not None:
        rows.append(Row(("weighs", write_value(record.weighed, "kg", "mass", units, 2))))
    if record.bow is not None:
        rows.append(Row(("bow off the strongback", write_length(record.bow, units, 2))))
    if record.hours is not None:
        rows.append(Row(("hours", write_number(record.hours / 3600.0, 1))))
    rows += [Row((f"welded: {row.seam}", row.words)) for row in record.settings]
    rows += [Row((f"bubbles: {look.seam}", str(look.growing))) for look in record.bubbles]
    if proof.correction is not None:
        rows += [
            Row(
                (
                    f"{name} mark",
                    f"{write_length(after, units, 1)} from the shoulder (computed"
                    f" {write_length(before, units, 1)},"
                    f" good to {write_length(2.0 * u, units, 1)})",
                )
            )
            for name, before, after, u in proof.correction.marks
        ]
    rows += [Row(("log", name)) for name in record.logs]
    rows += [Row(("note", note)) for note in record.notes]
    rows += [Row((f"left out: {name}", what)) for name, what in record.trouble]
    form.table((Column("what", 60), Column("", 110)), tuple(rows))
