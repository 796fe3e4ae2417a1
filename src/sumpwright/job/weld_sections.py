"""The [weld] section of the job file, and the torch of the shop file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Flag
from sumpwright.job.section_types import Section, length

_PLATE = length(3, 100, "20 mm", "3/4 in")
_BEYOND = length(0, 300, "10 mm", "3/8 in")
_RIM = length(0, 200, "10 mm", "3/8 in")
_STEP = length(10, 200, "40 mm", "1 1/2 in")
_TORCH = length(1, 400, "14 mm", "9/16 in")
_ARM = length(0, 800, "200 mm", "8 in")
_TILT = Asked("angle", 0.0, 1.4, "30 deg", "30 deg")


class WeldSection(Section):
    """How the pan is held and welded, where it differs from what is usual."""

    plate: Annotated[float | None, _PLATE] = Field(
        None, description="Thickness of the plate that the flange is bolted to; without it 20 mm."
    )
    plate_beyond: Annotated[float | None, _BEYOND] = Field(
        None, description="How far the plate reaches out beyond the flange; without it 10 mm."
    )
    plate_open: Annotated[bool | None, Flag("true")] = Field(
        None,
        description="true: the plate's middle is cut out, so that a torch reaches in from the rail side.",
    )
    plate_rim: Annotated[float | None, _RIM] = Field(
        None, description="How far an open plate's metal reaches into the pan's opening; without it 10 mm."
    )
    tack_pitch: Annotated[float | None, _STEP] = Field(
        None,
        description="From tack to tack; without it 25 mm in sheet up to 1.5 mm, 40 mm in thicker, half of "
        "it in "
        "stainless.",
    )
    back_step: Annotated[float | None, _STEP] = Field(
        None, description="Length of one back-stepped run; without it 40 mm."
    )
    stitch: Annotated[float | None, _STEP] = Field(
        None, description="Most that a structural seam may stay bare between stitches; without it 60 mm."
    )


class TorchSection(Section):
    """The torch, measured. Keys left out are the usual ones for the process."""

    cup: Annotated[float | None, _TORCH] = Field(None, description="Outside diameter of cup or nozzle.")
    cup_length: Annotated[float | None, _TORCH] = Field(
        None, description="From the cup's end to the middle of the body behind it."
    )
    stick_out: Annotated[float | None, _TORCH] = Field(
        None, description="From the cup's end to the weld, arc included."
    )
    stick_out_most: Annotated[float | None, _TORCH] = Field(
        None, description="Longest that the gas still covers, with a gas lens; without it no more than usual."
    )
    body: Annotated[float | None, _TORCH] = Field(None, description="Diameter of the torch's body or neck.")
    body_angle: Annotated[float | None, Asked("angle", 0.0, 2.0, "70 deg", "70 deg")] = Field(
        None,
        description="Between the cup's axis, carried on backwards, and the body: 0 deg for a straight torch.",
    )
    body_length: Annotated[float | None, _ARM] = Field(
        None, description="From the cup's axis to the middle of the hand."
    )
    hand: Annotated[float | None, _TORCH] = Field(None, description="Thickness of the gloved hand on it.")
    arm: Annotated[float | None, _ARM] = Field(
        None, description="Length of forearm that has to go where the hand goes."
    )
    back_cap: Annotated[float | None, _ARM] = Field(
        None, description="What sticks out behind the body; little with a short cap."
    )
    tilt: Annotated[float | None, _TILT] = Field(
        None, description="Most that the torch may lean out of the middle of a corner, across the seam."
    )
    drag: Annotated[float | None, _TILT] = Field(
        None, description="Most that it may lean along the seam, pushed or dragged."
    )
    filler: Annotated[float | None, _ARM] = Field(
        None, description="Free length of filler rod between pool and hand; TIG only."
    )
    filler_hand: Annotated[float | None, _TORCH] = Field(
        None, description="Thickness of the hand on the rod."
    )
