"""The oil stage's numbers as its sentences want them."""

from __future__ import annotations

from sumpwright.findings import Figure
from sumpwright.quantities.units import FloatArray


def litres(name: str, value: float, digits: int | None = 2) -> Figure:
    """A volume for a sentence."""
    return Figure(name, value, "m3", "volume", digits)


def length(name: str, value: float, digits: int | None = None) -> Figure:
    """A length for a sentence."""
    return Figure(name, value, "m", "length", digits)


def point(values: FloatArray) -> tuple[float, float, float]:
    """Three numbers of a place."""
    return float(values[0]), float(values[1]), float(values[2])
