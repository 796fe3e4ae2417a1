"""Inner walls and the room round the pan in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.body.surroundings import Fit, SlopePassed
from sumpwright.body.wall_model import Division
from sumpwright.outputs.plain_numbers import deg, mm, mm_or_none, number, point

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def compartment_rows(division: Division) -> list[rows.CompartmentRow]:
    """What the inner walls set apart."""
    return [
        {"name": one.name, "volume_l": number(one.volume * 1e3), "centre_mm": point(one.centre)}
        for one in division.compartments
    ]


def opening_rows(division: Division) -> list[rows.OpeningRow]:
    """The ways between compartments."""
    names = {one.index: one.name for one in division.compartments}
    return [
        {
            "name": one.name,
            "kind": one.kind,
            "wall": one.wall,
            "from_compartment": names.get(one.from_compartment, ""),
            "to_compartment": names.get(one.to_compartment, ""),
            "passes": one.passes,
            "area_mm2": number(one.area * 1e6),
            "centre_mm": point(one.centre),
        }
        for one in division.openings
    ]


def _slope(slope: SlopePassed | None) -> float | None:
    return None if slope is None else deg(slope.angle)


def room_part(fit: Fit) -> rows.RoomPart:
    """How the pan fits where it goes."""
    ground = fit.ground
    return {
        "clearances": [
            {
                "keep_out": one.keep_out,
                "gap_mm": mm(one.gap),
                "part": one.part,
                "posture": one.posture,
                "on_pan_mm": point(one.on_pan),
                "swallowed": bool(one.swallowed),
            }
            for one in fit.clearances
        ],
        "lowest_above_ground_mm": None if ground is None else mm_or_none(ground.lowest),
        "lowest_at_bump_mm": None if ground is None else mm_or_none(ground.at_bump),
        "crest_deg": _slope(None if ground is None else ground.crest),
        "approach_deg": _slope(None if ground is None else ground.approach),
        "departure_deg": _slope(None if ground is None else ground.departure),
        "access": [
            {
                "name": one.name,
                "tool": one.tool,
                "room_mm": mm_or_none(one.room),
                "blocked_by": one.blocked_by,
                "swing_deg": None if one.free_swing is None else deg(one.free_swing),
            }
            for one in fit.access
        ],
        "comes_off": None if fit.withdrawal is None else bool(fit.withdrawal.is_clear),
    }
