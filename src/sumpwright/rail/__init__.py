"""The pan rail: from readings to a hole pattern with its uncertainty.

The shop asks: where are the holes, how sure is that, which reading is bad, which
bolts do I buy. In: readings, holes, fasteners, lands. Out: ``RailResult``. Left
out here: scans, pictures and readings out of the rail plane.

In reading order: ``network`` (what each reading says of the unknowns), ``start``
(rough places), ``adjust`` (the least-squares step), ``shape`` (the best fit),
``suspects`` (bad readings), ``two_shapes`` (does another shape fit), ``faults`` (what
is missing), ``uncertainty``, ``bolts``, ``solve``, ``check``.
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
