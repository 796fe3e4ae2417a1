"""What decides between sheet metals for a pan, beside price and mass."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from sumpwright.tables.data_files import rows
from sumpwright.tables.model import Cited


@dataclass(frozen=True, slots=True)
class MetalInUse:
    """One sheet metal in use: strength against tearing, and words for road, bilge and mill."""

    id: str
    tensile_strength: Cited  # Pa
    elongation: Cited  # 1
    road: str
    bilge: str
    facing: str
    source: str  # of the words


@cache
def metals_in_use() -> tuple[MetalInUse, ...]:
    """Every sheet metal of the table."""
    return tuple(
        MetalInUse(
            row["id"],
            Cited(float(row["tensile_mpa"]) * 1e6, row["tensile_source"]),
            Cited(float(row["elongation"]) / 100.0, row["elongation_source"]),
            row["road"],
            row["bilge"],
            row["facing"],
            row["words_source"],
        )
        for row in rows("material_choice")
    )


def metal_in_use(material: str) -> MetalInUse | None:
    """One metal by its id; None where it is not in the table."""
    return next((metal for metal in metals_in_use() if metal.id == material), None)
