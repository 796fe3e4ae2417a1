"""What each use of the engine asks of the oil, held for ever."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from sumpwright.quantities.units import STANDARD_GRAVITY, MetrePerSecondSquared, Radian
from sumpwright.tables.data_files import number, rows


@dataclass(frozen=True, slots=True)
class Use:
    """One use: accelerations on level ground, and attitudes of the vehicle standing still."""

    use: str
    title: str
    turning: MetrePerSecondSquared
    braking: MetrePerSecondSquared
    accelerating: MetrePerSecondSquared
    nose_up: Radian
    nose_down: Radian
    lean_right: Radian
    lean_left: Radian
    source: str


@cache
def uses() -> tuple[Use, ...]:
    """All uses, in the order of the table."""

    def in_g(text: str) -> MetrePerSecondSquared:
        return (number(text) or 0.0) * STANDARD_GRAVITY

    def in_degrees(text: str) -> Radian:
        return math.radians(number(text) or 0.0)

    return tuple(
        Use(
            use=row["use"],
            title=row["title"],
            turning=in_g(row["turning_g"]),
            braking=in_g(row["braking_g"]),
            accelerating=in_g(row["accelerating_g"]),
            nose_up=in_degrees(row["nose_up_deg"]),
            nose_down=in_degrees(row["nose_down_deg"]),
            lean_right=in_degrees(row["lean_right_deg"]),
            lean_left=in_degrees(row["lean_left_deg"]),
            source=row["source"],
        )
        for row in rows("uses")
    )


def use_named(name: str) -> Use | None:
    """One use by its name, or None."""
    return next((use for use in uses() if use.use == name), None)
