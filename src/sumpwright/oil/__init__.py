"""Oil at rest: volume, level and dipstick marks in any attitude.

The shop asks: does it hold what it must, where is the surface, where do the marks
go. In: ``PanBody`` and ``OilInputs``. Out: ``OilResult``. Left out: oil in motion
(``motion``), losses on the way to the pump (``suction``), and pools that a wall or a
hump keeps apart: the surface is one level through the whole pan.
"""

from sumpwright.oil.level import LevelCurve, carried_up, levels, rail_lowest_level
from sumpwright.oil.model import DipMark, HoldUp, LevelRow, OilInputs, OilResult, StickReach

__all__ = [
    "DipMark",
    "HoldUp",
    "LevelCurve",
    "LevelRow",
    "OilInputs",
    "OilResult",
    "StickReach",
    "carried_up",
    "levels",
    "rail_lowest_level",
]
