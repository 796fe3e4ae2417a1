"""Runs the stages in order and remembers results by their inputs.

The shop asks: does this pan work out, and what if I change this one thing. In: a
``Job``. Out: ``JobResults`` with every finding in the order of the work, and for a
change a ``Comparison`` of before and after. Left out here: reading and writing files,
printing.
"""

from sumpwright.flow.changes import Change, Comparison, FindingPair, try_change
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.flow.memory import Memory
from sumpwright.flow.sequence import Progress, run, stage_inputs
from sumpwright.flow.stages import ALL_STAGES, QUICK_STAGES, STAGES, Stage, StageName
from sumpwright.flow.status import ALL_HOLD, NOT_READ, SOMETHING_OPEN, exit_status

__all__ = [
    "ALL_HOLD",
    "ALL_STAGES",
    "NOT_READ",
    "QUICK_STAGES",
    "SOMETHING_OPEN",
    "STAGES",
    "Change",
    "Comparison",
    "FindingPair",
    "Memory",
    "Progress",
    "Stage",
    "StageName",
    "exit_status",
    "fingerprint",
    "run",
    "stage_inputs",
    "try_change",
]
