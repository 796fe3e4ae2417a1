"""The driven manoeuvres on the sheet: a table, and a strip of cover against time for the worst ones."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from sumpwright.job.model import Job, JobResults
from sumpwright.motion.chambers import clipped_below
from sumpwright.motion.drive_check import verdict_of
from sumpwright.motion.drives import DriveResult, Driving
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import write_length, write_number, write_value
from sumpwright.quantities.units import FloatArray, IntArray, Metre

SHOWN = 3
"""So many strips are drawn, the worst manoeuvres first."""

DOOR_ROW = 4.6
"""Millimetres of paper for each door's bar."""

ABOVE_RAIL: Metre = 0.050
"""What stands higher than this above the rail is cut off in the picture."""


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
    if drive.doors:
        form.caption("What the doors do meanwhile", follow=40.0)
        form.words(
            "A bar where the door stands more than half open, the surface swinging; beside it how often it "
            "opens and for how long in all.",
            8.5,
        )
        for run in worst:
            form.picture(9.0 + DOOR_ROW * len(drive.doors), _doors_in_time(drive, run))
    form.caption("The worst moment of each", follow=70.0)
    form.words(
        "Grey: the oil as it lies then, carried on above the rail where it stands higher. Cross: the mouth.",
        8.5,
    )
    for run in worst:
        form.picture(58.0, _moment(job, results, run))
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


def _doors_in_time(drive: DriveResult, run: Driving) -> Callable[[Sheet, float, float, float, float], None]:
    """One bar a door along the manoeuvre's time, dark where it stands open."""

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        left, wide = x + 52.0, width - 52.0 - 34.0
        end = float(run.lagged.times[-1]) or 1.0
        sheet.text(x, y + height - 4.0, run.trace.name, 9, bold=True)
        for k, (name, column) in enumerate(drive.door_columns):
            base = y + height - 8.0 - DOOR_ROW * (k + 1)
            spans = run.lagged.open_spans(column)
            sheet.text(x, base + 0.6, name, 7)
            sheet.box(left, base, wide, DOOR_ROW - 1.2, weight=0.15)
            for start, stop in spans:
                sheet.box(
                    left + wide * start / end,
                    base,
                    wide * (stop - start) / end,
                    DOOR_ROW - 1.2,
                    stroke=False,
                    fill=0.35,
                )
            seconds = sum(stop - start for start, stop in spans)
            told = (
                "stays shut"
                if not spans
                else (f"opens {len(spans)} time{'s' if len(spans) > 1 else ''}, {write_number(seconds, 1)} s")
            )
            sheet.text(left + wide + 2.0, base + 0.6, told, 7)

    return draw


def _moment(
    job: Job, results: JobResults, run: Driving
) -> Callable[[Sheet, float, float, float, float], None]:
    """The oil at the worst moment, seen from the left and from the front."""
    import shapely

    drive, body = results.drive, results.body
    assert drive is not None
    assert body is not None
    driven, row = run.worst_moment
    assert driven.ups is not None
    cavity = body.cavity
    assert cavity is not None

    def shadow(vertices: FloatArray, triangles: IntArray, along: int) -> Any:
        # From the left: front to the left of the page. From the front: the engine's left to the right.
        flat = vertices[:, [0, 2]] * [-1.0, 1.0] if along == 1 else vertices[:, [1, 2]]
        return shapely.unary_union(
            [piece for piece in map(shapely.Polygon, flat[triangles]) if piece.area > 1e-12]
        )

    wet = [
        clipped_below(surface, driven.ups[row, c], float(driven.levels[row, c]))
        for c, surface in enumerate(drive.surfaces)
        if driven.volumes[row, c] > 1e-7
    ]

    def draw(sheet: Sheet, x: float, y: float, width: float, height: float) -> None:
        at = write_number(float(driven.times[row]), 2)
        sheet.text(x, y + height - 4.0, f"{run.trace.name}, after {at} s", 9, bold=True)
        for k, (words, along) in enumerate((("seen from the left", 1), ("seen from the front", 0))):
            outline = shadow(cavity.vertices, cavity.triangles, along)
            oil: list[Any] = [
                shadow(part.vertices, part.triangles, along) for part in wet if len(part.triangles)
            ]
            lowest, highest = outline.bounds[1], outline.bounds[3] + ABOVE_RAIL
            window = shapely.box(-10.0, lowest - 1.0, 10.0, highest)
            oil = [shapely.intersection(part, window) for part in oil]
            whole = shapely.unary_union([outline, *oil])
            left, low, right, high = whole.bounds
            room, tall = width / 2 - 8.0, height - 16.0
            scale = min(room / (right - left), tall / (high - low))
            x0 = x + k * width / 2 + 4.0 - left * scale
            y0 = y + 7.0 - low * scale

            def place(points: Any, x0: float = x0, y0: float = y0, scale: float = scale) -> list[Any]:
                return [(x0 + px * scale, y0 + pz * scale) for px, pz in points]

            for part in oil:
                for piece in getattr(part, "geoms", [part]):
                    sheet.polyline(place(piece.exterior.coords), close=True, weight=0.1, grey=0.75, fill=0.75)
            for piece in getattr(outline, "geoms", [outline]):
                sheet.polyline(place(piece.exterior.coords), close=True, weight=0.5)
            pickup = body.inputs.pickup
            if pickup is not None:
                across = -float(pickup.mouth[0]) if along == 1 else float(pickup.mouth[1])
                ((mx, my),) = place([(across, float(pickup.mouth[2]))])
                sheet.line(mx - 2.0, my, mx + 2.0, my, weight=0.3)
                sheet.line(mx, my - 2.0, mx, my + 2.0, weight=0.3)
            sheet.text(x + k * width / 2 + 4.0, y + 1.5, words, 7.5)

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
