"""The rail's picture: holes, readings between them, flange."""

from __future__ import annotations

from sumpwright.outputs.plan import rail_plan
from sumpwright.web.pan_picture import holes_of
from sumpwright.web.picture_messages import RailLine, RailPicture
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import flats_mm


def rail_picture(now: Snapshot, revision: str) -> RailPicture:
    """Everything in the engine's axes; the page turns it so that it is seen from below."""
    results = now.results()
    plan = rail_plan(results)
    rail = results.rail
    if rail is None or rail.pattern is None or plan is None:
        trouble = (
            ["The holes could not be placed yet."] if rail is None else [what for what, _ in rail.cannot]
        )
        return RailPicture(
            revision=revision,
            trouble=trouble,
            holes=[],
            lines=[],
            flange_mm=[],
            opening_mm=[],
            anchor_mm=None,
        )
    names = set(rail.pattern.names)
    kit = results.kit
    return RailPicture(
        revision=revision,
        trouble=[what for what, _ in rail.cannot],
        holes=holes_of(rail.pattern),
        lines=[
            RailLine(line=check.reading.line, a=check.reading.a, b=check.reading.b, set_aside=check.set_aside)
            for check in rail.checks
            if check.reading.b is not None and check.reading.a in names and check.reading.b in names
        ],
        flange_mm=flats_mm(plan.outside[0]) if plan.outside else [],
        opening_mm=[flats_mm(loop) for loop in plan.inside],
        anchor_mm=None
        if kit is None
        else (round(float(kit.anchor[0]) * 1e3, 3), round(float(kit.anchor[1]) * 1e3, 3)),
    )
