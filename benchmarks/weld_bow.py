"""Movement of a whole pan in welding, beside twice the cells.

Run: python -m benchmarks weld_bow
"""

from __future__ import annotations

import time
from dataclasses import replace
from importlib import resources
from pathlib import Path

from benchmarks import Row


def run() -> list[Row]:
    """Each example with its own cells; the reference has cells of two thirds the side."""
    from sumpwright.flow import run as run_job
    from sumpwright.job import read_job
    from sumpwright.weld.bow import solve_bow

    found = []
    for name in ("hillclimb-four", "motor-sailer", "slope-chipper-adapter"):
        job = read_job(Path(str(resources.files("sumpwright").joinpath("examples", name))))
        kit = run_job(job, ("kit",)).kit
        assert kit is not None
        assert job.bow is not None
        start = time.perf_counter()
        bow = solve_bow(job.bow, kit)
        ours = time.perf_counter() - start
        start = time.perf_counter()
        finer = solve_bow(replace(job.bow, cell=0.0085 if name != "motor-sailer" else 0.011), kit)
        reference = time.perf_counter() - start
        found.append(
            Row(
                work=f"movement in welding, {name}, {len(bow.nodes)} nodes",
                ours=ours,
                reference=reference,
                ratio=reference / ours,
                reference_name=f"{len(finer.nodes)} nodes",
                target="under 10 s",
                note=f"out of flat {bow.released[1] * 1e3:.3f} mm, finer {finer.released[1] * 1e3:.3f} mm",
            )
        )
    return found
