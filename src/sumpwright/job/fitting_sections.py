"""What is welded into the pan's sheet, set onto it or hung under it, as a job file names it."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from pydantic import Field

from sumpwright.body.fittings import Fitting, Jacking, StandOff, StoneGuard
from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.section_types import FlatPoint, Section, SpacePoint, length
from sumpwright.quantities.units import frozen_array

KINDS = ("drain", "dipstick", "sensor", "return", "breather", "extraction tube")
_HEAD = length(5, 60, "17 mm", "11/16 in")
_ACROSS = length(4, 80, "14 mm", "9/16 in")
_POST = length(2, 300, "20 mm", "3/4 in")
_OUT = length(0, 200, "14 mm", "9/16 in")


class FittingSection(Section):
    """A boss: a turned or bought piece that is welded into a hole of the pan's sheet."""

    name: Annotated[str, Name(30, "drain")] = Field(description="What it is called.")
    kind: Annotated[str, OneOf(KINDS)] = Field(
        description="What it is for. A drain gets a plug and washers on the list; a return is a turbo's or "
        "a drain-back's; an extraction tube sucks the oil out where no plug can be reached."
    )
    at: SpacePoint = Field(
        examples=['["245 mm", "-150 mm", "-105 mm"]'],
        description="A point on the sheet, or up to 30 mm off it, where its middle shall sit (x, y, z).",
    )
    thread: Annotated[str, Name(20, "M18x1.5")] = Field(
        description="Its thread, as the trade writes it; plain for a tube."
    )
    outside: Annotated[float, length(6, 120, "28 mm", "1 1/8 in")] = Field(
        description="Diameter of the boss where it goes through the sheet."
    )
    ring: Annotated[bool | None, Flag("false")] = Field(
        None, description="false: no ring round it. Without the key a ring spreads its load."
    )
    head: Annotated[float | None, _HEAD] = Field(
        None, description="Across the flats of what is turned in it; whether a tool reaches it is judged."
    )
    stands_out: Annotated[float | None, _OUT] = Field(
        None, description="How far boss, washer, head or hose stand out beyond the sheet."
    )
    magnet: Annotated[bool | None, Flag()] = Field(None, description="Of a drain: its plug has a magnet.")
    inside: Annotated[list[SpacePoint], Field(min_length=1, max_length=12)] | None = Field(
        None,
        examples=['[["250 mm", "-150 mm", "-60 mm"], ["250 mm", "-150 mm", "-108 mm"]]'],
        description="Centre line from the boss into the pan. It ends at the open end of an extraction tube, "
        "or at the point where a sensor switches.",
    )
    inside_diameter: Annotated[float | None, length(3, 80, "10 mm", "3/8 in")] = Field(
        None, description="Outside diameter of the tube or probe in there. Without it, that of the boss."
    )
    comes_from: SpacePoint | None = Field(
        None,
        examples=['["210 mm", "60 mm", "140 mm"]'],
        description="Of a return or breather: the upper end of its hose (x, y, z).",
    )


class StandOffSection(Section):
    """A post welded onto the sheet that holds a tray or a scraper. It pierces nothing."""

    name: Annotated[str, Name(30, "tray post 1")] = Field(description="What it is called.")
    at: SpacePoint = Field(
        examples=['["120 mm", "-60 mm", "-58 mm"]'],
        description="A point on the sheet, or up to 30 mm off it (x, y, z).",
    )
    side: Annotated[str | None, OneOf(("inside", "outside"))] = Field(
        None, description="Of the sheet. Without it, inside."
    )
    diameter: Annotated[float, _ACROSS] = Field(description="Of the post.")
    length: Annotated[float, _POST] = Field(description="Off the sheet.")
    thread: Annotated[str | None, Name(20, "M6")] = Field(
        None, description="In its end, as the trade writes it. Without it, none."
    )


