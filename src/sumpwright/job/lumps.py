"""From a lump's section to the lump that the body stage joins."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Literal, cast

import numpy as np

from sumpwright.body import Lump
from sumpwright.body.floors import (
    falling_floor,
    floor_above_ground,
    level_floor,
    parallel_floor,
    vehicle_frame,
)
from sumpwright.body.outlines import mirrored_outline, rounded_outline
from sumpwright.geometry import Plane
from sumpwright.geometry.polygons import contains, signed_area
from sumpwright.job.sections import EngineSection, LumpSection
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

LEAST_FACET = 4.05
"""Facets of rounded corners in thicknesses of the sheet: what the feature gate lets pass, and a hair."""
ABOVE_RAIL: Metre = 0.01
"""By how much a lump of the vehicle's axes is begun above the rail, which cuts it off."""


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


def floor_of(
    lump: LumpSection, engine: EngineSection | None, drain_at: list[float] | None = None
) -> Plane | None:
    """The floor of a plan lump, its normal pointing down out of it; None if keys are missing."""
    if lump.floor == "above ground":
        if lump.above_ground is None:
            return None
        return floor_above_ground(placement_of(engine), lump.above_ground)
    if lump.depth is None:
        return None
    if lump.floor == "parallel to rail":
        return parallel_floor(lump.depth)
    if lump.depth_at is None:
        return None
    up = up_of(engine)
    spot = np.array([lump.depth_at[0], lump.depth_at[1], -lump.depth])
    towards = lump.falls_to or drain_at
    if lump.fall is None or towards is None:
        return level_floor(up, spot)
    level = level_floor(up, spot)
    drop = (level.offset - float(level.normal[:2] @ towards[:2])) / float(level.normal[2])
    return falling_floor(up, spot, np.array([towards[0], towards[1], drop]), math.tan(lump.fall))


def height_of_plane(plane: Plane, places: FloatArray) -> FloatArray:
    """z (m,) [m] of a plane above the places (m, 2)."""
    flat = places @ np.asarray(plane.normal[:2])
    return frozen_array((plane.offset - flat) / plane.normal[2])


def has_floor_below_top(lump: LumpSection, engine: EngineSection | None) -> bool:
    """Whether anything is left of a plan lump between its top and its floor."""
    floor = floor_of(lump, engine)
    if floor is None or lump.axes == "vehicle":
        return True
    return bool((height_of_plane(floor, outline_of(lump)) < -(lump.top_below or 0.0) - 1e-6).any())


def rounded(lump: LumpSection, sheet: Metre) -> FloatArray | None:
    """The outline with its corners rounded as asked; None where the arcs do not fit on the sides."""
    points = outline_of(lump)
    if lump.corner_radius is None:
        return points
    return rounded_outline(points, (lump.corner_radius,) * len(points), LEAST_FACET * sheet)


def build_lumps(
    lumps: tuple[LumpSection | None, ...],
    written: list[Any],
    engine: EngineSection | None,
    drain_at: list[float] | None,
    sheet: Metre,
) -> tuple[Lump, ...]:
    """All lumps in base SI, each followed by its mirrored copy where one is wanted.

    ``written`` holds the sections as they stand in the file, for their own words.
    """
    built: list[Lump] = []
    for lump, own in zip(lumps, written, strict=True):
        if lump is None:
            continue
        built.append(_build_lump(lump, own, engine, drain_at, sheet))
        if lump.mirrored_about is not None:
            built.append(_mirrored(built[-1], lump, engine, drain_at))
    return tuple(built)


def _build_lump(
    lump: LumpSection,
    written: Any,
    engine: EngineSection | None,
    drain_at: list[float] | None,
    sheet: Metre,
) -> Lump:
    is_plan = lump.view != "side"
    across = lump.across or [0.0, 0.0]
    outline = rounded(lump, sheet)
    assert outline is not None, "check_body refuses arcs that do not fit"
    top = 0.0 - (lump.top_below or 0.0)
    axes, origin = None, None
    if lump.axes == "vehicle":
        axes, origin = vehicle_frame(placement_of(engine))
        if is_plan:
            top = _above_rail(outline, axes, origin)
    return Lump(
        name=lump.name,
        adds=lump.does == "adds",
        view=cast(Literal["plan", "side"], lump.view or "plan"),
        outline=outline,
        floor=floor_of(lump, engine, drain_at) if is_plan else None,
        top=top,
        wall_slope=lump.wall_slope or 0.0,
        across_from=across[0],
        across_to=across[1],
        floor_words=_floor_words(lump, written) if is_plan else "",
        own_axes=axes,
        own_origin=origin,
        drawn_as=_drawn_as(lump),
        drawn_depth=lump.depth if is_plan and axes is None and lump.mirrored_about is None else None,
    )


def _drawn_as(lump: LumpSection) -> Literal["", "outline", "rectangle"]:
    """The key by which one wall alone can be moved, where there is one."""
    if lump.view == "side" or lump.axes == "vehicle":
        return ""
    if lump.mirrored_about is not None or lump.corner_radius is not None:
        return ""
    return "outline" if lump.rectangle is None else "rectangle"


def _above_rail(outline: FloatArray, axes: FloatArray, origin: FloatArray) -> Metre:
    """A height in the vehicle's axes at which an outline lies wholly above the rail plane."""
    heights = -(origin[2] + outline @ axes[2, :2]) / axes[2, 2]
    return float(heights.max()) + ABOVE_RAIL


def _mirrored(
    lump: Lump, section: LumpSection, engine: EngineSection | None, drain_at: list[float] | None
) -> Lump:
    """The copy on the other side; a level floor stays level, as deep at the mirrored spot."""
    about = section.mirrored_about
    assert about is not None
    floor = lump.floor
    if section.depth_at is not None:
        x, y = section.depth_at
        there = section.model_copy(update={"depth_at": [x, 2.0 * about - y]})
        floor = floor_of(there, engine, drain_at)
    if lump.view == "side":
        return replace(
            lump,
            name=f"{lump.name} mirrored",
            across_from=2.0 * about - lump.across_to,
            across_to=2.0 * about - lump.across_from,
        )
    return replace(
        lump, name=f"{lump.name} mirrored", outline=mirrored_outline(lump.outline, about), floor=floor
    )


def _floor_words(lump: LumpSection, written: Any) -> str:
    """How the floor lies, in the writer's own figures."""
    if lump.floor == "above ground":
        height = " ".join(str(written["above_ground"]).split())
        return f"level, {height} above the ground at ride height"
    depth = " ".join(str(written["depth"]).split())
    if lump.floor == "parallel to rail":
        return f"parallel to the rail, {depth} below it"
    x, y = (" ".join(str(part).split()) for part in written["depth_at"])
    fall = f", falling {' '.join(str(written['fall']).split())}" if lump.fall is not None else ""
    return f"level with the ground, {depth} below the rail at x {x}, y {y}{fall}"


def drain_place(at: list[float], lumps: tuple[Lump, ...]) -> tuple[Metre, Metre, Metre] | None:
    """The deepest floor of the plan lumps under a spot; None where only the body can tell."""
    spot = np.array([at])
    depths = [
        float(height_of_plane(lump.floor, spot)[0])
        for lump in lumps
        if lump.adds and lump.floor is not None and bool(contains(lump.outline, spot)[0])
    ]
    return (at[0], at[1], min(depths)) if depths else None
