"""Unit names as annotations: every float inside the program is in base SI.

A function that takes ``depth: Metre`` takes metres. The text behind the unit is
what the house rules compare with the unit printed in the docstring.
"""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
import numpy.typing as npt

Metre = Annotated[float, "m"]
SquareMetre = Annotated[float, "m2"]
CubicMetre = Annotated[float, "m3"]
Kilogram = Annotated[float, "kg"]
Second = Annotated[float, "s"]
Hertz = Annotated[float, "Hz"]
Kelvin = Annotated[float, "K"]
PerKelvin = Annotated[float, "1/K"]
Pascal = Annotated[float, "Pa"]
Newton = Annotated[float, "N"]
NewtonMetre = Annotated[float, "N m"]
NewtonSquareMetre = Annotated[float, "N m2"]
Joule = Annotated[float, "J"]
Watt = Annotated[float, "W"]
Radian = Annotated[float, "rad"]
RadianPerSecond = Annotated[float, "rad/s"]
PerSecond = Annotated[float, "1/s"]
MetrePerSecond = Annotated[float, "m/s"]
MetrePerSecondSquared = Annotated[float, "m/s2"]
CubicMetrePerSecond = Annotated[float, "m3/s"]
KilogramPerCubicMetre = Annotated[float, "kg/m3"]
SquareMetrePerSecond = Annotated[float, "m2/s"]
PascalSecond = Annotated[float, "Pa s"]
JoulePerMetre = Annotated[float, "J/m"]
JoulePerKilogramKelvin = Annotated[float, "J/(kg K)"]
MetreToTheFourth = Annotated[float, "m4"]
Ampere = Annotated[float, "A"]
Volt = Annotated[float, "V"]
MolePerSecond = Annotated[float, "mol/s"]
NewtonPerMetre = Annotated[float, "N/m"]
MetrePerCubicMetre = Annotated[float, "m/m3"]
SquareMillimetre = Annotated[float, "mm2"]
"""Only in formulas whose published form is bound to millimetres."""
Ratio = Annotated[float, "1"]
Count = Annotated[int, "1"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

STANDARD_GRAVITY: MetrePerSecondSquared = 9.80665
"""Standard acceleration of free fall [m/s2], exact by definition (ISO 80000-3)."""


def frozen_array(values: Any) -> FloatArray:
    """A read-only float copy, so that a frozen dataclass stays frozen."""
    array = np.array(values, dtype=np.float64)
    array.setflags(write=False)
    return array


def frozen_indices(values: Any) -> IntArray:
    """A read-only integer copy."""
    array = np.array(values, dtype=np.int64)
    array.setflags(write=False)
    return array
