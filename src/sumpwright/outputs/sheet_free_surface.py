"""The free-surface check on the sheet: both models side by side, cover against time, the worst moments."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from sumpwright.job.model import Job, JobResults
from sumpwright.motion.drives import Driving
from sumpwright.motion.free_surface.check import verdict_of_case
from sumpwright.motion.free_surface.model import View
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import write_length, write_number
from sumpwright.quantities.units import FloatArray, Metre

ABOVE_RAIL: Metre = 0.050
"""What stands higher than this above the rail is cut off in the picture."""
SHADES = 8
"""Greys from a tenth to all of a line of sight in oil."""


def free_surface_pages(form: Form, job: Job, results: JobResults) -> None:
    """Everything of the free-surface check that is not a finding."""
    found, drive = results.free_surface, results.drive
    if found is None or drive is None or not found.cases:
        return
    driven = {run.trace.name: run for run in drive.runs}
    form.caption("The oil as it really moves, beside the quicker model", follow=40.0)
    form.words(
        f"Worked out in three dimensions, in cells of {write_length(found.cell, job.units, 1)}. The quicker "
        "model's figures are the range of its two runs. Where the two disagree, the worse one counts.",
        8.5,
    )
    form.table(
        (
            Column("manoeuvre", 44),
            Column("model", 34),
            Column("bare for", 28, "right"),
            Column("least cover", 26, "right"),
            Column("left", 18, "right"),
            Column("oil elsewhere", 26, "right"),
            Column("volume kept", 24, "right"),
        ),
        tuple(row for case in found.cases for row in _rows(job, case, driven[case.name])),
    )
    form.caption("Oil over the mouth in both models", follow=60.0)
    form.words(
        "Full line: free surface. Thin lines: the quicker model, its surface swinging or following at once. "
        "Below the heavy line the mouth draws air.",
        8.5,
    )
    for case in found.cases:
        form.picture(46.0, _strip(job, case, driven[case.name]))
    form.caption("The worst moment of each, free surface", follow=70.0)
    form.words(
        "Looking through the pan: the darker, the more of the line of sight runs through oil. Cross: the "
        "mouth. Each square is one cell. The replay files in the pack hold every moment.",
        8.5,
    )
    for case in found.cases:
        if case.run.worst is not None:
            form.picture(58.0, _moment(job, results, case, case.run.worst))


def _rows(job: Job, case: FreeSurfaceCase, driving: Driving) -> tuple[Row, Row]:
    side = case.beside
    low, high = driving.uncovered_least, driving.uncovered_most
    marked = verdict_of_case(case) != "holds"

    def left(seconds: float) -> str:
        return f"{write_number(seconds, 1)} s" if np.isfinite(seconds) else ""

    return (
        Row(
            (
                case.name,
                "free surface",
                "never" if side.bare <= 0.0 else f"{write_number(side.bare, 2)} s",
                write_length(side.least_cover, job.units, 1),
                left(side.least_reserve),
                f"{write_number(100.0 * side.elsewhere, 1)} %",
                f"{write_number(100.0 * side.volume_kept, 1)} %",
            ),
            marked,
        ),
        Row(
            (
                "",
                "compartments",
                "never" if high <= 0.0 else f"{write_number(low, 2)} to {write_number(high, 2)} s",
                write_length(driving.least_cover, job.units, 1),
                left(driving.least_reserve),
                "",
                "",
            ),
            False,
        ),
    )


def _strip(
    job: Job, case: FreeSurfaceCase, driving: Driving
) -> Callable[[Sheet, float, float, float, float], None]:
    """Cover against time: the free surface over both runs of the compartments."""

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        left, bottom = x + 18.0, y + 7.0
        wide, high = width - 20.0, height - 14.0
        free = case.run.driven
        end = float(free.times[-1]) or 1.0
        least = min(driving.least_cover, float(free.cover.min()), -0.01)
        lines = (
            (driving.unlagged.times, driving.unlagged.cover, 0.15),
            (driving.lagged.times, driving.lagged.cover, 0.15),
            (free.times, free.cover, 0.45),
        )
        most = max(*(float(cover.max()) for _, cover, _ in lines), 0.02)

        def place(time: float, cover: float) -> tuple[float, float]:
            return left + wide * time / end, bottom + high * (cover - least) / (most - least)

        sheet.text(x, y + height - 4.0, case.name, 9, bold=True)
        sheet.box(left, bottom, wide, high, weight=0.2)
        zero = place(0.0, 0.0)[1]
        sheet.line(left, zero, left + wide, zero, weight=0.6)
        sheet.text(left - 1.5, zero - 1.0, "bare below", 6.5, align="right")
        for level in (least, most):
            words = write_length(level, job.units, 0)
            sheet.text(left - 1.5, place(0.0, level)[1] - 1.0, words, 6.5, align="right")
        for times, cover, weight in lines:
            points = _thinned(times, cover, end, place)
            if len(points) > 1:
                sheet.polyline(points, weight=weight)
        for second in np.linspace(0.0, end, 5):
            words = f"{write_number(float(second), 1)} s"
            sheet.text(place(float(second), least)[0], bottom - 4.0, words, 6.5, align="middle")

    return draw


def _thinned(
    times: FloatArray,
    cover: FloatArray,
    end: float,
    place: Callable[[float, float], tuple[float, float]],
) -> list[tuple[float, float]]:
    """At most 600 points; the least of each stretch, so that thinning hides no bare moment."""
    shown = times <= end + 1e-9
    times, cover = times[shown], cover[shown]
    step = max(1, len(times) // 600)
    count = len(times) // step
    least = cover[: count * step].reshape(count, step).min(axis=1)
    return [place(float(t), float(c)) for t, c in zip(times[: count * step : step], least, strict=True)]


def _moment(
    job: Job, results: JobResults, case: FreeSurfaceCase, worst: View
) -> Callable[[Sheet, float, float, float, float], None]:
    """The oil at the worst moment, seen through the pan from the left and from the front."""
    pickup = None if results.body is None else results.body.inputs.pickup

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        at = write_number(worst.time, 2)
        sheet.text(x, y + height - 4.0, f"{case.name}, after {at} s, free surface", 9, bold=True)
        views = (("seen from the left", worst.from_left, 0), ("seen from the front", worst.from_front, 1))
        for k, (words, seen, axis) in enumerate(views):
            top = round((ABOVE_RAIL - float(worst.origin[2])) / worst.cell)
            share = seen[:, : max(top, 1)]
            inside = np.argwhere(np.isfinite(share))
            low, high = inside.min(axis=0), inside.max(axis=0) + 1
            room, tall = width / 2 - 8.0, height - 16.0
            # One size for both views would waste paper; each fills its half.
            scale = min(room / float(high[0] - low[0]), tall / float(high[1] - low[1]))
            x0, y0 = x + k * width / 2 + 4.0, y + 7.0
            for a, b in inside:
                # From the left: front to the left of the page. From the front: engine's left to the right.
                column = high[0] - 1 - a if axis == 0 else a - low[0]
                level = float(share[a, b])
                if level >= 0.5 / SHADES:
                    grey = 0.95 - 0.65 * round(level * SHADES) / SHADES
                    sheet.box(
                        x0 + column * scale, y0 + (b - low[1]) * scale, scale, scale, fill=grey, stroke=False
                    )
            _outline(sheet, np.isfinite(share), low, high, axis == 0, (x0, y0), scale)
            if pickup is not None:
                along = (float(pickup.mouth[axis]) - float(worst.origin[axis])) / worst.cell
                mx = x0 + scale * (high[0] - along if axis == 0 else along - low[0])
                my = (
                    y0
                    + scale * (float(pickup.mouth[2]) - float(worst.origin[2])) / worst.cell
                    - scale * low[1]
                )
                sheet.line(mx - 2.0, my, mx + 2.0, my, weight=0.3)
                sheet.line(mx, my - 2.0, mx, my + 2.0, weight=0.3)
            sheet.text(x0, y + 1.5, words, 7.5)

    return draw


def _outline(
    sheet: Sheet,
    inside: FloatArray,
    low: FloatArray,
    high: FloatArray,
    is_turned: bool,
    corner: tuple[float, float],
    scale: float,
) -> None:
    """The edge of the oil space along the cells."""
    x0, y0 = corner
    padded = np.pad(inside, 1)

    def column(a: int) -> float:
        return x0 + scale * float(high[0] - a if is_turned else a - low[0])

    for a, b in np.argwhere(inside):
        if not padded[a, b + 1]:
            sheet.line(column(a), y0 + scale * (b - low[1]), column(a), y0 + scale * (b + 1 - low[1]), 0.35)
        if not padded[a + 2, b + 1]:
            right = column(a + 1)
            sheet.line(right, y0 + scale * (b - low[1]), right, y0 + scale * (b + 1 - low[1]), 0.35)
        if not padded[a + 1, b]:
            level = y0 + scale * (b - low[1])
            sheet.line(column(a), level, column(a + 1), level, 0.35)
        if not padded[a + 1, b + 2] and b + 1 < inside.shape[1]:
            level = y0 + scale * (b + 1 - low[1])
            sheet.line(column(a), level, column(a + 1), level, 0.35)
