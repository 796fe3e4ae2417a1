"""Functions whose fronts and indices are published, through the driver that tries pans."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.explore.crew import Alone
from sumpwright.explore.explore import explore
from sumpwright.explore.model import Axis, Count, Question
from sumpwright.explore.orders import design, spread
from sumpwright.explore.store import Store
from tests.explore.problems import FINE, Published


def question(
    function: str, sizes: tuple[int, ...], counts: tuple[Count, ...], way="grid", variants=0, **more
):
    axes = tuple(Axis(f"x{k + 1}", n) for k, n in enumerate(sizes))
    return Question(axes, counts, Published(function, sizes), way, variants or math.prod(sizes), **more)


def answer(asked: Question):
    with Store(None) as store:
        return explore(asked, "plan", store, Alone())


TWO = (Count("f1", "less"), Count("f2", "less"))


@pytest.mark.expected_from("published", "Zitzler, Deb, Thiele 2000, Evolutionary Computation 8(2), T1 and T2")
@pytest.mark.parametrize(
    ("function", "front"), [("zdt1", lambda x: 1.0 - math.sqrt(x)), ("zdt2", lambda x: 1.0 - x * x)]
)
def test_a_grid_finds_the_published_front_and_nothing_else(function, front):
    """Every x1 of the grid with the other inputs at nought is on the front, and nothing else is."""
    found = answer(question(function, (21, 4, 4), TWO))
    assert len(found.front.members) == 21
    for one in found.front.members:
        assert one.says[1:] == ("0", "0")
        assert one.values[1] == pytest.approx(front(one.values[0]), abs=1e-12)


@pytest.mark.expected_from("published", "Zitzler, Deb, Thiele 2000, Evolutionary Computation 8(2), T1")
def test_a_search_comes_near_the_published_front():
    """Of 6 inputs in 1001 steps each: how far above the front the unbeaten lie, on the mean.

    A spread of as many variants is the yardstick: chance alone does not come near.
    """

    def beyond(found) -> float:
        return float(
            np.mean([one.values[1] - (1.0 - math.sqrt(one.values[0])) for one in found.front.members])
        )

    sizes = (1001,) * 6
    searched = answer(question("zdt1", sizes, TWO, "search", 1200, batch=40, seed=3))
    spread_out = answer(question("zdt1", sizes, TWO, "spread", 1200, seed=3))
    assert 0.0 <= beyond(searched) < 0.03
    assert beyond(searched) < 0.05 * beyond(spread_out)
    assert max(one.values[0] for one in searched.front.members) > 0.7
    assert min(one.values[0] for one in searched.front.members) < 0.05


@pytest.mark.expected_from("published", "Binh and Korn 1997, MENDEL 97, 176-182; front as in Deb 2001, 362")
def test_a_search_keeps_to_limits_and_reaches_the_front_that_touches_them():
    """The front runs along x = y up to 3, then along y = 3 up to x = 5; f1 from 0 to 136."""
    counts = (*TWO, Count("f3", "only the limit", at_most=25.0), Count("f4", "only the limit", at_least=7.7))
    found = answer(question("binh-korn", (1001, 1001), counts, "search", 800, batch=40, seed=1))
    members = found.front.members
    assert all(one.values[2] <= 25.0 and one.values[3] >= 7.7 for one in members)
    assert dict(found.dropped).keys() <= {"f3", "f4"}
    assert min(one.values[0] for one in members) < 6.0
    assert max(one.values[0] for one in members) > 115.0
    for one in members:
        x = math.sqrt(one.values[0] / 8.0)  # on x = y
        beyond = math.sqrt(max(one.values[0] - 36.0, 0.0) / 4.0)  # on y = 3
        on_front = 2.0 * (x - 5.0) ** 2 if x <= 3.0 else (beyond - 5.0) ** 2 + 4.0
        assert one.values[1] >= on_front - 1e-9
        assert one.values[1] <= on_front + 4.0


@pytest.mark.expected_from("closed form", "Ishigami and Homma 1990; Saltelli et al. 2008, p. 182")
def test_what_matters_agrees_with_ishigamis_closed_form():
    """V = a^2/8 + b pi^4/5 + b^2 pi^8/18 + 1/2; 1,024 rounds leave a scatter of some hundredths."""
    a, b = 7.0, 0.1
    whole = a * a / 8 + b * math.pi**4 / 5 + b * b * math.pi**8 / 18 + 0.5
    v1 = 0.5 * (1.0 + b * math.pi**4 / 5) ** 2
    v2 = a * a / 8
    v13 = b * b * math.pi**8 * (1.0 / 18 - 1.0 / 50)
    found = answer(
        question("ishigami", (FINE,) * 3, (Count("f1", "less"),), "matters", 5 * 1024, seed=2)
    ).shares[0]
    assert found.rounds == 1024
    assert found.alone == pytest.approx((v1 / whole, v2 / whole, 0.0), abs=0.05)
    assert found.in_all == pytest.approx(((v1 + v13) / whole, v2 / whole, v13 / whole), abs=0.05)
    for share, low, high in zip(found.in_all, found.in_all_low, found.in_all_high, strict=True):
        assert low <= share <= high


@pytest.mark.expected_from("property", "one of 2^k points in each of 2^k equal steps of every axis")
def test_a_spread_reaches_every_step_of_every_axis_alike():
    axes = tuple(Axis(f"x{k}", 16) for k in range(5))
    levels = np.array(list(spread(axes, 256, 7)))
    for column in levels.T:
        assert np.all(np.bincount(column, minlength=16) == 16)


def test_the_same_seed_gives_the_same_spread_and_another_another():
    axes = (Axis("a", 1000), Axis("b", 1000))
    assert list(spread(axes, 50, 1)) == list(spread(axes, 50, 1))
    assert list(spread(axes, 50, 1)) != list(spread(axes, 50, 2))


def test_the_design_changes_one_input_at_a_time():
    axes = tuple(Axis(f"x{k}", 1000) for k in range(3))
    rows = {place: levels for levels, place in design(axes, 4, 1)}
    assert len(rows) == 4 * 5
    for row in range(4):
        first, second = rows["A", row], rows["B", row]
        for k in range(3):
            assert rows[f"AB {k}", row] == (*first[:k], second[k], *first[k + 1 :])


def test_what_cannot_be_answered_for_many_is_not_said_to_matter():
    counts = (Count("f1", "less"), Count("f9", "less"))
    found = answer(question("zdt1", (50, 50), counts, "matters", 64))
    assert found.shares[1].why_not.startswith("16 of 16 rounds")
    assert not found.shares[0].why_not


def test_a_search_is_the_same_every_time():
    asked = question("zdt1", (101,) * 3, TWO, "search", 120, batch=20, seed=5)
    first, second = answer(asked), answer(asked)
    assert first.front.members == second.front.members
    other = answer(question("zdt1", (101,) * 3, TWO, "search", 120, batch=20, seed=6))
    assert first.front.members != other.front.members
