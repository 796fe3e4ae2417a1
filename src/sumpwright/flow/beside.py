"""The same pan made other ways and in other metals, worked out beside the job in a second process.

None of it needs what the job's own stages find, and it is as much work again. Where the machine
has a second core, a fresh process does it from the moment the job is read; where it has not, or
where that process is lost, it is done here. The answers are the same to the last bit.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from types import TracebackType

from sumpwright.flow.alternatives import other_ways
from sumpwright.flow.material_page import in_every_metal
from sumpwright.flow.memory import Memory
from sumpwright.job.model import Alternative, Job, MaterialChoice

ALONE = "SUMPWRIGHT_ONE_PROCESS"
"""Set to 1, a pack is worked out in one process only."""


@dataclass(frozen=True, slots=True)
class OtherWays:
    """What was worked out beside the job."""

    alternatives: tuple[Alternative, ...]  # without the job itself
    materials: tuple[MaterialChoice, ...]


def work_out(job: Job, memory: Memory | None = None) -> OtherWays:
    """All other ways, in this process."""
    memory = Memory() if memory is None else memory
    return OtherWays(other_ways(job, memory), in_every_metal(job, memory))


class Beside:
    """A second process at work on the other ways while the block lasts; it ends with the block."""

    def __init__(self, job: Job) -> None:
        """Starts nothing yet."""
        self._job = job
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None

    def __enter__(self) -> Beside:
        """Start it, where there is a core for it."""
        if cores() < 2 or os.environ.get(ALONE) == "1":
            return self
        # A fresh process, not a copy of this one: threads of compiled loops do not survive copying.
        context = multiprocessing.get_context("spawn")
        self._pipe, far = context.Pipe(duplex=False)
        self._process = context.Process(target=_work, args=(far, self._job), daemon=True)
        with _deaf():
            self._process.start()
        far.close()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End it, done or not."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._process = None
        if self._pipe is not None:
            self._pipe.close()
            self._pipe = None

    def answer(self, memory: Memory | None = None) -> OtherWays:
        """What it found; waits for it. ``memory`` helps where it has to be worked out here."""
        if self._pipe is not None:
            try:
                found = self._pipe.recv()
            except (EOFError, OSError):
                found = None  # the process was ended from outside: what it had is worked out again
            if isinstance(found, OtherWays):
                return found
        return work_out(self._job, memory)


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def _deaf() -> Iterator[None]:
    """Ctrl-C waits; a process that is started meanwhile never hears it: it is for the one that leads."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # where it is started later, it lets Ctrl-C through again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _work(pipe: Connection, job: Job) -> None:
    """The second process: work it all out, tell it, and end; end at once when nobody waits any more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    pipe.send(work_out(job))


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)
