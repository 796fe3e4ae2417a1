"""Slow work in a process of its own, started when it is asked for and ended when it is cancelled."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

from sumpwright.findings import StageReport
from sumpwright.flow import ALL_STAGES, STAGES, Memory, Progress, StageName, fingerprint, run, stage_inputs
from sumpwright.flow.alternatives import alternatives
from sumpwright.flow.changes import Change, changed_text
from sumpwright.flow.free_surface import replays, with_kept
from sumpwright.flow.material_page import material_choices
from sumpwright.job import reread_job
from sumpwright.job.model import Job, JobResults
from sumpwright.web.stage_process import Given, StageDone, ToldMemory, hand_over, unmarked

if TYPE_CHECKING:
    from sumpwright.motion.free_surface.model import Progress as SurfaceProgress
    from sumpwright.motion.free_surface.outcome import FreeSurfaceResult

DEBUG = "SUMPWRIGHT_DEBUG"
"""Set to 1, the whole way to a slip of the program is printed where the server was started."""
WELD_STAGES: tuple[StageName, ...] = tuple(
    stage.name for stage in STAGES if stage.is_slow and stage.code == "WELD"
)
DRIVE_STAGES: tuple[StageName, ...] = tuple(
    stage.name for stage in STAGES if stage.is_slow and stage.name not in WELD_STAGES
)
USUAL_MINUTES = 5.0
CELL_KEY = "free_surface.cell"
IN_STEPS = 1000
"""The free surface tells how far it is in so many steps."""


@dataclass(frozen=True, slots=True)
class StagesAsked:
    """Work out stages that are too slow to follow every change."""

    generation: int
    job: Job
    stages: tuple[StageName, ...]
    given: tuple[Given, ...]


@dataclass(frozen=True, slots=True)
class FreeSurfaceAsked:
    """Work out how the oil really moves, after driving the pan where that was not done."""

    generation: int
    job: Job
    minutes: float | None  # cells are chosen for it; None = the job's cells, or for the usual minutes
    given: tuple[Given, ...]


@dataclass(frozen=True, slots=True)
class PackAsked:
    """Work everything out and write the shop pack."""

    generation: int
    job: Job
    folder: Path
    given: tuple[Given, ...] = ()


SlowAsked = StagesAsked | FreeSurfaceAsked | PackAsked


@dataclass(frozen=True, slots=True)
class SlowStep:
    """How far it is."""

    doing: str
    done: int
    of: int


@dataclass(frozen=True, slots=True)
class CellChosen:
    """Cells were chosen for the minutes allowed: the size as the job file shall have it."""

    text: str


@dataclass(frozen=True, slots=True)
class FreeSurfaceDone:
    """What the free surface says, and what it was worked out from."""

    made_of: str
    result: FreeSurfaceResult
    report: StageReport


@dataclass(frozen=True, slots=True)
class SlowDone:
    """It is done, or why not."""

    generation: int
    trouble: str = ""
    files: tuple[str, ...] = ()


def work(pipe: Connection, asked: SlowAsked) -> None:
    """Do the one thing asked, tell how far it is, and end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(3)  # typing and looking come first
    try:
        if isinstance(asked, StagesAsked):
            done = _stages(pipe, asked)
        elif isinstance(asked, FreeSurfaceAsked):
            done = _free_surface(pipe, asked)
        else:
            done = _pack(pipe, asked)
    except BrokenPipeError:
        return  # whoever asked is gone
    except Exception as trouble:
        # A full disk, a foreign folder in the way, or a slip of the program: it is told on the page.
        pipe.send(SlowDone(asked.generation, str(trouble) or type(trouble).__name__))
        if os.environ.get(DEBUG) == "1":
            raise
        raise SystemExit(1) from trouble
    pipe.send(done)


def free_surface_name(drive_name: str, job: Job) -> str:
    """What a free-surface result is remembered by: the driven manoeuvres and what the job asks."""
    return fingerprint("free surface of", drive_name, job.free_surface)


def _stages(pipe: Connection, asked: StagesAsked) -> SlowDone:
    job = unmarked(asked.job)
    results = _run_told(pipe, asked, job, asked.stages)
    if "drive" in asked.stages:
        kept = with_kept(job, results)
        if kept.free_surface is not None:
            pipe.send(_told(job, kept))
    return SlowDone(asked.generation)


