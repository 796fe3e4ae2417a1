"""Numbers for the results file: metric, finite, and the same on every machine."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

_DIGITS = 10  # significant; the last ones of a double differ from machine to machine


def number(value: Any) -> float:
    """A finite number to ten significant digits; a number that is not one is a fault upstream."""
    finite = float(value)
    if not math.isfinite(finite):
        raise ValueError("a result that must be a number is none")
    return float(f"{finite:.{_DIGITS}g}") + 0.0


def number_or_none(value: float | None) -> float | None:
    """A number, or None where it is not known."""
    return None if value is None or not math.isfinite(value) else number(value)


def mm(value: Any) -> float:
    """Metres as millimetres."""
    return number(float(value) * 1e3)


def mm_or_none(value: float | None) -> float | None:
    """Metres as millimetres, or None where not known."""
    return None if value is None else number_or_none(float(value) * 1e3)


def litre_or_none(value: float | None) -> float | None:
    """Cubic metres as litres, or None where not known."""
    return None if value is None else number_or_none(value * 1e3)


def deg(value: float) -> float:
    """Radians as degrees."""
    return number(math.degrees(value))


def point(values: Iterable[Any]) -> list[float]:
    """A place in the engine frame, metres as millimetres."""
    return [mm(value) for value in values]
