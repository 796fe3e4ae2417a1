"""The kit: every face a flat part, and the proof that the parts go together.

The shop asks: what do I send to the cutter, does it close. In: ``PanBody`` and
``KitInputs``. Out: ``SheetKit``. Left out here: how the parts are welded.
"""

from sumpwright.kit.model import (
    BendCoupon,
    CutterRules,
    FlangeHole,
    FlatPart,
    Fold,
    Folder,
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
    "BendCoupon",
    "CutterRules",
    "FlangeHole",
    "FlatPart",
    "Fold",
    "Folder",
    "Gap",
    "Joint",
    "JointChoice",
    "KitInputs",
    "Mark",
    "RebuildReport",
    "SheetKit",
    "StockSheet",
]
