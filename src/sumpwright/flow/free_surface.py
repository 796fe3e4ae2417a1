"""The free-surface check of a job: run what is asked, keep each run in the job's folder, read it back.

The one place of ``flow`` that reads and writes files: a run takes minutes, so what is finished
and what was stopped half-way stand in ``free-surface/`` beside the job file, each under the name
of everything it came from. What came from another state of the job is never shown.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sumpwright.findings import StageReport
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.job.model import Job, JobResults
from sumpwright.motion.drives import DriveInputs, Driving, set_up
from sumpwright.motion.free_surface.outcome import (
    FreeSurfaceCase,
    FreeSurfaceResult,
    case_of,
    chosen,
    inputs_of,
)
from sumpwright.motion.free_surface.pace import COARSEST, cell_for_time, measured_pace, seconds_for
from sumpwright.quantities.units import Metre, Second

if TYPE_CHECKING:
    from sumpwright.motion.free_surface.model import FreeSurfaceInputs, Progress
    from sumpwright.motion.free_surface.run import EngineName

FOLDER = "free-surface"
METHOD = 3
"""Raised when the method changes, so that kept runs of the old one are not taken for the new one's."""
KEPT_EACH: Second = 0.5
"""Of the trace; a stopped run loses no more than this."""
CELL_STEP: Metre = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """One manoeuvre that is to be run, with everything it comes from."""

    driving: Driving
    inputs: FreeSurfaceInputs
    made_of: str

    @property
    def file(self) -> str:
        """Its name on the disk, without an ending."""
        return re.sub(r"[^a-z0-9]+", "-", self.driving.trace.name.lower()).strip("-") or "manoeuvre"


def is_drivable(results: JobResults) -> bool:
    """Whether there is a driven manoeuvre to check."""
    return bool(results.drive is not None and results.drive.runs and results.body is not None)


def asked_of(job: Job, results: JobResults, cell: Metre) -> tuple[Asked, ...]:
    """The manoeuvres that the job names, or the three worst; nothing where nothing was driven."""
    drive, body, oil = results.drive, results.body, results.oil
    if drive is None or not drive.runs or body is None or oil is None or body.cavity is None:
        return ()
    pan, driven, pump = set_up(DriveInputs(job.motion, job.oil, job.logs), body, oil)
    whole = body.cavity.surface()
    out = []
    for driving in chosen(drive.runs, job.free_surface.manoeuvres):
        inputs = inputs_of(whole, pan, driving, driven, pump, cell)
        out.append(Asked(driving, inputs, fingerprint("free surface", METHOD, inputs)))
    return tuple(out)


def cell_for(job: Job, results: JobResults, allowed: Second) -> Metre:
    """Smallest cell [m] with which everything asked is through in the time allowed [s] on this machine."""
    asked = asked_of(job, results, COARSEST)
    length = sum(one.driving.trace.length for one in asked)
    if not asked:
        return COARSEST
    cell = cell_for_time(asked[0].inputs.oil.in_pan, length, allowed, measured_pace())
    # Upwards, so that it still fits; the file holds no more digits than that.
    return min(max((int(cell / CELL_STEP) + 1) * CELL_STEP, 0.001), COARSEST)


def seconds_of(asked: tuple[Asked, ...]) -> Second:
    """About how long all of it takes on this machine."""
    if not asked:
        return 0.0
    pace = measured_pace()
    return sum(
        seconds_for(one.inputs.oil.in_pan, one.driving.trace.length, one.inputs.cell, pace) for one in asked
    )


