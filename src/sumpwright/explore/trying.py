"""One job, opened once in a process, and one variant after the other tried in it."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sumpwright.explore.model import REFUSED, Answer, Count, Levels, Outcome, Task, standing
from sumpwright.explore.pan import NoPanError, Pan
from sumpwright.flow import Memory
from sumpwright.flow.changes import Change, changed_data
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.job import JobError
from sumpwright.job.plan_file import Range, Written, WrittenTie
from sumpwright.job.read import JobData, reread_data

HOLDS = 120
"""Parts of variants that one process remembers, nine to a variant; a variant takes one or two megabytes."""


@dataclass(frozen=True, slots=True)
class JobWork:
    """A job with what varies in it and what is asked, ready to travel."""

    job_name: str  # of the job before any change
    varied: tuple[Written, ...]
    ties: tuple[WrittenTie, ...]
    counts: tuple[Count, ...]  # in the order of the work
    stops_early: bool
    payload: bytes = field(repr=False)  # the job's data

    @property
    def name(self) -> str:
        """The same for the same job, the same things that vary and the same questions."""
        return fingerprint(
            self.job_name, repr(self.varied), repr(self.ties), repr(self.counts), self.stops_early
        )

    def sets(self, levels: Levels) -> tuple[tuple[str, str], ...]:
        """Keys of the job file and what stands there in this variant, ties last."""
        found: list[tuple[str, str]] = []
        for written, level in zip(self.varied, levels, strict=True):
            if isinstance(written.values, Range):
                text = written.values.text(level)
                found += [(key, text) for key in written.keys]
                found += [
                    (tie.key, written.values.text(level, tie.times, tie.plus))
                    for tie in self.ties
                    if tie.follows == written.name
                ]
            else:
                found += written.values[level].sets
        return tuple(found)

    def words(self, levels: Levels) -> tuple[str, ...]:
        """The value of each thing as it would stand in the job file."""
        return tuple(
            written.values.text(level) if isinstance(written.values, Range) else written.values[level].name
            for written, level in zip(self.varied, levels, strict=True)
        )

    def variant(self, levels: Levels) -> str:
        """Name of the changed job."""
        return fingerprint(self.job_name, tuple(sorted(self.sets(levels))))

    def open(self) -> Callable[[Task], Outcome]:
        """The job unpacked, with a memory of its own."""
        return Bench(self).try_out


class Bench:
    """A job in hand."""

    def __init__(self, work: JobWork) -> None:
        self._work = work
        self._base: JobData = pickle.loads(work.payload)
        self._memory = Memory(HOLDS)

    def changed(self, levels: Levels) -> dict[str, Any]:
        """The job file's data with this variant's values."""
        data = dict(self._base.data)
        for key, value in self._work.sets(levels):
            data = changed_data(data, Change(key, value))
        return data

    def try_out(self, task: Task) -> Outcome:
        """The answers not known yet, in the order of the work, until one breaks a hard limit."""
        known, counts = dict(task.known), self._work.counts
        fresh: dict[str, Answer] = {}
        try:
            pan = Pan(reread_data(self._base, self.changed(task.levels)), self._memory)
            while True:
                where, name = standing({**known, **fresh}, counts, self._work.stops_early)
                if where != "open":
                    break
                fresh[name] = pan.answer(name)
        except JobError as trouble:
            first = trouble.faults[0]
            fresh[REFUSED] = Answer(None, f"{first.key}: {first.rule}")
        except NoPanError as trouble:
            fresh[REFUSED] = Answer(None, str(trouble))
        return Outcome(task.levels, tuple(fresh.items()))
