"""Verdicts and how they are reached. No stage words, no printing."""

from sumpwright.findings.judge import SEVERITY, judge_at_least, judge_at_most, worst
from sumpwright.findings.model import (
    Assumption,
    Figure,
    Finding,
    Proposal,
    StageReport,
    Verdict,
)

__all__ = [
    "SEVERITY",
    "Assumption",
    "Figure",
    "Finding",
    "Proposal",
    "StageReport",
    "Verdict",
    "judge_at_least",
    "judge_at_most",
    "worst",
]
