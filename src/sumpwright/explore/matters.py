"""Which inputs matter: the share of an answer's spread that each input causes."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sumpwright.explore.model import Axis, Count, Found

MOST_LOST = 0.1
"""Rounds that may lack a variant; where more do, nothing is said."""

RESAMPLES = 200


@dataclass(frozen=True, slots=True)
class Shares:
    """Of one answer: what each input causes alone, and with all that it does together with others."""

    answer: str
    alone: tuple[float, ...]  # shares of the variance, one for each axis
    in_all: tuple[float, ...]
    in_all_low: tuple[float, ...]  # 95 of 100; nan where resampling tells nothing
    in_all_high: tuple[float, ...]
    rounds: int
    lost: int  # rounds left out because a variant gave no answer
    why_not: str = ""


def shares(
    rows: Iterable[tuple[tuple[str, int], Found]],
    axes: tuple[Axis, ...],
    count: Count,
    rounds: int,
    seed: int,
) -> Shares:
    """Sobol' indices of one answer over a Saltelli design, with their spread by resampling.

    Rounds in which any variant gave no answer are left out; past one in ten nothing is said,
    because what is left would no longer be an even sample.
    """
    from scipy.stats import sobol_indices

    table = np.full((len(axes) + 2, rounds), np.nan)
    places = {"A": 0, "B": 1, **{f"AB {k}": 2 + k for k in range(len(axes))}}
    for (part, row), found in rows:
        answer = found.get(count.answer)
        if answer is not None and answer.value is not None:
            table[places[part], row] = answer.value
    whole = np.all(np.isfinite(table), axis=0)
    lost = int(rounds - whole.sum())
    if rounds < 2 or lost > MOST_LOST * rounds:
        why = f"{lost} of {rounds} rounds hold a variant without an answer; narrow the ranges"
        return Shares(count.answer, (), (), (), (), rounds, lost, why)
    # The library takes powers of two only.
    kept = table[:, whole][:, : 2 ** int(np.log2(rounds - lost))]
    if float(np.ptp(kept)) == 0.0:
        return Shares(count.answer, (), (), (), (), rounds, lost, "it is the same for every variant")
    found_now = sobol_indices(
        func={"f_A": kept[0][None], "f_B": kept[1][None], "f_AB": kept[2:][:, None]},
        n=kept.shape[1],
        rng=np.random.default_rng(seed),
    )
    with warnings.catch_warnings():
        # An input without any effect leaves nothing to resample: its interval is not a number, and told so.
        warnings.simplefilter("ignore")
        resampled = found_now.bootstrap(confidence_level=0.95, n_resamples=RESAMPLES)
    spread = resampled.total_order.confidence_interval
    return Shares(
        count.answer,
        _row(found_now.first_order),
        _row(found_now.total_order),
        _row(spread.low),
        _row(spread.high),
        rounds,
        lost,
    )


def _row(values: Any) -> tuple[float, ...]:
    return tuple(float(v) for v in np.asarray(values).reshape(-1))
