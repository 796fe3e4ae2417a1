"""The pan rail: from readings to a hole pattern with its uncertainty.

The shop asks: where are the holes, how sure is that, which reading is bad, which
bolts do I buy, which reading do I take next. In: readings, holes, fasteners, lands.
Out: ``RailResult``. Left out here: scans and pictures themselves (their coordinates
come in as readings), and lands between which the rail leans.

In reading order: ``network`` (what each reading says of the unknowns), ``start``
(rough places), ``adjust`` (the least-squares step), ``shape`` (the best fit),
``suspects`` (bad readings), ``two_shapes`` (does another shape fit), ``faults`` (what
is missing), ``next_reading``, ``slips`` (what a bad one looks like), ``repeats``,
``lands``, ``uncertainty``, ``entry`` (will the bolts go in), ``bolts``, ``solve``,
``check``. ``rows`` holds the kinds of reading, ``circle_fit`` circles through points.
"""

from sumpwright.rail.model import (
    BoltLine,
    Fastener,
    HolePattern,
    Land,
    LandJoint,
    LandShape,
    MirrorSide,
    NextReading,
    RailHole,
    RailInputs,
    RailResult,
    Reading,
    ReadingCheck,
    RepeatSpread,
    Seal,
)

__all__ = [
    "BoltLine",
    "Fastener",
    "HolePattern",
    "Land",
    "LandJoint",
    "LandShape",
    "MirrorSide",
    "NextReading",
    "RailHole",
    "RailInputs",
    "RailResult",
    "Reading",
    "ReadingCheck",
    "RepeatSpread",
    "Seal",
]
