"""The kit: every face a flat part, and the proof that the parts go together.

The shop asks: what do I send to the cutter, does it close. In: ``PanBody`` and
``KitInputs``. Out: ``SheetKit``. Left out here: bends, tabs, inner walls, nests.
"""

from sumpwright.kit.model import (
    CutterRules,
    FlangeHole,
    FlatPart,
    Gap,
    Joint,
    JointChoice,
    KitInputs,
    Mark,
    RebuildReport,
    SheetKit,
    StockSheet,
)

__all__ = [
    "CutterRules",
    "FlangeHole",
    "FlatPart",
    "Gap",
    "Joint",
    "JointChoice",
    "KitInputs",
    "Mark",
    "RebuildReport",
    "SheetKit",
    "StockSheet",
]
