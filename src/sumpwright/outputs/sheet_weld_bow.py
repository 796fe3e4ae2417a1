"""How far the pan moves in welding, seen from below, in the Welding section."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, KeyFigure, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.plan import RailPlan, rail_plan
from sumpwright.outputs.words import UnitSystem, write_length, write_number, write_value
from sumpwright.weld.bow_model import BowResult, Doubt

Draw = Callable[[Sheet, float, float, float, float], None]

_DOUBT: dict[Doubt, tuple[str, str]] = {
    "order of magnitude": ("order of magnitude", "no strip, no earlier pan"),
    "by coupon": ("from your strip", "welded strip of the shop file"),
    "by record": ("from your last pan", "record of the shop file"),
}
_MOST_SEAMS = 8


def bow_pages(form: Form, job: Job, results: JobResults, bow: BowResult) -> None:
    """The range, where it bows, what does it, what is left to face."""
    units = job.units
    form.caption("How far it moves", follow=60.0)
    if bow.trouble:
        form.words(f"Not worked out: {bow.trouble}.")
        return
    name, note = _DOUBT[bow.doubt]
    form.key_figures(
        (
            KeyFigure("off the plate, out of flat", _span(bow.released, units), "bolted down until cold"),
            KeyFigure("welded lying free", _span(bow.free, units), "for comparison"),
            KeyFigure(
                "left after facing, at least", write_length(bow.left_least, units, 1), "thinnest place"
            ),
            KeyFigure("how sure", name, note),
        )
    )
    form.words(
        "Every seam pulls along itself; all panels together give way like sheet, not like a beam. Bolt holes,"
        " openings of inner walls and the turning of fillets are left out. Across itself a corner seam"
        " of 1.5 to"
        " 3 mm sheet draws in by 0.2 to 0.5 mm besides (common practice, no source).",
        8.5,
    )
    plan = rail_plan(results)
    if plan is not None and bow.holes is not None:
        low_u, low_v, high_u, high_v = plan.box()
        scale = min((form.inner_width - 16.0) / (high_u - low_u), 90.0 / (high_v - low_v))
        height = (high_v - low_v) * scale + 16.0
        form.caption("Flange as it comes off the plate, from below, front to the right", follow=height + 8.0)
        form.picture(height, _picture(plan, bow, units, scale))
        form.words(
            "At each bolt: how far the flange stands off its mean plane at the far end of the range; a"
            " ring is"
            " towards the block, a disc away from it.",
            8.5,
        )
    _seams(form, bow, units)
    _risks(form, bow, units)
    form.caution(
        "Milling a bowed flange",
        "Never clamp a sprung flange flat and mill it: it is true on the table and springs back when it"
        " is let"
        " go. Shim under it where it stands off, clamp over the shims without bending it, take light"
        " cuts, turn"
        " it over and spot-face the bolt seats parallel. Chips and clamps injure: guards and eye protection.",
    )


def _span(both: tuple[float, float], units: UnitSystem) -> str:
    low, high = write_length(both[0], units, 2), write_length(both[1], units, 2)
    return f"{low.rpartition(' ')[0]} to {high}"


def _picture(plan: RailPlan, bow: BowResult, units: UnitSystem, scale: float) -> Draw:
    low_u, low_v, high_u, high_v = plan.box()
    assert bow.holes is not None
    lifts = dict(zip(bow.holes.names, bow.holes.lift_most, strict=True))
    largest = max(float(np.abs(bow.holes.lift_most).max()), 1e-9)

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        left = x + (width - (high_u - low_u) * scale) / 2

        def place(u: float, v: float) -> tuple[float, float]:
            return left + (u - low_u) * scale, y + height - 8.0 - (v - low_v) * scale

        for line in (*plan.outside, *plan.inside):
            sheet.polyline([place(u, v) for u, v in line], close=True, weight=0.25, grey=0.5)
        centre = 0.5 * (low_v + high_v)
        for hole in plan.holes:
            lift = float(lifts.get(hole.name, 0.0))
            px, py = place(hole.u, hole.v)
            size = 0.5 + 2.5 * abs(lift) / largest
            sheet.circle(px, py, size, weight=0.35, fill=1.0 if lift > 0.0 else 0.0)
            inwards = -5.6 if hole.v < centre else 4.2
            number = write_length(abs(lift), units, 2).rpartition(" ")[0]
            sheet.text(px, py + inwards, f"{'+' if lift > 0.0 else '–'}{number}", 7.0, align="middle")

    return draw


def _seams(form: Form, bow: BowResult, units: UnitSystem) -> None:
    ranked = sorted(bow.seams, key=lambda seam: (-abs(seam.share), seam.name))[:_MOST_SEAMS]
    form.caption("Seams that move the flange most", follow=50.0)
    form.table(
        (
            Column("seam", 60),
            Column("length", 18, "right"),
            Column("heat", 30, "right"),
            Column("pull", 30, "right"),
            Column("its part of the bow", 30, "right"),
        ),
        tuple(
            Row(
                (
                    seam.name,
                    write_length(seam.length, units, 0),
                    f"{write_number(seam.heat_least / 1e6, 2)} to {write_number(seam.heat_most / 1e6, 2)}"
                    f" kJ/mm",
                    f"{write_number(seam.pull_least / 1e3, 1)} to {write_number(seam.pull_most / 1e3, 1)} kN",
                    f"{'' if seam.share >= 0.0 else '–'}{write_length(abs(seam.share), units, 2)}",
                )
            )
            for seam in ranked
        ),
    )
    form.words(
        "Less heat there, a chill bar beside it or welding it early helps most; a minus sign flattens.", 8.5
    )


def _risks(form: Form, bow: BowResult, units: UnitSystem) -> None:
    near = [risk for risk in bow.risks if risk.stress_most > 0.6 * risk.waves_from]
    if not near:
        return
    form.caption("Panels that may wave", follow=30.0)
    form.table(
        (
            Column("panel", 50),
            Column("width", 20, "right"),
            Column("pressed with", 36, "right"),
            Column("waves from", 36, "right"),
        ),
        tuple(
            Row(
                (
                    risk.panel,
                    write_length(risk.width, units, 0),
                    f"{_stress(risk.stress_least, units)} to {_stress(risk.stress_most, units)}",
                    f"{_stress(risk.waves_from, units)} to {_stress(risk.waves_for_sure, units)}",
                )
            )
            for risk in sorted(near, key=lambda one: -one.stress_most / one.waves_from)
        ),
    )


def _stress(value: float, units: UnitSystem) -> str:
    return write_value(value, "Pa", "stress", units, 0)
