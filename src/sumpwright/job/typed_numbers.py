"""What is typed as a plain number beside its unit, for sliders and for dragging in a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sumpwright.job.fields import Asked, Setting, UnitSystem
from sumpwright.quantities.text import QuantityError, from_si, read


@dataclass(frozen=True, slots=True)
class Bounds:
    """The range of a key in its usual unit."""

    unit: str
    allowed: str  # in words
    least: float
    most: float


def bounds_of(rule: Asked, units: UnitSystem) -> Bounds:
    """The range of a key for a reader of these units."""
    shown = rule.usual_unit(units)
    return Bounds(
        shown.name, rule.allowed(shown), float(from_si(rule.least, shown)), float(from_si(rule.most, shown))
    )


def number_in_unit(rule: Asked, typed: str | int | float, setting: Setting) -> float | None:
    """A typed quantity in the usual unit of its key; None where it cannot be read."""
    try:
        found = read(
            str(typed),
            rule.kind,
            gallons=setting.gallons,
            gauges=setting.gauges if rule.may_be_gauge else None,
            good=rule.good,
        )
    except QuantityError:
        return None
    return float(from_si(found.value, rule.usual_unit(setting.units)))


def typed_length(typed: Any) -> float | None:
    """A length [m]; None where nothing of the kind is typed."""
    if not isinstance(typed, str):
        return None
    try:
        return read(typed, "length").value
    except QuantityError:
        return None
