"""Feeding the pump: from the mouth in the oil to the pressure at the pump's inlet.

The shop asks: does the pump get its oil hot at full speed and cold at the first turn, which
part of the line costs most, can a joint draw air, will the tube crack. In: the pickup's
line, oil and pump, how low the oil gets. Out: ``SuctionResult``. Left out here: what the
pump does with air it has drawn, and the pump's own inlet beyond its port.
"""

from sumpwright.suction.model import (
    Cure,
    PressureMap,
    Priming,
    Share,
    SuctionInputs,
    SuctionResult,
    Support,
    WorkedPoint,
)

__all__ = [
    "Cure",
    "PressureMap",
    "Priming",
    "Share",
    "SuctionInputs",
    "SuctionResult",
    "Support",
    "WorkedPoint",
]
