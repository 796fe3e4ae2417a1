"""Everything to say of the flange, in the order of the work."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import Finding, Proposal, Verdict
from sumpwright.kit.entry_check import entry_findings
from sumpwright.kit.flange import flange_opening
from sumpwright.kit.flange_hole_check import (
    bolts_enter,
    dowels_fit,
    edge_distances,
    enough_outside,
    ring_findings,
    sealing_lands,
    washers_cover,
)
from sumpwright.kit.flange_seal_check import bolt_pitch, bow_findings, film_findings, usual_thickness
from sumpwright.kit.model import FlangeHole, KitInputs


def flange_findings(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> tuple[Finding, ...]:
    """Everything to say of the flange, in the order of the work."""
    if body.cavity is None:
        return ()
    thickness = body.inputs.flange_thickness
    openings = flange_opening(body.cavity, thickness)
    found: list[Finding] = []
    found += ring_findings(inputs, body, holes)
    found += bolts_enter(inputs, body, holes)
    found += entry_findings(inputs, body, holes)
    found += dowels_fit(inputs, body, holes)
    found += washers_cover(body, holes)
    if body.flange_outside is not None:
        found += edge_distances(inputs, body, holes)
    if openings:
        found += sealing_lands(inputs, body, holes)
    found += bolt_pitch(body)
    found += bow_findings(inputs, body)
    found += usual_thickness(inputs, body)
    found += film_findings(body, holes)
    return tuple(found)


def flange_proposals(inputs: KitInputs, findings: tuple[Finding, ...]) -> tuple[Proposal, ...]:
    """Changes to the job that would cure what the flange's findings refuse."""
    found = []
    for finding in findings:
        if finding.verdict is Verdict.HOLDS or finding.limit is None:
            continue
        if finding.code == "KIT-21":
            enough = enough_outside(inputs, finding.limit)
            found.append(
                Proposal(
                    code="KIT-21",
                    target="pan.flange_outside",
                    value=f"{enough * 1000:g} mm",
                    effect="every bolt hole keeps one and a half bolt diameters to the flange's edge",
                )
            )
        elif finding.code == "KIT-25":
            found.append(
                Proposal(
                    code="KIT-25",
                    target="pan.flange",
                    value=f"{finding.limit * 1000:g} mm",
                    effect="the flange is as thick as is usual in its metal; bolts get longer by as much",
                )
            )
    return tuple(found)
