"""Who tries the variants: this process, processes of this machine, or a cluster that is there already.

A crew takes tasks from an iterator only as fast as it works them off, so that a plan of a
million variants is never in memory; outcomes come back in any order. A worker that dies loses
nothing but the task in its hands, which is given out again.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, ThreadPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from typing import Any, Protocol

from sumpwright.explore.model import BROKE, Answer, ExploreError, Outcome, Task, Work

AHEAD = 3
"""Tasks given out for each worker, so that none waits for the next."""

LOOK_ROUND = 20
"""After so many tasks a cluster is asked again how many workers there are."""

DEATHS = 2
"""A task in whose hands so many processes died alone is not given out again."""


class CrewError(ExploreError):
    """The crew cannot work; one line says why."""


class Crew(Protocol):
    """Anybody who tries variants."""

    def through(self, work: Work, tasks: Iterator[Task]) -> Iterator[Outcome]:
        """The outcome of every task, in any order."""
        ...


_OPENED: dict[str, Callable[[Task], Outcome]] = {}
"""Work that this process has opened, by name: an outcome depends on the work and the task alone."""


def do(work: Work, task: Task) -> Outcome:
    """Try one variant, with the work opened once in this process."""
    if work.name not in _OPENED:
        _OPENED.clear()
        _OPENED[work.name] = work.open()
    return _OPENED[work.name](task)


def went_wrong(task: Task, fault: BaseException) -> Outcome:
    """What is noted of a variant on which the program itself went wrong."""
    return Outcome(task.levels, ((BROKE, Answer(None, f"{type(fault).__name__}: {fault}"[:300])),))


class Alone:
    """This process, one variant after the other."""

    def through(self, work: Work, tasks: Iterator[Task]) -> Iterator[Outcome]:
        """Outcomes in the order of the tasks."""
        with ThreadPoolExecutor(1) as hand:
            for task in tasks:
                one = hand.submit(do, work, task)
                fault = one.exception()
                yield one.result() if fault is None else went_wrong(task, fault)


# ---- processes of this machine ----------------------------------------------------

_HERE: list[Work] = []
"""The work that this worker process was started for."""


def _start(work: Work) -> None:
    # Ctrl-C is for the process that leads; and as many processes as cores need no threads beside.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    for threads in ("OPENBLAS_NUM_THREADS", "NUMBA_NUM_THREADS"):
        os.environ.setdefault(threads, "1")
    _HERE[:] = [work]


def _do_here(task: Task) -> Outcome:
    return do(_HERE[0], task)


def cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


class Processes:
    """So many processes of this machine."""

    def __init__(self, count: int) -> None:
        if count < 1:
            raise ValueError("at least one process is needed")
        self._count = count

    def through(self, work: Work, tasks: Iterator[Task]) -> Iterator[Outcome]:
        """Outcomes as they are done. Where a process dies, a fresh set goes on with what was lost."""
        deaths: dict[Task, int] = {}
        lost: list[Task] = []
        while True:
            # After a death what was in hand goes alone, so that the culprit is known.
            alone = bool(lost)
            source = iter(lost) if alone else tasks
            lost = []
            ended = True
            count = 1 if alone else self._count
            pool = self._pool(count, work)
            try:
                waiting: dict[Future[Outcome], Task] = {}
                while True:
                    for task in islice(source, (1 if alone else count * AHEAD) - len(waiting)):
                        waiting[pool.submit(_do_here, task)] = task
                    if not waiting:
                        break
                    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
                    for one in done:
                        task, fault = waiting.pop(one), one.exception()
                        if isinstance(fault, BrokenProcessPool):
                            lost.append(task)
                        else:
                            yield one.result() if fault is None else went_wrong(task, fault)
                    if lost:
                        ended = False
                        lost += waiting.values()
                        lost += source if alone else ()
                        break
            finally:
                pool.shutdown(cancel_futures=True)
            if alone and not ended:
                culprit = lost[0]
                deaths[culprit] = deaths.get(culprit, 0) + 1
                if deaths[culprit] >= DEATHS:
                    lost = lost[1:]
                    yield went_wrong(culprit, CrewError(f"the process died on it {DEATHS} times"))
            if ended and not alone:
                return

    def _pool(self, count: int, work: Work) -> ProcessPoolExecutor:
        # Fresh processes, not copies of this one: threads of compiled loops do not survive copying.
        return ProcessPoolExecutor(count, multiprocessing.get_context("spawn"), _start, (work,))


# ---- a cluster ----------------------------------------------------------------------


class Cluster:
    """Workers of a scheduler that runs already, who may come and go."""

    def __init__(self, address: str, patience_s: float = 20.0) -> None:
        """Raises CrewError where nothing answers at the address."""
        try:
            from distributed import Client
        except ImportError as trouble:
            raise CrewError(
                "A cluster needs the package 'distributed': install sumpwright with its extra 'cluster'."
            ) from trouble
        try:
            connect: Any = Client
            self._client: Any = connect(address, timeout=patience_s, set_as_default=False)
        except (OSError, ValueError) as trouble:
            raise CrewError(
                f"No scheduler answers at {address}: start it first, or mend the address."
            ) from trouble

    def close(self) -> None:
        """Let go of the scheduler; it and its workers run on."""
        self._client.close()

    def through(self, work: Work, tasks: Iterator[Task]) -> Iterator[Outcome]:
        """Outcomes as they are done; the scheduler gives a lost worker's task to another."""
        from distributed import as_completed

        client = self._client
        # Not scattered: what the scheduler can work out again outlives the worker that holds it.
        packed = client.submit(_same, work, key=f"sumpwright-work-{work.name}", pure=False)
        given: dict[str, Task] = {}
        gathering: Any = as_completed
        running = gathering(loop=client.loop)
        number = 0

        window = self._window()

        def fill() -> None:
            nonlocal number, window
            if number % LOOK_ROUND == 0:
                window = self._window()
            for task in islice(tasks, max(0, window - len(given))):
                key = f"sumpwright-{work.name}-{number}"
                number += 1
                given[key] = task
                running.add(client.submit(do, packed, task, key=key, pure=False, retries=DEATHS))

        fill()
        while given:
            one = next(running)
            task, fault = given.pop(one.key), one.exception()
            yield one.result() if fault is None else went_wrong(task, fault)
            one.release()
            fill()

    def _window(self) -> int:
        """Tasks to have given out, with the workers there are now."""
        return max(AHEAD, AHEAD * int(sum(self._client.nthreads().values())))


def _same(work: Work) -> Work:
    return work
