"""Heads of the clamp bolts: passed where the torch can be held clear of them, else taken out and said so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.kit.solve import solve as solve_kit
from sumpwright.weld.check import check
from sumpwright.weld.clamp_bolts import HEAD_SHARE, WASHER, bolt_prisms
from sumpwright.weld.entry import solids_by_part
from sumpwright.weld.obstacles import STRONGBACK, as_arrays, obstacles_of
from sumpwright.weld.replay import replay
from sumpwright.weld.solve import solve
from tests.body.hand_lumps import body_of, box, pattern_round, plan
from tests.kit.made_bodies import kit_inputs
from tests.weld.made_pans import torch, weld_inputs

WELD = weld_inputs(torch=torch(filler=None))


def made(beside):
    """A small sump whose bolts lie so far beside its walls (mm), and its plan."""
    body = body_of(plan("sump", box(0, 200, 0, 140), 80), pattern=pattern_round(0, 200, 0, 140, beside))
    kit = solve_kit(kit_inputs(etched=False), body)
    assert kit.parts, kit.rebuild.why
    return kit, solve(WELD, kit)


def checked(kit, result, plan_made):
    """The checker's answer with the heads of all bolts there."""
    bolts = bolt_prisms(kit)
    solids = solids_by_part(as_arrays([*obstacles_of(kit, WELD.strongback).prisms, *bolts]))
    base = frozenset((STRONGBACK, *(bolt.name for bolt in bolts)))
    return replay(plan_made, {seam.number: seam for seam in result.seams}, WELD.torch, solids, base)


@pytest.fixture(scope="module")
def near():
    return made(16.0)


@pytest.mark.expected_from(
    "closed form", "M6 head of 10 mm over flats: 5.77 mm to a corner, under the flange"
)
def test_where_the_heads_are(near):
    kit, _ = near
    heads = bolt_prisms(kit)
    bolted = [f for f in kit.body.pattern.fasteners if f.kind != "dowel"]
    assert len(heads) == len(bolted)
    fastener, head = bolted[0], heads[0]
    assert head.thickness == pytest.approx(HEAD_SHARE * fastener.diameter + WASHER)
    low, _, high, _ = head.shape.bounds
    from sumpwright.tables.fasteners import across_flats

    flats = across_flats(fastener.thread).value
    assert high - low == pytest.approx(2.0 * flats / np.sqrt(3.0), rel=1e-6)
    # It stands on the flange's underside and points down.
    assert head.frame.origin[2] == pytest.approx(-kit.body.inputs.flange_thickness)
    assert head.frame.normal[2] == pytest.approx(-1.0)


@pytest.mark.expected_from(
    "property", "the checker passes the plan with every head there, and not without what it says"
)
def test_bolts_in_the_way_come_out(near):
    kit, result = near
    out = [step for step in result.plan.steps if step.bolts_out]
    assert out, "heads 16 mm beside the wall are in the way of a 14 mm cup"
    assert result.plan.left_over == ()
    assert checked(kit, result, result.plan).holds
    kept_in = replace(result.plan, steps=tuple(replace(step, bolts_out=()) for step in result.plan.steps))
    report = checked(kit, result, kept_in)
    assert not report.holds
    assert all(name.startswith("clamp bolt") for stuck in report.stuck for name in stuck.by)
    (finding,) = [f for f in check(WELD, kit, result).findings if f.code == "WELD-11"]
    assert finding.figures[0].value == len({name for step in out for name in step.bolts_out})


@pytest.mark.expected_from("property", "the farther the bolts lie beside the wall, the fewer come out")
def test_bolts_far_away_stay_in(near):
    _, close = near
    kit, far = made(45.0)
    count = [len({name for step in each.plan.steps for name in step.bolts_out}) for each in (close, far)]
    assert count[1] < count[0]
    assert checked(kit, far, far.plan).holds
