"""Invented rails and readings for the tests."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.rail import Fastener, Land, MirrorSide, RailHole, RailInputs, Reading, Seal

MM = 1e-3
FLAT = Land("main", "flat", Seal("liquid sealant", 0.3 * MM))
M6 = Fastener("bolt", "M6", 6 * MM, 1 * MM, 14 * MM, old_bolt_length=16 * MM)


def hole(name: str, edge: float | None = None, fastener: Fastener = M6) -> RailHole:
    return RailHole(name, fastener, "main", edge)


def centre(line: int, a: str, b: str, value: float, u: float = 0.05 * MM) -> Reading:
    return Reading(line, "centre", a, b, value, "caliper", u, True)


def inputs(holes, readings, *, datum=None, second=None, mirror=None, bearing=0.0, **more) -> RailInputs:
    base = {
        "holes": tuple(holes),
        "readings": tuple(readings),
        "datum": datum or holes[0].name,
        "second": second or holes[1].name,
        "bearing_left": bearing,
        "mirror": mirror,
        "lands": (FLAT,),
        "block_material": "grey iron",
        "thread_material": "grey iron",
        "temperature": 293.15,
        "coverage_limit": 0.25 * MM,
        "washer": 1.6 * MM,
        "flange_thickness": 10 * MM,
        "new_bolt_lengths": tuple(x * MM for x in (12, 16, 20, 25, 30)),
    }
    base.update(more)
    return RailInputs(**base)


FIVE_TRUE = {"1": (0, 0), "2": (420, 0), "3": (440, 190), "4": (210, 205), "5": (-15, 180)}
FIVE_READ = (
    ("1", "2", 420.03),
    ("2", "3", 191.03),
    ("3", "4", 230.54),
    ("4", "5", 226.34),
    ("5", "1", 180.64),
    ("1", "3", 479.24),
    ("2", "4", 293.48),
    ("3", "5", 455.15),
    ("4", "1", 293.42),
    ("5", "2", 470.79),
)


def five_hole_rail(add: dict[int, float] | None = None) -> RailInputs:
    """Five-hole rail of the handbook; ``add`` puts an error [mm] on a reading by index."""
    readings = [
        centre(k + 2, a, b, (d + (add or {}).get(k, 0.0)) * MM) for k, (a, b, d) in enumerate(FIVE_READ)
    ]
    return inputs([hole(n) for n in FIVE_TRUE], readings, mirror=MirrorSide("4", "left", "above"))


def ring_points(n: int, length: float = 0.45, width: float = 0.21) -> np.ndarray:
    """Holes along a rounded-rectangle ring, anticlockwise seen from above, first at the origin."""
    t = np.arange(n) / n * 2.0 * math.pi
    x = length / 2 * np.sign(np.cos(t)) * np.abs(np.cos(t)) ** 0.6
    y = width / 2 * np.sign(np.sin(t)) * np.abs(np.sin(t)) ** 0.6
    xy = np.stack((x, y), axis=1)
    xy += 0.004 * np.stack((np.sin(3 * np.arange(n)), np.cos(5 * np.arange(n))), axis=1)
    return xy - xy[0]


def ring_pairs(n: int, steps=(1, 2, 5)) -> list[tuple[int, int]]:
    return sorted({tuple(sorted((i, (i + s) % n))) for i in range(n) for s in steps})


def ring_rail(n: int, *, pairs=None, u: float = 0.05 * MM, seed: int = 0, kind: str = "centre", **more):
    """A rail of n holes with noisy readings; returns inputs and the true positions."""
    xy = ring_points(n)
    rng = np.random.default_rng(seed)
    names = [f"h{k + 1}" for k in range(n)]
    edge = 6.6 * MM
    part = {"centre": 0.0, "inside": -edge, "outside": edge}[kind]
    readings = []
    for line, (i, j) in enumerate(pairs if pairs is not None else ring_pairs(n)):
        d = float(np.hypot(*(xy[i] - xy[j]))) + part + rng.normal(0.0, u)
        readings.append(Reading(line + 2, kind, names[i], names[j], d, "caliper", u, True))
    far = int(np.argmax(np.hypot(*xy.T)))
    e = xy[far]
    side = e[0] * xy[:, 1] - e[1] * xy[:, 0]
    m = int(np.argmax(np.abs(side)))
    more.setdefault("second", names[far])
    more.setdefault("mirror", MirrorSide(names[m], "left" if side[m] > 0 else "right", "above"))
    more.setdefault("bearing", math.atan2(e[1], e[0]))
    made = inputs([hole(nm, None if kind == "centre" else edge) for nm in names], readings, **more)
    return made, xy
