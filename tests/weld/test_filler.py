"""Filler and machine for every pair: the choice, hot oil, current and duty."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.kit.solve import solve
from sumpwright.weld.filler import choose_fillers, pair_amps
from sumpwright.weld.filler_check import check_fillers
from sumpwright.weld.filler_model import FillerInputs, FillerPlan, SoundCoupon
from sumpwright.weld.model import Welder
from tests.kit.made_bodies import kit_inputs, simple_body

STRONG = Welder("TIG", "AC/DC", 5.0, 200.0, 0.35, 200.0)
INPUTS = FillerInputs(STRONG, 393.15)


@functools.cache
def kit(material="5052-H32", flange="6061-T6"):
    return solve(kit_inputs(material=material, flange_material=flange, etched=False), simple_body())


def said(inputs, **metals):
    made = kit(**metals)
    report = check_fillers(inputs, choose_fillers(inputs, made))
    return {(f.code, f.where): f for f in report.findings}


def verdicts(inputs, code, **metals):
    return {f.verdict for (c, _), f in said(inputs, **metals).items() if c == code}


@pytest.mark.expected_from("property", "every welded joint of the kit belongs to one pair")
def test_every_joint_is_in_a_pair():
    plan = choose_fillers(INPUTS, kit())
    assert sum(pair.length for pair in plan.pairs) == pytest.approx(
        sum(joint.length for joint in kit().joints if joint.kind != "bend")
    )
    fillers = {(pair.metal_a, pair.metal_b): pair.filler for pair in plan.pairs}
    assert fillers == {("5052-H32", "5052-H32"): "ER5554", ("5052-H32", "6061-T6"): "ER4043"}


@pytest.mark.expected_from("property", "5356 only where the oil stays below its limit")
def test_only_5356_on_the_rack_fails_in_hot_oil():
    rack = replace(INPUTS, rods=("ER5356", "ER70S-2"))
    assert verdicts(rack, "WELD-50") == {Verdict.FAILS}
    assert verdicts(rack, "WELD-51") == {Verdict.FAILS}
    assert verdicts(replace(INPUTS, rods=("ER4043",)), "WELD-50") == {Verdict.HOLDS}
    assert not verdicts(replace(INPUTS, rods=("ER4043",)), "WELD-51")
    assert verdicts(replace(INPUTS, rods=("ER70S-2",)), "WELD-50") == {Verdict.CLOSE}
    # 5356 is no trouble where the oil stays cold.
    assert verdicts(replace(rack, hot_oil=330.0), "WELD-51") == {Verdict.HOLDS}


def test_aluminium_to_steel_is_refused():
    findings = said(INPUTS, material="mild", flange="6061-T6")
    pair = next(f for (code, where), f in findings.items() if code == "WELD-50" and "6061" in where)
    assert pair.verdict is Verdict.FAILS
    assert "bolt" in pair.do


@pytest.mark.expected_from("closed form", "3 mm aluminium wants 117 A or more: 100 A fail, 150 A are close")
def test_a_welder_that_is_too_small_fails():
    low, high = pair_amps("TIG", "aluminium", 0.003, 0.003)
    assert low == pytest.approx(60 + (3.0 - 1.6) / 1.6 * 65)
    assert high == pytest.approx(90 + (3.0 - 1.6) / 1.6 * 70)
    weak = replace(INPUTS, welder=replace(STRONG, most_amps=100.0))
    assert verdicts(weak, "WELD-54") == {Verdict.FAILS}
    middling = replace(INPUTS, welder=replace(STRONG, most_amps=150.0))
    assert Verdict.CLOSE in verdicts(middling, "WELD-54")
    short = replace(INPUTS, welder=replace(STRONG, duty=0.10, duty_amps=150.0))
    assert Verdict.CLOSE in verdicts(short, "WELD-55")


def test_direct_current_does_not_weld_aluminium_by_tungsten():
    only_dc = replace(INPUTS, welder=replace(STRONG, current="DC"))
    assert verdicts(only_dc, "WELD-53") == {Verdict.FAILS}
    wire = replace(INPUTS, welder=replace(STRONG, process="MIG", current="DC"))
    assert not verdicts(wire, "WELD-53")
    assert not verdicts(only_dc, "WELD-53", material="mild", flange="mild")


def test_stainless_asks_for_a_purge():
    assert verdicts(INPUTS, "WELD-56", material="304", flange="304") == {Verdict.CLOSE}
    purged = replace(INPUTS, welder=replace(STRONG, has_purge=True))
    assert verdicts(purged, "WELD-56", material="304", flange="304") == {Verdict.HOLDS}
    assert not verdicts(INPUTS, "WELD-56", material="mild", flange="mild")


def test_a_coupon_of_the_same_pair_is_asked_for_first():
    assert verdicts(INPUTS, "WELD-57") == {Verdict.CLOSE}
    sound = replace(INPUTS, sound=(SoundCoupon("5052-H32", "5052-H32", 0.003),))
    assert verdicts(sound, "WELD-57") == {Verdict.HOLDS, Verdict.CLOSE}


def test_a_sheet_outside_the_table_cannot_be_said():
    pair = next(iter(choose_fillers(INPUTS, kit()).pairs))
    outside = check_fillers(INPUTS, FillerPlan((replace(pair, amps=None),), 393.0))
    assert [f.verdict for f in outside.findings if f.code == "WELD-52"] == [Verdict.CANNOT_SAY]


@pytest.mark.expected_from(
    "property", "a thinner inner wall, a boss and its ring are pairs like the shell's own"
)
def test_what_is_inside_has_its_filler_too():
    import numpy as np

    from sumpwright.body.fittings import Fitting
    from sumpwright.quantities.units import frozen_array
    from tests.body.hand_lumps import body_of, box, plan
    from tests.body.hand_walls import upright

    wall = upright("A", (150, 0), (150, 200), thickness=1.5)
    drain = Fitting("drain", "drain", frozen_array(np.array([0.2, 0.1, -0.12])), "M18x1.5", 0.028)
    body = body_of(plan("sump", box(0, 300, 0, 200), 120), walls=(wall,), fittings=(drain,))
    made = solve(kit_inputs(etched=False), body)
    pairs = {pair.what: pair for pair in choose_fillers(INPUTS, made).pairs}
    inner = pairs["inner walls"]
    assert (inner.thin, inner.thick) == (0.0015, 0.002)
    # Two sides of 120 mm and the floor's 200 mm.
    assert inner.length == pytest.approx(0.440, abs=1e-6)
    assert inner.amps is not None
    shell = pairs["sheet to sheet"]
    joints = [joint for joint in made.joints if joint.kind not in ("bend", "wall under flange")]
    # The boss goes in with its girth, its ring with its edge.
    more = np.pi * 0.028 + np.pi * (0.028 + 0.0003 + 0.024)
    assert shell.length == pytest.approx(sum(joint.length for joint in joints) + more, rel=1e-6)
    assert shell.seams == len(joints) + 2
