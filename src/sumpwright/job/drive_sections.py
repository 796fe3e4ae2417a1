"""The [[drives]] sections of the job file: laps that were logged, and which column is what."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Name, OneOf
from sumpwright.job.section_types import Section

_COLUMN = Name(40, "ax")
_AWAY = Asked("length", -10.0, 10.0, "300 mm", "12 in")


class DriveSection(Section):
    """A logged lap. Columns are named as the log's first line names them."""

    name: Annotated[str, Name(40, "lap 3")] = Field(description="What the sheet calls it.")
    log: Annotated[str, Name(60, "lap3.csv")] = Field(
        description="The log beside the job file: a first line of column names, then numbers."
    )
    time: Annotated[str, _COLUMN] = Field(description="Column of the time.")
    time_in: Annotated[str, OneOf(("s", "ms"))] = Field("s", description="Its unit.")
    forward: Annotated[str, _COLUMN] = Field(description="Column of the acceleration along the vehicle.")
    forward_means: Annotated[str, OneOf(("accelerating", "braking"))] = Field(
        "accelerating", description="What a positive figure in it means."
    )
    left: Annotated[str, _COLUMN] = Field(description="Column of the acceleration across the vehicle.")
    left_means: Annotated[str, OneOf(("left turn", "right turn"))] = Field(
        "left turn", description="What a positive figure in it means."
    )
    up: Annotated[str | None, _COLUMN] = Field(None, description="Column of the acceleration upwards.")
    up_means: Annotated[str, OneOf(("up", "down"))] = Field(
        "up", description="Which way a positive figure in it points."
    )
    accelerations_in: Annotated[str, OneOf(("g", "m/s2"))] = Field(description="Unit of the three.")
    gravity: Annotated[str, OneOf(("in the log", "taken off"))] = Field(
        description="Whether the logger shows one g upwards when it stands still."
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
