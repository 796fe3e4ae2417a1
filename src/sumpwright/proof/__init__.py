"""Prove it, fit it, write it down: leak test, flatness, and the record of the finished pan.

The shop asks: what pressure may I test with, what do I need on the bench, is it flat
enough, what does what I measured mean. In: ``SheetKit`` and ``ProofInputs``. Out:
``ProofResult``: strength of every panel under air, the gear that closes the pan, the
meaning of what was written down. Left out here: reading and keeping the record (``job``),
and the oil, of which only a table of stick readings and volumes comes in.
"""

from sumpwright.proof.model import (
    AsBuilt,
    BubbleLook,
    DecayReading,
    HeightReading,
    Pour,
    ProofInputs,
    ProofResult,
    Setting,
    StraightEdgeReading,
)

__all__ = [
    "AsBuilt",
    "BubbleLook",
    "DecayReading",
    "HeightReading",
    "Pour",
    "ProofInputs",
    "ProofResult",
    "Setting",
    "StraightEdgeReading",
]
