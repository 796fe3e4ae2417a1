"""A whole job from the command line: cold process, and one changed key in a warm one."""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from benchmarks import Row

EXAMPLE = Path(__file__).parents[1] / "src" / "sumpwright" / "examples" / "hillclimb-four"
TIMES = 5


def cold_once(*arguments: str) -> float:
    """Wall time of the command in a process of its own [s]."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "sumpwright", *arguments], capture_output=True, check=False, text=True
    )
    if done.returncode not in (0, 1):
        raise RuntimeError(done.stderr)
    return time.perf_counter() - start


def cold(*arguments: str) -> float:
    """Median wall time of the command in a process of its own [s]."""
    return sorted(cold_once(*arguments) for _ in range(TIMES))[TIMES // 2]


def processor_time(*arguments: str) -> float:
    """Processor time of the command in a process of its own, the least of a few [s]: other work on
    the machine hardly changes it."""
    taken = []
    for _ in range(TIMES):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        cold_once(*arguments)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(taken)


def warm_change() -> float:
    """Median time to read, run and compare after one key changed, in one process [s]."""
    from sumpwright.flow import Change, Memory, try_change
    from sumpwright.job import read_job

    job, memory, taken = read_job(EXAMPLE), Memory(), []
    try_change(job, Change("lumps.sump.depth", "120 mm"), memory)
    for step in range(TIMES):
        start = time.perf_counter()
        try_change(job, Change("lumps.sump.depth", f"{121 + step} mm"), memory)
        taken.append(time.perf_counter() - start)
    return sorted(taken)[TIMES // 2]


def run() -> list[Row]:
    with tempfile.TemporaryDirectory() as folder:
        packed = cold("pack", str(EXAMPLE), "--out", str(Path(folder) / "pack"))
    return [
        Row("check of an example, cold process", cold("check", str(EXAMPLE)), target="under 3 s"),
        Row("the same, processor time", processor_time("check", str(EXAMPLE)), target="under 3 s"),
        Row("pack of an example, cold process", packed, target="under 15 s"),
        Row("one key changed, whole job again", warm_change(), target="under 100 ms"),
    ]
