"""The driven manoeuvres on the sheet: a table, and a strip of cover against time for the worst ones."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sumpwright.job.model import Job, JobResults
from sumpwright.motion.drive_check import verdict_of
from sumpwright.motion.drives import DriveResult, Driving
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import write_length, write_number, write_value

SHOWN = 3
"""So many strips are drawn, the worst manoeuvres first."""


def drive_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the driven manoeuvres that is not a finding."""
    drive = results.drive
    if drive is None or not drive.runs:
        return
    form.caption("Driven through", follow=40.0)
    form.words(
        "Each one twice: the surface follows the pull at once, or swings after it. Longest time on end with "
        "the mouth's edge bare, least oil over it, least seconds of oil left at what the pump takes.",
        8.5,
    )
    form.table(
        (
            Column("manoeuvre", 48),
            Column("", 62),
            Column("bare for", 26, "right"),
            Column("least cover", 24, "right"),
            Column("left", 18, "right"),
        ),
        tuple(_row(job, run) for run in drive.runs),
    )
    worst = sorted(drive.runs, key=lambda run: (-run.uncovered_most, run.least_cover))[:SHOWN]
    form.caption("Oil over the mouth, second by second", follow=60.0)
    form.words(
        "Full line: the surface swings. Thin line: it follows at once. Below the heavy line the mouth draws "
        "air.",
        8.5,
    )
    for run in worst:
        form.picture(46.0, _strip(job, run))
    _failures(form, job, drive)
    _tried(form, job, drive)


def _row(job: Job, run: Driving) -> Row:
    low, high = run.uncovered_least, run.uncovered_most
    bare = "never" if high <= 0.0 else f"{write_number(low, 2)} to {write_number(high, 2)} s"
    reserve = run.least_reserve
    return Row(
        (
            run.trace.name,
            run.trace.words,
            bare,
            write_length(run.least_cover, job.units, 1),
            "" if not np.isfinite(reserve) else f"{write_number(reserve, 1)} s",
        ),
        verdict_of(run) != "holds",
    )


def _strip(job: Job, run: Driving) -> Callable[[Sheet, float, float, float, float], None]:
    """Cover against time of one manoeuvre, both runs, the bare part below the heavy line."""

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        left, bottom = x + 18.0, y + 7.0
        wide, high = width - 20.0, height - 14.0
        end = float(run.lagged.times[-1]) or 1.0
        least = min(run.least_cover, -0.01)
        most = max(float(run.lagged.cover.max()), float(run.unlagged.cover.max()), 0.02)

        def place(time: float, cover: float) -> tuple[float, float]:
            return left + wide * time / end, bottom + high * (cover - least) / (most - least)

        sheet.text(x, y + height - 4.0, run.trace.name, 9, bold=True)
        sheet.box(left, bottom, wide, high, weight=0.2)
        zero = place(0.0, 0.0)[1]
        sheet.line(left, zero, left + wide, zero, weight=0.6)
        sheet.text(left - 1.5, zero - 1.0, "bare below", 6.5, align="right")
        for level in (least, most):
            sheet.text(
                left - 1.5, place(0.0, level)[1] - 1.0, write_length(level, job.units, 0), 6.5, align="right"
            )
        for driven, weight in ((run.unlagged, 0.15), (run.lagged, 0.45)):
            step = max(1, len(driven.times) // 600)
            # The least of each stretch, so that thinning hides no bare moment.
            count = len(driven.times) // step
            cover = driven.cover[: count * step].reshape(count, step).min(axis=1)
            times = driven.times[: count * step : step]
            points = [place(float(t), float(c)) for t, c in zip(times, cover, strict=True)]
            if len(points) > 1:
                sheet.polyline(points, weight=weight)
        for second in np.linspace(0.0, end, 5):
            sheet.text(
                place(float(second), least)[0],
                bottom - 4.0,
                f"{write_number(float(second), 1)} s",
                6.5,
                align="middle",
            )

    return draw


def _failures(form: Form, job: Job, drive: DriveResult) -> None:
    if not drive.failures:
        return
    form.caption("Doors as they fail", follow=30.0)
    allowed = max(run.trace.asked_for for run in drive.runs)
    form.table(
        (
            Column("door", 40),
            Column("what goes wrong", 44),
            Column("bare for", 26, "right"),
            Column("worst in", 46),
            Column("engine", 30),
        ),
        tuple(
            Row(
                (
                    failure.door,
                    failure.how,
                    f"{write_number(failure.uncovered, 2)} s",
                    failure.worst_trace,
                    "survives" if failure.uncovered <= allowed else "does not survive",
                ),
                failure.uncovered > allowed,
            )
            for failure in drive.failures
        ),
    )
    form.words(
        "Door card: hinge the flap in metal for hot or race use; where it is rubber, write its compound and "
        "the temperature it stands on the part; a backstop behind it, overlap all round, a captive pin, and "
        "ears that fit one way only.",
        8.5,
    )


def _tried(form: Form, job: Job, drive: DriveResult) -> None:
    if not drive.tried:
        return
    form.caption("Changes tried on every manoeuvre that goes wrong", follow=30.0)
    form.table(
        (Column("change", 90), Column("bare for", 30, "right"), Column("least cover", 30, "right")),
        tuple(
            Row(
                (
                    tried.what,
                    write_value(tried.uncovered, "s", "time", job.units, 2),
                    write_length(tried.least_cover, job.units, 1),
                ),
                False,
            )
            for tried in drive.tried
        ),
    )
