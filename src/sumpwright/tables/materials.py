"""Sheet and block metals: density, stiffness, strength, expansion, heat, and how they weld."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from sumpwright.quantities.units import Metre
from sumpwright.tables.data_files import MILLIMETRE, number, rows, scaled
from sumpwright.tables.model import Cited

Family = Literal["steel", "stainless", "aluminium", "iron"]


@dataclass(frozen=True, slots=True)
class Material:
    """One metal. A value of None is not known here; ask the maker's data sheet."""

    id: str
    also: tuple[str, ...]  # other names a job file may use
    family: Family
    is_sheet: bool
    is_block: bool  # engine blocks are made of it
    density: Cited  # kg/m3
    modulus: Cited  # Pa, Young's modulus
    yield_strength: Cited | None  # Pa, lowest of the published range
    yield_at_weld: Cited | None  # Pa, lowest beside the weld, as welded
    expansion: Cited  # 1/K
    conductivity: Cited  # W/(m K)
    relative_cost: Cited | None  # price per kilogram, mild sheet = 1
    weldability: str


@dataclass(frozen=True, slots=True)
class FlangeThickness:
    """The usual range of flange thickness for a metal."""

    least: Metre
    most: Metre
    source: str


def _cited(row: Mapping[str, str], column: str, source: str, factor: float) -> Cited | None:
    value = number(row[column])
    if value is None:
        return None
    return Cited(float(f"{value * factor:.12g}"), row[source])


def _given(row: Mapping[str, str], column: str, source: str, factor: float) -> Cited:
    value = _cited(row, column, source, factor)
    if value is None:
        raise ValueError(f"materials.csv: {row['id']} has no {column}")
    return value


@cache
def materials() -> tuple[Material, ...]:
    """All metals of the table, sheet first."""
    found = []
    for row in rows("materials"):
        family = row["family"]
        if family not in ("steel", "stainless", "aluminium", "iron"):
            raise ValueError(f"materials.csv: unknown family {family}")
        found.append(
            Material(
                id=row["id"],
                also=tuple(row["also"].split("|")),
                family=family,  # type: ignore[arg-type]
                is_sheet=row["sheet"] == "yes",
                is_block=row["block"] == "yes",
                density=_given(row, "density", "density_source", 1.0),
                modulus=_given(row, "modulus_gpa", "modulus_source", 1e9),
                yield_strength=_cited(row, "yield_mpa", "yield_source", 1e6),
                yield_at_weld=_cited(row, "yield_weld_mpa", "yield_weld_source", 1e6),
                expansion=_given(row, "expansion", "expansion_source", 1e-6),
                conductivity=_given(row, "conductivity", "conductivity_source", 1.0),
                relative_cost=_cited(row, "relative_cost", "cost_source", 1.0),
                weldability=row["weldability"],
            )
        )
    return tuple(found)


def find_material(text: str) -> Material | None:
    """The metal a job file means, by id or by one of its other names; None if unknown."""
    wanted = " ".join(text.split()).casefold()
    for material in materials():
        if wanted == material.id.casefold() or wanted in (name.casefold() for name in material.also):
            return material
    return None


def usual_flange_thickness(family: Family) -> FlangeThickness | None:
    """What flanges of this metal are usually made of, or None where there is no rule."""
    for row in rows("flange_practice"):
        if row["family"] == family:
            return FlangeThickness(
                scaled(row["least_mm"], MILLIMETRE), scaled(row["most_mm"], MILLIMETRE), row["source"]
            )
    return None
