"""'drive --free-surface': how long it will take, how far it is, and what came of it."""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from sumpwright.cli.progress import Display

if TYPE_CHECKING:
    from sumpwright.job import Job
    from sumpwright.motion.free_surface.model import Progress
    from sumpwright.motion.free_surface.run import EngineName

USUAL_MINUTES = 5.0
MOST_MINUTES = 24 * 60.0
LONG = 30 * 60.0
"""Seconds; a run that takes longer is told how a coarser cell is asked for."""
STOPPED = 130


def drive_free_surface(path: Path, free_surface: bool, minutes: float | None, on: EngineName) -> int:
    """Drive, run the free surface, print the findings; the status as every command gives it."""
    from sumpwright.flow import exit_status, run
    from sumpwright.flow.free_surface import asked_of, cell_for, is_drivable, run_free_surface, seconds_of
    from sumpwright.job import read_job
    from sumpwright.outputs.terminal import print_findings
    from sumpwright.outputs.words import write_length

    if not free_surface:
        print("--minutes and --on are for --free-surface: give it too, or neither.", file=sys.stderr)
        return 2
    if minutes is not None and not 0.1 <= minutes <= MOST_MINUTES:
        print(f"--minutes wants a number between 0.1 and {MOST_MINUTES:.0f}.", file=sys.stderr)
        return 2
    job = read_job(path)
    with Display() as display:
        results = run(job, ("drive",), on_progress=display.stage)
        cell = job.free_surface.cell
        if is_drivable(results) and (cell is None or minutes is not None):
            display.says("Motion: how fast this machine is")
            allowed = USUAL_MINUTES if minutes is None else minutes
            cell = cell_for(job, results, 60.0 * allowed)
            job = _with_cell(job, cell)
            cell = job.free_surface.cell
            assert cell is not None
            print(
                f"Cells of {write_length(cell, job.units)} for {allowed:g} min on this machine; written into "
                f"{job.job_file.name} as [free_surface] cell.",
                file=sys.stderr,
            )
        if is_drivable(results) and cell is not None:
            display.says("Motion: how long it will take")
            asked = asked_of(job, results, cell)
            about = seconds_of(asked)
            parcels = asked[0].inputs.oil.in_pan / cell**3 * 8 if asked else 0.0
            driven = sum(one.driving.trace.length for one in asked)
            print(
                f"Free surface: {len(asked)} of {len(results.drive.runs if results.drive else ())} "
                f"manoeuvres, {driven:.0f} s of driving, {parcels:,.0f} parcels of oil: about "
                f"{_spoken(about)} where nothing is kept yet. Ctrl-C keeps what is done."
                + (f" For coarser cells: --minutes {LONG / 60:.0f}." if about > LONG else ""),
                file=sys.stderr,
            )
        started = time.monotonic()
        order = [] if cell is None or not is_drivable(results) else [one.driving.trace for one in asked]
        first: list[float] = []  # share of all driving done when the first word of it came

        def left(progress: Progress) -> str:
            """How long the rest takes at the pace of what was run so far."""
            names = [trace.name for trace in order]
            if progress.trace not in names:
                return ""
            before = sum(trace.length for trace in order[: names.index(progress.trace)])
            whole = sum(trace.length for trace in order)
            share = (before + progress.done) / whole if whole > 0.0 else 1.0
            first[:] = first or [share]
            if share - first[0] < 0.01:
                return ""
            return (
                f", about {_spoken((time.monotonic() - started) * (1.0 - share) / (share - first[0]))} to go"
            )

        def told(progress: Progress) -> None:
            share = progress.done / progress.length if progress.length > 0.0 else 1.0
            bare = f"bare {progress.longest_uncovered:.2f} s so far"
            display.says(
                f"{progress.trace}: {100 * share:.0f} %, {progress.done:.1f} of {progress.length:.1f} s, "
                f"{write_length(progress.cover, job.units, 0)} over the mouth, {bare}, "
                f"{_spoken(time.monotonic() - started)} gone{left(progress)}"
            )

        try:
            results = run_free_surface(job, results, 0.008 if cell is None else cell, told, on)
        except KeyboardInterrupt:
            display.says("")
            print(
                "Stopped. What was run is kept; the same command goes on where it was.",
                file=sys.stderr,
            )
            return STOPPED
    print_findings(job, results, sys.stdout)
    return exit_status(results.findings)


def _with_cell(job: Job, cell: float) -> Job:
    """The job with the cell written into its file, and read again."""
    from sumpwright.flow.changes import Change, changed_text
    from sumpwright.job import reread_job
    from sumpwright.outputs.words import INCH

    text = dict(job.texts)[job.job_file.name].decode("utf-8-sig")
    written = f"{cell * 1e3:.1f} mm" if job.units == "mm" else f"{cell / INCH:.3f} in"
    changed = changed_text(text, Change("free_surface.cell", written)).rstrip() + "\n"
    fresh = job.job_file.with_name(f".{job.job_file.name}.new")
    fresh.write_bytes(changed.encode("utf-8"))
    fresh.replace(job.job_file)
    return reread_job(job, changed)


def _spoken(seconds: float) -> str:
    """Seconds or minutes, as one says it."""
    return f"{seconds:.0f} s" if seconds < 90.0 else f"{seconds / 60.0:.0f} min"
