"""The few judging functions. Everybody judges with these, nobody by hand."""

from __future__ import annotations

import math

from sumpwright.findings.model import Verdict


def judge_at_most(value: float | None, limit: float | None, u95: float | None) -> Verdict:
    """Verdict for a number that must not exceed its limit.

    holds if value + u95 <= limit, fails if value - u95 > limit, otherwise close.
    An unknown u95 counts as nothing here; the finding says why it is unknown.
    A missing or not-a-number value or limit is 'cannot say'.
    """
    if value is None or limit is None or math.isnan(value) or math.isnan(limit):
        return Verdict.CANNOT_SAY
    spread = 0.0 if u95 is None else u95
    if math.isnan(spread) or spread < 0.0:
        return Verdict.CANNOT_SAY
    if value + spread <= limit:
        return Verdict.HOLDS
    if value - spread > limit:
        return Verdict.FAILS
    return Verdict.CLOSE


def judge_at_least(value: float | None, limit: float | None, u95: float | None) -> Verdict:
    """Verdict for a number that must reach its limit: the mirror of at most."""
    if value is None or limit is None:
        return Verdict.CANNOT_SAY
    return judge_at_most(-value, -limit, u95)


SEVERITY = {Verdict.HOLDS: 0, Verdict.CLOSE: 1, Verdict.CANNOT_SAY: 2, Verdict.FAILS: 3}


def worst(verdicts: list[Verdict]) -> Verdict:
    """The verdict that decides; an empty list holds."""
    return max(verdicts, key=SEVERITY.__getitem__, default=Verdict.HOLDS)
