"""Sheet gauges: which thickness a gauge number means depends on the metal."""

from __future__ import annotations

from typing import Literal

from sumpwright.tables.data_files import INCH, rows, scaled
from sumpwright.tables.model import Cited

GaugeSeries = Literal["mild", "galvanised", "stainless", "aluminium"]

_SERIES_OF_FAMILY: dict[str, GaugeSeries] = {
    "steel": "mild",
    "stainless": "stainless",
    "aluminium": "aluminium",
}


def gauge_thickness(gauge: int, series: GaugeSeries) -> Cited | None:
    """Thickness [m] of a gauge number in one metal's series, or None where the table has none."""
    for row in rows("gauges"):
        if int(row["gauge"]) == gauge:
            return Cited(scaled(row[f"{series}_in"], INCH), row["source"])
    return None


def gauge_series(family: str) -> GaugeSeries | None:
    """The gauge series of a material family, or None where it has none (iron)."""
    return _SERIES_OF_FAMILY.get(family)


def gauges() -> tuple[int, ...]:
    """All gauge numbers of the table, thickest first."""
    return tuple(int(row["gauge"]) for row in rows("gauges"))
