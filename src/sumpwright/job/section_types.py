"""What every section model is built from: the strict base, and points and lengths in a range."""

from __future__ import annotations

import math
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from sumpwright.job.fields import Asked, Name

DEGREE = math.pi / 180
CELSIUS_0 = 273.15


class Section(BaseModel):
    """A section of a file: nothing unknown gets in, nothing is guessed from another type."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


def length(least_mm: float, most_mm: float, good: str, good_inch: str) -> Asked:
    """A length within a range given in millimetres."""
    return Asked("length", least_mm / 1000, most_mm / 1000, good, good_inch)


def volume(least_l: float, most_l: float, good: str, good_inch: str) -> Asked:
    """A volume within a range given in litres."""
    return Asked("volume", least_l / 1000, most_l / 1000, good, good_inch)


COORDINATE = length(-3000, 3000, "-14 mm", "-9/16 in")
ATTITUDE = Asked("angle", 0.0, 90 * DEGREE, "15 deg", "15 deg")
BEARING = Asked("angle", 0.0, 180 * DEGREE, "0 deg", "0 deg")
HEIGHT = length(0, 5000, "262 mm", "10 3/8 in")
HOLE = Name(16, "h1", is_label=True)

Coordinate = Annotated[float, COORDINATE]
Hole = Annotated[str, HOLE]
FlatPoint = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
SpacePoint = Annotated[list[Coordinate], Field(min_length=3, max_length=3)]

MOST_CORNERS = 60
