"""Inner walls put up by hand, in millimetres, for tests that know the answer."""

from __future__ import annotations

import numpy as np

from sumpwright.body.wall_model import Door, InnerWall, WallCut
from sumpwright.geometry import FlatFrame, Plane
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, box


def before(direction: tuple[float, float, float], distance: float) -> Plane:
    """Keep to where direction . point is at most the distance."""
    normal = np.array(direction) / np.linalg.norm(direction)
    return Plane(frozen_array(normal), distance * MM)


def upright(
    name: str,
    start: tuple[float, float],
    end: tuple[float, float],
    *cuts: WallCut,
    top: float | None = None,
    ends: bool = False,
    thickness: float = 1.5,
) -> InnerWall:
    """A wall square to the rail along a line of the plan; ``ends``: no farther than that line."""
    a, b = np.array(start) * MM, np.array(end) * MM
    along = (b - a) / np.linalg.norm(b - a)
    limits = [] if top is None else [before((0.0, 0.0, 1.0), top)]
    if ends:
        limits.append(before((-along[0], -along[1], 0.0), -float(along @ a) / MM))
        limits.append(before((along[0], along[1], 0.0), float(along @ b) / MM))
    frame = FlatFrame(
        frozen_array(np.append(a, 0.0)), frozen_array(np.append(along, 0.0)), frozen_array([0.0, 0.0, 1.0])
    )
    return InnerWall(name, "wall", frame, thickness * MM, tuple(limits), None, cuts)


def roof(name: str, depth: float, *cuts: WallCut, thickness: float = 1.5) -> InnerWall:
    """A roof baffle parallel to the rail."""
    frame = FlatFrame(
        frozen_array([0.0, 0.0, -depth * MM]), frozen_array([1.0, 0.0, 0.0]), frozen_array([0.0, 1.0, 0.0])
    )
    return InnerWall(name, "roof baffle", frame, thickness * MM, (), None, cuts)


def window(name: str, x0: float, x1: float, y0: float, y1: float) -> WallCut:
    """A rectangle in the wall's own axes."""
    return WallCut(name, "window", box(x0, x1, y0, y1))


def slot(name: str, x0: float, x1: float, y0: float, y1: float) -> WallCut:
    """A drain slot; it may hang over the wall's lower edge."""
    return WallCut(name, "drain slot", box(x0, x1, y0, y1))


def door(name: str, x0: float, x1: float, y0: float, y1: float, passes: str = "with normal") -> WallCut:
    """A rectangle with a flap."""
    return WallCut(name, "door", box(x0, x1, y0, y1), None, Door(passes, 0.0005, 0.005))  # type: ignore[arg-type]
