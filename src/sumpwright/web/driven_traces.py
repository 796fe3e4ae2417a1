"""Driven runs as charts, and as levels in every compartment to be drawn in the pan."""

from __future__ import annotations

import numpy as np

from sumpwright.motion.chambers import chambers
from sumpwright.motion.driven_model import Chambers, Driven
from sumpwright.motion.drives import DriveResult, Driving
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase
from sumpwright.outputs.words import printed_unit
from sumpwright.quantities.units import FloatArray
from sumpwright.web.picture_messages import (
    ChamberShape,
    Chart,
    ChartLine,
    LimitLine,
    ReplayFrames,
    TracesPicture,
)
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import finite_list, flat_list_mm

MOST_POINTS = 1200
MOST_REPLAYS = 4
MOST_FRAMES = 400


def traces_picture(now: Snapshot, revision: str) -> TracesPicture:
    """Every manoeuvre: oil over the mouth and seconds of oil left, both bounds of how the surface follows."""
    drive, job = now.results().drive, now.job
    if drive is None or job is None or not drive.runs:
        trouble = ["The pan has not been driven yet."]
        return TracesPicture(
            revision=revision, trouble=trouble, stale=False, charts=[], replays=[], chambers=[]
        )
    worst_first = sorted(drive.runs, key=lambda one: one.least_cover)
    pan = _pan_now(now)
    columns = _door_columns(pan)
    is_stale = now.is_stale("drive")
    free = {} if now.free is None or now.is_free_old else {case.name: case for case in now.free.result.cases}
    charts = [_cover_chart(one, free.get(one.trace.name), job.units) for one in drive.runs]
    return TracesPicture(
        revision=revision,
        trouble=[],
        stale=is_stale,
        charts=charts,
        replays=[
            _frames(one, drive, columns) for one in worst_first[:MOST_REPLAYS] if one.lagged.ups is not None
        ],
        # Levels of an earlier shape must not be drawn in this one.
        chambers=[] if is_stale or pan is None else _shapes(pan),
    )


def _cover_chart(driving: Driving, free: FreeSurfaceCase | None, units: str) -> Chart:
    unit = printed_unit("length", "m", "in" if units == "in" else "mm")
    rows = _thinned(len(driving.lagged.times), MOST_POINTS)
    count = min(len(driving.lagged.times), len(driving.unlagged.times))
    rows = rows[rows < count]
    times = driving.lagged.times[rows]
    return Chart(
        id=f"drive {driving.trace.name}",
        section="motion",
        title=driving.trace.name,
        x_label="time, s",
        y_label=f"oil over the mouth, {unit.label}",
        x=[round(float(time), 4) for time in times],
        lines=[
            ChartLine(name=words, values=finite_list(run.cover[rows], 1.0 / unit.size, 3))
            for words, run in (
                ("surface follows as oil swings", driving.lagged),
                ("surface follows at once", driving.unlagged),
            )
        ]
        + ([] if free is None else [_free_line(free, times, 1.0 / unit.size)]),
        limits=[LimitLine(name="mouth draws air", value=0.0, least=True)],
        words="Below nought the mouth's highest edge is bare.",
    )


def _free_line(free: FreeSurfaceCase, times: FloatArray, size: float) -> ChartLine:
    """Oil over the mouth as the free surface has it, at the times of the quicker model's points."""
    own = free.run.driven
    cover = np.interp(times, own.times, own.cover, right=np.nan)
    return ChartLine(name="free surface", values=finite_list(cover, size, 3))


def _pan_now(now: Snapshot) -> Chambers | None:
    """The pan's compartments as they stand now; None without a shape or a pickup."""
    body, job = now.results().body, now.job
    if body is None or body.cavity is None or job is None or job.body.pickup is None:
        return None
    return chambers(body.cavity, body.division, job.body.pickup, job.placement.up_in_engine(), None, None)


def _door_columns(pan: Chambers | None) -> list[int]:
    """Columns of a run's ways that are doors: the ways stand as the chambers list them."""
    return [] if pan is None else [at for at, way in enumerate(pan.ways) if way.is_door]


def _shapes(pan: Chambers) -> list[ChamberShape]:
    return [
        ChamberShape(
            name=name,
            vertices_mm=flat_list_mm(surface.vertices),
            triangles=[int(corner) for corner in surface.triangles.ravel()],
        )
        for name, surface in zip(pan.names, pan.surfaces, strict=True)
    ]


def _frames(driving: Driving, drive: DriveResult, columns: list[int]) -> ReplayFrames:
    run: Driven = driving.lagged
    rows = _thinned(len(run.times), MOST_FRAMES)
    ups = np.zeros((len(rows), 0, 3)) if run.ups is None else run.ups[rows]
    is_whole = len(columns) == len(drive.doors) and run.ways.shape[1] > max(columns, default=-1)
    doors = run.ways[rows][:, columns] if is_whole else np.zeros((len(rows), 0))
    return ReplayFrames(
        name=driving.trace.name,
        words=driving.trace.name,
        times_s=[round(float(time), 4) for time in run.times[rows]],
        cover_mm=[
            round(float(value) * 1e3, 2) for value in np.nan_to_num(run.cover[rows], posinf=1.0, neginf=-1.0)
        ],
        up=np.round(ups, 5).ravel().tolist(),
        level_mm=flat_list_mm(np.nan_to_num(run.levels[rows])),
        doors=list(drive.doors) if is_whole else [],
        doors_open=np.round(np.clip(doors, 0.0, 1.0), 3).ravel().tolist(),
    )


def _thinned(count: int, most: int) -> np.ndarray:
    """Row numbers, evenly thinned; first and last stay."""
    return np.unique(np.linspace(0, count - 1, min(count, most)).round().astype(int))
