"""The shape: from rough lumps to one exact cavity with named faces.

The shop asks: is this one solid, which faces has it, can it be made from this sheet.
In: hole pattern and lumps. Out: ``PanBody``. Left out here: inner walls, doors,
clearances.
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

__all__ = [
    "BodyInputs",
    "Cavity",
    "DipstickTube",
    "Edge",
    "Face",
    "FlangeOutline",
    "GateBreach",
    "Lump",
    "OldPan",
    "OldPanDuty",
    "PanBody",
    "Pickup",
]
