"""Whoever tries the variants, and whatever happens to him, the answer is the same."""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import time
from contextlib import ExitStack

import pytest

from sumpwright.explore.crew import Alone, Cluster, CrewError, Processes, do
from sumpwright.explore.explore import explore
from sumpwright.explore.model import Answer, Outcome, Task
from sumpwright.explore.store import Store
from tests.explore.problems import Timed, timed_question

COUNT = 60


def told(work: Timed, crew, store=None):
    with ExitStack() as stack:
        store = stack.enter_context(Store(None)) if store is None else store
        found = explore(timed_question(work), "plan", store, crew)
        return found, list(store.of_plan("plan"))


def same(one, other) -> bool:
    return one[0].front.members == other[0].front.members and one[1] == other[1]


def test_one_process_or_three_give_the_same():
    work = Timed(COUNT)
    assert same(told(work, Alone()), told(work, Processes(3)))


def test_a_process_that_dies_costs_nothing_but_what_it_held(tmp_path):
    """The deadly level kills its process once; every level is answered, and only those in hand run again."""
    found = told(Timed(COUNT, folder=tmp_path, deadly=20), Processes(2))
    assert (tmp_path / "died").exists()
    assert same(found, told(Timed(COUNT), Alone()))
    again = [len((tmp_path / f"tried-{k}").read_text()) for k in range(COUNT)]
    assert sum(again) - COUNT <= 2 * 3


def test_what_kills_every_process_is_told_and_the_rest_goes_on(tmp_path):
    found, rows = told(Timed(12, folder=tmp_path, deadly=5, always=True), Processes(2))
    assert [number for number, _ in found.broke] == [6]
    assert "died" in found.broke[0][1]
    assert [number for number, _, answers in rows if not answers] == [6]
    assert found.complete == 11


def test_a_slip_in_the_program_is_told_and_not_kept():
    slips = [(3,)]

    class Slips(Timed):
        def try_out(self, task: Task) -> Outcome:
            if task.levels in slips:
                raise ZeroDivisionError("a slip")
            return super().try_out(task)

    with Store(None) as store:
        found, _ = told(Slips(6), Alone(), store)
        assert found.broke == ((4, "ZeroDivisionError: a slip"),)
        slips.clear()
        again, _ = told(Slips(6), Alone(), store)
        assert not again.broke
        assert again.complete == 6


def test_nothing_known_runs_again_and_a_killed_run_goes_on(tmp_path):
    """The leading process is killed half-way with no warning; the next one works out the rest only."""
    store = tmp_path / "answers.sqlite"
    program = (
        "import sys; from pathlib import Path\n"
        "from sumpwright.explore.crew import Alone\n"
        "from sumpwright.explore.explore import explore\n"
        "from sumpwright.explore.store import Store\n"
        "from tests.explore.problems import Timed, timed_question\n"
        f"work = Timed({COUNT}, folder=Path({str(tmp_path)!r}), deadly=30)\n"
        f"explore(timed_question(work), 'plan', Store(Path({str(store)!r})), Alone())\n"
    )
    killed = subprocess.run([sys.executable, "-c", program], check=False)
    assert killed.returncode == -signal.SIGKILL
    with Store(store) as kept:
        rest = told(Timed(COUNT, folder=tmp_path, deadly=30), Alone(), kept)
        assert rest[0].tried == COUNT - 30
        assert rest[0].front.members == told(Timed(COUNT), Alone())[0].front.members
        assert told(Timed(COUNT, folder=tmp_path, deadly=30), Alone(), kept)[0].tried == 0
    assert [len((tmp_path / f"tried-{k}").read_text()) for k in range(COUNT)].count(2) == 1


def test_two_opened_works_are_kept_apart():
    first, second = Timed(5), Timed(6, seconds=0.001)
    assert do(first, Task((1,))) == do(second, Task((1,)))
    assert first.name != second.name


def scheduler_and_workers(stack: ExitStack, folder, workers: int):
    """A scheduler of its own and so many workers, all on loopback; the workers' processes."""
    environment = {**os.environ, "DASK_DISTRIBUTED__WORKER__DAEMON": "False"}

    def start(*arguments: str) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "-m", "distributed.cli." + arguments[0], *arguments[1:]],
            env=environment,
            cwd=os.getcwd(),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        stack.callback(end, process)
        return process

    def end(process: subprocess.Popen[bytes]) -> None:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.wait()

    told_in = folder / "scheduler.json"
    start(
        "dask_scheduler",
        "--host",
        "127.0.0.1",
        "--port",
        "0",
        "--no-dashboard",
        "--scheduler-file",
        str(told_in),
    )
    until(told_in.exists)
    address = json.loads(told_in.read_text())["address"]
    made = [
        start(
            "dask_worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1"
        )
        for _ in range(workers)
    ]
    return address, made


def until(true) -> None:
    end = time.monotonic() + 60.0
    while not true():
        assert time.monotonic() < end, "waited a minute"
        time.sleep(0.05)


def test_a_cluster_that_loses_a_worker_gives_what_this_machine_gives(tmp_path):
    """A real scheduler and two workers; one is killed while it works, and a search is right as well."""
    work = Timed(COUNT, seconds=0.05, folder=tmp_path)
    with ExitStack() as stack:
        address, workers = scheduler_and_workers(stack, tmp_path, 2)
        cluster = Cluster(address)
        stack.callback(cluster.close)
        store = stack.enter_context(Store(None))
        killed = []

        def kill_one(tally) -> None:
            if tally.tried == 15 and not killed:
                os.killpg(workers[0].pid, signal.SIGKILL)
                killed.append(workers[0])

        found = explore(timed_question(work), "plan", store, cluster, kill_one)
        rows = list(store.of_plan("plan"))
        assert killed
        workers[0].wait()
        assert not found.broke
    again = [len((tmp_path / f"tried-{k}").read_text()) for k in range(COUNT)]
    assert sum(again) - COUNT <= 4, "what was finished does not run again"
    assert same((found, rows), told(Timed(COUNT), Alone()))


def test_no_scheduler_is_told_in_one_line():
    with pytest.raises(CrewError, match=r"No scheduler answers at tcp://127\.0\.0\.1:9"):
        Cluster("tcp://127.0.0.1:9", patience_s=1.0)


def test_a_plan_of_a_million_variants_is_never_in_memory():
    """Tasks are taken from the plan as they are worked off: at most the window is out at any time."""
    out = most = 0

    def tasks():
        nonlocal out, most
        for k in range(1_000_000):
            out += 1
            most = max(most, out)
            yield Task((k,))

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with_window = Processes(2).through(Timed(1_000_000), tasks())
    for count, _outcome in enumerate(with_window, start=1):
        out -= 1
        if count == 3000:
            break
    with_window.close()
    assert most <= 2 * 3 + 1
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 40_000, "kB"


def test_answers_are_added_and_never_changed(tmp_path):
    with Store(tmp_path / "a.sqlite") as store:
        store.add("v", ("1 mm",), {"mass": Answer(1.0)})
        store.add("v", ("1 mm",), {"mass": Answer(2.0), "price": Answer(None, "no rates")})
        assert store.found("v") == {"mass": Answer(1.0), "price": Answer(None, "no rates")}
