"""Ways round a seam that no order reaches: tried in full before they are said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.kit.solve import solve as solve_kit
from sumpwright.weld.check import check
from sumpwright.weld.entry import solids_by_part
from sumpwright.weld.obstacles import STRONGBACK, obstacles_of
from sumpwright.weld.remedies import find_remedies
from sumpwright.weld.replay import replay
from sumpwright.weld.solve import solve
from tests.body.hand_lumps import body_of, box, plan
from tests.body.hand_walls import upright
from tests.kit.nest_parts_by_hand import kit_inputs
from tests.weld.made_pans import torch, weld_inputs

WELD = weld_inputs(torch=torch(filler=None))


def kit_in():
    return replace(kit_inputs(), etched=False, nests=False)


def boxed_in_wall():
    """A sump with a roofed pocket in front of it; a wall stands between the pocket's floor and roof."""
    wall = upright("A", (390, 60), (390, 140), ends=True, thickness=2.0)
    return body_of(
        plan("sump", box(0, 250, 0, 200), 130),
        plan("kick", box(240, 560, -60, 260), 130, top=-70),
        walls=(wall,),
    )


@pytest.fixture(scope="module")
def stuck():
    kit = solve_kit(kit_in(), boxed_in_wall())
    result = solve(WELD, kit)
    return kit, result, find_remedies(WELD, kit_in(), kit, result, solve)


def reached(kit, result):
    """What the checker says of the plan when nothing may be left over."""
    plan_of_all = replace(result.plan, left_over=(), bare=())
    obstacles = obstacles_of(kit, WELD.strongback)
    seams = {seam.number: seam for seam in result.seams}
    return replay(plan_of_all, seams, WELD.torch, solids_by_part(obstacles), frozenset((STRONGBACK,)))


@pytest.mark.expected_from(
    "closed form", "welded to floor and roof of a closed pocket a wall has a last seam behind shut metal"
)
def test_a_wall_boxed_in_has_no_order_without_an_opening(stuck):
    kit, result, _ = stuck
    by_number = {seam.number: seam for seam in result.seams}
    assert "A to kick floor" in {by_number[n].where for n in result.plan.left_over}
    assert any("never welded" in fault for fault in reached(kit, result).faults)


@pytest.mark.expected_from("property", "with the opening that is proposed the checker finds nothing wrong")
def test_the_patch_plate_that_is_proposed_makes_an_order(stuck):
    kit, _, remedies = stuck
    patch = next(remedy for remedy in remedies if remedy.proposal.target == "patch_plates.+")
    assert "A to kick floor" in patch.reached
    # Made and planned again from the outside, by what the proposal says.
    import tomllib

    from sumpwright.job.fields import Setting
    from sumpwright.job.patch_sections import PatchPlateSection, build_patch_plates

    row = tomllib.loads(f"row = {patch.proposal.value}")["row"]
    section = PatchPlateSection.model_validate(row, context=Setting("mm", None))
    plates, told = build_patch_plates((section,))
    assert told == ()
    again = solve_kit(replace(kit_in(), patch_plates=plates), kit.body)
    assert not again.rebuild.refused
    plan_with = solve(WELD, again)
    assert plan_with.plan.left_over == plan_with.plan.bare == ()
    report = reached(again, plan_with)
    assert report.holds, (report.stuck, report.faults)
    # The plate goes on after the seam that it makes room for, and its own bead after that.
    by_number = {seam.number: seam for seam in plan_with.seams}
    steps = plan_with.plan.steps
    last_set = max(s.number for s in steps if s.action == "set" and plates[0].name in s.parts)
    wall = max(s.number for s in steps if s.seam and by_number[s.seam].where == "A to kick floor")
    own = [s for s in steps if s.seam and by_number[s.seam].kind == "patch plate"]
    assert wall < last_set < own[0].number
    assert by_number[own[0].seam].is_oil_tight
    assert own[0].seam not in plan_with.plan.unseen
    # Taken out of its order, the checker objects.
    early = [s for s in steps if s.action == "set" and plates[0].name in s.parts]
    spoilt = replace(plan_with.plan, steps=(*steps[:1], *early, *(s for s in steps[1:] if s not in early)))
    bad = replay(
        spoilt, by_number, WELD.torch, solids_by_part(obstacles_of(again, WELD.strongback)),
        frozenset((STRONGBACK,)),
    )  # fmt: skip
    assert not bad.holds


@pytest.mark.expected_from(
    "property", "the finding names the way that was tried, and the proposal stands with it"
)
def test_the_finding_says_what_works(stuck):
    kit, result, remedies = stuck
    report = check(WELD, kit, result, remedies)
    failing = [f for f in report.findings if f.code == "WELD-01"]
    assert {f.verdict for f in failing} == {Verdict.FAILS}
    assert any("patch plate that is proposed" in f.do for f in failing)
    assert "patch_plates.+" in {proposal.target for proposal in report.proposals}
    bare = check(WELD, kit, result)
    assert any("No opening" in f.do for f in bare.findings if f.code == "WELD-01")


@pytest.mark.expected_from("property", "where every seam is reached nothing is looked for")
def test_nothing_is_proposed_where_all_is_reached():
    kit = solve_kit(kit_in(), body_of(plan("sump", box(0, 300, 0, 200), 100)))
    result = solve(WELD, kit)
    assert result.plan.left_over == ()
    assert find_remedies(WELD, kit_in(), kit, result, solve) == ()


@pytest.mark.expected_from(
    "closed form", "a closed corner's inner bead behind a shut plate: an open corner has no bead inside"
)
def test_another_joint_moves_the_bead_outside():
    from sumpwright.kit.model import JointChoice

    sides = ("front", "left", "rear", "right")
    laps = tuple(JointChoice("sump floor", f"sump {side} wall", "full lap") for side in sides)
    lap = replace(kit_in(), joint_choices=laps)
    body = body_of(plan("sump", box(0, 300, 0, 200), 100))
    kit = solve_kit(lap, body)
    result = solve(WELD, kit)
    assert result.plan.left_over
    found = find_remedies(WELD, lap, kit, result, solve)
    assert found
    assert found[0].proposal.target in {f"joints.{k}.joint" for k in (1, 2, 3, 4)}
    assert found[0].proposal.value in ("open corner", "overlapped")
    assert len(found[0].plan.plan.left_over) < len(result.plan.left_over)
    # All of them taken together: every seam is reached, and the checker agrees.
    rows = list(laps)
    for remedy in found:
        at = int(remedy.proposal.target.split(".")[1]) - 1
        rows[at] = replace(rows[at], kind=remedy.proposal.value)
    open_kit = solve_kit(replace(lap, joint_choices=tuple(rows)), body)
    again = solve(WELD, open_kit)
    assert again.plan.left_over == ()
    assert reached(open_kit, again).holds
