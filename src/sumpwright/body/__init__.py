"""The shape: from rough lumps to one exact cavity with named faces.

The shop asks: is this one solid, which faces has it, can it be made from this sheet.
In: hole pattern, lumps, inner walls. Out: ``PanBody`` with cavity, gate, flange outline,
compartments and the openings between them.
"""

from sumpwright.body.model import (
    BodyInputs,
    Cavity,
    DipstickTube,
    Edge,
    Face,
    FlangeOutline,
    GateBreach,
    Lump,
    OldPan,
    OldPanDuty,
    PanBody,
    Pickup,
)
from sumpwright.body.pickup_line import (
    PickupLine,
    Screen,
    SuctionJoint,
    TubeCorner,
    TubeSection,
)
from sumpwright.body.wall_model import (
    Compartment,
    Division,
    Door,
    InnerWall,
    Opening,
    PlacedCut,
    PlacedWall,
    WallCut,
)

__all__ = [
    "BodyInputs",
    "Cavity",
    "Compartment",
    "DipstickTube",
    "Division",
    "Door",
    "Edge",
    "Face",
    "FlangeOutline",
    "GateBreach",
    "InnerWall",
    "Lump",
    "OldPan",
    "OldPanDuty",
    "Opening",
    "PanBody",
    "Pickup",
    "PickupLine",
    "PlacedCut",
    "PlacedWall",
    "Screen",
    "SuctionJoint",
    "TubeCorner",
    "TubeSection",
    "WallCut",
]
