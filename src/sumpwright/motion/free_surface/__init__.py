"""The oil as it really moves: a three-dimensional run through one manoeuvre.

The shop asks: does the faster model's answer hold, before metal is cut. In: the oil space,
its compartments and ways, the trace, oil and pump, a cell size. Out: the driven model's
figures, with what only this model knows. Left out: air (it has no weight and no bubbles),
the metal's thickness, foam. Importing this package needs numpy alone; numba is imported by
the processor engine.
"""

from sumpwright.motion.free_surface.domain import Domain, make_domain
from sumpwright.motion.free_surface.model import (
    FreeSurfaceAsked,
    FreeSurfaceError,
    FreeSurfaceInputs,
    FreeSurfaceRun,
    Link,
    Progress,
    Snapshot,
    ThinPlace,
)
from sumpwright.motion.free_surface.pace import cell_for_time
from sumpwright.motion.free_surface.replay import Replay, ReplayWriter
from sumpwright.motion.free_surface.run import free_surface_run

__all__ = [
    "Domain",
    "FreeSurfaceAsked",
    "FreeSurfaceError",
    "FreeSurfaceInputs",
    "FreeSurfaceRun",
    "Link",
    "Progress",
    "Replay",
    "ReplayWriter",
    "Snapshot",
    "ThinPlace",
    "cell_for_time",
    "free_surface_run",
    "make_domain",
]
