"""A flange in segments drawn together by its joints."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.kit.solve import solve
from sumpwright.weld.bow import solve_bow
from sumpwright.weld.bow_check import check_bow
from sumpwright.weld.bow_joints import hole_shifts, rigid_fit
from sumpwright.weld.bow_model import BowInputs
from sumpwright.weld.bow_pan import pan_panels
from sumpwright.weld.distortion_formulas import transverse_shrinkage
from tests.kit.made_bodies import kit_inputs, simple_body


@functools.cache
def kit():
    return solve(kit_inputs(etched=False, flange_in_segments=True), simple_body())


def joint_across(x, y0, y1):
    made = kit()
    one = next(joint for joint in made.joints if joint.kind == "flange joint")
    return replace(one, start=(x, y0, 0.0), end=(x, y1, 0.0))


@pytest.mark.expected_from(
    "closed form", "two joints that face each other on both long sides: ends come nearer by exactly the draw"
)
def test_joints_that_face_each_other_shorten_the_ring():
    made = kit()
    pan = pan_panels(made)
    ring = pan.panels[pan.flange]
    outer, inner = (pan.corners[list(line)] for line in ring.rings)
    x = 0.5 * (outer[:, 0].min() + outer[:, 0].max())
    low, high = outer[:, 1].min(), outer[:, 1].max()
    inside_low, inside_high = inner[:, 1].min(), inner[:, 1].max()
    facing = replace(made, joints=(joint_across(x, low, inside_low), joint_across(x, inside_high, high)))
    draw = 0.001
    shift = hole_shifts(facing, pan, draw)
    at = np.asarray(made.body.pattern.xy)
    front, rear = int(np.argmax(at[:, 0])), int(np.argmin(at[:, 0]))
    assert shift[rear, 0] - shift[front, 0] == pytest.approx(draw, rel=0.06)
    one = replace(made, joints=facing.joints[:1])
    bent = hole_shifts(one, pan, draw)
    assert np.hypot(*bent.T).max() > np.hypot(*shift.T).max() * 0.2


@pytest.mark.expected_from("property", "sliding and turning as a whole are taken off")
def test_a_rigid_move_is_no_shift():
    at = np.array([(0.0, 0.0), (0.4, 0.0), (0.4, 0.2), (0.0, 0.2)])
    move = np.array([0.001, -0.002]) + 1e-3 * np.column_stack([-at[:, 1], at[:, 0]])
    np.testing.assert_allclose(rigid_fit(at, move), move, atol=1e-12)


@pytest.mark.expected_from(
    "property", "draw by two rules; the finding compares the shift with the pilots' room"
)
def test_the_finding_tells_of_draw_and_shift():
    bow = solve_bow(BowInputs("TIG", True, cell=0.03), kit())
    assert bow.joint_draw[0] < bow.joint_draw[1]
    assert bow.joint_shift[1] / bow.joint_shift[0] == pytest.approx(bow.joint_draw[1] / bow.joint_draw[0])
    finding = next(f for f in check_bow(kit(), bow).findings if f.code == "WELD-64")
    assert finding.verdict in (Verdict.HOLDS, Verdict.CLOSE)
    assert "set apart" in finding.do
    assert transverse_shrinkage(1e-6, 0.001) == pytest.approx(1e-4)
