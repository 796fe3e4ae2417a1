"""Loss of round-wire screens, as published for half-open screens."""

from __future__ import annotations

from functools import cache

from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.tables.data_files import rows


@cache
def screen_losses() -> tuple[FloatArray, FloatArray]:
    """Reynolds number on the opening (k,) and loss coefficient on the approach velocity (k,)."""
    table = rows("screen_losses")
    return (
        frozen_array([float(row["reynolds_on_opening"]) for row in table]),
        frozen_array([float(row["loss"]) for row in table]),
    )
