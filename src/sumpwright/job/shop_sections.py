"""The sections of the shop file, one model each."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Amount, Asked, Flag, Name, OneOf, Thicknesses
from sumpwright.job.section_types import MOST_CORNERS, Section
from sumpwright.job.weld_sections import TorchSection
from sumpwright.job.welder_sections import (
    PanRecordSection,
    WeldCouponSection,
    WelderSection,
    WeldStripSection,
)
from sumpwright.tables.cutting import cutting_processes

_LENGTH = Asked("length", 0.05, 20.0, "2000 mm", "96 in")
_OFFCUT = Asked("length", 0.0, 20.0, "600 mm", "24 in")
_U = Asked("length", 1e-6, 0.01, "0.04 mm", "0.0015 in")
_SHEET = Asked("length", 0.0005, 0.02, "2 mm", "0.08 in", may_be_gauge=True)
_BEND = Asked("length", 0.0002, 0.2, "3 mm", "1/8 in")
_TURN = Asked("angle", 0.05, 2.8, "90 deg", "90 deg")
_ROOM = Asked("length", 0.0, 1.0, "40 mm", "1 1/2 in")
_STRIP = Asked("length", 0.01, 1.0, "100 mm", "4 in")
_BOLT = Asked("length", 0.004, 0.3, "16 mm", "5/8 in")

Placeholders = Annotated[
    list[Annotated[str, Name(40, "caliper")]] | None,
    Field(
        examples=['["caliper"]'],
        description="Keys of this section whose figure is the shipped one and not your own: they are "
        "named on the sheet.",
    ),
]


class ShopSection(Section):
    """Whose shop this is."""

    name: Annotated[str, Name(60, "My shop")] = Field(description="Printed at the foot of the sheet.")
    currency: Annotated[str | None, Name(8, "EUR", is_label=True)] = Field(
        None, description="All prices in this file are in it."
    )


class StockSection(Section):
    """One line of the stock list."""

    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal.")
    thickness: Annotated[float, Asked("length", 0.0005, 0.05, "3 mm", "1/8 in", may_be_gauge=True)] = Field(
        description="Thickness or gauge number."
    )
    size: Annotated[list[Annotated[float, _LENGTH]], Field(min_length=2, max_length=2)] | None = Field(
        None,
        examples=['["2000 mm", "1000 mm"]'],
        description="Length and width of the sheet; without it any size can be had.",
    )
    price: Annotated[float | None, Amount("mass", "4.20 EUR/kg")] = Field(None, description="By weight.")
    cut: Annotated[float | None, Amount("length", "1.20 EUR/m")] = Field(
        None, description="Cutting this sheet, where it differs from the general rate."
    )
    pierce: Annotated[float | None, Amount("piece", "0.25 EUR")] = Field(
        None, description="One start of the cut in this sheet, where it differs from the general rate."
    )
    placeholder: Annotated[bool | None, Flag()] = Field(
        None, description="true: the price is the shipped one, not your own."
    )


class OffcutSection(Section):
    """A left-over piece on the rack that may be used up: a rectangle, or an outline of its own."""

    name: Annotated[str, Name(30, "rack-3", is_label=True)] = Field(description="What is written on it.")
    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal.")
    thickness: Annotated[float, Asked("length", 0.0005, 0.05, "3 mm", "1/8 in", may_be_gauge=True)] = Field(
        description="Thickness or gauge number."
    )
    size: Annotated[list[Annotated[float, _LENGTH]], Field(min_length=2, max_length=2)] | None = Field(
        None,
        examples=['["600 mm", "400 mm"]'],
        description="Length along the grain, and width. Either this or an outline.",
    )
    outline: (
        Annotated[
            list[Annotated[list[Annotated[float, _OFFCUT]], Field(min_length=2, max_length=2)]],
            Field(min_length=3, max_length=MOST_CORNERS),
        ]
        | None
    ) = Field(
        None,
        examples=['[["0 mm", "0 mm"], ["600 mm", "0 mm"], ["0 mm", "400 mm"]]'],
        description="Its corners in order, x along the grain. Either this or a size.",
    )


_FLATS = Asked("length", 0.003, 0.06, "10 mm", "7/16 in")
_TOOL = Asked("length", 0.002, 1.0, "14 mm", "9/16 in")


_HANDLE = Asked("length", 0.02, 1.5, "180 mm", "7 in")


class SocketSection(Section):
    """One socket with the extension it is used on. Measure your own: thin-walled ones get in elsewhere."""

    across_flats: Annotated[float, _FLATS] = Field(description="Of the head it fits.")
    outside: Annotated[float, _TOOL] = Field(description="Its outside diameter.")
    length: Annotated[float, _TOOL] = Field(description="Its length.")
    extension: Annotated[float, _TOOL] = Field(description="Diameter of the extension or ratchet's neck.")
    reach: Annotated[float, _TOOL] = Field(
        description="Straight room needed from the bolt's seat down: socket, extension and hand."
    )
    handle_length: Annotated[float | None, _HANDLE] = Field(
        None,
        description="Of the ratchet or bar that turns it, swung at the end of `reach`. Without it only the "
        "straight way on is judged.",
    )
    handle_width: Annotated[float | None, _TOOL] = Field(None, description="Of its handle. Without it 20 mm.")
    click: Annotated[float | None, Asked("angle", 0.008, 3.2, "5 deg", "5 deg")] = Field(
        None, description="From tooth to tooth: 5 deg on a ratchet of 72. Without it 5 deg."
    )


class WrenchSection(Section):
    """One flat wrench, ring or open end."""

    across_flats: Annotated[float, _FLATS] = Field(description="Of the head it fits.")
    head_width: Annotated[float, _TOOL] = Field(description="Width of its head.")
    head_thickness: Annotated[float, _TOOL] = Field(description="Thickness of its head.")
    length: Annotated[float, _TOOL] = Field(description="From the middle of the head to the handle's end.")
    handle_width: Annotated[float, _TOOL] = Field(description="Width of its handle.")
    swing: Annotated[float, Asked("angle", 0.05, 3.2, "30 deg", "30 deg")] = Field(
        description="Least swing that turns the bolt on: 30 deg for a ring or a turned-over open end."
    )


class RatesSection(Section):
    """What is asked here for work on the parts. Without this section no price is worked out."""

    cut: Annotated[float | None, Amount("length", "1.20 EUR/m")] = Field(
        None, description="Cutting, along the line. A line of the stock list may have its own."
    )
    pierce: Annotated[float | None, Amount("piece", "0.25 EUR")] = Field(
        None, description="One start of the cut: every outline, hole and cut-out has one."
    )
    bend: Annotated[float | None, Amount("piece", "4 EUR")] = Field(None, description="One bend.")
    weld: Annotated[float | None, Amount("length", "30 EUR/m")] = Field(
        None, description="Welding, along the seam, fitting up and cleaning included."
    )
    placeholders: Placeholders = None


class FolderSection(Section):
    """The hand folder. Without this section and [press_brake] every corner is welded."""

    thickest: Annotated[float, _SHEET] = Field(description="Sheet that it can bend.")
    radius: Annotated[float, _BEND] = Field(description="Of its nose: the inside radius that it makes.")
    longest: Annotated[float, _LENGTH] = Field(description="Fold that it can make.")
    least_leg: Annotated[float, _BEND] = Field(description="Shortest leg that it can hold, measured outside.")
    sharpest: Annotated[float | None, _TURN] = Field(
        None, description="Greatest angle by which it turns a sheet; without it 120 deg."
    )
    behind: Annotated[float | None, _ROOM] = Field(
        None, description="Room that the clamp needs behind the fold line; without it 40 mm."
    )
    above: Annotated[float | None, _ROOM] = Field(
        None, description="Height of the clamp over the sheet; without it 60 mm."
    )
    only_square: Annotated[bool | None, Flag()] = Field(None, description="true: right angles only.")


class PressBrakeSection(Section):
    """The press brake. It is taken before the folder where both can bend the sheet."""

    thickest: Annotated[float, _SHEET] = Field(description="Sheet that it can bend.")
    opening: Annotated[float, _BEND] = Field(description="Width of the die's opening.")
    longest: Annotated[float, _LENGTH] = Field(description="Fold that it can make.")
    radius: Annotated[float | None, _BEND] = Field(
        None, description="Inside radius; without it the usual share of the opening for the metal."
    )
    least_leg: Annotated[float | None, _BEND] = Field(
        None, description="Shortest leg, measured outside; without it 0.7 of the opening."
    )
    sharpest: Annotated[float | None, _TURN] = Field(
        None, description="Greatest angle by which it turns a sheet; without it 120 deg."
    )
    behind: Annotated[float | None, _ROOM] = Field(
        None, description="Room that the punch needs behind the fold line; without it 40 mm."
    )
    above: Annotated[float | None, _ROOM] = Field(
        None, description="Height of the punch over the sheet; without it 60 mm."
    )
    only_square: Annotated[bool | None, Flag()] = Field(None, description="true: right angles only.")


class BendCouponSection(Section):
    """A strip bent on this shop's machine and measured. It beats the table."""

    material: Annotated[str, Name(40, "5052-H32")] = Field(description="Metal.")
    thickness: Annotated[float, _SHEET] = Field(description="Of the strip, measured.")
    radius: Annotated[float, _BEND] = Field(description="Inside radius, measured.")
    turn: Annotated[float, _TURN] = Field(
        description="Angle by which it was turned: 90 deg for a square one."
    )
    flat: Annotated[float, _STRIP] = Field(description="Length of the strip before it was bent.")
    legs: Annotated[list[Annotated[float, _STRIP]], Field(min_length=2, max_length=2)] = Field(
        examples=['["51.2 mm", "52.0 mm"]'], description="The two legs after, each to the outside corner."
    )


