"""Lumps to cavity, compartments, gaps to a large surface, and all fits of an example.

Run: python -m benchmarks.body
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import manifold3d as m3
import numpy as np
from tests.body.hand_lumps import body_of
from tests.body.hand_walls import roof, window
from tests.body.random_bodies import near_real_body
from tests.body.test_division import SUMP, TRAY, box_of_doors

from benchmarks import Row
from sumpwright.body.clearance import clearances, gathered
from sumpwright.body.outside import outside_parts
from sumpwright.body.solve import solve
from sumpwright.geometry.triangle_distance import group_triangles, least_gap
from sumpwright.job import read_job
from sumpwright.rail.solve import solve as solve_rail

EXAMPLES = Path(__file__).parents[1] / "src" / "sumpwright" / "examples"


def best(work: Callable[[], object], times: int = 5) -> float:
    """Shortest of a few runs [s]."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return min(took)


def run() -> list[Row]:
    """The body stage's rows."""
    inputs, pattern = near_real_body(1)
    cold = (
        "import time; t = time.perf_counter(); from tests.body.random_bodies import near_real_body; "
        "from sumpwright.body.solve import solve; solve(*near_real_body(1)); print(time.perf_counter() - t)"
    )
    first = float(subprocess.run([sys.executable, "-c", cold], capture_output=True, check=True).stdout)
    rows = [
        Row("lumps to cavity, gate and flange, warm", best(lambda: solve(inputs, pattern))),
        Row("the same in a new process, imports included", first, target="under 0.3 s"),
    ]
    walls = (*box_of_doors(), roof("lid", 60, window("hole", 230, 260, 80, 120)))
    plain, walled = body_of(TRAY, SUMP), body_of(TRAY, SUMP, walls=walls)
    with_walls = best(lambda: solve(walled.inputs, walled.pattern))
    without = best(lambda: solve(plain.inputs, plain.pattern))
    rows.append(Row("five inner walls to compartments and openings", with_walls - without))
    ball = m3.Manifold.sphere(0.5, 640).translate((0.2, 0.1, -0.8)).to_mesh64()
    big = np.asarray(ball.vert_properties)[:, :3][np.asarray(ball.tri_verts)]
    assert plain.cavity is not None
    parts = gathered(outside_parts(plain, plain.cavity))
    least_gap(parts.surface, group_triangles(big[:100]))
    start = time.perf_counter()
    groups = group_triangles(big)
    found = least_gap(parts.surface, groups)
    ours = time.perf_counter() - start
    mesh = m3.Mesh64(np.array(plain.cavity.vertices), np.array(plain.cavity.triangles, dtype=np.uint64))
    bare, other = m3.Manifold(mesh), m3.Manifold.sphere(0.5, 640).translate((0.2, 0.1, -0.8))
    start = time.perf_counter()
    bare.min_gap(other, 1.0)
    reference = time.perf_counter() - start
    rows.append(
        Row(
            f"gap to a keep-out of {len(big):,} triangles, sorted anew",
            ours,
            reference,
            reference / ours,
            "manifold3d, bare cavity, gap without its points",
            "under 5 s",
            f"{1e3 * (found.gap if found else 0.0):.3f} mm",
        )
    )
    job = read_job(EXAMPLES / "hillclimb-four")
    pattern = solve_rail(job.rail).pattern
    assert pattern is not None
    body = solve(job.body, pattern)
    assert body.cavity is not None
    cavity = body.cavity
    rows.append(
        Row(
            "all clearances of hillclimb-four, rocked",
            best(lambda: clearances(body, cavity), 3),
            target="under 1 s",
        )
    )
    bare_inputs = replace(job.body, surroundings=type(job.body.surroundings)())
    rows.append(
        Row("hillclimb-four with tools, ground and way off", best(lambda: solve(job.body, pattern), 3))
    )
    rows.append(Row("hillclimb-four, shape alone", best(lambda: solve(bare_inputs, pattern), 3)))
    return rows


if __name__ == "__main__":
    for row in run():
        print(f"{row.work:55s} {row.ours * 1e3:10.2f} ms  {row.ratio or '':} {row.target} {row.note}")
