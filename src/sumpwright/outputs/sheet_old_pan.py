"""The Oil section's table of the scanned old pan against the new one."""

from __future__ import annotations

from sumpwright.oil.model import OldPanHeld
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.words import UnitSystem, write_shop_length, write_value
from sumpwright.quantities.measured import COVERAGE_95


def old_pan_table(form: Form, old: OldPanHeld, units: UnitSystem) -> None:
    """Both with the surface equally far below their rails' lowest place, each as it stands."""
    form.caption("Old pan and new, level by level", follow=60.0)
    good_to = write_value(COVERAGE_95 * old.space_u, "m3", "volume", units, 2)
    form.words(
        "The old pan by its scan, as it stood; the new one as it will stand. The old one's room up to its"
        f" rail is known to ±{good_to}.",
        8.5,
    )
    form.table(
        (
            Column("surface below the rail", 40, "right"),
            Column("old pan", 32, "right"),
            Column("new pan", 32, "right"),
            Column("new holds", 40, "right"),
        ),
        tuple(
            Row(
                (
                    write_shop_length(row.below_rail, units),
                    write_value(row.old_volume, "m3", "volume", units, 2),
                    write_value(row.new_volume, "m3", "volume", units, 2),
                    _more(row.new_volume - row.old_volume, units),
                )
            )
            for row in old.rows
        ),
    )


def _more(gap: float, units: UnitSystem) -> str:
    if abs(gap) < 5e-6:
        return "the same"
    return f"{write_value(abs(gap), 'm3', 'volume', units, 2)} {'more' if gap > 0.0 else 'less'}"