class CuttingSection(Section):
    """What the cutter can do: your own table, or the service you send to."""

    process: Annotated[
        str, OneOf(cutting_processes(), {"laser": "fibre laser", "fiber laser": "fibre laser"})
    ] = Field(description="How the sheet is cut.")
    cuts_itself: Annotated[bool | None, Flag("false")] = Field(
        None,
        description="true: the shop cuts itself, so the kerf is its own affair. Without it a cutter "
        "makes up for it.",
    )
    nests: Annotated[bool | None, Flag("true")] = Field(
        None,
        description="true: the parts are laid on sheets for cutting. Without it they are where the shop cuts "
        "itself.",
    )
    sheet_margin: Annotated[float | None, Asked("length", 0.0, 0.1, "10 mm", "3/8 in")] = Field(
        None, description="Kept free along the edge of every sheet in a nest. Without it 10 mm."
    )
    kerf: Annotated[float | None, Asked("length", 0.0, 0.01, "0.15 mm", "0.006 in")] = Field(
        None, description="Width of the cut. Only where the shop cuts itself."
    )
    tolerance: Annotated[float | None, Asked("length", 1e-5, 0.005, "0.2 mm", "0.008 in")] = Field(
        None,
        description="Plus and minus on sizes and places. Without it the class of the process counts (ISO "
        "9013).",
    )
    least_hole: Annotated[tuple[float, float] | None, Thicknesses("1 t")] = Field(
        None, description="Smallest hole, in thicknesses or as a length."
    )
    least_web: Annotated[tuple[float, float] | None, Thicknesses("1 t")] = Field(
        None, description="Least metal between two cuts."
    )
    least_edge: Annotated[tuple[float, float] | None, Thicknesses("1.5 t")] = Field(
        None, description="Least metal between a hole and the edge."
    )
    placeholders: Placeholders = None


