"""The order of the build, and the checker that follows it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from sumpwright.weld.access import find_access
from sumpwright.weld.balance import greatest_pull, in_balance
from sumpwright.weld.entry import Ways, solids_by_part
from sumpwright.weld.model import Strongback
from sumpwright.weld.obstacles import STRONGBACK, as_arrays
from sumpwright.weld.order import Puzzle, find_order
from sumpwright.weld.replay import replay
from sumpwright.weld.runs import runs_of, tacks_along
from sumpwright.weld.solve import solve
from tests.weld.made_pans import order_rules, pan_kit, torch, weld_inputs
from tests.weld.test_access import X, Y, Z, plate, seam_along

RECTANGLE = [(0.0, 0.0), (0.3, 0.0), (0.3, 0.2), (0.0, 0.2)]


@pytest.fixture(scope="module")
def solved():
    kit = pan_kit(RECTANGLE, 0.1)
    return kit, solve(weld_inputs(), kit)


@pytest.mark.expected_from(
    "property", "a plain box can be set up whole, every seam welded once, from outside"
)
def test_a_plain_box_is_welded_once(solved):
    _, result = solved
    plan = result.plan
    assert plan.left_over == plan.bare == plan.bench == ()
    assert sorted(plan.order) == [seam.number for seam in result.seams]
    assert plan.unseen == ()
    sets = [step.number for step in plan.steps if step.action == "set"]
    welds = [step.number for step in plan.steps if step.action == "weld"]
    assert max(sets) < min(welds)
    assert plan.steps[0].parts == ("flange",)


@pytest.mark.expected_from("property", "the checker finds nothing wrong with a plan that was found")
def test_the_checker_agrees(solved):
    _, result = solved
    assert result.replay.holds, (result.replay.stuck, result.replay.faults)
    assert result.replay.stations > 40


@pytest.mark.expected_from(
    "property", "the checker sees a torch that goes through metal, a part that is missing, a seam left out"
)
def test_the_checker_catches_a_spoilt_plan(solved):
    kit, result = solved
    from sumpwright.weld.obstacles import obstacles_of

    inputs = weld_inputs()
    obstacles = obstacles_of(kit, inputs.strongback)
    seams = {seam.number: seam for seam in result.seams}
    solids, base = solids_by_part(obstacles), frozenset((STRONGBACK,))
    plan = result.plan
    k = next(k for k, step in enumerate(plan.steps) if step.action == "weld")
    step = plan.steps[k]

    turned = replace(step, holds=tuple(replace(hold, axis=-hold.axis, body=hold.body) for hold in step.holds))
    spoilt = replace(plan, steps=(*plan.steps[:k], turned, *plan.steps[k + 1 :]))
    report = replay(spoilt, seams, inputs.torch, solids, base)
    assert report.stuck
    assert any("angle" in fault for fault in report.faults)

    early = replace(plan, steps=(step, *plan.steps[:k], *plan.steps[k + 1 :]))
    assert any("before" in fault for fault in replay(early, seams, inputs.torch, solids, base).faults)

    short = replace(plan, steps=(*plan.steps[:k], *plan.steps[k + 1 :]), order=plan.order[1:])
    assert any("never welded" in fault for fault in replay(short, seams, inputs.torch, solids, base).faults)


def boxed_in(with_flange=True):
    """A channel under a flange: an inner rib is reached only before the lid is on."""
    prisms = [
        plate("flange", (-0.05, -0.05, -0.010), X, Y, 0.6, 0.4, 0.010),
        plate("left", (0.0, 0.0, 0.0), X, Z, 0.5, 0.06),
        plate("right", (0.0, 0.303, 0.0), X, Z, 0.5, 0.06),
        plate("rib", (0.25, 0.0, 0.0), Y, Z, 0.3, 0.06),
        plate("lid", (0.0, 0.0, 0.06), X, Y, 0.5, 0.3),
    ]
    seams = [
        seam_along((0.0, -0.003, 0.0), (0.5, -0.003, 0.0), -Y, Z, ("flange", "left")),
        seam_along((0.0, 0.303, 0.0), (0.5, 0.303, 0.0), Y, Z, ("flange", "right")),
        seam_along((0.253, 0.01, 0.0), (0.253, 0.29, 0.0), X, Z, ("flange", "rib")),
        seam_along((0.0, 0.0, 0.06), (0.5, 0.0, 0.06), -Y, Z, ("left", "lid")),
        seam_along((0.0, 0.3, 0.06), (0.5, 0.3, 0.06), Y, Z, ("right", "lid")),
    ]
    return prisms, [replace(seam, number=k) for k, seam in enumerate(seams, start=1)]


def ordered(prisms, seams):
    obstacles = as_arrays(prisms)
    access = find_access(seams, torch(filler=None), order_rules(), obstacles)
    names = frozenset(prism.name for prism in prisms)
    puzzle = Puzzle(
        {one.seam.number: one for one in access}, obstacles, Ways(obstacles), frozenset(("flange",)),
        frozenset(("rib",)), names - {"flange", "rib"},
    )  # fmt: skip
    return find_order(puzzle), puzzle


@pytest.mark.expected_from(
    "closed form", "a rib in a channel 60 mm high is welded before the lid is on, and nothing else has to be"
)
def test_an_inner_rib_comes_before_the_lid():
    order, _ = ordered(*boxed_in())
    assert order.stuck == ()
    units = [unit for stage in order.plate.stages for unit in stage.units]
    first, last = order.plate.stages[0], order.plate.stages[-1]
    assert frozenset(("lid",)) not in first.units
    assert 3 in first.seams
    assert last.units == (frozenset(("lid",)),)
    assert set(last.seams) >= {4, 5}
    assert len(units) == 5


@pytest.mark.expected_from(
    "closed form", "a rib whose two sides are needed by lid and flange both has a seam that no order reaches"
)
def test_what_no_order_reaches_is_said():
    prisms, seams = boxed_in()
    # The rib is to be tight to the lid as well, in a channel shut at both ends by the flange's own blocks.
    prisms += [
        plate("front block", (0.20, 0.0, 0.0), Y, Z, 0.3, 0.06),
        plate("rear block", (0.30, 0.0, 0.0), Y, Z, 0.3, 0.06),
    ]
    seams += [
        replace(seam_along((0.253, 0.01, 0.06), (0.253, 0.29, 0.06), X, -Z, ("rib", "lid")), number=6),
        replace(
            seam_along((0.203, 0.01, 0.0), (0.203, 0.29, 0.0), -X, Z, ("flange", "front block")), number=7
        ),
        replace(seam_along((0.303, 0.01, 0.0), (0.303, 0.29, 0.0), X, Z, ("flange", "rear block")), number=8),
    ]
    order, puzzle = ordered(prisms, seams)
    # Welded to the lid on the bench, the rib could not be welded to the flange any more.
    assert set(order.stuck) & {3, 6}
    assert puzzle.obstacles.names[-1] == "rear block"


@pytest.mark.expected_from(
    "property", "a part hemmed in on five sides leaves by the sixth, one shut in does not leave"
)
def test_parts_that_can_be_drawn_out():
    prisms, _ = boxed_in()
    ways = Ways(as_arrays(prisms))
    names = frozenset(prism.name for prism in prisms)
    assert ways.is_free(frozenset(("lid",)), names)
    assert ways.is_free(frozenset(("rib",)), names - {"lid"})
    ends = [
        plate("front end", (0.5, -0.003, 0.0), Y, Z, 0.306, 0.06),
        plate("rear end", (-0.003, -0.003, 0.0), Y, Z, 0.306, 0.06),
    ]
    shut = Ways(as_arrays([*prisms, *ends]))
    assert not shut.is_free(frozenset(("rib",)), names | {"front end", "rear end"})


@pytest.mark.expected_from("property", "four equal seams round a square: opposite ones follow each other")
def test_heat_goes_to_and_fro():
    kit = pan_kit([(0.0, 0.0), (0.2, 0.0), (0.2, 0.2), (0.0, 0.2)], 0.08)
    result = solve(weld_inputs(), kit)
    seams = {seam.number: seam for seam in result.seams}
    under = [n for n, seam in seams.items() if seam.kind == "wall under flange"]
    middle = np.array([0.1, 0.1, 0.0])
    order = in_balance(seams, under, middle, 1.0)
    for first, second in ((order[0], order[1]), (order[2], order[3])):
        apart = seams[first].path.mean(axis=0) + seams[second].path.mean(axis=0)
        assert apart[:2] == pytest.approx([0.2, 0.2])
    around = sorted(under, key=lambda n: float(np.arctan2(*(seams[n].path.mean(axis=0) - middle)[1::-1])))
    assert greatest_pull(seams, order, middle) < greatest_pull(seams, around, middle)


@pytest.mark.expected_from("property", "long seams come after all short ones")
def test_long_seams_come_late(solved):
    _, result = solved
    seams = {seam.number: seam for seam in result.seams}
    order = in_balance(seams, list(seams), np.array([0.15, 0.1, 0.0]), 0.25)
    lengths = [seams[n].length >= 0.25 for n in order]
    assert lengths == sorted(lengths)


@pytest.mark.expected_from(
    "property",
    "tacks start at the ends, halve the gaps, keep off the corners, and leave no gap over the pitch",
)
@pytest.mark.parametrize("length", [0.02, 0.05, 0.183, 0.39, 0.78])
def test_tacks(length):
    tacks = tacks_along(length, 0.04)
    assert min(tacks) >= min(0.010, 0.25 * length) - 1e-12
    assert max(tacks) <= length - min(0.010, 0.25 * length) + 1e-12
    if len(tacks) > 1:
        assert max(np.diff(sorted(tacks))) <= 0.04 + 1e-9
        assert tacks[0] == min(tacks)
        assert tacks[1] == max(tacks)


@pytest.mark.expected_from(
    "property", "no run of a tight seam begins or ends within 10 mm of a corner; together they cover it"
)
def test_starts_and_stops_keep_out_of_corners(solved):
    _, result = solved
    seams = {seam.number: seam for seam in result.seams}
    for seam in result.seams:
        runs = runs_of(seam, seams, None, order_rules())
        assert runs.round_start is not None
        assert runs.round_end is not None
        for run in runs.runs:
            for at in (run.start, run.end):
                assert abs(at) >= 0.010
                assert abs(at - seam.length) >= 0.010
            assert run.end < run.start  # back-stepped
        covered = sorted((run.end, run.start) for run in runs.runs)
        assert covered[0][0] < 0.0
        assert covered[-1][1] > seam.length
        for (_, high), (low, _) in pairwise(covered):
            assert low <= high + 1e-9


@pytest.mark.expected_from("property", "same kit, same plan")
def test_the_plan_repeats():
    kit = pan_kit(RECTANGLE, 0.06)
    one, two = solve(weld_inputs(), kit), solve(weld_inputs(), kit)
    assert one.plan.order == two.plan.order
    assert [step.parts for step in one.plan.steps] == [step.parts for step in two.plan.steps]


@pytest.mark.expected_from(
    "property", "a plate that stands far out keeps the torch from seams close under the flange's edge"
)
def test_the_strongback_is_in_the_way():
    kit = pan_kit(RECTANGLE, 0.1)
    near = solve(weld_inputs(), kit)
    far = solve(weld_inputs(strongback=Strongback(0.2, 0.3, False, 0.01)), kit)
    assert near.plan.left_over == ()
    assert far.replay.holds


@pytest.mark.expected_from(
    "property", "no greater pull on the way than when all are welded, if an order has it"
)
def test_long_seams_come_a_little_sooner_where_that_keeps_the_balance():
    import math

    def at(number, x, y, length):
        start = (x - 0.5 * length, y, 0.0)
        return replace(seam_along(start, (x + 0.5 * length, y, 0.0), -Y, Z, ("a", "b")), number=number)

    # Ten short seams on the left, two long ones on the right that outweigh half of them.
    short = [at(k, 0.02 * k - 0.1, 0.3, 0.015) for k in range(1, 11)]
    long_ones = [at(11, 0.0, -0.05, 0.35), at(12, 0.0, -0.06, 0.35)]
    seams = {seam.number: replace(seam, fill_volume=seam.length * 4e-6) for seam in (*short, *long_ones)}
    middle = np.zeros(3)
    order = in_balance(seams, sorted(seams), middle, 0.3)
    places = {n: k for k, n in enumerate(order)}
    assert min(places[11], places[12]) >= 8
    strict = [*range(1, 11), 11, 12]
    assert greatest_pull(seams, order, middle) < greatest_pull(seams, strict, middle)
    assert sorted(order) == sorted(seams)
    assert math.isfinite(greatest_pull(seams, order, middle))
