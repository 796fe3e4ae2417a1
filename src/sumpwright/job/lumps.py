"""From a lump's section to the lump that the body stage joins."""

from __future__ import annotations

from typing import Any, Literal, cast

import numpy as np

from sumpwright.body import Lump
from sumpwright.geometry import Plane
from sumpwright.geometry.polygons import contains, signed_area
from sumpwright.job.sections import EngineSection, LumpSection
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import FloatArray, Metre, frozen_array


def placement_of(engine: EngineSection | None) -> EnginePlacement:
    """The engine in the vehicle; upright and level where the job says nothing."""
    if engine is None:
        return EnginePlacement()
    return EnginePlacement(
        attitude=Attitude(
            turned_left=(engine.turned_left or 0.0) - (engine.turned_right or 0.0),
            nose_up=(engine.nose_up or 0.0) - (engine.nose_down or 0.0),
            lean_right=(engine.lean_right or 0.0) - (engine.lean_left or 0.0),
        ),
        datum_forward=(engine.datum_forward or 0.0) - (engine.datum_back or 0.0),
        datum_left=(engine.datum_left or 0.0) - (engine.datum_right or 0.0),
        datum_height=engine.datum_height,
    )


def up_of(engine: EngineSection | None) -> FloatArray:
    """The vehicle's up in engine axes, (3,)."""
    return placement_of(engine).up_in_engine()


def outline_of(lump: LumpSection) -> FloatArray:
    """The outline (n, 2) [m], anticlockwise; which way round it was written carries no meaning."""
    box = lump.rectangle
    if box is not None:
        points = np.array(
            [[box.rear, box.right], [box.front, box.right], [box.front, box.left], [box.rear, box.left]]
        )
    else:
        points = np.array(lump.outline, dtype=np.float64)
    if len(points) > 3 and bool((points[0] == points[-1]).all()):
        points = points[:-1]  # written closed: the first corner stands again at the end
    return frozen_array(points[::-1] if signed_area(points) < 0.0 else points)


def floor_of(lump: LumpSection, up: FloatArray) -> Plane | None:
    """The floor of a plan lump, its normal pointing down out of it; None if keys are missing."""
    if lump.depth is None:
        return None
    if lump.floor == "parallel to rail":
        return Plane(frozen_array([0.0, 0.0, -1.0]), lump.depth)
    if lump.depth_at is None:
        return None
    normal = frozen_array(-up)
    spot = np.array([lump.depth_at[0], lump.depth_at[1], -lump.depth])
    return Plane(normal, float(normal @ spot))


def height_of_plane(plane: Plane, places: FloatArray) -> FloatArray:
    """z (m,) [m] of a plane above the places (m, 2)."""
    flat = places @ np.asarray(plane.normal[:2])
    return frozen_array((plane.offset - flat) / plane.normal[2])


def has_floor_below_top(lump: LumpSection, up: FloatArray) -> bool:
    """Whether anything is left of a plan lump between its top and its floor."""
    floor = floor_of(lump, up)
    if floor is None:
        return True
    return bool((height_of_plane(floor, outline_of(lump)) < -(lump.top_below or 0.0) - 1e-6).any())


def build_lump(lump: LumpSection, written: Any, up: FloatArray) -> Lump:
    """One lump in base SI. ``written`` is the section as it stands in the file, for its own words."""
    is_plan = lump.view != "side"
    across = lump.across or [0.0, 0.0]
    return Lump(
        name=lump.name,
        adds=lump.does == "adds",
        view=cast(Literal["plan", "side"], lump.view or "plan"),
        outline=outline_of(lump),
        floor=floor_of(lump, up) if is_plan else None,
        top=0.0 - (lump.top_below or 0.0),
        wall_slope=lump.wall_slope or 0.0,
        across_from=across[0],
        across_to=across[1],
        floor_words=_floor_words(lump, written) if is_plan else "",
    )


def _floor_words(lump: LumpSection, written: Any) -> str:
    """How the floor lies, in the writer's own figures."""
    depth = " ".join(str(written["depth"]).split())
    if lump.floor == "parallel to rail":
        return f"parallel to the rail, {depth} below it"
    x, y = (" ".join(str(part).split()) for part in written["depth_at"])
    return f"level with the ground, {depth} below the rail at x {x}, y {y}"


def drain_place(at: list[float], lumps: tuple[Lump, ...]) -> tuple[Metre, Metre, Metre] | None:
    """The deepest floor of the plan lumps under a spot; None where only the body can tell."""
    spot = np.array([at])
    depths = [
        float(height_of_plane(lump.floor, spot)[0])
        for lump in lumps
        if lump.adds and lump.floor is not None and bool(contains(lump.outline, spot)[0])
    ]
    return (at[0], at[1], min(depths)) if depths else None
