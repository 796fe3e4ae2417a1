"""Oil at rest: volume, level and dipstick marks in any attitude.

The shop asks: does it hold what it must, where is the surface, where do the marks
go. In: ``PanBody`` and ``OilInputs``. Out: ``OilResult``.
"""

from sumpwright.oil.model import DipMark, LevelRow, OilInputs, OilResult

__all__ = ["DipMark", "LevelRow", "OilInputs", "OilResult"]
