"""What the weld stage says of a plan."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.weld.check import check
from sumpwright.weld.hold_points import hold_points
from sumpwright.weld.model import Blocked, ReplayReport, Strongback, WeldResult
from sumpwright.weld.solve import solve
from tests.weld.made_pans import pan_kit, weld_inputs

RECTANGLE = [(0.0, 0.0), (0.3, 0.0), (0.3, 0.2), (0.0, 0.2)]


@pytest.fixture(scope="module")
def solved():
    kit = pan_kit(RECTANGLE, 0.1)
    return kit, solve(weld_inputs(), kit)


def said(report, code):
    return [finding for finding in report.findings if finding.code == code]


@pytest.mark.expected_from("property", "a plain box holds; its thick flange on thin walls is warned of")
def test_a_plain_box(solved):
    kit, result = solved
    report = check(weld_inputs(), kit, result)
    assert said(report, "WELD-01")[0].verdict is Verdict.HOLDS
    assert said(report, "WELD-05")[0].verdict is Verdict.HOLDS
    (cold,) = said(report, "WELD-08")
    assert cold.verdict is Verdict.CLOSE
    assert cold.value == pytest.approx(10.0 / 3.0)
    assert report.proposals == ()


@pytest.mark.expected_from("property", "a seam out of reach fails and says where, how long, and by what")
def test_a_seam_out_of_reach(solved):
    kit, result = solved
    seam = result.seams[0]
    stretch = Blocked(seam.number, 0.02, 0.09, (0.1, 0.0, -0.01), ("strongback", "wall 2"))
    plan = replace(result.plan, left_over=(seam.number,), blocked=(stretch,))
    report = check(weld_inputs(), kit, replace(result, plan=plan))
    (finding,) = said(report, "WELD-01")
    assert finding.verdict is Verdict.FAILS
    assert finding.value == pytest.approx(0.07)
    assert finding.place == (0.1, 0.0, -0.01)
    assert "strongback and wall 2" in finding.says
    # Nothing is proposed for it that was not tried.
    assert report.proposals == ()


@pytest.mark.expected_from(
    "property", "a bare side behind a shut plate: an open one may help, and is not tried yet"
)
def test_a_bare_side_behind_the_plate(solved):
    kit, result = solved
    seam = result.seams[0]
    stretch = Blocked(seam.number, 0.02, 0.09, (0.1, 0.0, -0.01), ("strongback",))
    plan = replace(result.plan, bare=(seam.number,), blocked=(stretch,))
    (proposal,) = check(weld_inputs(), kit, replace(result, plan=plan)).proposals
    assert (proposal.code, proposal.target, proposal.value) == ("WELD-02", "weld.plate_open", "true")
    assert "not tried" in proposal.effect
    is_open = weld_inputs(strongback=Strongback(0.02, 0.0, True, 0.01))
    assert check(is_open, kit, replace(result, plan=plan)).proposals == ()


@pytest.mark.expected_from("property", "without a kit nothing is planned, and that is said")
def test_nothing_to_weld(solved):
    kit, _ = solved
    report = check(weld_inputs(), kit, WeldResult(()))
    assert [finding.verdict for finding in report.findings] == [Verdict.CANNOT_SAY]


@pytest.mark.expected_from("property", "where the checker disagrees the plan fails")
def test_a_plan_that_the_checker_refuses(solved):
    kit, result = solved
    bad = ReplayReport(3, (), ("step 4 welds a to b before b is there",))
    report = check(weld_inputs(), kit, replace(result, replay=bad))
    assert said(report, "WELD-05")[0].verdict is Verdict.FAILS


@pytest.mark.expected_from(
    "closed form", "gap sqrt(2) 0.2 mm against a quarter of 3 mm; of 1 mm it would not do"
)
def test_fit_up_against_a_quarter_of_the_sheet(solved):
    kit, result = solved
    (finding,) = said(check(weld_inputs(), kit, result), "WELD-09")
    assert finding.value == pytest.approx(0.000282842712)
    assert finding.limit == pytest.approx(0.00075)
    assert finding.verdict is Verdict.HOLDS
    thin = tuple(replace(seam, thickness_a=0.001, thickness_b=0.001) for seam in result.seams)
    (worse,) = said(check(weld_inputs(), kit, replace(result, seams=thin)), "WELD-09")
    assert worse.verdict is Verdict.FAILS


@pytest.mark.expected_from(
    "property", "stops come in order; the trial on the engine when all is tacked, cold after the last"
)
def test_stops_in_order(solved):
    kit, result = solved
    stops = hold_points(kit, result.plan.steps, ("under the ring",))
    assert [stop.number for stop in stops] == list(range(1, len(stops) + 1))
    after = [stop.after_step for stop in stops]
    assert after == sorted(after)
    by_name = {stop.name: stop for stop in stops}
    sets = [step.number for step in result.plan.steps if step.action == "set"]
    assert by_name["Parts on arrival"].after_step == 0
    assert by_name["Tacked trial on the engine"].after_step == max(sets)
    assert by_name["Cold on the plate"].after_step == result.plan.steps[-1].number
    assert any("under the ring" in line for line in by_name["Cleaned inside"].checks)
    assert any("crank turned twice" in line for line in by_name["Tacked trial on the engine"].checks)
