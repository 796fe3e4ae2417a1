"""Numbers on their way to the page: millimetres, degrees, and nothing that JSON cannot carry."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import chorded
from sumpwright.quantities.units import FloatArray

SAG = 5e-5
"""How far chords may leave an arc on the screen [m]."""

Point = tuple[float, float, float]
Flat = tuple[float, float]


def point_mm(place: FloatArray | Iterable[float]) -> Point:
    """A point of the engine's axes."""
    x, y, z = (round(float(value) * 1e3, 4) + 0.0 for value in place)
    return x, y, z


def unit_vector(direction: FloatArray) -> Point:
    """A direction, to nine digits."""
    x, y, z = (round(float(value), 9) + 0.0 for value in direction)
    return x, y, z


def points_mm(places: FloatArray) -> list[Point]:
    """Points (n, 3)."""
    return [point_mm(place) for place in places]


def flats_mm(places: FloatArray) -> list[Flat]:
    """Points (n, 2)."""
    rounded = np.round(np.asarray(places, dtype=np.float64) * 1e3, 4) + 0.0
    return [(float(x), float(y)) for x, y in rounded]


def flat_list_mm(places: FloatArray) -> list[float]:
    """Points (n, k), one number after the other."""
    found: list[float] = (np.round(np.asarray(places, dtype=np.float64) * 1e3, 3) + 0.0).ravel().tolist()
    return found


def outline_mm(outline: Outline) -> list[float]:
    """A closed line with its arcs in chords, x and y one after the other."""
    return flat_list_mm(chorded(outline, SAG))


def degrees(angle: float) -> float:
    """An angle."""
    return round(math.degrees(angle), 6) + 0.0


def finite_or_none(value: float, digits: int = 6) -> float | None:
    """A number that JSON can carry; None for the others."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def finite_list(values: FloatArray, scale: float, digits: int = 3) -> list[float | None]:
    """Numbers, None where one is endless or none."""
    scaled = np.asarray(values, dtype=np.float64) * scale
    return [round(float(value), digits) + 0.0 if math.isfinite(value) else None for value in scaled.ravel()]
