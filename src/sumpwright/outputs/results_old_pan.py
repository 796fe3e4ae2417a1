"""The scanned old pan in ``results.json``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwright.oil.model import OldPanHeld
from sumpwright.outputs.plain_numbers import mm, mm_or_none, number

if TYPE_CHECKING:
    from sumpwright.outputs import results_schema as rows


def old_pan_part(old: OldPanHeld) -> rows.OldPanPart:
    """Its room and its levels beside the new pan's."""
    return {
        "side": old.inside.skin,
        "room_l": number(old.space * 1e3),
        "room_u_l": number(old.space_u * 1e3),
        "missed": number(old.inside.missed),
        "hidden": number(old.inside.hidden),
        "fill_below_rail_mm": mm_or_none(old.fill_below_rail),
        "levels": [
            {
                "below_rail_mm": mm(row.below_rail),
                "old_volume_l": number(row.old_volume * 1e3),
                "new_volume_l": number(row.new_volume * 1e3),
            }
            for row in old.rows
        ],
    }
