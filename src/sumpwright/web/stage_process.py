"""The stages in a process of their own, so that the page never waits for them.

Two such processes share the work: one runs from the readings to the pump, one makes the
parts. Each tells every stage as it is done, and drops a job as soon as a newer one waits.
"""

from __future__ import annotations

import contextlib
import signal
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from typing import Any

from sumpwright.findings import Assumption, Finding, Proposal, StageReport
from sumpwright.flow import STAGES, Memory, Progress, StageName, fingerprint, run, stage_inputs, try_change
from sumpwright.flow.changes import Change, FindingPair
from sumpwright.job.faults import Fault, JobError
from sumpwright.job.model import Job, JobResults, without_pack_work

KEPT = 60
"""Stage results that a process and the one that asked it both remember."""


@dataclass(frozen=True, slots=True)
class Given:
    """A stage that another process has done already: what it made and said."""

    stage: StageName
    result: Any
    report: StageReport


@dataclass(frozen=True, slots=True)
class RunAsked:
    """Work these stages out for this job."""

    generation: int
    job: Job
    stages: tuple[StageName, ...]
    given: tuple[Given, ...] = ()


@dataclass(frozen=True, slots=True)
class TryAsked:
    """Say what a change would do."""

    number: int
    job: Job
    key: str
    value: str
    stages: tuple[StageName, ...]


@dataclass(frozen=True, slots=True)
class StageDone:
    """One stage; ``made`` is None where the same result was sent before under the same name."""

    generation: int
    stage: StageName
    name: str  # fingerprint of its inputs
    made: tuple[Any, StageReport] | None


@dataclass(frozen=True, slots=True)
class StageBegun:
    """What is being done now."""

    generation: int
    stage: StageName
    done: int
    of: int


@dataclass(frozen=True, slots=True)
class RunDone:
    """All stages asked for; the findings also hold those of stages that could not start."""

    generation: int
    stages: tuple[StageName, ...]  # that were asked for
    findings: tuple[Finding, ...]
    proposals: tuple[Proposal, ...]
    assumptions: tuple[Assumption, ...]
    versions: tuple[tuple[str, str], ...]
    slow_names: tuple[tuple[StageName, str], ...] = ()
    """(slow stage, what its result would be remembered by now); "" where it cannot be worked out."""


@dataclass(frozen=True, slots=True)
class RunBroken:
    """The program went wrong while working."""

    generation: int
    says: str


@dataclass(frozen=True, slots=True)
class Tried:
    """What a change would do, or why it cannot be made."""

    number: int
    faults: tuple[Fault, ...]
    pairs: tuple[FindingPair, ...]


class SupersededError(Exception):
    """A newer job waits: this one is no longer wanted."""


class ToldMemory(Memory):
    """A memory that tells each stage as it is done, and stops where nobody waits for the rest."""

    def __init__(self, send: Callable[[Any], None], is_old: Callable[[], bool]) -> None:
        super().__init__()
        self._send = send
        self._is_old = is_old
        self._made: OrderedDict[str, Any] = OrderedDict()
        self._sent: OrderedDict[str, None] = OrderedDict()
        self.generation: int | None = None  # None = tells nothing
        self.untold: frozenset[str] = frozenset()  # stages that others have told already

    def recall(self, stage: str, inputs: tuple[Any, ...], work: Callable[..., Any]) -> tuple[Any, bool]:
        """As a memory does; and what came of it is sent on."""
        if self._is_old():
            raise SupersededError
        name = fingerprint(stage, *inputs)
        known = name in self._made
        made = self._made[name] if known else work(*inputs)
        self._keep(name, made)
        if self.generation is not None and stage not in self.untold:
            self._tell(stage, name, made)
        return made, known

    def _tell(self, stage: str, name: str, made: Any) -> None:
        was_sent = name in self._sent
        self._sent[name] = None
        self._sent.move_to_end(name)
        while len(self._sent) > KEPT:
            self._sent.popitem(last=False)
        assert self.generation is not None
        self._send(StageDone(self.generation, _stage(stage), name, None if was_sent else made))

    def _keep(self, name: str, made: Any) -> None:
        self._made[name] = made
        self._made.move_to_end(name)
        while len(self._made) > KEPT:
            self._made.popitem(last=False)


