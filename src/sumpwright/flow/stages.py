"""The stages in the order of the work: what each needs, what it is called on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

StageName = Literal[
    "rail", "body", "oil", "motion", "drive", "suction", "kit", "weld", "filler", "bow", "proof"
]


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of the work."""

    name: StageName
    section: str  # heading on the job sheet
    doing: str  # what the progress display says while it runs
    code: str  # prefix of its finding codes
    needs: tuple[StageName, ...]  # stages whose results it builds on
    is_slow: bool = False  # left out of a quick check


STAGES: tuple[Stage, ...] = (
    Stage("rail", "Rail", "fitting the readings together", "RAIL", ()),
    Stage("body", "Shape", "joining the lumps to one shape", "BODY", ("rail",)),
    Stage("oil", "Oil", "filling the pan", "OIL", ("rail", "body")),
    Stage("motion", "Motion", "leaning on slopes and in corners", "MOT", ("rail", "body", "oil")),
    Stage("drive", "Motion", "driving the pan through its manoeuvres", "MOT", ("rail", "body", "oil"), True),
    Stage("suction", "Suction", "feeding the pump", "SUC", ("rail", "body", "oil", "motion")),
    Stage("kit", "Parts", "making the flat parts and building them up again", "KIT", ("rail", "body")),
    Stage("weld", "Welding", "planning the welds", "WELD", ("rail", "body", "kit"), True),
    Stage("filler", "Welding", "choosing fillers and settings", "WELD", ("rail", "body", "kit")),
    Stage("bow", "Welding", "letting the seams shrink", "WELD", ("rail", "body", "kit"), True),
    Stage("proof", "Proof", "putting the parts under air", "PROOF", ("rail", "body", "oil", "kit")),
)

ALL_STAGES: tuple[StageName, ...] = tuple(stage.name for stage in STAGES)

QUICK_STAGES: tuple[StageName, ...] = tuple(stage.name for stage in STAGES if not stage.is_slow)
"""What 'check' runs: every stage that answers at once."""


def with_needs(names: tuple[StageName, ...]) -> tuple[Stage, ...]:
    """The named stages and all that they build on, in the order of the work.

    An unknown name is a wrong call: ValueError.
    """
    for name in names:
        if name not in ALL_STAGES:
            raise ValueError(f"there is no stage {name!r}; the stages are {', '.join(ALL_STAGES)}")
    wanted = set(names)
    for stage in STAGES:
        if stage.name in names:
            wanted.update(stage.needs)
    return tuple(stage for stage in STAGES if stage.name in wanted)
