"""The [[walls]] and [[roof_baffles]] sections: panels inside the pan and the ways through them."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.section_types import COORDINATE, MOST_CORNERS, FlatPoint, Section, length

WAYS = ("front", "rear", "left", "right", "up", "down")
MOST_CUTS = 20

_Beside = Annotated[float, COORDINATE]
_Span = Annotated[list[_Beside], Field(min_length=2, max_length=2)]


class CutSection(Section):
    """An opening in an inner wall: a rectangle along the wall, or a round hole."""

    name: Annotated[str, Name(30, "window 1")] = Field(description="What it is called.")
    along: _Span | None = Field(
        None,
        examples=['["20 mm", "60 mm"]'],
        description="From where to where, along the wall from its `start`; in a roof baffle, along x.",
    )
    below: _Span | None = Field(
        None,
        examples=['["90 mm", "120 mm"]'],
        description="From how deep to how deep below the rail plane. In a wall only.",
    )
    across: _Span | None = Field(
        None, examples=['["-130 mm", "-90 mm"]'], description="From y to y. In a roof baffle only."
    )
    at: FlatPoint | None = Field(
        None,
        examples=['["60 mm", "100 mm"]'],
        description="Middle of a round hole: along the wall and below the rail; in a roof baffle, x and y.",
    )
    diameter: Annotated[float | None, length(2, 300, "20 mm", "3/4 in")] = Field(
        None, description="Of a round hole."
    )


class FlapSection(CutSection):
    """An opening with a flap that lets oil through one way."""

    passes: Annotated[str, OneOf(WAYS)] = Field(description="Which way oil may go through it.")
    material: Annotated[str | None, Name(40, "nitrile 2 mm")] = Field(
        None, description="Hinged metal, or the rubber's compound and what temperature it stands."
    )
    leak_gap: Annotated[float | None, length(0, 5, "0.3 mm", "0.012 in")] = Field(
        None, description="Between flap and wall when shut. Without it 0.5 mm."
    )
    overlap: Annotated[float | None, length(0, 50, "5 mm", "3/16 in")] = Field(
        None, description="Of the flap beyond the opening, each side. Without it 5 mm."
    )
    lag: Annotated[float | None, Asked("time", 0.0, 1.0, "0.05 s", "0.05 s")] = Field(
        None, description="Time to open or shut. Without it 0.05 s."
    )
    hinge: Annotated[str | None, OneOf(("top", "side"))] = Field(
        None, description="Where it hangs. Without it at the top."
    )


_Windows = Annotated[list[CutSection], Field(max_length=MOST_CUTS)]
_Doors = Annotated[list[FlapSection], Field(max_length=MOST_CUTS)]
_WINDOW = '[{ name = "window 1", along = ["20 mm", "60 mm"], below = ["90 mm", "120 mm"] }]'
_DOOR = '[{ name = "door 1", along = ["20 mm", "60 mm"], below = ["90 mm", "120 mm"], passes = "rear" }]'
_SLOT = '[{ name = "slot 1", along = ["20 mm", "40 mm"], below = ["110 mm", "130 mm"] }]'
_FLAP = '[{ name = "flap 1", along = ["220 mm", "250 mm"], across = ["-130 mm", "-90 mm"], passes = "down" }]'


class WallSection(Section):
    """An inner wall square to the rail, along a line of the plan."""

    name: Annotated[str, Name(30, "baffle 1")] = Field(description="What it is called.")
    start: FlatPoint = Field(examples=['["275 mm", "-198 mm"]'], description="One point of the line (x, y).")
    end: FlatPoint = Field(examples=['["275 mm", "-16 mm"]'], description="Another (x, y).")
    ends_there: Annotated[bool | None, Flag()] = Field(
        None, description="true: it reaches from start to end only. Without it, from wall to wall."
    )
    top_below: Annotated[float | None, length(0, 1000, "60 mm", "2 3/8 in")] = Field(
        None, description="Its top below the rail plane. Without it, it reaches the rail."
    )
    bottom_below: Annotated[float | None, length(0, 1000, "110 mm", "4 3/8 in")] = Field(
        None, description="Its lower edge below the rail plane. Without it, it stands on the floor."
    )
    thickness: Annotated[float | None, length(0.5, 12, "1.5 mm", "1/16 in")] = Field(
        None, description="Without it, that of the pan's sheet."
    )
    windows: _Windows | None = Field(None, examples=[_WINDOW], description="Openings.")
    doors: _Doors | None = Field(None, examples=[_DOOR], description="Openings with a one-way flap.")
    slots: _Windows | None = Field(
        None, examples=[_SLOT], description="Drain slots; they may reach below the floor."
    )


class RoofSection(Section):
    """A plate over the sump that lets oil down and air out."""

    name: Annotated[str, Name(30, "roof baffle")] = Field(description="What it is called.")
    depth: Annotated[float, length(5, 1000, "60 mm", "2 3/8 in")] = Field(description="Below the rail plane.")
    outline: Annotated[list[FlatPoint], Field(min_length=3, max_length=MOST_CORNERS)] | None = Field(
        None,
        examples=['[["200 mm", "-190 mm"], ["380 mm", "-190 mm"], ["380 mm", "-20 mm"]]'],
        description="Corners (x, y) in order round it. Without it, from wall to wall.",
    )
    thickness: Annotated[float | None, length(0.5, 12, "1.5 mm", "1/16 in")] = Field(
        None, description="Without it, that of the pan's sheet."
    )
    windows: _Windows | None = Field(
        None,
        examples=['[{ name = "hole 1", at = ["250 mm", "-100 mm"], diameter = "20 mm" }]'],
        description="Openings.",
    )
    doors: _Doors | None = Field(None, examples=[_FLAP], description="Openings with a one-way flap.")
