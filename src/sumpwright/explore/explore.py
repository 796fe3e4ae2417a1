"""Work a question out: give out what is not known, keep what comes back, hold it together at the end."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from sumpwright.explore.crew import Crew
from sumpwright.explore.front import Candidate, Front, costs
from sumpwright.explore.matters import Shares, shares
from sumpwright.explore.model import (
    BROKE,
    REFUSED,
    Answer,
    Count,
    Found,
    Levels,
    Outcome,
    Question,
    Task,
    standing,
)
from sumpwright.explore.orders import design, orders, rounds_of
from sumpwright.explore.search import Search
from sumpwright.explore.store import Store

DOTS = 2000
"""Variants that a plot shows beside the unbeaten; of more, every so-manieth."""

REASONS = 5
"""So many reasons why no pan came of a variant are told, the most frequent first."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How far an exploration is."""

    number: int  # variants looked at
    of: int
    tried: int  # worked out now, not known before


@dataclass(frozen=True, slots=True, eq=False)
class Explored:
    """What came of a question."""

    question: Question
    front: Front
    asked: int
    tried: int  # in this run; the rest was known
    different: int  # variants that are not the same pan as an earlier one
    complete: int
    refused: int
    dropped: tuple[tuple[str, int], ...]  # answer whose hard limit was missed, how many
    cannot_say: tuple[tuple[str, int], ...]  # answer that could not be given, how many
    broke: tuple[tuple[int, str], ...]  # number, what went wrong in the program
    reasons: tuple[tuple[str, int], ...]  # why no pan came of it
    dots: tuple[tuple[float | None, ...], ...] = ()  # answers of others, as the counts
    best_of_all: tuple[Candidate | None, ...] = ()  # of each objective
    shares: tuple[Shares, ...] = field(default=())


def explore(
    question: Question,
    plan: str,
    store: Store,
    crew: Crew,
    on_progress: Callable[[Tally], None] | None = None,
) -> Explored:
    """Every variant of the question tried, and what nothing beats.

    ``plan`` names question and order in the store. What the store knows is not worked out
    again; what is interrupted goes on where it stopped. The answer depends on question and
    seed alone, not on the crew.
    """
    run = _Run(question, plan, store, crew, on_progress)
    if question.way == "search":
        run.search()
    else:
        run.through(enumerate(orders(question), start=1))
    store.keep()
    return _held_together(run)


class _Run:
    """One exploration on its way."""

    def __init__(
        self,
        question: Question,
        plan: str,
        store: Store,
        crew: Crew,
        on_progress: Callable[[Tally], None] | None,
    ) -> None:
        self.question, self.plan, self.store, self._crew = question, plan, store, crew
        self._says = on_progress
        self.of = question.variants
        if question.way == "matters":
            self.of = rounds_of(question) * (len(question.axes) + 2)
        self.number = self.tried = 0
        self.broke: list[tuple[int, str]] = []
        self._in_hand: dict[str, int] = {}  # variants given out, by name

    @property
    def stops_early(self) -> bool:
        """What matters is told from all variants, past their limits too."""
        return self.question.way != "matters"

    def through(self, numbered: Iterator[tuple[int, Levels]]) -> None:
        """Give out all that is not known yet, and keep what comes back."""
        work = self.question.work
        for outcome in self._crew.through(work, self._unknown(numbered)):
            self._take(outcome)

    def _unknown(self, numbered: Iterator[tuple[int, Levels]]) -> Iterator[Task]:
        """Tasks for the variants that the store does not settle."""
        work = self.question.work
        for number, levels in numbered:
            name = work.variant(levels)
            self.store.ask(self.plan, number, name, work.words(levels))
            self.number = number
            if name in self._in_hand:
                continue
            known = self.store.found(name)
            if standing(known, self.question.counts, self.stops_early)[0] != "open":
                if number % 1000 == 0:
                    self.store.keep()
                    self._tell()
                continue
            self._in_hand[name] = number
            yield Task(levels, tuple(sorted(known.items(), key=lambda pair: pair[0])))

    def _take(self, outcome: Outcome) -> None:
        work = self.question.work
        name = work.variant(outcome.levels)
        number = self._in_hand.pop(name)
        found = dict(outcome.found)
        if BROKE in found:  # not kept: another try may go well
            self.broke.append((number, found.pop(BROKE).why))
        self.store.add(name, work.words(outcome.levels), found)
        self.store.keep()
        self.tried += 1
        self._tell()

    def _tell(self) -> None:
        if self._says is not None:
            self._says(Tally(self.number, self.of, self.tried))

    def search(self) -> None:
        """Batch after batch, each told whole before the next is asked for."""
        search = Search(self.question)
        work, number = self.question.work, 0
        while number < self.of:
            batch = search.ask(min(self.question.batch, self.of - number))
            self.through(enumerate(batch, start=number + 1))
            number += len(batch)
            broke = {n for n, _ in self.broke}
            told = []
            for k, levels in enumerate(batch, start=number - len(batch) + 1):
                found: Found = self.store.found(work.variant(levels))
                told.append({BROKE: Answer(None, "")} if k in broke else found)
            search.tell(told)