class StoneGuardSection(Section):
    """A plate under the lowest floor, bolted to posts, that takes stones and kerbs in the pan's place."""

    stand_off: Annotated[float, length(3, 100, "15 mm", "5/8 in")] = Field(
        description="From the floor's sheet to the guard."
    )
    thickness: Annotated[float, length(1, 15, "4 mm", "5/32 in")] = Field(description="Of the guard.")
    material: Annotated[str | None, Name(40, "5052-H32")] = Field(
        None, description="Without it, that of the pan's sheet."
    )
    beyond: Annotated[float | None, length(0, 100, "0 mm", "0 in")] = Field(
        None, description="How far it reaches past the floor's outer edge. Without it, it ends there."
    )
    feet: Annotated[list[FlatPoint], Field(min_length=2, max_length=20)] = Field(
        examples=['[["210 mm", "-180 mm"], ["370 mm", "-180 mm"], ["290 mm", "-40 mm"]]'],
        description="Where the posts stand on the floor (x, y).",
    )
    foot_diameter: Annotated[float | None, length(6, 60, "20 mm", "3/4 in")] = Field(
        None, description="Of the posts. Without it 20 mm."
    )
    foot_thread: Annotated[str | None, Name(20, "M8")] = Field(
        None, description="In the posts. Without it M8."
    )
    drain_opening: Annotated[float | None, length(8, 150, "45 mm", "1 3/4 in")] = Field(
        None, description="Diameter of its opening under the drain plug. Without it there is none."
    )


class JackingSection(Section):
    """Where a jack may push on the pan. Say it: a floor jack finds the lowest flat place by itself."""

    way: Annotated[str, OneOf(("nowhere", "load plate"))] = Field(
        description="nowhere: the floors are etched so. load plate: on one welded plate and nowhere else."
    )
    at: FlatPoint | None = Field(
        None, examples=['["300 mm", "-100 mm"]'], description="Middle of the plate (x, y)."
    )
    diameter: Annotated[float | None, length(20, 400, "100 mm", "4 in")] = Field(
        None, description="Of the plate."
    )
    thickness: Annotated[float | None, length(1, 20, "6 mm", "1/4 in")] = Field(
        None, description="Of the plate."
    )
    load: Annotated[float | None, Asked("force", 10.0, 2e5, "3000 N", "700 lbf")] = Field(
        None, description="What the jack brings."
    )


def build_fittings(sections: tuple[FittingSection | None, ...]) -> tuple[Fitting, ...]:
    """The bosses asked for."""
    return tuple(
        Fitting(
            section.name,
            section.kind,  # type: ignore[arg-type]
            frozen_array(np.array(section.at)),
            section.thread,
            section.outside,
            section.ring is not False,
            section.head,
            section.stands_out or 0.0,
            section.magnet is True,
            None if section.inside is None else frozen_array(np.array(section.inside)),
            section.inside_diameter,
            None if section.comes_from is None else frozen_array(np.array(section.comes_from)),
        )
        for section in sections
        if section is not None
    )


def build_stand_offs(sections: tuple[StandOffSection | None, ...]) -> tuple[StandOff, ...]:
    """The posts asked for."""
    return tuple(
        StandOff(
            section.name,
            frozen_array(np.array(section.at)),
            "outside" if section.side == "outside" else "inside",
            section.diameter,
            section.length,
            section.thread or "plain",
        )
        for section in sections
        if section is not None
    )


FOOT_DIAMETER = 0.020
FOOT_THREAD = "M8"


def build_guard(section: StoneGuardSection | None, sheet_material: str) -> StoneGuard | None:
    """The stone guard, its metal as the tables have it."""
    if section is None:
        return None
    return StoneGuard(
        section.stand_off,
        section.thickness,
        sheet_material if section.material is None else section.material,
        section.beyond or 0.0,
        frozen_array(np.array(section.feet)),
        FOOT_DIAMETER if section.foot_diameter is None else section.foot_diameter,
        section.foot_thread or FOOT_THREAD,
        section.drain_opening,
    )


def build_jacking(section: JackingSection | None) -> Jacking | None:
    """Where a jack may push; None where nothing is said."""
    if section is None:
        return None
    if section.way == "nowhere" or section.at is None:
        return Jacking("nowhere")
    return Jacking(
        "load plate",
        frozen_array(np.array(section.at)),
        section.diameter or 0.0,
        section.thickness or 0.0,
        section.load,
    )
