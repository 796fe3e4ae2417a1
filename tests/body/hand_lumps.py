"""Small bodies put together by hand, for tests that know the answer."""

from __future__ import annotations

import numpy as np

from sumpwright.body import BodyInputs, FlangeOutline, Lump, PanBody
from sumpwright.body.floors import parallel_floor
from sumpwright.body.solve import solve
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.rail import HolePattern
from tests.body.random_bodies import ring_pattern

MM = 1e-3


def box(x0: float, x1: float, y0: float, y1: float) -> FloatArray:
    """A rectangle from millimetres."""
    return frozen_array(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) * MM)


def outline(*corners: tuple[float, float]) -> FloatArray:
    """Corners from millimetres."""
    return frozen_array(np.array(corners) * MM)


def plan(
    name: str,
    corners: FloatArray,
    depth: float,
    *,
    top: float = 0.0,
    slope_deg: float = 0.0,
    adds: bool = True,
) -> Lump:
    """A lump seen from above; depth and top in millimetres below and above the rail."""
    floor = parallel_floor(depth * MM)
    return Lump(name, adds, "plan", corners, floor, top * MM, float(np.radians(slope_deg)))


def side(name: str, corners: FloatArray, right: float, left: float, *, adds: bool = False) -> Lump:
    """A lump seen from the side, from millimetres."""
    return Lump(name, adds, "side", corners, None, across_from=right * MM, across_to=left * MM)


def inputs_of(*lumps: Lump, sheet: float = 2.0, **more: object) -> BodyInputs:
    """Body inputs for level ground; the sheet in millimetres."""
    return BodyInputs(
        lumps, sheet * MM, 0.010, FlangeOutline(0.011, 0.005), frozen_array([0.0, 0.0, 1.0]), **more
    )  # type: ignore[arg-type]


def pattern_round(x0: float, x1: float, y0: float, y1: float, beside: float = 16.0) -> HolePattern:
    """Holes every 75 mm or so on a rectangle beside a rectangle, from millimetres."""
    return ring_pattern(np.array([x0, y0]) * MM, np.array([x1, y1]) * MM, beside * MM, 0.075)


def body_of(*lumps: Lump, sheet: float = 2.0, pattern: HolePattern | None = None, **more: object) -> PanBody:
    """Solve a body with holes round the first lump."""
    if pattern is None:
        first = np.asarray(lumps[0].outline) if lumps[0].view == "plan" else np.zeros((1, 2))
        low, high = first.min(axis=0) / MM, first.max(axis=0) / MM + 1.0
        pattern = pattern_round(low[0], high[0], low[1], high[1])
    return solve(inputs_of(*lumps, sheet=sheet, **more), pattern)
