"""Seeded random bodies for property tests: harsh ones, and ones like real pans.

``random_body``: two to five lumps, outlines of four to eight corners, floors tilted up to
15 degrees about both axes, sheet of 1.5 to 4 mm. ``near_real_body``: tray, sump, and a
kick-out or a notch. Both return the body inputs and a ring of holes round the opening.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import BodyInputs, FlangeOutline, Lump
from sumpwright.body.solve import solve
from sumpwright.geometry import Plane
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.rail import HolePattern
from sumpwright.rail.model import Fastener


def ring_pattern(low: FloatArray, high: FloatArray, beside: float, pitch: float) -> HolePattern:
    """Holes at about ``pitch`` on a rectangle ``beside`` outside low-high, the first at the datum."""
    (x0, y0), (x1, y1) = low - beside, high + beside
    along_x = max(1, round((x1 - x0) / pitch))
    along_y = max(1, round((y1 - y0) / pitch))
    places = [(x0 + (x1 - x0) * k / along_x, y0) for k in range(along_x)]
    places += [(x1, y0 + (y1 - y0) * k / along_y) for k in range(along_y)]
    places += [(x1 - (x1 - x0) * k / along_x, y1) for k in range(along_x)]
    places += [(x0, y1 - (y1 - y0) * k / along_y) for k in range(along_y)]
    n = len(places)
    fastener = Fastener("bolt", "M6", 0.006, 0.001, 0.014)
    return HolePattern(
        tuple(f"h{k + 1}" for k in range(n)),
        frozen_array(places),
        frozen_array(np.zeros((2 * n, 2 * n))),
        frozen_array(np.zeros((2 * n, 2 * n))),
        (fastener,) * n,
        (None,) * n,
        (),
        ("main",) * n,
    )


def _tilted_floor(rng: np.random.Generator, point: FloatArray, most: float) -> Plane:
    about_x, about_y = np.radians(rng.uniform(-most, most, 2))
    normal = np.array([math.tan(about_y), math.tan(about_x), -1.0])
    normal /= np.linalg.norm(normal)
    return Plane(frozen_array(normal), float(normal @ point))


def _blob(rng: np.random.Generator, centre: FloatArray, half: FloatArray, corners: int) -> FloatArray:
    """An outline round a centre, anticlockwise, with corners well apart; some turn inwards."""
    angles = (
        2.0 * math.pi * (np.arange(corners) + rng.uniform(-0.22, 0.22, corners) + rng.uniform()) / corners
    )
    reach = rng.uniform(0.62, 1.0, corners)
    return centre + half * reach[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)


def _box(x0: float, x1: float, y0: float, y1: float) -> FloatArray:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def _inputs(
    lumps: list[Lump], sheet: float, up: FloatArray, low: FloatArray, high: FloatArray
) -> tuple[BodyInputs, HolePattern]:
    pattern = ring_pattern(low, high, 0.016 + sheet, 0.075)
    inputs = BodyInputs(
        tuple(lumps), sheet, 0.010, FlangeOutline(outside=0.011, land=0.005), frozen_array(up)
    )
    return inputs, pattern


DRAWS = 8


def random_body(seed: int) -> tuple[BodyInputs, HolePattern]:
    """A harsh random body: nothing is square to anything.

    Up to eight draws a seed, the first that passes the gate; where none does, the last is
    given all the same, so that some bodies for refusing stay among them.
    """
    for draw in range(DRAWS):
        inputs, pattern = _harsh(np.random.default_rng([seed, 1, draw]))
        body = solve(inputs, pattern)
        if body.cavity is not None and not body.trouble and not body.gate:
            break
    return inputs, pattern


def _harsh(rng: np.random.Generator) -> tuple[BodyInputs, HolePattern]:
    sheet = float(rng.uniform(0.0015, 0.004))
    count = int(rng.choice([2, 2, 3, 3, 4, 5]))
    half = rng.uniform([0.18, 0.13], [0.28, 0.20])
    centre = half + rng.uniform(0.0, 0.02, 2)
    outline = _blob(rng, centre, half * 1.15, int(rng.integers(4, 9)))
    depth = float(rng.uniform(0.05, 0.08))
    tray_floor = _tilted_floor(rng, np.append(centre, -depth - 0.06), 7.0)
    lumps = [Lump("tray", True, "plan", frozen_array(outline), tray_floor)]
    low, high = outline.min(axis=0), outline.max(axis=0)
    for k in range(1, count):
        kind = rng.uniform()
        heading = rng.uniform(0.0, 2.0 * math.pi)
        offset = rng.uniform(0.15, 0.75) * half * np.array([math.cos(heading), math.sin(heading)])
        at = centre + offset
        size = rng.uniform(0.40, 0.70, 2) * half
        if kind < 0.75 or k == 1:
            shape = _blob(rng, at, np.maximum(size * 1.3, 0.06), int(rng.integers(4, 7)))
            floor = _tilted_floor(rng, np.append(at, -depth - rng.uniform(0.11, 0.17)), 15.0)
            lumps.append(
                Lump(
                    "sump" if k == 1 else f"bulge {k}",
                    True,
                    "plan",
                    frozen_array(shape),
                    floor,
                    wall_slope=float(np.radians(rng.choice([0.0, 0.0, rng.uniform(2.0, 10.0)]))),
                )
            )
            low, high = np.minimum(low, shape.min(axis=0)), np.maximum(high, shape.max(axis=0))
        else:
            deep = -depth - rng.uniform(0.05, 0.09)
            wide = rng.uniform(0.05, 0.08)
            turn = rng.uniform(-0.02, 0.02)
            profile = np.array(
                [[-wide, -0.5], [wide, -0.5], [wide * 0.8 + turn, deep], [-wide * 0.8 + turn, deep]]
            )
            profile[:, 0] += at[0]
            lumps.append(
                Lump(
                    f"notch {k}", False, "side", frozen_array(profile), None, across_from=-1.0, across_to=1.0
                )
            )
    lean, nose = np.radians(rng.uniform(-15.0, 15.0, 2))
    up = EnginePlacement(Attitude(nose_up=float(nose), lean_right=float(lean))).up_in_engine()
    return _inputs(lumps, sheet, up, low, high)


def near_real_body(seed: int) -> tuple[BodyInputs, HolePattern]:
    """A tray, a sump under it, and a kick-out or a notch, as on most pans."""
    rng = np.random.default_rng([seed, 2])
    sheet = float(rng.choice([1.5, 2.0, 2.5, 3.0, 4.0])) * 1e-3
    long, wide = float(rng.uniform(0.30, 0.60)), float(rng.uniform(0.16, 0.24))
    tray_depth = float(rng.uniform(0.045, 0.070))
    x0, y0 = 0.016 + sheet, 0.016 + sheet
    x1, y1 = x0 + long, y0 + wide
    lean, nose = np.radians(rng.uniform(-12.0, 12.0, 2))
    up = np.array(EnginePlacement(Attitude(nose_up=float(nose) / 2, lean_right=float(lean))).up_in_engine())
    parallel = Plane(frozen_array([0.0, 0.0, -1.0]), tray_depth)
    lumps = [Lump("tray", True, "plan", frozen_array(_box(x0, x1, y0, y1)), parallel)]
    start = x0 + float(rng.choice([0.0, rng.uniform(0.20, 0.45)])) * long
    end = start + float(rng.uniform(0.35, 0.50)) * long
    end = x1 if x1 - end < 0.04 else min(end, x1)
    inset = float(rng.choice([0.0, rng.uniform(0.025, 0.04)]))
    middle = np.array([0.5 * (start + end), 0.5 * (y0 + y1)])
    deep = float(rng.uniform(0.125, 0.160))
    level = -up
    floor = Plane(frozen_array(level), float(level @ np.append(middle, -deep)))
    sump = _box(start, end, y0 + inset, y1 - inset)
    lumps.append(Lump("sump", True, "plan", frozen_array(sump), floor))
    low, high = np.array([x0, y0]), np.array([x1, y1])
    extra = rng.uniform()
    if extra < 0.55:
        side = float(rng.choice([-1.0, 1.0]))
        out = float(rng.uniform(0.05, 0.09))
        wall = y1 - inset if side > 0 else y0 + inset
        near, far = wall - side * 0.04, wall + side * (out + inset)
        k0, k1 = start + 0.2 * (end - start), start + 0.8 * (end - start)
        slant = float(rng.choice([0.0, rng.uniform(0.015, 0.03)]))
        shape = np.array([[k0, near], [k1, near], [k1 - slant, far], [k0 + slant, far]])
        if side < 0:
            shape = shape[::-1]
        top = -tray_depth - float(rng.uniform(0.0, 1.0) < 0.5) * 0.02
        lumps.append(Lump("kick-out", True, "plan", frozen_array(shape), floor, top=top))
    elif extra < 0.9:
        width = float(rng.uniform(0.05, 0.07))
        at = float(middle[0])
        roof = -tray_depth - 0.022
        profile = np.array(
            [[at - width / 2, -0.4], [at + width / 2, -0.4], [at + width / 2, roof], [at - width / 2, roof]]
        )
        across = float(rng.uniform(0.3, 0.5)) * wide
        reach = (-1.0, y0 + across) if rng.uniform() < 0.5 else (y1 - across, 1.0)
        lumps.append(
            Lump(
                "notch", False, "side", frozen_array(profile), None, across_from=reach[0], across_to=reach[1]
            )
        )
    return _inputs(lumps, sheet, frozen_array(up), low, high)
