"""Slow work in a process of its own, started when it is asked for and ended when it is cancelled."""

from __future__ import annotations

import os
import signal
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from pathlib import Path

from sumpwright.flow import ALL_STAGES, STAGES, Memory, Progress, StageName, run
from sumpwright.flow.alternatives import alternatives
from sumpwright.flow.free_surface import replays, with_kept
from sumpwright.flow.material_page import material_choices
from sumpwright.job.model import Job
from sumpwright.web.stage_process import Given, StageDone, ToldMemory, hand_over, unmarked

DEBUG = "SUMPWRIGHT_DEBUG"
"""Set to 1, the whole way to a slip of the program is printed where the server was started."""
SLOW_STAGES: tuple[StageName, ...] = tuple(stage.name for stage in STAGES if stage.is_slow)


@dataclass(frozen=True, slots=True)
class DriveAsked:
    """Work out the stages that are too slow to follow every change."""

    generation: int
    job: Job
    given: tuple[Given, ...]


@dataclass(frozen=True, slots=True)
class PackAsked:
    """Work everything out and write the shop pack."""

    generation: int
    job: Job
    folder: Path
    given: tuple[Given, ...] = ()


@dataclass(frozen=True, slots=True)
class SlowStep:
    """How far it is."""

    doing: str
    done: int
    of: int


@dataclass(frozen=True, slots=True)
class SlowDone:
    """It is done, or why not."""

    generation: int
    trouble: str = ""
    files: tuple[str, ...] = ()


def work(pipe: Connection, asked: DriveAsked | PackAsked) -> None:
    """Do the one thing asked, tell how far it is, and end."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        done = _drive(pipe, asked) if isinstance(asked, DriveAsked) else _pack(pipe, asked)
    except Exception as trouble:
        # A full disk, a foreign folder in the way, or a slip of the program: it is told on the page.
        pipe.send(SlowDone(asked.generation, str(trouble) or type(trouble).__name__))
        if os.environ.get(DEBUG) == "1":
            raise
        raise SystemExit(1) from trouble
    pipe.send(done)


def _drive(pipe: Connection, asked: DriveAsked) -> SlowDone:
    job = unmarked(asked.job)
    memory = ToldMemory(lambda told: _tell(pipe, told), lambda: False)
    hand_over(memory, job, asked.given)
    memory.generation = asked.generation
    run(job, SLOW_STAGES, lambda progress: _begun(pipe, progress, 0), memory)
    return SlowDone(asked.generation)


def _tell(pipe: Connection, told: StageDone) -> None:
    if told.stage in SLOW_STAGES:
        pipe.send(told)


def _begun(pipe: Connection, progress: Progress, more: int) -> None:
    if progress.stage is not None:
        pipe.send(SlowStep(progress.stage.doing, progress.done, progress.of + more))


def _pack(pipe: Connection, asked: PackAsked) -> SlowDone:
    from sumpwright.outputs import write_pack

    memory = Memory()
    hand_over(memory, asked.job, asked.given)
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
