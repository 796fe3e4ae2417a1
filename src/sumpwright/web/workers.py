"""The processes that work for the page: who runs what, who is told, who is stopped."""

from __future__ import annotations

import multiprocessing
import threading
from collections import OrderedDict
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Any

from sumpwright.findings import StageReport
from sumpwright.flow import QUICK_STAGES, STAGES, StageName
from sumpwright.job.model import Job
from sumpwright.web import slow_process, stage_process
from sumpwright.web.stage_process import KEPT, Given, RunAsked, RunDone, StageDone, TryAsked

Tell = Callable[[Any], None]


def metal_stages() -> tuple[StageName, ...]:
    """The quick stages that need the parts, and the parts themselves."""
    return tuple(
        stage.name
        for stage in STAGES
        if stage.name in QUICK_STAGES and (stage.name == "kit" or "kit" in stage.needs)
    )


def first_stages() -> tuple[StageName, ...]:
    """All other quick stages."""
    return tuple(name for name in QUICK_STAGES if name not in metal_stages())


class Outbox:
    """Sends in a thread of its own: a process that is busy must not hold up the one that asks."""

    def __init__(self, pipe: Connection) -> None:
        """Sends nothing yet."""
        self._pipe = pipe
        self._waiting: list[Any] = []
        self._news = threading.Condition()
        threading.Thread(target=self._send_all, name="outbox", daemon=True).start()

    def post(self, asked: Any) -> None:
        """Send it soon; of jobs that wait only the newest is sent."""
        with self._news:
            if isinstance(asked, RunAsked):
                self._waiting = [one for one in self._waiting if not isinstance(one, RunAsked)]
            self._waiting.append(asked)
            self._news.notify()

    def close(self) -> None:
        """Send nothing more."""
        with self._news:
            self._waiting = [None]
            self._news.notify()

    def _send_all(self) -> None:
        while True:
            with self._news:
                self._news.wait_for(lambda: bool(self._waiting))
                asked = self._waiting.pop(0)
            if asked is None:
                return
            try:
                self._pipe.send(asked)
            except OSError:
                return  # its listener sees the end of the pipe and begins another process


