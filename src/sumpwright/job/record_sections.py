"""What can be written down about the finished pan, in the order of the bench sheet."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Name, OneOf
from sumpwright.job.section_types import Coordinate, Section, length, volume

STATES = ("free", "pulled down")
_STATE = OneOf(STATES)
_ABSOLUTE = Asked("pressure", 50e3, 115e3, "1013 hPa", "14.69 psi")
_GAUGE = Asked("pressure", 0.0, 40e3, "10 kPa", "1.5 psi")
_COLUMN = Name(40, "ax")
_AWAY = Asked("length", -10.0, 10.0, "300 mm", "12 in")
_AIR = Asked("temperature", 253.15, 333.15, "20 degC", "68 degF")


class RecordSection(Section):
    """Whose record this is."""

    job: Annotated[str, Name(80, "hillclimb-four")] = Field(
        description="The job's name, so that no reading gets into another pan's record."
    )
    date: Annotated[str, Name(20, "2026-03-14")] = Field(description="Day of the readings.")
    by: Annotated[str | None, Name(30, "AB")] = Field(None, description="Who read.")
    note: Annotated[str | None, Name(300, "second try after grinding seam 4")] = Field(
        None, description="Anything else."
    )


class BuiltPanSection(Section):
    """The pan as it came off the bench."""

    weighed: Annotated[float | None, Asked("mass", 0.05, 200, "4.3 kg", "9.5 lb")] = Field(
        None, description="The whole pan, bare and dry."
    )
    bow: Annotated[float | None, length(-20, 20, "0.4 mm", "0.016 in")] = Field(
        None,
        description="Of the flange off the strongback, middle against ends; hollow to the engine is +.",
    )
    hours: Annotated[float | None, Asked("time", 0, 3.6e6, "14 h", "14 h")] = Field(
        None, description="At the bench, all told."
    )


class StraightEdgeSection(Section):
    """Largest feeler under a straight edge along one line of the sealing face."""

    place: Annotated[str, Name(60, "left rail, h1 to h8")] = Field(description="Which line.")
    span: Annotated[float, length(20, 3000, "400 mm", "16 in")] = Field(
        description="Between the two places on which the straight edge rests."
    )
    feeler: Annotated[float, length(0, 5, "0.10 mm", "0.004 in")] = Field(
        description="Largest leaf that goes under."
    )
    state: Annotated[str, _STATE] = Field(description="How the flange lay.")


class HeightSection(Section):
    """A height of the sealing face: dial over a table, or height gauge."""

    x: Coordinate = Field(description="Towards the engine's front, from the datum hole.")
    y: Coordinate = Field(description="Towards the engine's left, from the datum hole.")
    height: Annotated[float, length(-500, 500, "0.04 mm", "0.0015 in")] = Field(
        description="Read there; any zero will do, the same for all."
    )
    state: Annotated[str, _STATE] = Field(description="How the flange lay.")


class BubbleSection(Section):
    """One seam, watched under soap for a minute at test pressure."""

    seam: Annotated[str, Name(80, "sump floor to sump left wall")] = Field(
        description="Which seam, by its name on the bench sheet."
    )
    growing: Annotated[float, Asked("ratio", 0, 1000, "0", "0")] = Field(
        description="Bubbles that grew; 0 is what passes."
    )


class LeakTestSection(Section):
    """Pressure shut in and read again."""

    start: Annotated[float, _GAUGE] = Field(description="Gauge when it was shut in.")
    end: Annotated[float, _GAUGE] = Field(description="Gauge at the end.")
    time: Annotated[float, Asked("time", 10, 86_400, "5 min", "5 min")] = Field(
        description="Between the two."
    )
    start_temperature: Annotated[float, _AIR] = Field(description="Of the air at the start.")
    end_temperature: Annotated[float, _AIR] = Field(description="Of the air at the end.")
    barometer: Annotated[float | None, _ABSOLUTE] = Field(
        None, description="Air pressure at the bench, as it is there, not put down to sea level."
    )


class PourSection(Section):
    """Oil or water measured into the level pan, and what the stick then shows."""

    poured: Annotated[float, volume(0.05, 200, "3 L", "3 us qt")] = Field(
        description="All that is in the pan by now."
    )
    stick: Annotated[float, length(0, 3000, "412 mm", "16 1/4 in")] = Field(
        description="From the stick's shoulder to the edge of the wet part."
    )


class SettingSection(Section):
    """How one seam was welded."""

    seam: Annotated[str, Name(80, "sump floor to sump left wall")] = Field(
        description="Which seam, by its name on the bench sheet."
    )
    words: Annotated[str, Name(160, "95 A, 2.4 mm 4043, 150 mm/min")] = Field(
        description="Amps, filler, speed as they were set."
    )


class LogSection(Section):
    """A pressure log of a drive, kept beside the record; columns as the log's first line names them.

    Where the job file's [[drives]] name the same file, the file alone is enough.
    """

    file: Annotated[str, Name(60, "hill-run.csv")] = Field(description="File in the job folder.")
    time: Annotated[str | None, _COLUMN] = Field(None, description="Column of the time.")
    time_in: Annotated[str, OneOf(("s", "ms"))] = Field("s", description="Its unit.")
    forward: Annotated[str | None, _COLUMN] = Field(
        None, description="Column of the acceleration along the vehicle."
    )
    forward_means: Annotated[str, OneOf(("accelerating", "braking"))] = Field(
        "accelerating", description="What a positive figure in it means."
    )
    left: Annotated[str | None, _COLUMN] = Field(
        None, description="Column of the acceleration across the vehicle."
    )
    left_means: Annotated[str, OneOf(("left turn", "right turn"))] = Field(
        "left turn", description="What a positive figure in it means."
    )
    up: Annotated[str | None, _COLUMN] = Field(None, description="Column of the acceleration upwards.")
    up_means: Annotated[str, OneOf(("up", "down"))] = Field(
        "up", description="Which way a positive figure in it points."
    )
    accelerations_in: Annotated[str | None, OneOf(("g", "m/s2"))] = Field(
        None, description="Unit of the three."
    )
    gravity: Annotated[str | None, OneOf(("in the log", "taken off"))] = Field(
        None, description="Whether the logger shows one g upwards when it stands still."
    )
    engine_speed: Annotated[str | None, _COLUMN] = Field(None, description="Column of the engine speed, rpm.")
    yaw_rate: Annotated[str | None, _COLUMN] = Field(None, description="Column of the yaw rate.")
    yaw_in: Annotated[str, OneOf(("deg/s", "rad/s"))] = Field("deg/s", description="Its unit.")
    yaw_means: Annotated[str, OneOf(("turning left", "turning right"))] = Field(
        "turning left", description="What a positive figure in it means."
    )
    speed: Annotated[str | None, _COLUMN] = Field(None, description="Column of the vehicle's speed.")
    speed_in: Annotated[str, OneOf(("km/h", "mph", "m/s"))] = Field("km/h", description="Its unit.")
    pressure: Annotated[str | None, _COLUMN] = Field(None, description="Column of the oil pressure.")
    pressure_in: Annotated[str, OneOf(("bar", "kPa", "psi"))] = Field("bar", description="Its unit.")
    sensor_ahead: Annotated[float | None, _AWAY] = Field(
        None, description="How far the logger sits ahead of the pan; behind it with a minus sign."
    )
    sensor_left: Annotated[float | None, _AWAY] = Field(
        None, description="How far it sits left of the pan; right of it with a minus sign."
    )


SINGLE: dict[str, type[Section]] = {
    "record": RecordSection,
    "pan": BuiltPanSection,
    "leak_test": LeakTestSection,
}
LISTED: dict[tuple[str, ...], type[Section]] = {
    ("straight_edge",): StraightEdgeSection,
    ("heights",): HeightSection,
    ("bubbles",): BubbleSection,
    ("pours",): PourSection,
    ("settings",): SettingSection,
    ("logs",): LogSection,
}
ORDER = (
    "record",
    "pan",
    "settings",
    "straight_edge",
    "heights",
    "bubbles",
    "leak_test",
    "pours",
    "logs",
)
"""Sections as they stand on the bench sheet and in the blank form."""

TITLES: dict[str, str] = {
    "record": "Whose pan, which day",
    "pan": "The pan off the bench",
    "settings": "How each seam was welded",
    "straight_edge": "Straight edge and feeler",
    "heights": "Heights of the sealing face",
    "bubbles": "Bubbles under soap",
    "leak_test": "Pressure shut in",
    "pours": "What was poured in, and the stick",
    "logs": "Pressure logs of drives",
}
"""What each is called on paper and in the form; numbered in their order on both."""


def title_of(name: str) -> str:
    """Number and title, the same on the bench sheet and in the form: "4  Straight edge and feeler"."""
    return f"{ORDER.index(name) + 1}  {TITLES[name]}"
