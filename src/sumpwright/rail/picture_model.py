"""A picture of the gasket: grey pixels, and what says how big they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from sumpwright.quantities.units import Metre

GreyArray = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class PictureMark:
    """A point picked in the picture: pixels from its upper left corner."""

    right: float
    down: float
    hole: str | None = None  # the rail hole it lies in
    at: tuple[Metre, Metre] | None = None  # where it truly lies, in a plane of its own


@dataclass(frozen=True, slots=True, eq=False)
class PictureInput:
    """One picture of the gasket."""

    name: str  # of the file
    grey: GreyArray  # (rows, columns), 0 black
    seen_from: Literal["above", "below"]  # the side of the rail's pattern that the picture shows
    pixel: Metre | None  # from the resolution that the job tells
    own_pixel: Metre | None  # from the resolution that the file itself tells
    marks: tuple[PictureMark, ...] = ()
    marks_apart: Metre | None = None  # way between the two marks of a ruler
    mark_u: Metre = 5e-5  # standard uncertainty of a mark's place
    pick_u: float = 1.0  # standard uncertainty of picking a mark, pixels


def grey_array(values: Any) -> GreyArray:
    """A read-only copy as grey pixels."""
    array = np.array(values, dtype=np.uint8)
    array.setflags(write=False)
    return array
