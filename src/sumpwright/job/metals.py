"""Metals as the files name them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from sumpwright.job.nearest import nearest
from sumpwright.quantities.units import Metre
from sumpwright.tables.gauges import gauge_series, gauge_thickness, gauges
from sumpwright.tables.materials import find_material, materials

Use = Literal["sheet", "block"]


def gauges_of(material: Any) -> Mapping[int, Metre] | None:
    """Gauge number -> thickness for a metal's own table; None where it has none."""
    metal = find_material(material) if isinstance(material, str) else None
    series = gauge_series(metal.family) if metal is not None else None
    if series is None:
        return None
    rows = ((number, gauge_thickness(number, series)) for number in gauges())
    return {number: row.value for number, row in rows if row is not None}


def metal_rule(name: str, use: Use) -> tuple[str, str, str] | None:
    """Why this metal will not do: (rule, a good one, all known); None where it will."""
    fitting = [metal for metal in materials() if (metal.is_sheet if use == "sheet" else metal.is_block)]
    known = [metal.id for metal in fitting]
    metal = find_material(name)
    if metal in fitting:
        return None
    if metal is not None:
        what = "pans are not made of it" if use == "sheet" else "engine blocks are not made of it"
        return f"{metal.id} is in the table of metals, but {what}", known[0], ", ".join(known)
    also = {other.casefold(): item.id for item in fitting for other in (item.id, *item.also)}
    near = nearest(name, also)
    good = also[near] if near is not None else known[0]
    hint = f"; did you mean {good!r}?" if near is not None else ""
    return f"this metal is not in the table{hint}", good, ", ".join(known)
