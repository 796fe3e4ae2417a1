"""The shop's welder, and what it has welded as a test: sections of the shop file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Asked, Flag, Name, OneOf
from sumpwright.job.section_types import Section

_AMPS = Asked("current", 1.0, 1000.0, "200 A", "200 A")
_SHEET = Asked("length", 0.0005, 0.02, "3 mm", "1/8 in", may_be_gauge=True)
_BOW = Asked("length", 1e-5, 0.1, "2.5 mm", "0.1 in")
_STRIP = Asked("length", 0.01, 2.0, "50 mm", "2 in")

Placeholders = Annotated[
    list[Annotated[str, Name(40, "most_amps")]] | None,
    Field(
        examples=['["most_amps"]'],
        description="Keys of this section whose figure is the shipped one and not your own: they are "
        "named on the sheet.",
    ),
]


class WelderSection(Section):
    """The welder, as its rating plate has it. Without this section the shipped one stands in."""

    process: Annotated[str, OneOf(("TIG", "MIG"), {"gtaw": "TIG", "gmaw": "MIG", "mag": "MIG"})] = Field(
        description="TIG: tungsten arc and a rod. MIG: wire from a gun."
    )
    current: Annotated[str, OneOf(("AC/DC", "AC", "DC"), {"ac dc": "AC/DC", "acdc": "AC/DC"})] = Field(
        description="What it gives. TIG on aluminium wants AC."
    )
    most_amps: Annotated[float, _AMPS] = Field(description="Greatest current.")
    least_amps: Annotated[float | None, _AMPS] = Field(
        None, description="Smallest current that burns steadily; without it 5 A for TIG, 40 A for MIG."
    )
    duty: Annotated[float, Asked("ratio", 0.01, 1.0, "35 %", "35 %")] = Field(
        description="Share of ten minutes that it welds at the duty's current."
    )
    duty_amps: Annotated[float | None, _AMPS] = Field(
        None, description="Current that the duty belongs to; without it the greatest."
    )
    purge: Annotated[bool | None, Flag("true")] = Field(
        None, description="true: a second flow of argon for the back of the seam."
    )
    rods: Annotated[list[Annotated[str, Name(20, "ER5554")]] | None, Field(max_length=40)] = Field(
        None,
        examples=['["ER5554", "ER70S-2"]'],
        description="Fillers on the rack. Without it they are taken to be bought.",
    )
    placeholders: Placeholders = None


class WeldCouponSection(Section):
    """A pair of sheets that was welded as a test, and cut through or bent."""

    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal of the thinner sheet.")
    with_material: Annotated[str | None, Name(40, "6061-T6")] = Field(
        None, description="Metal of the other; without it the same."
    )
    thickness: Annotated[float, _SHEET] = Field(description="Of the thinner sheet.")
    looked_at: Annotated[str, OneOf(("cut through", "bent"), {"sectioned": "cut through"})] = Field(
        description="How it was looked into."
    )
    sound: Annotated[bool, Flag("true")] = Field(
        description="true: full depth, no crack, no chain of pores, nothing broken open."
    )


class WeldStripSection(Section):
    """A strip with a bead along the whole of one long edge, welded lying free, and its bow measured.

    It ties the movement of the pan to this shop's own hand and machine.
    """

    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal.")
    thickness: Annotated[float, _SHEET] = Field(description="Of the strip.")
    width: Annotated[float, _STRIP] = Field(description="Of the strip: 40 mm to 100 mm tells most.")
    length: Annotated[float, _STRIP] = Field(description="Of the strip and of the bead.")
    bow: Annotated[float, _BOW] = Field(
        description="Height of its hollow edge over a straight edge, measured cold, in the strip's own plane."
    )


class PanRecordSection(Section):
    """How far an earlier pan came off the plate out of flat, beside what its sheet had told."""

    job: Annotated[str | None, Name(80, "hillclimb-four")] = Field(
        None, description="Which pan, so that none is written twice."
    )
    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal of its sheet.")
    told_least: Annotated[float, _BOW] = Field(description="Lower end of what its sheet told.")
    told_most: Annotated[float, _BOW] = Field(description="Upper end.")
    measured: Annotated[float, _BOW] = Field(description="What was measured before facing.")
