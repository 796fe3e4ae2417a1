"""Bosses that are welded into the pan, as a job file names them."""

from __future__ import annotations

from typing import Annotated

import numpy as np
from pydantic import Field

from sumpwright.job.fields import Flag, Name, OneOf
from sumpwright.job.section_types import Section, SpacePoint, length
from sumpwright.kit.internals_model import Fitting
from sumpwright.quantities.units import frozen_array


class FittingSection(Section):
    """A boss: a turned or bought piece that is welded into a hole of the pan's sheet."""

    name: Annotated[str, Name(30, "drain")] = Field(description="What it is called.")
    kind: Annotated[str, OneOf(("drain", "dipstick", "sensor", "return"))] = Field(
        description="What it is for; a drain gets a plug and washers on the list."
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
        )
        for section in sections
        if section is not None
    )
