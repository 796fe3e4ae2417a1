"""What welding asks of a metal: heat it takes up, and magnesium that decides its filler."""

from __future__ import annotations

from sumpwright.tables.data_files import number, rows
from sumpwright.tables.model import Cited


def specific_heat(material: str) -> Cited | None:
    """Specific heat of a metal near room temperature [J/(kg K)]; None where it is not in the table."""
    return _value(material, "specific_heat", "heat_source")


def magnesium(material: str) -> Cited | None:
    """Nominal share of magnesium in an aluminium alloy, in per cent; None where it does not matter."""
    return _value(material, "magnesium", "magnesium_source")


def _value(material: str, column: str, source: str) -> Cited | None:
    for row in rows("weld_metals"):
        if row["id"] == material:
            value = number(row[column])
            return None if value is None else Cited(value, row[source])
    return None
