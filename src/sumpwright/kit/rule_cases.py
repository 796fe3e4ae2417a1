"""One place judged by one rule, and which place decides what is said of all of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from sumpwright.findings import SEVERITY, Figure, Verdict, worst


@dataclass(frozen=True, slots=True)
class Case:
    """One place judged by one rule."""

    name: str  # "h7", or "h7 and h8"
    value: float
    limit: float
    u95: float | None
    verdict: Verdict
    place: tuple[float, float, float]

    @property
    def margin(self) -> float:
        """How far inside its limit, as a share of it; the sign of the rule does not matter here."""
        return abs(self.value - self.limit) / abs(self.limit) if self.limit else math.inf


def worst_case(cases: list[Case]) -> Case:
    """The case that decides: worst verdict first, then farthest beyond or nearest to its limit."""
    top = SEVERITY[worst([case.verdict for case in cases])]
    deciding = [case for case in cases if SEVERITY[case.verdict] == top]
    if top == SEVERITY[Verdict.FAILS]:
        return max(deciding, key=lambda case: case.margin)
    return min(deciding, key=lambda case: case.margin)


def not_holding(cases: list[Case]) -> list[Case]:
    """The cases that do not hold, in their order."""
    return [case for case in cases if case.verdict is not Verdict.HOLDS]


def case_names(cases: Iterable[Case]) -> str:
    """Their names in a row: "h3, h7"."""
    return ", ".join(case.name for case in cases)


def length_figure(name: str, value: float, digits: int | None = None) -> Figure:
    """A length for a sentence's gap."""
    return Figure(name, value, "m", "length", digits)