def _held_together(run: _Run) -> Explored:
    """One pass over all variants of the plan, in their order."""
    question, counts = run.question, run.question.counts
    objectives = question.objectives
    front = Front(len(objectives))
    dropped: dict[str, int] = {}
    unsaid: dict[str, int] = {}
    reasons: dict[str, int] = {}
    seen_refused = complete = asked = 0
    best: list[tuple[float, Candidate] | None] = [None] * len(objectives)
    every = max(1, run.store.count(run.plan) // DOTS)
    dots: deque[tuple[float | None, ...]] = deque()
    for number, says, found in run.store.of_plan(run.plan):
        asked += 1
        # Limits may have been moved since an answer was found: they are applied here, anew.
        where, name = standing(found, counts)
        values = tuple(_value(found, count) for count in counts)
        if where in ("complete", "dropped") and number % every == 0:
            dots.append(values)
        if where == "refused":
            seen_refused += 1
            _one_more(reasons, found[REFUSED].why)
        elif where == "dropped":
            _one_more(dropped, name)
        elif where == "cannot say":
            _one_more(unsaid, name)
        elif where == "complete":
            complete += 1
            cost = costs(found, objectives)
            if cost is not None:
                candidate = Candidate(number, says, tuple(v for v in values if v is not None))
                front.offer(candidate, cost)
                for k, one in enumerate(cost):
                    here = best[k]
                    if here is None or one < here[0]:
                        best[k] = (one, candidate)
    return Explored(
        question=question,
        front=front,
        asked=asked,
        tried=run.tried,
        different=run.store.different(run.plan),
        complete=complete,
        refused=seen_refused,
        dropped=_most_first(dropped),
        cannot_say=_most_first(unsaid),
        broke=tuple(sorted(run.broke)),
        reasons=_most_first(reasons)[:REASONS],
        dots=tuple(dots),
        best_of_all=tuple(None if one is None else one[1] for one in best),
        shares=_all_shares(run) if question.way == "matters" else (),
    )


def _all_shares(run: _Run) -> tuple[Shares, ...]:
    question = run.question
    rounds = rounds_of(question)

    def rows() -> Iterator[tuple[tuple[str, int], Found]]:
        for levels, place in design(question.axes, rounds, question.seed):
            yield place, run.store.found(question.work.variant(levels))

    return tuple(shares(rows(), question.axes, count, rounds, question.seed) for count in question.counts)


def _value(found: Found, count: Count) -> float | None:
    answer = found.get(count.answer)
    return None if answer is None else answer.value


def _one_more(counted: dict[str, int], name: str) -> None:
    counted[name] = counted.get(name, 0) + 1


def _most_first(counted: dict[str, int]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(counted.items(), key=lambda pair: (-pair[1], pair[0])))
