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

    is_ceiling: bool = True  # False: the value has to reach the limit

    @property
    def excess(self) -> float:
        """How far beyond its limit, as a share of it; negative where it keeps it."""
        beyond = self.value - self.limit if self.is_ceiling else self.limit - self.value
        return beyond / abs(self.limit) if self.limit else math.copysign(math.inf, beyond)


def worst_case(cases: list[Case]) -> Case:
    """The case that decides: worst verdict first, then farthest beyond its limit or nearest to it."""
    top = SEVERITY[worst([case.verdict for case in cases])]
    return max((case for case in cases if SEVERITY[case.verdict] == top), key=lambda case: case.excess)


def not_holding(cases: list[Case]) -> list[Case]:
    """The cases that do not hold, in their order."""
    return [case for case in cases if case.verdict is not Verdict.HOLDS]


def case_names(cases: Iterable[Case]) -> str:
    """Their names in a row: "h3, h7"."""
    return ", ".join(case.name for case in cases)


def length_figure(name: str, value: float, digits: int | None = None) -> Figure:
    """A length for a sentence's gap."""
    return Figure(name, value, "m", "length", digits)
