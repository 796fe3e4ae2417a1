"""The pan rail: from readings to a hole pattern with its uncertainty.

The shop asks: where are the holes, how sure is that, which reading is bad, which
bolts do I buy. In: readings, holes, fasteners, lands. Out: ``RailResult``. Left
out here: scans, pictures and readings out of the rail plane.
"""

from sumpwright.rail.model import (
    BoltLine,
    Fastener,
    HolePattern,
    Land,
    MirrorSide,
    RailHole,
    RailInputs,
    RailResult,
    Reading,
    ReadingCheck,
    Seal,
)

__all__ = [
    "BoltLine",
    "Fastener",
    "HolePattern",
    "Land",
    "MirrorSide",
    "RailHole",
    "RailInputs",
    "RailResult",
    "Reading",
    "ReadingCheck",
    "Seal",
]