def _run_told(
    pipe: Connection, asked: StagesAsked | FreeSurfaceAsked, job: Job, stages: tuple[StageName, ...]
) -> JobResults:
    memory = ToldMemory(lambda told: _tell(pipe, told, stages), lambda: False)
    hand_over(memory, job, asked.given)
    memory.generation = asked.generation
    return run(job, stages, lambda progress: _begun(pipe, progress, 0), memory)


def _tell(pipe: Connection, told: StageDone, stages: tuple[StageName, ...]) -> None:
    if told.stage in stages:
        pipe.send(told)


def _begun(pipe: Connection, progress: Progress, more: int) -> None:
    if progress.stage is not None:
        pipe.send(SlowStep(progress.stage.doing, progress.done, progress.of + more))


def _free_surface(pipe: Connection, asked: FreeSurfaceAsked) -> SlowDone:
    from sumpwright.flow.free_surface import asked_of, cell_for, is_drivable, run_free_surface

    job = unmarked(asked.job)
    results = _run_told(pipe, asked, job, DRIVE_STAGES)
    if not is_drivable(results):
        return SlowDone(asked.generation, "There is no driven manoeuvre to begin from: see what Motion says.")
    if job.free_surface.cell is None or asked.minutes is not None:
        pipe.send(SlowStep("trying how fast this machine is", 0, IN_STEPS))
        minutes = USUAL_MINUTES if asked.minutes is None else asked.minutes
        text = _cell_words(cell_for(job, results, 60.0 * minutes), job)
        job = _with_cell(job, text)
        pipe.send(CellChosen(text))
    cell = job.free_surface.cell
    assert cell is not None
    lengths = {one.driving.trace.name: one.driving.trace.length for one in asked_of(job, results, cell)}
    done = run_free_surface(job, results, cell, _surface_told(pipe, lengths))
    pipe.send(_told(job, done))
    return SlowDone(asked.generation)


def _surface_told(pipe: Connection, lengths: dict[str, float]) -> Callable[[SurfaceProgress], None]:
    whole = sum(lengths.values()) or 1.0
    names = list(lengths)

    def told(progress: SurfaceProgress) -> None:
        before = sum(lengths[name] for name in names[: names.index(progress.trace)])
        bare = f", bare {progress.longest_uncovered:.2f} s so far" if progress.longest_uncovered > 0.0 else ""
        words = f"{progress.trace}: {progress.done:.1f} of {progress.length:.1f} s of driving{bare}"
        pipe.send(SlowStep(words, int(IN_STEPS * (before + progress.done) / whole), IN_STEPS))

    return told


def _told(job: Job, results: JobResults) -> FreeSurfaceDone:
    from sumpwright.motion.free_surface.check import check

    found = results.free_surface
    assert found is not None
    grounds: tuple[StageName, ...] = ("rail", "body", "oil")
    made = {name: getattr(results, name) for name in grounds}
    drive_name = fingerprint("drive", *stage_inputs("drive", job, made))
    return FreeSurfaceDone(free_surface_name(drive_name, job), found, check(found))


def _cell_words(cell: float, job: Job) -> str:
    from sumpwright.outputs.words import INCH

    return f"{cell * 1e3:.1f} mm" if job.units == "mm" else f"{cell / INCH:.3f} in"


def _with_cell(job: Job, text: str) -> Job:
    """The job as it will be read once the cell stands in its file."""
    old = dict(job.texts)[job.job_file.name].decode("utf-8-sig")
    return unmarked(reread_job(job, changed_text(old, Change(CELL_KEY, text))))


def _pack(pipe: Connection, asked: PackAsked) -> SlowDone:
    from sumpwright.outputs import write_pack

    memory = Memory()
    # The parts were worked out without their etched marks; the pack wants them with.
    needs_parts = {stage.name for stage in STAGES if stage.name == "kit" or "kit" in stage.needs}
    hand_over(memory, asked.job, tuple(one for one in asked.given if one.stage not in needs_parts))
    results = run(asked.job, ALL_STAGES, lambda progress: _begun(pipe, progress, 2), memory)
    count = len(ALL_STAGES)
    pipe.send(SlowStep("trying other ways to make it", count, count + 2))
    results = with_kept(asked.job, results)
    results = replace(
        results,
        alternatives=alternatives(asked.job, results, memory),
        materials=material_choices(asked.job, results, memory),
    )
    pipe.send(SlowStep("drawing and writing", count + 1, count + 2))
    return SlowDone(
        asked.generation, files=write_pack(asked.job, results, asked.folder, replays(asked.job, results))
    )
