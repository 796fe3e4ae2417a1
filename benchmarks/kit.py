"""From lumps to a kit that is proven to close: time for the examples and for bodies like real pans.

Run: python -m benchmarks.kit
"""

from __future__ import annotations

import math
import statistics
import time
from dataclasses import replace
from pathlib import Path

from tests.body.random_bodies import near_real_body
from tests.kit.made_bodies import kit_inputs

from benchmarks import Row
from sumpwright.body.solve import solve as solve_body
from sumpwright.job import read_job
from sumpwright.kit import Folder
from sumpwright.kit.solve import solve as solve_kit
from sumpwright.rail.solve import solve as solve_rail

EXAMPLES = Path(__file__).parent.parent / "examples"
TIMES = 3


def run() -> list[Row]:
    """One row an example, and one for twenty bodies like real pans."""
    rows = []
    for folder in sorted(path for path in EXAMPLES.iterdir() if (path / "job.toml").exists()):
        job = read_job(folder)
        pattern = solve_rail(job.rail).pattern
        if pattern is None:
            continue
        # The proven kit alone: no nests, no price.
        inputs = replace(job.kit, nests=False, rates=None)
        seconds, parts = [], 0
        for _ in range(TIMES):
            start = time.perf_counter()
            kit = solve_kit(inputs, solve_body(job.body, pattern))
            seconds.append(time.perf_counter() - start)
            parts = len(kit.parts)
        note = f"{parts} parts, " + ("refused" if kit.rebuild.refused else "closed")
        rows.append(Row(f"lumps to verified kit, {folder.name}", min(seconds), target="under 1 s", note=note))
    folder = Folder("press brake", 0.006, 0.006, 1.5, 0.025, math.radians(120.0), 0.03, 0.06)
    for seed in (0, 2, 9):
        inputs_of_body, holes = near_real_body(seed)
        start = time.perf_counter()
        kit = solve_kit(kit_inputs(folder=folder), solve_body(inputs_of_body, holes))
        took = time.perf_counter() - start
        bends = sum(len(part.folds) for part in kit.parts)
        note = f"{bends} bends, " + ("refused" if kit.rebuild.refused else "closed")
        rows.append(Row(f"lumps to verified kit with bends, pan {seed}", took, target="under 3 s", note=note))
    drawn = [near_real_body(seed) for seed in range(20)]
    seconds = []
    for inputs_of_body, holes in drawn:
        start = time.perf_counter()
        solve_kit(kit_inputs(), solve_body(inputs_of_body, holes))
        seconds.append(time.perf_counter() - start)
    worst = f"slowest {max(seconds):.2f} s"
    rows.append(
        Row(
            "lumps to verified kit, median of 20 pans",
            statistics.median(seconds),
            target="under 1 s",
            note=worst,
        )
    )
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work}: {row.ours:.3f} s ({row.target}); {row.note}")
