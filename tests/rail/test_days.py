"""Simulated days of measuring: do the stated odds come true?"""

from __future__ import annotations

import os
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.rail.formulas import agreement_range
from sumpwright.rail.network import build_network
from sumpwright.rail.shape import Datum, adjust_shape, first_shape
from sumpwright.rail.solve import solve
from sumpwright.rail.uncertainty import hole_blocks
from tests.rail.rails import MM, ring_pairs, ring_rail

WHOLE = os.environ.get("SUMPWRIGHT_SOAK") == "1"
DAYS = 10_000 if WHOLE else 100
U = 0.05 * MM


def days(a, count, first):
    """The same rail read again and again: exact distances plus the day's own noise."""
    truth = np.array([r.value for r in a.readings])
    for day in range(first, first + count):
        rng = np.random.default_rng(day)
        noise = rng.normal(0.0, U, truth.size)
        read = tuple(replace(r, value=float(v)) for r, v in zip(a.readings, truth + noise, strict=True))
        yield rng, replace(a, readings=read)


def exact_rail(n, steps):
    a, xy = ring_rail(n, pairs=ring_pairs(n, steps), u=1e-15)
    return replace(a, readings=tuple(replace(r, u=U) for r in a.readings)), xy


@pytest.mark.soak
@pytest.mark.expected_from("closed form", "95 % ellipses hold the true centre 95 times of 100")
def test_the_ellipses_cover_as_often_as_they_say():
    a, xy = exact_rail(10, (1, 2, 4))
    inside, total = 0, 0
    for _, day in days(a, DAYS, 0):
        pattern = solve(day).pattern
        off = pattern.xy - xy
        for k, block in enumerate(hole_blocks(pattern.covariance)):
            if k == 0 or np.linalg.det(block) <= 1e-22:
                continue  # the datum does not move, the second hole only along its line
            total += 1
            inside += float(off[k] @ np.linalg.solve(block, off[k])) <= -2.0 * np.log(0.05)
    assert total == DAYS * 8
    # A hundred days of holes that move together leave about two in a hundred of chance.
    assert inside / total == pytest.approx(0.95, abs=0.01 if WHOLE else 0.05)


@pytest.mark.soak
@pytest.mark.expected_from(
    "closed form", "normal distribution: w beyond 3.29 in one of a thousand honest readings"
)
def test_false_alarms_are_as_rare_as_stated():
    a, _ = exact_rail(12, (1, 2, 3, 4, 5))
    alarms, total = 0, 0
    for _, day in days(a, DAYS, 20_000):
        checks = solve(day).checks
        alarms += sum(c.set_aside for c in checks)
        total += len(checks)
    # Setting one aside calms its neighbours, so slightly fewer than one in a thousand.
    assert alarms / total <= (0.0012 if WHOLE else 0.004)
    if WHOLE:
        assert alarms / total >= 0.0007


@pytest.mark.soak
@pytest.mark.expected_from(
    "closed form", "0.5 mm at sigma 0.05 and r >= 0.5: w about 7 +- 1, found in far more than 95 %"
)
def test_a_single_bad_reading_is_named():
    a, _ = exact_rail(14, (1, 2, 3, 4, 5, 6))
    assert min(c.redundancy for c in solve(a).checks) >= 0.5
    named = 0
    for rng, day in days(a, DAYS, 40_000):
        k = int(rng.integers(len(day.readings)))
        readings = list(day.readings)
        sign = 1.0 if rng.random() < 0.5 else -1.0
        readings[k] = replace(readings[k], value=readings[k].value + sign * 0.5 * MM)
        result = solve(replace(day, readings=tuple(readings)))
        named += result.checks[k].set_aside
    assert named / DAYS >= 0.95


@pytest.mark.soak
@pytest.mark.expected_from(
    "closed form", "the weighted sum lies between its 2.5 and 97.5 % points 95 times of 100"
)
def test_honest_days_agree_as_often_as_stated():
    a, _ = exact_rail(10, (1, 2, 4))
    agree = 0
    for _, day in days(a, DAYS, 60_000):
        # Of all readings: setting any aside would calm the sum.
        network = build_network(day)
        datum = Datum(0, [hole.name for hole in day.holes].index(day.second))
        start, _ = first_shape(network, datum)
        _, fit = adjust_shape(network, start, datum, 1.0 / network.u**2)
        low, high = agreement_range(len(day.readings) - 2 * len(day.holes) + 3)
        agree += low <= fit.weighted_sum <= high
    assert agree / DAYS == pytest.approx(0.95, abs=0.01 if WHOLE else 0.07)
