"""Nothing beats these, held against asking every pair."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.explore.front import Candidate, Front, costs, worth_a_look
from sumpwright.explore.model import Answer, Count, standing


@pytest.mark.expected_from("property", "unbeaten: no other is at least as good in all and better in one")
@pytest.mark.parametrize("objectives", [1, 2, 3, 5])
def test_the_front_is_what_asking_every_pair_leaves(objectives):
    random = np.random.default_rng(objectives)
    points = random.integers(0, 12, size=(300, objectives)).astype(float)
    front = Front(objectives)
    for k, point in enumerate(points):
        front.offer(Candidate(k, (), tuple(point)), tuple(point))
    unbeaten = {
        k
        for k, p in enumerate(points)
        if not any(np.all(q <= p) and np.any(q < p) for q in points)
        and not any(np.all(q == p) for q in points[:k])
    }
    assert {one.number for one in front.members} == unbeaten


@pytest.mark.expected_from("closed form", "412 steps of 0.01; a wish for more as a negative cost")
def test_more_and_less_are_both_told_as_costs_and_small_differences_go():
    counts = (Count("mass", "less", alike=0.01), Count("cover margin", "more"))
    found = {"mass": Answer(4.123), "cover margin": Answer(0.004)}
    assert costs(found, counts) == pytest.approx((4.12, -0.004))
    assert costs({"mass": Answer(4.0), "cover margin": Answer(None, "no loads")}, counts) is None


def test_the_few_worth_a_look_hold_the_best_of_each_answer():
    front = Front(2)
    for k in range(101):
        front.offer(Candidate(k, (), (k / 100, 1.0 - k / 100)), (k / 100, 1.0 - k / 100))
    picked = worth_a_look(front, 5)
    assert [one.number for one in picked] == [0, 25, 50, 75, 100]
    assert len(worth_a_look(front, 200)) == 101


def test_an_answer_that_is_missing_never_keeps_a_hard_limit():
    hard = (Count("ground", "more", at_least=0.0), Count("mass", "less"))
    assert standing({"ground": Answer(0.01)}, hard) == ("open", "mass")
    assert standing({"ground": Answer(-0.01)}, hard) == ("dropped", "ground")
    assert standing({"ground": Answer(None, "not given")}, hard) == ("dropped", "ground")
    soft = (Count("ground", "more", at_least=0.0, is_hard=False),)
    assert standing({"ground": Answer(-0.01)}, soft) == ("complete", "")
    assert standing({"ground": Answer(None, "not given")}, soft) == ("cannot say", "ground")
    assert standing({"a pan": Answer(None, "two solids")}, hard) == ("refused", "a pan")
