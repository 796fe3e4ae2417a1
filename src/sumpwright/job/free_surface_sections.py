"""The [free_surface] section of the job file: cell size and choice of the free-surface check."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sumpwright.job.fields import Name
from sumpwright.job.section_types import Section, length
from sumpwright.motion.free_surface.model import FreeSurfaceAsked


class FreeSurfaceSection(Section):
    """How finely the oil is worked out by 'drive --free-surface', and in which manoeuvres."""

    cell: Annotated[float | None, length(1, 20, "8 mm", "5/16 in")] = Field(
        None,
        description="Side of the cells. Without it, it is chosen for the minutes allowed and written here.",
    )
    manoeuvres: list[Annotated[str, Name(60, "left circle")]] | None = Field(
        None,
        min_length=1,
        max_length=12,
        description="Which to run, as the sheet calls them; without it the three worst.",
    )


def asked_of(section: FreeSurfaceSection | None) -> FreeSurfaceAsked:
    """What the job says, or nothing."""
    if section is None:
        return FreeSurfaceAsked()
    return FreeSurfaceAsked(section.cell, tuple(section.manoeuvres or ()))
