"""Units, measured numbers and frames: the lowest floor.

Asks nothing of the shop. Holds the unit names used as annotations, numbers with
their uncertainty, attitudes in words, and the reading and writing of quantities
as a fabricator writes them (used by ``job`` and ``outputs`` only).
"""

from sumpwright.quantities.frames import Attitude, EnginePlacement, Load
from sumpwright.quantities.measured import COVERAGE_95, Measured
from sumpwright.quantities.units import STANDARD_GRAVITY

__all__ = ["COVERAGE_95", "STANDARD_GRAVITY", "Attitude", "EnginePlacement", "Load", "Measured"]