class Workers:
    """Two standing processes, and one that comes and goes for slow work.

    ``tell`` is called from the threads that listen to them, one message at a time for each.
    """

    def __init__(self, tell: Tell) -> None:
        """Nothing runs yet."""
        self._tell = tell
        self._context = multiprocessing.get_context("spawn")
        self._lock = threading.RLock()
        self._pipes: dict[str, Connection] = {}
        self._outboxes: dict[str, Outbox] = {}
        self._processes: dict[str, SpawnProcess] = {}
        self._made: OrderedDict[tuple[StageName, str], tuple[Any, StageReport]] = OrderedDict()
        self._asked: RunAsked | None = None
        self._given: dict[StageName, Given] = {}  # of the generation that was asked for last
        self._passed_on = False
        self._closing = False

    def start(self) -> None:
        """Start both processes; they load what they need while the page is being drawn."""
        with self._lock:
            self._begin("first")
            self._begin("metal")

    def run(self, generation: int, job: Job) -> None:
        """Work the quick stages out; what is being worked out for an older generation is dropped."""
        with self._lock:
            self._asked = RunAsked(generation, job, first_stages())
            self._given.clear()
            self._passed_on = False
            self._send("first", self._asked)

    def try_change(self, number: int, job: Job, key: str, value: str) -> None:
        """Ask what a change would do; the answer is told."""
        with self._lock:
            self._send("first", TryAsked(number, job, key, value, first_stages()))

    def slow_stages(
        self, generation: int, job: Job, stages: tuple[StageName, ...], fresh: tuple[Given, ...]
    ) -> None:
        """Work slow stages out; what the quick ones found goes along, and the slow ones that are fresh."""
        with self._lock:
            self._begin_slow(slow_process.StagesAsked(generation, job, stages, self._in_order(fresh)))

    def free_surface(
        self, generation: int, job: Job, minutes: float | None, fresh: tuple[Given, ...]
    ) -> None:
        """Work out how the oil really moves."""
        with self._lock:
            self._begin_slow(slow_process.FreeSurfaceAsked(generation, job, minutes, self._in_order(fresh)))

    def pack(self, generation: int, job: Job, folder: Path, fresh: tuple[Given, ...]) -> None:
        """Write the shop pack."""
        with self._lock:
            self._begin_slow(slow_process.PackAsked(generation, job, folder, self._in_order(fresh)))

    def cancel(self) -> bool:
        """Stop the slow work; whether there was any."""
        with self._lock:
            return self._end("slow")

    def close(self) -> None:
        """End all of them."""
        with self._lock:
            self._closing = True
            for name in list(self._processes):
                self._end(name)

    def _in_order(self, fresh: tuple[Given, ...]) -> tuple[Given, ...]:
        """What is known of the job as it stands, in the order of the work."""
        known = {**{one.stage: one for one in fresh}, **self._given}
        return tuple(known[stage.name] for stage in STAGES if stage.name in known)

    def _begin(self, name: str) -> None:
        ours, theirs = self._context.Pipe()
        process = self._context.Process(
            target=stage_process.work, args=(theirs,), name=f"sumpwright {name}", daemon=True
        )
        self._started(name, process, ours, theirs)

    def _begin_slow(self, asked: slow_process.SlowAsked) -> None:
        self._end("slow")
        ours, theirs = self._context.Pipe()
        process = self._context.Process(
            target=slow_process.work, args=(theirs, asked), name="sumpwright slow", daemon=True
        )
        self._started("slow", process, ours, theirs)

    def _started(self, name: str, process: SpawnProcess, ours: Connection, theirs: Connection) -> None:
        process.start()
        theirs.close()
        self._processes[name], self._pipes[name] = process, ours
        self._outboxes[name] = Outbox(ours)
        threading.Thread(target=self._listen, args=(name, ours), name=f"from {name}", daemon=True).start()

    def _end(self, name: str) -> bool:
        process = self._processes.pop(name, None)
        self._pipes.pop(name, None)
        outbox = self._outboxes.pop(name, None)
        if process is None or outbox is None:
            return False
        outbox.close()
        was_there = process.is_alive()
        process.kill()
        process.join()
        return was_there

    def _send(self, name: str, asked: Any) -> None:
        """Ask a process."""
        self._outboxes[name].post(asked)

    def _listen(self, name: str, pipe: Connection) -> None:
        while True:
            try:
                told = pipe.recv()
            except (EOFError, OSError):
                break
            if isinstance(told, StageDone):
                told = self._completed(told)
            elif isinstance(told, RunDone) and name == "first":
                self._parts_without_a_shape(told)
            self._tell(told)
        pipe.close()
        with self._lock:
            if self._closing or self._pipes.get(name) is not pipe:
                return  # ended by us
            if name != "slow":
                self._end(name)
                self._begin(name)
            else:
                self._end(name)
        self._tell(Ended(name))

    def _completed(self, done: StageDone) -> StageDone:
        """The stage with its result, sent now or before; the parts are begun once they can be."""
        with self._lock:
            key = (done.stage, done.name)
            made = self._made[key] if done.made is None else done.made
            self._made[key] = made
            self._made.move_to_end(key)
            while len(self._made) > 3 * KEPT:
                self._made.popitem(last=False)
            asked = self._asked
            if asked is not None and done.generation == asked.generation:
                self._given[done.stage] = Given(done.stage, *made)
                if not self._passed_on and {"rail", "body"} <= set(self._given):
                    self._passed_on = True
                    given = (self._given["rail"], self._given["body"])
                    self._send("metal", RunAsked(asked.generation, asked.job, metal_stages(), given))
            return StageDone(done.generation, done.stage, done.name, made)

    def _parts_without_a_shape(self, done: RunDone) -> None:
        """Where the shape never came, the parts say that they cannot be made."""
        with self._lock:
            asked = self._asked
            if asked is not None and done.generation == asked.generation and not self._passed_on:
                self._passed_on = True
                given = tuple(self._given[name] for name in ("rail",) if name in self._given)
                self._send("metal", RunAsked(asked.generation, asked.job, metal_stages(), given))


class Ended:
    """A process ended by itself: after slow work, or because it broke."""

    def __init__(self, name: str) -> None:
        """``name``: "first", "metal" or "slow"."""
        self.name = name
