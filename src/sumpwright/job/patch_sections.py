"""Patch plates, as a job file names them: where a panel is opened for the torch, and closed again."""

from __future__ import annotations

from typing import Annotated, cast

import numpy as np
from pydantic import Field

from sumpwright.findings import Assumption, Figure
from sumpwright.job.fields import Name, OneOf
from sumpwright.job.refusals import OpenFile
from sumpwright.job.section_types import Section, SpacePoint, length
from sumpwright.kit.patch_model import PatchFit, PatchPlate
from sumpwright.quantities.units import Metre, frozen_array

CORNER_SHARE = 0.25
LEAST_CORNER: Metre = 0.008
MOST_CORNER: Metre = 0.025
"""Corner radius where none is given: a quarter of the opening's short side within these: common practice."""


class PatchPlateSection(Section):
    """An opening cut into a panel so that the torch gets in, and the plate that closes it afterwards."""

    name: Annotated[str, Name(30, "patch plate 1")] = Field(description="What the plate is called.")
    panel: Annotated[str, Name(60, "sump left wall")] = Field(
        description="The panel that is opened, by its name in the parts list."
    )
    at: SpacePoint = Field(
        examples=['["245 mm", "-150 mm", "-105 mm"]'],
        description="The opening's middle: a point on the panel, or up to 30 mm off it (x, y, z).",
    )
    width: Annotated[float, length(20, 600, "90 mm", "3 1/2 in")] = Field(
        description="Of the opening, across the panel as it is drawn: level on a wall, fore and aft on a "
        "floor or roof."
    )
    height: Annotated[float, length(20, 600, "70 mm", "2 3/4 in")] = Field(
        description="Of the opening, up the panel as it is drawn."
    )
    corner: Annotated[float | None, length(3, 200, "15 mm", "5/8 in")] = Field(
        None, description="Radius of the opening's corners. Without it, a quarter of its short side."
    )
    fit: Annotated[str | None, OneOf(("lapped", "let in"))] = Field(
        None,
        description="lapped: outside on the panel, welded round its edge. let in: flush in the opening. "
        "Without it, lapped.",
    )


def check_patch_plates(file: OpenFile, sections: tuple[PatchPlateSection | None, ...]) -> None:
    """What one key alone cannot tell: names that are taken, and corners that do not fit."""
    names: list[str] = []
    for at, section in enumerate(sections):
        if section is None:
            continue
        if section.name in names:
            file.fault(("patch_plates", at, "name"), "another patch plate is called so already")
        if section.name.split()[0] == "flange":
            file.fault(("patch_plates", at, "name"), "only the flange's own parts are called flange")
        names.append(section.name)
        if section.corner is not None and section.corner > 0.5 * min(section.width, section.height):
            file.fault(("patch_plates", at, "corner"), "it is more than half the opening's shorter side")


def build_patch_plates(
    sections: tuple[PatchPlateSection | None, ...],
) -> tuple[tuple[PatchPlate, ...], tuple[Assumption, ...]]:
    """The patch plates asked for, and the corners that were taken."""
    plates: list[PatchPlate] = []
    told: list[Assumption] = []
    for section in sections:
        if section is None:
            continue
        corner = section.corner
        if corner is None:
            short = min(section.width, section.height)
            corner = min(max(CORNER_SHARE * short, LEAST_CORNER), MOST_CORNER, 0.5 * short)
            told.append(
                Assumption(
                    "patch_plates.corner",
                    f"The corners of the opening under '{section.name}' are not given; {{corner}} are taken.",
                    (Figure("corner", corner, "m", "length", 0),),
                )
            )
        plates.append(
            PatchPlate(
                section.name,
                section.panel,
                frozen_array(np.array(section.at)),
                section.width,
                section.height,
                corner,
                cast(PatchFit, section.fit or "lapped"),
            )
        )
    return tuple(plates), tuple(told)