def run_free_surface(
    job: Job,
    results: JobResults,
    cell: Metre,
    on_progress: Callable[[Progress], None] | None = None,
    engine: EngineName = "processor",
) -> JobResults:
    """Run what is asked and not kept yet; a run that was stopped goes on. Everything is kept as it ends."""
    from sumpwright.motion.free_surface.compare import beside
    from sumpwright.motion.free_surface.kept import keep_run, kept_run
    from sumpwright.motion.free_surface.model import FreeSurfaceError
    from sumpwright.motion.free_surface.run import Ground, free_surface_run, lay_ground

    asked = asked_of(job, results, cell)
    folder = job.job_file.parent / FOLDER
    cases: list[FreeSurfaceCase] = []
    trouble = list(_unknown(job, results))
    ground: Ground | None = None
    for one in asked:
        done = folder / f"{one.file}.npz"
        run = kept_run(done, one.made_of)
        if run is None:
            folder.mkdir(exist_ok=True)
            half = folder / f"{one.file}.{one.made_of[:8]}.half.npz"
            for other in folder.glob(f"{one.file}.*.half.npz*"):
                if other != half:
                    other.unlink()
            try:
                ground = lay_ground(one.inputs) if ground is None else ground
                run = free_surface_run(
                    one.inputs,
                    on_progress,
                    checkpoint=half,
                    checkpoint_each=KEPT_EACH,
                    resume=half if half.is_file() else None,
                    replay=folder / f"{one.file}.replay",
                    ground=ground,
                    engine=engine,
                )
            except FreeSurfaceError as error:
                trouble.append((one.driving.trace.name, str(error)))
                continue
            keep_run(run, done, one.made_of)
            half.unlink(missing_ok=True)
        side = beside(run, one.driving.lagged, one.driving.unlagged)
        cases.append(case_of(one.driving, run, side, f"{one.file}.replay"))
    return _with(results, FreeSurfaceResult(cell, _is_one(results), tuple(cases), tuple(trouble)))


def with_kept(job: Job, results: JobResults) -> JobResults:
    """The results with what an earlier run has kept; unchanged where nothing ever was."""
    from sumpwright.motion.free_surface.compare import beside
    from sumpwright.motion.free_surface.kept import kept_run

    folder, cell = job.job_file.parent / FOLDER, job.free_surface.cell
    if cell is None or not folder.is_dir() or not is_drivable(results):
        return results
    cases, left = [], []
    for one in asked_of(job, results, cell):
        run = kept_run(folder / f"{one.file}.npz", one.made_of)
        if run is None:
            left.append(one.driving.trace.name)
            continue
        side = beside(run, one.driving.lagged, one.driving.unlagged)
        cases.append(case_of(one.driving, run, side, f"{one.file}.replay"))
    trouble = _unknown(job, results)
    return _with(results, FreeSurfaceResult(cell, _is_one(results), tuple(cases), trouble, tuple(left)))


def replays(job: Job, results: JobResults) -> dict[str, bytes]:
    """Replay files of what was run, by their names in the pack."""
    found = results.free_surface
    if found is None:
        return {}
    folder = job.job_file.parent / FOLDER
    paths = {case.replay: folder / case.replay for case in found.cases}
    return {f"replay/{name}": path.read_bytes() for name, path in paths.items() if path.is_file()}


def _is_one(results: JobResults) -> bool:
    return results.drive is None or len(results.drive.compartments) < 2


def _unknown(job: Job, results: JobResults) -> tuple[tuple[str, str], ...]:
    """Manoeuvres that the job names and that are not driven."""
    known = [] if results.drive is None else [run.trace.name for run in results.drive.runs]
    if not known:
        return (("all manoeuvres", "nothing was driven, and it starts from what was"),)
    return tuple(
        (name, f"no manoeuvre is called so; there is {', '.join(known)}")
        for name in job.free_surface.manoeuvres
        if name not in known
    )


def _with(results: JobResults, found: FreeSurfaceResult) -> JobResults:
    """The results with the free surface's own findings behind those of the driven manoeuvres."""
    from sumpwright.motion.free_surface.check import check

    report: StageReport = check(found)
    behind = [k for k, finding in enumerate(results.findings) if finding.code.startswith("MOT-")]
    at = behind[-1] + 1 if behind else len(results.findings)
    return replace(
        results,
        free_surface=found,
        findings=(*results.findings[:at], *report.findings, *results.findings[at:]),
        assumptions=(*results.assumptions, *report.assumptions),
    )
