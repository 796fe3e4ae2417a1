"""The free surface in smaller and smaller cells: braking in two boxes, Ritter's dam, a wedge.

Run: python -m benchmarks.free_surface_convergence FOLDER [processor|card], which writes
free-surface-convergence.svg and .json there. Minutes on a processor.
"""

from __future__ import annotations

import json
import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from tests.motion.free_surface.tanks import G, box, prism, rig
from tests.motion.free_surface.test_run import inputs, still, two

from sumpwright.motion.free_surface import free_surface_run
from sumpwright.motion.free_surface.seeding import at_rest, evenly_spread

UP, DOWN = np.array([0.0, 0.0, 1.0]), np.array([0.0, 0.0, -G])
BRAKING = (0.02, 0.01, 0.005)
DAMS = (12, 24, 48)
MOMENTS = (0.3, 0.5, 0.7)
WEDGES = (0.02, 0.01, 0.005, 0.0025)


def braking(engine: str) -> dict[str, object]:
    """Share of the oil in the front box, braking at 0.35 g, for each cell; rms beside the smallest."""
    pan, whole = two()
    pulls = still(1.2, (0.35 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    given = inputs(pan, whole, pulls, 0.3 * 0.12 * 0.05)
    lines = []
    for cell in BRAKING:
        run = free_surface_run(replace(given, cell=cell), engine=engine).driven  # type: ignore[arg-type]
        lines.append((run.volumes[:, 1] / given.oil.in_pan).tolist())
    rows = min(len(line) for line in lines)
    best = np.array(lines[-1][:rows])
    off = [float(np.sqrt(np.mean((np.array(line[:rows]) - best) ** 2))) for line in lines]
    return {"cells": BRAKING, "times": [0.02 * k for k in range(rows)], "share": lines, "off": off}


def dam(engine: str) -> dict[str, object]:
    """Depth at the dam over the column's height at some moments [s]; Ritter has 4/9 at all of them."""
    height, found = 0.12, []
    for cells in DAMS:
        cell = height / cells
        tank = rig(box(2.8, 4 * cell, 0.16), cell, 1.0 * 4 * cell * height, UP, engine=engine)
        points = evenly_spread(tank.domain, 2, 1)
        metres = tank.domain.origin + points * cell
        column = points[(metres[:, 0] < 1.0) & (metres[:, 2] < height)]
        tank.engine.replace(at_rest(column))
        row = []
        for moment in MOMENTS:
            tank.run(moment - tank.time, DOWN, most=0.004)
            beside = np.abs(tank.places[:, 0] - 1.0) < 0.02
            row.append(float(beside.sum() / len(column) * 1.0 / 0.04))
        found.append(row)
    return {"cells": DAMS, "moments": MOMENTS, "depth": found, "ritter": 4.0 / 9.0}


def wedge(engine: str) -> dict[str, object]:
    """How far (in cells) the oil's middle lies from the triangle's, along the floor and upwards."""
    pan = prism([(0.0, 0.0), (0.4, 0.1), (0.4, 0.2), (0.0, 0.2)], [(0, 1, 2), (0, 2, 3)], 0.08)
    along, upwards = [], []
    for cell in WEDGES:
        tank = rig(pan, cell, 0.5 * 0.04 * 0.16 * 0.08, UP, nu=1e-5, engine=engine)
        tank.run(2.0, DOWN)
        mean = tank.places.mean(axis=0)
        along.append(float(mean[0] - 0.16 / 3.0) / cell)
        upwards.append(float(mean[2] - 2.0 * 0.04 / 3.0) / cell)
    return {"cells": WEDGES, "along": along, "upwards": upwards}


def still_pan(engine: str) -> dict[str, object]:
    """Speed left (mm/s rms) in a pan that stood for 10 s, by cell and step."""
    found = []
    for cell, step in ((0.02, 0.005), (0.01, 0.005), (0.01, 0.0025), (0.01, 0.00125), (0.005, 0.0025)):
        tank = rig(box(0.3, 0.12, 0.12), cell, 0.3 * 0.12 * 0.05, UP, nu=1e-5, omega=9.0, engine=engine)
        tank.run(10.0, DOWN, most=step)
        speed = tank.velocities
        at = tank.places
        deep = at[:, 2] < 0.02
        beside = np.minimum.reduce([at[:, 0], 0.3 - at[:, 0], at[:, 1], 0.12 - at[:, 1]]) < cell
        found.append(
            {
                "cell": cell,
                "step": step,
                "all": _rms(speed),
                "each_axis": [_rms(speed[:, a : a + 1]) for a in range(3)],
                "deep": _rms(speed[deep]),
                "at_the_top": _rms(speed[at[:, 2] > 0.05 - cell]),
                "beside_walls": _rms(speed[beside]),
                "away_from_walls": _rms(speed[~beside]),
            }
        )
    return {"rows": found}


def _rms(speed: np.ndarray) -> float:
    return 1e3 * math.sqrt(float((speed**2).sum(axis=1).mean())) if len(speed) else 0.0


def picture(found: dict[str, object]) -> str:
    """The braking lines as SVG: time to the right, share of the oil in the front box upwards."""
    times, lines, cells = found["times"], found["share"], found["cells"]
    assert isinstance(times, list)
    wide, high, left, low = 560.0, 260.0, 50.0, 290.0
    parts = [
        '<svg xmlns="http://www.w3.org/2000/svg" width="640" height="340" font-family="sans-serif" '
        'font-size="12">',
        f'<rect x="{left}" y="{low - high}" width="{wide}" height="{high}" fill="none" stroke="black"/>',
    ]
    end = float(times[-1])
    for share in (0.4, 0.6, 0.8, 1.0):
        y = low - high * (share - 0.4) / 0.6
        parts.append(f'<text x="{left - 6}" y="{y + 4:.1f}" text-anchor="end">{100 * share:.0f} %</text>')
    for t in (0.0, 0.4, 0.8, 1.2):
        x = left + wide * min(t / end, 1.0)
        parts.append(f'<text x="{x:.1f}" y="{low + 16}" text-anchor="middle">{t:g} s</text>')
    for line, cell, dash in zip(lines, cells, ("2 4", "7 3", ""), strict=True):  # type: ignore[call-overload]
        points = " ".join(
            f"{left + wide * t / end:.1f},{low - high * (v - 0.4) / 0.6:.1f}"
            for t, v in zip(times, line, strict=False)
        )
        style = f' stroke-dasharray="{dash}"' if dash else ""
        parts.append(f'<polyline points="{points}" fill="none" stroke="black" stroke-width="1.3"{style}/>')
        y = low - 14 - 18 * list(cells).index(cell)  # type: ignore[call-overload]
        parts.append(
            f'<line x1="470" x2="510" y1="{y}" y2="{y}" stroke="black" stroke-width="1.3"{style}/>'
            f'<text x="518" y="{y + 4}">{1e3 * cell:g} mm cells</text>'
        )
    parts.append(f'<text x="{left}" y="{low + 36}">Oil in the front box, braking at 0.35 g</text></svg>')
    return "\n".join(parts) + "\n"


def main(folder: Path, engine: str) -> None:
    found = {
        "engine": engine,
        "braking": braking(engine),
        "dam": dam(engine),
        "wedge": wedge(engine),
        "still": still_pan(engine),
    }
    (folder / "free-surface-convergence.json").write_text(json.dumps(found, indent=1) + "\n", "utf-8")
    (folder / "free-surface-convergence.svg").write_text(picture(found["braking"]), "utf-8")  # type: ignore[arg-type]
    for name in ("dam", "wedge", "still"):
        print(name, found[name])
    print("braking", found["braking"]["off"])  # type: ignore[index]


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else "processor")