def _stage(name: str) -> StageName:
    return next(stage.name for stage in STAGES if stage.name == name)


def work(pipe: Connection) -> None:
    """Do what is asked until the pipe is closed. Ctrl-C is left to the process that asks."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    memory = ToldMemory(pipe.send, pipe.poll)
    waiting: list[Any] = []
    with contextlib.suppress(EOFError, BrokenPipeError, ConnectionResetError):
        while True:
            waiting.append(pipe.recv())
            while pipe.poll():
                waiting.append(pipe.recv())
            # Only the newest job counts; questions are answered all, after it.
            runs = [asked for asked in waiting if isinstance(asked, RunAsked)]
            questions = [asked for asked in waiting if isinstance(asked, TryAsked)]
            waiting = []
            try:
                if runs:
                    _run(runs[-1], memory, pipe)
                while questions:
                    _try(questions[0], memory, pipe)
                    questions.pop(0)
            except SupersededError:
                waiting = [*questions]


def _run(asked: RunAsked, memory: ToldMemory, pipe: Connection) -> None:
    job = unmarked(asked.job)
    memory.generation = None
    memory.untold = frozenset(stage.name for stage in STAGES if stage.name not in asked.stages)
    hand_over(memory, job, asked.given)

    def begun(progress: Progress) -> None:
        if progress.stage is not None and progress.stage.name not in memory.untold:
            pipe.send(StageBegun(asked.generation, progress.stage.name, progress.done, progress.of))

    memory.generation = asked.generation
    try:
        results = run(job, asked.stages, begun, memory)
    except Exception as trouble:
        if isinstance(trouble, (SupersededError, OSError)):
            raise
        # A slip of the program: the page says so, and the next change is tried afresh.
        pipe.send(RunBroken(asked.generation, f"{type(trouble).__name__}: {trouble}"))
        return
    pipe.send(
        RunDone(
            asked.generation,
            asked.stages,
            results.findings,
            results.proposals,
            results.assumptions,
            results.versions,
            slow_names(job, results, asked.stages),
        )
    )


def slow_names(
    job: Job, results: JobResults, stages: tuple[StageName, ...]
) -> tuple[tuple[StageName, str], ...]:
    """What the slow stages on the ground of these would be remembered by: says whether a result is old."""
    grounds: tuple[StageName, ...] = ("rail", "body", "oil", "kit")
    made: dict[StageName, Any] = {name: one for name in grounds if (one := getattr(results, name))}
    has_parts = "kit" in stages
    named: list[tuple[StageName, str]] = []
    for stage in STAGES:
        if stage.is_slow and ("kit" in stage.needs) == has_parts:
            can = set(stage.needs) <= set(made) and made["body"].cavity is not None
            named.append(
                (stage.name, fingerprint(stage.name, *stage_inputs(stage.name, job, made)) if can else "")
            )
    return tuple(named)


def hand_over(memory: Memory, job: Job, given: tuple[Given, ...]) -> None:
    """Put into a memory what another process has made of the same job."""
    results = {one.stage: one.result for one in given}
    for one in given:
        made = (one.result, one.report)
        memory.recall(one.stage, stage_inputs(one.stage, job, results), lambda *_, made=made: made)


def unmarked(job: Job) -> Job:
    """The job without etched marks: half of the kit's work, and they tell nothing of the pan."""
    return without_pack_work(job)


def _try(asked: TryAsked, memory: ToldMemory, pipe: Connection) -> None:
    memory.generation = None  # nothing of it is told: it is no state of the job
    try:
        compared = try_change(unmarked(asked.job), Change(asked.key, asked.value), memory, asked.stages)
    except JobError as trouble:
        pipe.send(Tried(asked.number, trouble.faults, ()))
    except ValueError as trouble:
        pipe.send(Tried(asked.number, (Fault("", None, asked.key, "", str(trouble)),), ()))
    else:
        pipe.send(Tried(asked.number, (), compared.pairs))
