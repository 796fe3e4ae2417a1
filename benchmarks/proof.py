"""All panels of an example under air, with both bounds.

Run: python -m benchmarks.proof
"""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

from benchmarks import Row
from sumpwright.flow import run as run_job
from sumpwright.job import read_job
from sumpwright.proof.panels import metal_of, panels_of, strength_of

EXAMPLES = Path(__file__).parent.parent / "examples"
TIMES = 3


def run() -> list[Row]:
    """One row an example whose kit closes."""
    rows = []
    for folder in sorted(path for path in EXAMPLES.iterdir() if (path / "job.toml").exists()):
        job = read_job(folder)
        kit = run_job(replace(job, kit=replace(job.kit, etched=False, nests=False, rates=None)), ("kit",)).kit
        metal = metal_of(job.kit.material)
        if kit is None or kit.rebuild.refused or metal is None:
            continue
        panels = panels_of(kit)
        seconds = []
        for _ in range(TIMES):
            start = time.perf_counter()
            for panel in panels:
                strength_of(panel, metal, 10e3)
            seconds.append(time.perf_counter() - start)
        note = f"{len(panels)} panels, meshed and solved with both bounds"
        rows.append(Row(f"panels under air, {folder.name}", min(seconds), target="under 3 s", note=note))
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work:45} {row.ours:8.2f} s   {row.note}")
