"""One number for a script that asks how the job went."""

from __future__ import annotations

from collections.abc import Iterable

from sumpwright.findings import Finding, Verdict

ALL_HOLD = 0
"""Everything holds or is close."""
SOMETHING_OPEN = 1
"""Something fails, or cannot be said: the pack is written, and its first page says so."""
NOT_READ = 2
"""The input could not be read, or the pack could not be written; nothing was changed."""


def exit_status(findings: Iterable[Finding]) -> int:
    """0 where all hold or are close, 1 where something fails or cannot be said."""
    return (
        SOMETHING_OPEN
        if any(finding.verdict in (Verdict.FAILS, Verdict.CANNOT_SAY) for finding in findings)
        else ALL_HOLD
    )
