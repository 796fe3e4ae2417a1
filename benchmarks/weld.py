"""Access and order of the welds of the examples.

Run: python -m benchmarks.weld
"""

from __future__ import annotations

import time
from pathlib import Path

from benchmarks import Row
from sumpwright.flow import run as run_job
from sumpwright.job import read_job
from sumpwright.weld.solve import solve

EXAMPLES = Path(__file__).parent.parent / "examples"


def run() -> list[Row]:
    """One row an example; compiled code is loaded before the clock starts."""
    rows = []
    for folder in sorted(path for path in EXAMPLES.iterdir() if (path / "job.toml").exists()):
        job = read_job(folder)
        kit = run_job(job, ("kit",)).kit
        if kit is None or job.weld is None or not kit.parts:
            continue
        seconds = []
        for _ in range(2):
            start = time.perf_counter()
            result = solve(job.weld, kit)
            seconds.append(time.perf_counter() - start)
        holds = 0 if result.replay is None else result.replay.stations
        note = f"{len(result.seams)} seams, {holds} holds replayed"
        rows.append(
            Row(f"weld plan, {folder.name}", min(seconds), target="under 20 s for 60 seams", note=note)
        )
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work}: {row.ours:.3f} s ({row.target}); {row.note}")
