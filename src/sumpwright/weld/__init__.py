"""The weld plan: which seam when, how the torch gets there, and where to stop and look.

The shop asks: in what order, can I reach it, what goes wrong. In: ``SheetKit`` and
``WeldInputs``. Out: ``WeldResult``: seams, an order in which all of them are reached (or
what stands in the way), and stops with things to check.
"""

from sumpwright.weld.model import (
    Blocked,
    HoldPoint,
    OrderRules,
    ReplayReport,
    Seam,
    Step,
    Strongback,
    Torch,
    Way,
    Welder,
    WeldInputs,
    WeldPlan,
    WeldResult,
)

__all__ = [
    "Blocked",
    "HoldPoint",
    "OrderRules",
    "ReplayReport",
    "Seam",
    "Step",
    "Strongback",
    "Torch",
    "Way",
    "WeldInputs",
    "WeldPlan",
    "WeldResult",
    "Welder",
]
