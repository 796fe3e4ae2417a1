"""Everything to say of the flange, in the order of the work."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import Finding
from sumpwright.kit.flange import flange_opening
from sumpwright.kit.flange_hole_check import (
    bolts_enter,
    dowels_fit,
    edge_distances,
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
