"""What is asked of many variants, and what comes back of each."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal, Protocol

Levels = tuple[int, ...]
"""One variant: the number of the value that each thing has, counted from nought."""

Want = Literal["more", "less", "only the limit"]
Way = Literal["grid", "spread", "search", "matters"]

REFUSED = "a pan"
"""Name under which it is noted that no pan comes of a variant."""

BROKE = "the program"
"""Name under which it is noted that the program itself went wrong on a variant."""


class ExploreError(Exception):
    """An exploration cannot go on; one line says why, and what was found is kept."""


@dataclass(frozen=True, slots=True)
class Axis:
    """One thing that varies."""

    name: str
    count: int  # of its values
    is_ordered: bool = True  # a range, not a choice


@dataclass(frozen=True, slots=True)
class Count:
    """One answer that counts. Values in base SI, a price in the shop's money."""

    answer: str
    want: Want
    at_least: float | None = None
    at_most: float | None = None
    is_hard: bool = True
    alike: float | None = None  # differences smaller than this do not count

    @property
    def has_limit(self) -> bool:
        """Whether anything is asked of it."""
        return self.at_least is not None or self.at_most is not None

    def short_by(self, value: float) -> float:
        """By how much a value misses its limit; nought or less where it keeps it."""
        low = -float("inf") if self.at_least is None else self.at_least - value
        high = -float("inf") if self.at_most is None else value - self.at_most
        return max(low, high)


@dataclass(frozen=True, slots=True)
class Answer:
    """One number, or why there is none."""

    value: float | None
    why: str = ""


Found = Mapping[str, Answer]


@dataclass(frozen=True, slots=True)
class Task:
    """A variant to try, with what is known of it already."""

    levels: Levels
    known: tuple[tuple[str, Answer], ...] = ()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What was worked out of one variant."""

    levels: Levels
    found: tuple[tuple[str, Answer], ...]


class Work(Protocol):
    """What is done with a variant: goes to other processes and machines, and is opened there once."""

    @property
    def name(self) -> str:
        """The same for the same work, on any machine."""
        ...

    def variant(self, levels: Levels) -> str:
        """Name of what the levels stand for: two plans that mean the same pan name it alike."""
        ...

    def words(self, levels: Levels) -> tuple[str, ...]:
        """The value of each thing as the shop would write it."""
        ...

    def open(self) -> Callable[[Task], Outcome]:
        """Ready to try variants."""
        ...


@dataclass(frozen=True, slots=True)
class Question:
    """Axes, what counts, how variants are chosen, and the work that answers."""

    axes: tuple[Axis, ...]
    counts: tuple[Count, ...]
    work: Work
    way: Way
    variants: int
    batch: int = 24
    seed: int = 1

    @property
    def objectives(self) -> tuple[Count, ...]:
        """The answers by which variants are compared."""
        return tuple(count for count in self.counts if count.want != "only the limit")


Standing = Literal["open", "refused", "broke", "dropped", "cannot say", "complete"]


def standing(found: Found, counts: Iterable[Count], stops_early: bool = True) -> tuple[Standing, str]:
    """Where a variant stands with what is known of it, and the answer that decided it.

    An answer that is missing never counts as keeping a hard limit.
    """
    if REFUSED in found:
        return "refused", REFUSED
    if BROKE in found:
        return "broke", BROKE
    unsaid = ""
    for count in counts:
        answer = found.get(count.answer)
        if answer is None:
            return "open", count.answer
        if stops_early and count.has_limit and count.is_hard:
            if answer.value is None or count.short_by(answer.value) > 0.0:
                return "dropped", count.answer
        elif answer.value is None:
            unsaid = unsaid or count.answer
    return ("cannot say", unsaid) if unsaid else ("complete", "")
