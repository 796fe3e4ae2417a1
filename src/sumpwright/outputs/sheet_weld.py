"""The Welding section of the job sheet: seams in numbers, the order in short, stops to tick."""

from __future__ import annotations

import math

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.weld_map import turns
from sumpwright.outputs.weld_symbols import SIGN_WORDS, sign_of
from sumpwright.outputs.words import UnitSystem, write_length, write_shop_length
from sumpwright.weld.model import Seam, WeldInputs, WeldPlan, WeldResult


def weld_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the welds that is not a finding."""
    weld = results.weld
    if weld is None or weld.plan is None:
        return
    _totals(form, weld, job.units)
    _order(form, weld, weld.plan, job.units)
    if job.weld is not None:
        _torch(form, job.weld, job.units)
    _stops(form, weld.plan)
    for left in weld.left_out:
        form.words(f"Not in this plan: {left}.", 8.5)


def _totals(form: Form, weld: WeldResult, units: UnitSystem) -> None:
    form.caption("The seams by kind")
    kinds = list(dict.fromkeys(seam.kind for seam in weld.seams))
    rows = []
    for kind in kinds:
        seams = [seam for seam in weld.seams if seam.kind == kind]
        rows.append(
            Row(
                (
                    kind,
                    SIGN_WORDS[sign_of(seams[0])],
                    "tight" if seams[0].is_oil_tight else "stitched",
                    str(len(seams)),
                    write_shop_length(math.fsum(seam.length for seam in seams), units),
                    f"{math.fsum(seam.fill_volume for seam in seams) * 1e6:.1f} mL",
                )
            )
        )
    form.table(
        (
            Column("kind", 40),
            Column("weld", 34),
            Column("", 22),
            Column("seams", 18, "right"),
            Column("length", 30, "right"),
            Column("weld metal", 26, "right"),
        ),
        tuple(rows),
    )


def _order(form: Form, weld: WeldResult, plan: WeldPlan, units: UnitSystem) -> None:
    form.caption("The order; the weld map has every step with its strip")
    seams = {seam.number: seam for seam in weld.seams}
    steps = {step.seam: step for step in plan.steps if step.seam is not None}
    rows = []
    for seam, turn in turns(plan).items():
        step = steps[seam]
        rows.append(
            Row(
                (
                    str(turn),
                    seams[seam].where,
                    step.place,
                    step.side,
                    write_shop_length(seams[seam].length, units),
                    "before the pan is closed" if step.before_closing else "",
                )
            )
        )
    rows += [_missing(seams[number], "out of reach", units) for number in plan.left_over]
    rows += [_missing(seams[number], "stays bare", units) for number in plan.bare]
    form.table(
        (
            Column("turn", 12, "right"),
            Column("seam", 76),
            Column("on", 14),
            Column("from", 20),
            Column("length", 22, "right"),
            Column("", 34),
        ),
        tuple(rows),
    )


def _missing(seam: Seam, fate: str, units: UnitSystem) -> Row:
    return Row(("-", seam.where, "", "", write_shop_length(seam.length, units), fate), True)


def _torch(form: Form, inputs: WeldInputs, units: UnitSystem) -> None:
    torch = inputs.torch
    tilt, drag, body = (
        f"{math.degrees(angle):.0f} deg" for angle in (torch.tilt, torch.drag, torch.body_angle)
    )
    cup, out = write_length(torch.cup, units, 0), write_length(torch.stick_out, units, 0)
    form.words(
        f"Tried with a torch of {cup} cup, {out} from cup to weld, body {body} off the cup's axis; it may"
        f" lean {tilt} out of the middle of a corner and {drag} along the seam. Shop file, [torch].",
        8.5,
    )


def _stops(form: Form, plan: WeldPlan) -> None:
    form.caption("Stops")
    form.table(
        (
            Column("", 8, "right"),
            Column("stop", 40),
            Column("after", 22),
            Column("what to look at", 104),
            Column("", 6),
        ),
        tuple(
            Row(
                (
                    str(stop.number),
                    stop.name,
                    "before all" if stop.after_step == 0 else f"step {stop.after_step}",
                    "; ".join(stop.checks),
                    "( )",
                )
            )
            for stop in plan.hold_points
        ),
    )
