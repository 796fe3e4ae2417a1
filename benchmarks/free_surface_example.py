"""One example's worst corner in three cell sizes: oil over the mouth, and in each compartment.

Run: python -m benchmarks.free_surface_example FOLDER [processor|card], which writes
free-surface-example.svg and .json there. Minutes on a processor.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from sumpwright.flow import run
from sumpwright.flow.free_surface import asked_of
from sumpwright.job import read_job
from sumpwright.motion.free_surface import free_surface_run

EXAMPLE = Path("src/sumpwright/examples/hillclimb-four")
MANOEUVRE = "left circle"
CELLS = (0.016, 0.011, 0.008)
SECONDS = 4.0


def measured(engine: str) -> dict[str, object]:
    """Cover [mm] of the mouth through the first seconds for each cell, and how far from the finest."""
    job = read_job(EXAMPLE)
    job = replace(job, free_surface=replace(job.free_surface, manoeuvres=(MANOEUVRE,)))
    results = run(job, ("drive",))
    lines, shares, kept, times = [], [], [], np.zeros(0)
    for cell in CELLS:
        (one,) = asked_of(job, results, cell)
        found = free_surface_run(one.inputs, stop_at=SECONDS, engine=engine)  # type: ignore[arg-type]
        times = found.driven.times
        lines.append(1e3 * found.driven.cover)
        shares.append(found.driven.volumes / found.driven.volumes.sum(axis=1, keepdims=True))
        kept.append(found.occupied)
        print(f"{1e3 * cell:g} mm: {found.wall_clock:.0f} s, {found.parcels} parcels", file=sys.stderr)
    rows = min(len(line) for line in lines)
    quick = one.driving.lagged
    best, home = lines[-1][:rows], shares[-1][:rows]
    return {
        "cells_mm": [1e3 * cell for cell in CELLS],
        "times": times[:rows].tolist(),
        "cover_mm": [line[:rows].tolist() for line in lines],
        "quick_cover_mm": (1e3 * np.interp(times[:rows], quick.times, quick.cover)).tolist(),
        "cover_off_mm": [float(np.sqrt(np.mean((line[:rows] - best) ** 2))) for line in lines],
        "oil_elsewhere": [
            float(np.sqrt(np.mean((0.5 * np.abs(share[:rows] - home).sum(axis=1)) ** 2))) for share in shares
        ],
        "volume_kept": [[float(part.min()), float(part.max())] for part in kept],
    }


def picture(found: dict[str, object]) -> str:
    """The covers as SVG: time to the right, oil over the mouth upwards."""
    times = np.array(found["times"])
    lines = [np.array(line) for line in found["cover_mm"]]  # type: ignore[attr-defined]
    low = 10.0 * np.floor(min(float(line.min()) for line in lines) / 10.0)
    high = 10.0 * np.ceil(max(float(line.max()) for line in lines) / 10.0)
    wide, tall, left, foot = 560.0, 260.0, 60.0, 290.0

    def x(t: float) -> float:
        return left + wide * t / SECONDS

    def y(v: float) -> float:
        return foot - tall * (v - low) / (high - low)

    parts = [
        '<svg xmlns="http://www.w3.org/2000/svg" width="640" height="340" font-family="sans-serif" '
        'font-size="12">',
        f'<rect x="{left}" y="{foot - tall}" width="{wide}" height="{tall}" fill="none" stroke="black"/>',
    ]
    for v in np.linspace(low, high, 5):
        parts.append(f'<text x="{left - 6}" y="{y(v) + 4:.1f}" text-anchor="end">{v:.0f} mm</text>')
    for t in range(int(SECONDS) + 1):
        parts.append(f'<text x="{x(t):.1f}" y="{foot + 16}" text-anchor="middle">{t} s</text>')
    if low < 0.0 < high:
        parts.append(f'<line x1="{left}" x2="{left + wide}" y1="{y(0):.1f}" y2="{y(0):.1f}" stroke="grey"/>')
    for n, (line, cell) in enumerate(zip(lines, found["cells_mm"], strict=True)):  # type: ignore[call-overload]
        dash = ("2 4", "7 3", "")[n]
        style = f' stroke-dasharray="{dash}"' if dash else ""
        points = " ".join(f"{x(t):.1f},{y(v):.1f}" for t, v in zip(times, line, strict=True))
        parts.append(f'<polyline points="{points}" fill="none" stroke="black" stroke-width="1.3"{style}/>')
        at = foot - tall + 18 + 18 * n
        parts.append(
            f'<line x1="470" x2="510" y1="{at}" y2="{at}" stroke="black" stroke-width="1.3"{style}/>'
            f'<text x="518" y="{at + 4}">{cell:g} mm cells</text>'
        )
    words = f"Oil over the pickup's mouth, {EXAMPLE.name}, {MANOEUVRE}"
    parts.append(f'<text x="{left}" y="{foot + 36}">{words}</text></svg>')
    return "\n".join(parts) + "\n"


def main(folder: Path, engine: str) -> None:
    found = measured(engine)
    (folder / "free-surface-example.json").write_text(json.dumps(found, indent=1) + "\n", "utf-8")
    (folder / "free-surface-example.svg").write_text(picture(found), "utf-8")
    for name in ("cover_off_mm", "oil_elsewhere", "volume_kept"):
        print(name, found[name])


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "processor")