class MeasuringSection(Section):
    """How well this shop reads: two readings in three fall within so much of the truth."""

    caliper: Annotated[float | None, _U] = Field(None, description="One caliper reading of a pair of holes.")
    readout: Annotated[float | None, _U] = Field(None, description="One place read on the mill's readout.")
    straight_edge: Annotated[float | None, _U] = Field(None, description="A feeler under a straight edge.")
    rule: Annotated[float | None, _U] = Field(None, description="A steel rule.")
    tape: Annotated[float | None, _U] = Field(None, description="A tape.")
    by_eye: Annotated[float | None, _U] = Field(None, description="Judged by eye.")
    placeholders: Placeholders = None


class BoltsSection(Section):
    """Bolt lengths this shop can buy, under the head."""

    metric_lengths: Annotated[list[Annotated[float, _BOLT]] | None, Field(max_length=100)] = Field(
        None, examples=['["16 mm", "20 mm"]'], description="For metric threads."
    )
    inch_lengths: Annotated[list[Annotated[float, _BOLT]] | None, Field(max_length=100)] = Field(
        None, examples=['["5/8 in", "3/4 in"]'], description="For inch threads."
    )
    placeholders: Placeholders = None


SINGLE: dict[str, type[Section]] = {
    "shop": ShopSection,
    "folder": FolderSection,
    "press_brake": PressBrakeSection,
    "cutting": CuttingSection,
    "measuring": MeasuringSection,
    "bolts": BoltsSection,
    "rates": RatesSection,
    "welder": WelderSection,
    "torch": TorchSection,
}
LISTED: dict[tuple[str, ...], type[Section]] = {
    ("stock",): StockSection,
    ("offcuts",): OffcutSection,
    ("sockets",): SocketSection,
    ("wrenches",): WrenchSection,
    ("bend_coupons",): BendCouponSection,
    ("weld_coupons",): WeldCouponSection,
    ("weld_strips",): WeldStripSection,
    ("pan_records",): PanRecordSection,
}
NEEDED = ("shop",)

RESERVED: dict[str, str] = {
    "leak_test": "gauge, regulator and relief valve",
    "printer": "the printer's own scale error",
}
"""Section names whose stage has not come yet."""
