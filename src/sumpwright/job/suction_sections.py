"""The [suction] section of the job file: tube, corners, joints and screen from mouth to pump."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.section_types import MOST_CORNERS, Section, SpacePoint

SHAPES = ("round", "square")
PLACES = ("pump", "pan", "cap", "wall")
TUBE_MATERIALS = ("mild steel", "stainless", "aluminium", "copper")


def _mm(least: float, most: float, good: str, good_inch: str) -> Asked:
    return Asked("length", least / 1000, most / 1000, good, good_inch)


_BORE = _mm(4, 120, "22 mm", "7/8 in")
_PRESSURE = Asked("pressure", 10e3, 101e3, "80 kPa", "11.6 psi")


class SuctionSection(Section):
    """From the mouth to the pump's port. Points are in the engine's axes (x, y, z)."""

    shape: Annotated[str, OneOf(SHAPES)] = Field("round", description="Of the tube's section.")
    bore: Annotated[float, _BORE] = Field(description="Clear width of the tube.")
    height: Annotated[float | None, _BORE] = Field(
        None, description="Clear height, where a square tube is not as high as it is wide."
    )
    wall: Annotated[float, _mm(0.3, 8, "1.5 mm", "0.065 in")] = Field(description="Wall of the tube.")
    material: Annotated[str | None, OneOf(TUBE_MATERIALS)] = Field(
        None, description="Of the tube; for its own note."
    )
    path: list[SpacePoint] = Field(
        min_length=1,
        max_length=MOST_CORNERS,
        examples=['[["300 mm", "-100 mm", "-40 mm"], ["100 mm", "-100 mm", "30 mm"]]'],
        description="Points of the tube's centre line after the mouth, the last at the pump.",
    )
    port: SpacePoint = Field(
        examples=['["100 mm", "-100 mm", "30 mm"]'],
        description="Centre of the pump's inlet as measured on the engine.",
    )
    port_bore: Annotated[float | None, _BORE] = Field(None, description="Of the pump's inlet.")
    bend_radius: Annotated[float | None, _mm(2, 400, "33 mm", "1 1/4 in")] = Field(
        None,
        description="Of every corner that [[suction.corners]] does not name; without it they are mitres.",
    )
    mouth_shape: Annotated[str, OneOf(("flush", "projecting", "bell"))] = Field(
        "projecting", description="How the tube begins: flush in a plate, projecting, or belled out."
    )
    floor_gap: Annotated[float | None, _mm(0, 200, "10 mm", "3/8 in")] = Field(
        None, description="Mouth's rim to the floor; without it, from the mouth straight down to the pan."
    )
    feet: Annotated[bool, Flag()] = Field(False, description="Spacer feet keep a dented floor off the mouth.")
    screen: Annotated[str | None, OneOf(("woven", "perforated", "none"))] = Field(
        None, description="What keeps lumps out."
    )
    screen_area: Annotated[float | None, Asked("area", 1e-5, 0.2, "20 cm2", "3 in2")] = Field(
        None, description="Face of the screen that the oil meets."
    )
    screen_count: Annotated[float | None, Asked("ratio", 1, 400, "20", "20")] = Field(
        None, description="Meshes of a woven screen to the inch."
    )
    screen_wire: Annotated[float | None, _mm(0.02, 3, "0.41 mm", "0.016 in")] = Field(
        None, description="Wire of a woven screen."
    )
    hole: Annotated[float | None, _mm(0.2, 20, "2 mm", "5/64 in")] = Field(
        None, description="Hole of a perforated screen."
    )
    hole_pitch: Annotated[float | None, _mm(0.3, 60, "3.5 mm", "9/64 in")] = Field(
        None, description="Centre to centre of its holes, in a square pattern."
    )
    hole_plate: Annotated[float | None, _mm(0.2, 6, "1 mm", "0.04 in")] = Field(
        None, description="Thickness of the perforated plate."
    )
    blocked: Annotated[float | None, Asked("ratio", 0, 0.95, "20 %", "20 %")] = Field(
        None, description="Part of the screen's face taken as choked."
    )
    bypass: Annotated[float | None, Asked("area", 0, 0.01, "1 cm2", "0.16 in2")] = Field(
        None, description="Area of a notch past the screen."
    )
    held_at: list[Annotated[str, OneOf(PLACES)]] | None = Field(
        None, max_length=4, examples=['["pump", "cap"]'], description="Where the tube is fixed."
    )
    slides_at: list[Annotated[str, OneOf(PLACES)]] | None = Field(
        None, max_length=4, examples=['["pan"]'], description="Which of these let it slide endways."
    )
    free_length: Annotated[float | None, _mm(5, 2000, "150 mm", "6 in")] = Field(
        None, description="Longest stretch of tube without support."
    )
    end_mass: Annotated[float | None, Asked("mass", 0, 10, "0.25 kg", "0.5 lb")] = Field(
        None, description="What hangs on the free end: mouth, screen, oil in them."
    )
    cylinders: Annotated[float | None, Asked("ratio", 1, 24, "4", "4")] = Field(
        None, description="Of the engine, for its firing beat."
    )
    strokes: Annotated[str, OneOf(("four", "two"))] = Field("four", description="Four-stroke or two-stroke.")
    relief_returns_to: Annotated[str | None, OneOf(("pump inlet", "pan"))] = Field(
        None, description="Where the relief valve spills to."
    )
    relief_from: Annotated[float | None, Asked("rotation", 2, 2100, "4000 rpm", "4000 rpm")] = Field(
        None, description="Engine speed at which the relief valve opens, hot."
    )
    altitude: Annotated[float | None, Asked("length", 0, 6000, "500 m", "1600 ft")] = Field(
        None, description="Highest place it will run at, above the sea."
    )
    start_speed: Annotated[float | None, Asked("rotation", 2, 210, "250 rpm", "250 rpm")] = Field(
        None, description="Engine speed in the first seconds of a cold start."
    )
    fed_within: Annotated[float | None, Asked("time", 0.5, 60, "8 s", "8 s")] = Field(
        None, description="Time in which oil has to be at the pump at the coldest start."
    )
    least_hot: Annotated[float | None, _PRESSURE] = Field(
        None, description="Least absolute pressure at the pump's inlet, warm and steady."
    )
    least_cold: Annotated[float | None, _PRESSURE] = Field(
        None, description="The same for a short cold start."
    )


class CornerSection(Section):
    """One corner of the tube's path, in order from the mouth."""

    kind: Annotated[str, OneOf(("bend", "mitre"))] = Field(description="Bent or cut and welded.")
    radius: Annotated[float | None, _mm(2, 400, "33 mm", "1 1/4 in")] = Field(
        None, description="Of the tube's centre line; bends only."
    )
    welds: Annotated[float | None, Asked("ratio", 1, 4, "1", "1")] = Field(
        None, description="Cuts in a mitred corner."
    )


class JointSection(Section):
    """A place of the suction line where air could be drawn in."""

    name: Annotated[str, Name(30, "tube to pump")] = Field(description="What to call it.")
    kind: Annotated[str, OneOf(("O-ring", "gasket", "brazed", "welded", "hose"))] = Field(
        description="What makes it tight."
    )
    along: Annotated[float, _mm(0, 5000, "240 mm", "9 1/2 in")] = Field(
        description="Distance from the mouth along the tube."
    )
    squeeze: Annotated[float | None, Asked("ratio", 0, 0.8, "20 %", "20 %")] = Field(
        None, description="Part of an O-ring's thickness that is squeezed."
    )
    tested: Annotated[str | None, OneOf(("bubble", "vacuum"))] = Field(
        None, description="How the finished pickup was proven; leave it out until it has been."
    )
