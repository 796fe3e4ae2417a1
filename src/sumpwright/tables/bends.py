"""Bends: where the neutral line lies, and how tight a metal may be bent."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sumpwright.quantities.units import Metre, Ratio
from sumpwright.tables.data_files import MILLIMETRE, number, rows
from sumpwright.tables.model import Cited

Temper = Literal["soft", "medium", "hard"]
"""Columns of the table of K: aluminium is soft, mild steel medium, stainless hard."""

_TEMPER_OF_FAMILY: dict[str, Temper] = {"aluminium": "soft", "steel": "medium", "stainless": "hard"}


@dataclass(frozen=True, slots=True)
class FactorRange:
    """Lowest and highest K that another published table gives for a metal."""

    low: Ratio
    high: Ratio
    source: str


def bend_temper(family: str) -> Temper | None:
    """The column of the table of K for a material family, or None (iron is not bent)."""
    return _TEMPER_OF_FAMILY.get(family)


def k_factor(family: str, inside_radius: Metre, thickness: Metre) -> Cited | None:
    """K, the neutral line's depth from the inside over the thickness; None for metals not bent."""
    temper = bend_temper(family)
    if temper is None or thickness <= 0.0 or inside_radius < 0.0:
        return None
    ratio = inside_radius / thickness
    for row in rows("k_factors"):
        upper = number(row["to_ratio"])
        if float(row["over_ratio"]) <= ratio <= (math.inf if upper is None else upper):
            return Cited(float(row[temper]), row["source"])
    return None


def k_factor_elsewhere(family: str) -> FactorRange | None:
    """What the other published table says of K: the two differ, so a coupon is worth its minute."""
    for row in rows("k_factors_by_metal"):
        if row["metal"] == family:
            return FactorRange(float(row["low"]), float(row["high"]), row["source"])
    return None


def least_bend_radius(material: str, thickness: Metre) -> Cited | None:
    """Least inside radius [m] of a right-angle bend across the grain; None outside the table.

    Between the thicknesses of the table the next thicker column counts.
    """
    columns = (("t_0_8", 0.8), ("t_1_6", 1.6), ("t_3_2", 3.2), ("t_4_8", 4.8), ("t_6_4", 6.4))
    for row in rows("least_bend_radii"):
        if row["material"] != material:
            continue
        for column, limit in columns:
            if thickness <= limit * MILLIMETRE + 1e-9:
                multiple = number(row[column])
                return None if multiple is None else Cited(multiple * thickness, row["source"])
    return None
