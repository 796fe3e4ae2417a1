"""How single edges of the pan are joined, as a job file names them."""

from __future__ import annotations

from typing import Annotated, cast

from pydantic import Field

from sumpwright.job.fields import Name, OneOf
from sumpwright.job.section_types import Section
from sumpwright.kit import JointChoice
from sumpwright.kit.model import JointKind


class EdgeJointSection(Section):
    """The joint along the seam between two faces, instead of the usual one."""

    part: Annotated[str, Name(60, "sump floor")] = Field(
        description="The face that covers (full lap, overlapped) or runs through (inward lap), by its name "
        "in the parts list."
    )
    other: Annotated[str, Name(60, "sump front wall")] = Field(
        description="The face on the seam's other side."
    )
    joint: Annotated[
        str, OneOf(("open corner", "overlapped", "full lap", "inward lap", "inward cut back"))
    ] = Field(description="How the two are joined. A corner that cannot have it keeps the usual joint.")


def build_joint_choices(sections: tuple[EdgeJointSection | None, ...]) -> tuple[JointChoice, ...]:
    """The joints asked for."""
    return tuple(
        JointChoice(section.part, section.other, cast(JointKind, section.joint))
        for section in sections
        if section is not None
    )
