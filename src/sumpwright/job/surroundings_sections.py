"""The sections of what stands round the pan and in it: vehicle and keep-outs."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.section_types import (
    COORDINATE,
    DEGREE,
    MOST_CORNERS,
    FlatPoint,
    Section,
    SpacePoint,
    length,
)

ENGINE, VEHICLE = "engine", "vehicle"
FRAMES = (ENGINE, VEHICLE)
LIES = ("outside", "inside")
MOST_TRAVELS = 6

_GAP = length(0, 500, "10 mm", "3/8 in")
_RADIUS = length(1, 1000, "15 mm", "5/8 in")
_TILT = Asked("angle", 0.0, 15 * DEGREE, "2 deg", "2 deg")
_SLOPE = Asked("angle", 0.0, 90 * DEGREE, "20 deg", "20 deg")
_BESIDE = Annotated[float, COORDINATE]
_Span = Annotated[list[_BESIDE], Field(min_length=2, max_length=2)]


class VehicleSection(Section):
    """What the pan meets in the vehicle: the ground, and the engine's own movement on its mounts."""

    ground_clearance: Annotated[float | None, _GAP] = Field(
        None, description="Wanted between the pan's lowest part and level ground at ride height."
    )
    bump: Annotated[float | None, length(0, 500, "45 mm", "1 3/4 in")] = Field(
        None, description="By how much the pan comes down at full bump."
    )
    clearance_at_bump: Annotated[float | None, _GAP] = Field(
        None, description="Wanted above the ground then. Without it, none."
    )
    wheelbase: Annotated[float | None, length(200, 8000, "2400 mm", "94 in")] = Field(
        None, description="Front to rear axle; with axle and tyre for the slopes that pass."
    )
    front_axle: _BESIDE | None = Field(
        None,
        examples=['"350 mm"'],
        description="Front axle ahead of the vehicle's origin (behind it: a minus sign).",
    )
    tyre_radius: Annotated[float | None, length(50, 1500, "290 mm", "11 1/2 in")] = Field(
        None, description="Axle above the ground, under load."
    )
    crest: Annotated[float | None, _SLOPE] = Field(
        None, description="Angle between two slopes whose edge has to pass under the pan."
    )
    approach: Annotated[float | None, _SLOPE] = Field(
        None, description="Slope of a ramp that the front tyres have to meet before the pan does."
    )
    departure: Annotated[float | None, _SLOPE] = Field(
        None, description="Slope of a ramp that the rear tyres have to leave before the pan touches it."
    )
    rock: Annotated[float | None, _TILT] = Field(
        None, description="How far the engine rocks on its mounts, either way."
    )
    rocks_about: SpacePoint | None = Field(
        None,
        examples=['["0 mm", "-107 mm", "58 mm"]'],
        description="A point on the axis it rocks about, along the engine. Without it, the crank's.",
    )
    mounts_give: Annotated[float | None, length(0, 60, "4 mm", "3/16 in")] = Field(
        None, description="By how much the engine shifts on its mounts, in any direction."
    )


class BoxShape(Section):
    """A box along the axes, by two opposite corners."""

    corner: SpacePoint = Field(examples=['["200 mm", "-80 mm", "-170 mm"]'], description="One corner.")
    opposite: SpacePoint = Field(
        examples=['["330 mm", "80 mm", "-120 mm"]'], description="The corner across from it."
    )


class BarShape(Section):
    """A round bar, by the two ends of its axis."""

    start: SpacePoint = Field(examples=['["250 mm", "-300 mm", "-200 mm"]'], description="One end.")
    end: SpacePoint = Field(examples=['["250 mm", "500 mm", "-200 mm"]'], description="The other end.")
    radius: Annotated[float, _RADIUS] = Field(description="Of the bar.")


class ProfileShape(Section):
    """A flat outline swept straight."""

    seen: Annotated[str, OneOf(("above", "side", "front"))] = Field(
        description="above: outline in x and y, swept along z. side: in x and z, along y. front: in y "
        "and z, along x."
    )
    outline: Annotated[list[FlatPoint], Field(min_length=3, max_length=MOST_CORNERS)] = Field(
        examples=['[["0 mm", "-150 mm"], ["60 mm", "-150 mm"], ["30 mm", "-90 mm"]]'],
        description="Corners in order round it.",
    )
    between: _Span = Field(examples=['["-200 mm", "200 mm"]'], description="From where to where it is swept.")


class KeepOutSection(Section):
    """Something that the pan must keep clear of. One shape each: box, bar, profile or surface."""

    name: Annotated[str, Name(30, "steering rack")] = Field(description="What it is called.")
    lies: Annotated[str, OneOf(LIES)] = Field(
        description="outside: axle, rack, cross-member, exhaust. inside: crank, rods, pump, tray."
    )
    moves_with: Annotated[str, OneOf(FRAMES)] = Field(
        description="vehicle: it stays while the engine rocks. engine: it rocks with the pan."
    )
    axes: Annotated[str | None, OneOf(FRAMES)] = Field(
        None, description="Whose axes its places are given in. Without it, those of what it moves with."
    )
    gap: Annotated[float, _GAP] = Field(description="Wanted between it and the pan's metal.")
    off_by: Annotated[float | None, length(0, 100, "3 mm", "1/8 in")] = Field(
        None, description="How far its place could be off, 19 times in 20."
    )
    box: BoxShape | None = Field(
        None,
        examples=['{ corner = ["200 mm", "-80 mm", "-170 mm"], opposite = ["330 mm", "80 mm", "-120 mm"] }'],
        description="A box along the axes.",
    )
    bar: BarShape | None = Field(
        None,
        examples=[
            '{ start = ["0 mm", "0 mm", "60 mm"], end = ["400 mm", "0 mm", "60 mm"], radius = "80 mm" }'
        ],
        description="A round bar.",
    )
    profile: ProfileShape | None = Field(
        None,
        examples=[
            '{ seen = "side", outline = [["0 mm", "-150 mm"], ["60 mm", "-150 mm"], ["30 mm", "-90 mm"]], '
            'between = ["-200 mm", "200 mm"] }'
        ],
        description="A swept outline.",
    )
    surface: Annotated[str | None, Name(60, "cross-member.stl")] = Field(
        None, description="An STL file beside the job file."
    )
    surface_in: Annotated[str | None, OneOf(("mm", "in"))] = Field(
        None, description="Unit of that file, which holds none itself."
    )
    travel: Annotated[list[SpacePoint], Field(min_length=1, max_length=MOST_TRAVELS)] | None = Field(
        None,
        examples=['[["0 mm", "0 mm", "60 mm"]]'],
        description="By how far it moves from where it stands, each way as (x, y, z).",
    )
    hot: Annotated[bool | None, Flag()] = Field(None, description="true: an exhaust or a turbo.")
