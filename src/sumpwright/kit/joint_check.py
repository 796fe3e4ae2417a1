"""What the joints say: choices that a corner cannot have, and slots that only the outside seals."""

from __future__ import annotations

import math

from sumpwright.findings import Figure, Finding, Verdict
from sumpwright.kit.joints import FULL_LAP_WITHIN
from sumpwright.kit.model import Joint, JointChoice, KitInputs, SheetKit

SLOT_BELOW = math.radians(86.0)
"""A lap on a sharper outside angle than this leaves a slot on the oil side."""


def joint_findings(inputs: KitInputs, kit: SheetKit) -> tuple[Finding, ...]:
    """Everything to say of the joints."""
    found = [finding for choice in inputs.joint_choices if (finding := _choice(choice, kit.joints))]
    return (*found, *_slots(kit))


def _between(joint: Joint, choice: JointChoice) -> bool:
    return {joint.part_a, joint.part_b} == {choice.part_a, choice.part_b}


def _choice(choice: JointChoice, joints: tuple[Joint, ...]) -> Finding | None:
    """A finding where a wanted joint was not made."""
    where = f"{choice.kind} between {choice.part_a} and {choice.part_b}"
    seams = [joint for joint in joints if _between(joint, choice)]
    if not seams:
        return Finding(
            "KIT-08",
            Verdict.CANNOT_SAY,
            _plain(where),
            "A joint is asked for here, but these two faces have no seam with each other.",
            how_sure="Names of faces change with the lumps; they are those of the parts list.",
            do="Name two faces that meet, or take the choice out.",
            source="job-file",
        )
    missed = [joint for joint in seams if joint.kind != choice.kind]
    if not missed:
        return None
    return Finding(
        "KIT-08",
        Verdict.FAILS,
        _plain(where),
        "The joint asked for here cannot be made at a corner of {angle}; the usual one is made instead.",
        (
            Figure("angle", missed[0].corner_angle, "rad", "angle", 0),
            Figure("within", FULL_LAP_WITHIN, "rad", "angle", 0),
        ),
        how_sure="A rule: a full lap wants a corner within {within} of square; inward joints go inwards.",
        do="Choose another joint there, or take the choice out.",
        source="common practice, no source",
        place=missed[0].start,
    )


def _slots(kit: SheetKit) -> list[Finding]:
    """Inward laps on a sharp corner: sealed by the weld outside, open to the oil inside."""
    found = []
    for joint in kit.joints:
        phi = 2.0 * math.pi - joint.corner_angle
        if joint.kind != "inward lap" or phi >= SLOT_BELOW:
            continue
        wide = kit.body.inputs.sheet / math.tan(phi)
        found.append(
            Finding(
                "KIT-09",
                Verdict.HOLDS,
                f"seam between {_plain(joint.part_a)} and {_plain(joint.part_b)}",
                "Between the sheets a wedge {wide} wide at most stays open to the oil; the weld closes it.",
                (Figure("wide", wide, "m", "length", 1),),
                how_sure="From the angle of the corner.",
                do="Clean it well before welding: swarf and scale that stay in it come out later.",
                source="common practice, no source",
                place=joint.start,
            )
        )
    return found


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
