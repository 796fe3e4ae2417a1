"""A search for the unbeaten: each batch of variants is bred from what was found so far.

Batches have a fixed size and are told in the order in which they were asked for, so that the
same plan and seed try the same variants with one process or a hundred.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable, Sequence
from typing import Any

from sumpwright.explore.crew import CrewError
from sumpwright.explore.model import BROKE, REFUSED, Axis, Count, Found, Levels, Question

NO_PAN = 1e6
"""How far a variant without a pan counts as past its limits: beyond any that has one."""

_PAST = "past its limits by"


class Search:
    """Breeds batches. Non-dominated sorting with constraints by domination, of the library."""

    def __init__(self, question: Question) -> None:
        """Raises CrewError where the library is not installed."""
        try:
            import optuna
        except ImportError as trouble:
            raise CrewError(
                "A search needs the package 'optuna': install sumpwright with its extra 'search'."
            ) from trouble
        optuna.logging.set_verbosity(optuna.logging.ERROR)
        self._question = question
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", optuna.exceptions.ExperimentalWarning)
            # Steps drawn near the parents: on a fine range the library's usual draw anew, anywhere,
            # is still far from the front when these are there (a twentieth of the distance, measured).
            sampler = optuna.samplers.NSGAIISampler(
                population_size=question.batch,
                crossover=optuna.samplers.nsgaii.SBXCrossover(),
                mutation=optuna.samplers.nsgaii.PolynomialMutation(),
                seed=question.seed,
            )
        self._study = optuna.create_study(directions=["minimize"] * len(question.objectives), sampler=sampler)
        self._asked: list[Any] = []

    def ask(self, count: int) -> list[Levels]:
        """The next so many variants."""
        self._asked = [self._study.ask() for _ in range(count)]
        return [
            tuple(_level(trial, k, axis) for k, axis in enumerate(self._question.axes))
            for trial in self._asked
        ]

    def tell(self, found: Sequence[Found]) -> None:
        """What was found of them, in the order asked."""
        worst = self._worst(found)
        for trial, one in zip(self._asked, found, strict=True):
            trial.set_constraint(_PAST, past_limits(one, self._question.counts))
            values = [_cost(one, count, worst[k]) for k, count in enumerate(self._question.objectives)]
            self._study.tell(trial, values)

    def _worst(self, found: Sequence[Found]) -> list[float]:
        """What stands in for an answer that was not worked out: the worst of the batch."""
        return [
            max((c for one in found if math.isfinite(c := _cost(one, count, math.nan))), default=0.0)
            for count in self._question.objectives
        ]


def past_limits(found: Found, counts: Iterable[Count]) -> float:
    """How far the worst hard limit is missed, each measured by itself; nought or less where all are kept.

    One figure, so that variants compare whose answers went to different lengths.
    """
    if REFUSED in found or BROKE in found:
        return NO_PAN
    out = []
    for count in counts:
        if not (count.has_limit and count.is_hard):
            continue
        answer = found.get(count.answer)
        if answer is None:
            continue  # not worked out, because an earlier limit was missed
        if answer.value is None:
            return NO_PAN
        scale = max(abs(count.at_least or 0.0), abs(count.at_most or 0.0), count.alike or 0.0) or 1.0
        out.append(count.short_by(answer.value) / scale)
    return max(out, default=0.0)


def _cost(found: Found, count: Count, without: float) -> float:
    answer = found.get(count.answer)
    if answer is None or answer.value is None:
        return without
    return answer.value if count.want == "less" else -answer.value


def _level(trial: Any, k: int, axis: Axis) -> int:
    name = f"{k}"
    if axis.is_ordered:
        return int(trial.suggest_int(name, 0, axis.count - 1))
    return int(trial.suggest_categorical(name, tuple(range(axis.count))))
