"""What the kit stage says: does it close, can it be cut, does the flange fit its bolts."""

from __future__ import annotations

from sumpwright.findings import StageReport
from sumpwright.kit.bend_check import bend_findings
from sumpwright.kit.cutting_rules import cutting_findings
from sumpwright.kit.flange_check import flange_findings, flange_proposals
from sumpwright.kit.flange_segment_check import flange_in_segments
from sumpwright.kit.internals_check import internals_findings
from sumpwright.kit.jacking_check import jacking_findings
from sumpwright.kit.joint_check import joint_findings
from sumpwright.kit.land_check import land_findings
from sumpwright.kit.marks import marks_findings
from sumpwright.kit.model import KitInputs, SheetKit
from sumpwright.kit.nest_check import nest_findings, price_findings
from sumpwright.kit.patch_check import patch_findings
from sumpwright.kit.rebuild_check import rebuild_findings


def check(inputs: KitInputs, kit: SheetKit) -> StageReport:
    """Findings of the kit stage, in the order of the work."""
    flange = flange_findings(inputs, kit.body, kit.flange_holes)
    segments, split_proposals = flange_in_segments(inputs, kit.body, kit.flange_holes)
    findings = [*rebuild_findings(inputs, kit), *flange, *segments]
    if kit.parts:
        findings += [*joint_findings(inputs, kit), *bend_findings(inputs, kit)]
        findings += land_findings(inputs, kit)
        findings += cutting_findings(inputs, kit.parts)
    if kit.parts and inputs.etched:
        findings += marks_findings(kit.parts, kit.joints)
    if kit.internals is not None:
        findings += internals_findings(kit.internals)
        findings += jacking_findings(inputs, kit)
    findings += patch_findings(kit)
    if kit.nests is not None:
        findings += nest_findings(kit.nests, kit.parts)
    if kit.price is not None:
        findings += price_findings(kit.price)
    return StageReport(tuple(findings), (*flange_proposals(inputs, flange), *split_proposals))
