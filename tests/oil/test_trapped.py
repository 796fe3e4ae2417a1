"""Oil that never drains back: given, measured behind each drain-back, or a band."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import Pickup
from sumpwright.motion import solve as motion
from sumpwright.motion.model import Loads, MotionInputs
from sumpwright.oil import OilInputs
from sumpwright.oil.check import check
from sumpwright.oil.model import HeldBehind
from sumpwright.oil.solve import solve
from sumpwright.oil.trapped import trapped_of
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan

UP = frozen_array([0.0, 0.0, 1.0])
ASKED = OilInputs(4e-3, 1e-3, None, 0.5e-3, None, UP, placement=EnginePlacement())


@pytest.mark.expected_from(
    "closed form", "0.1 + 0.2 L level; nose 0.3 more, lean 0.1 more at their worse ends"
)
def test_what_each_drain_back_holds() -> None:
    held = (
        HeldBehind("front", 0.1e-3, held_nose_up=0.3e-3, held_lean_left=0.15e-3),
        HeldBehind("rear", 0.2e-3, held_nose_up=0.3e-3, held_nose_down=0.25e-3, held_lean_left=0.25e-3),
    )
    found = trapped_of(replace(ASKED, held_behind=held))
    assert found.basis == "measured"
    assert found.trapped_least == found.trapped_most == pytest.approx(0.3e-3)
    assert found.more_on_slopes == pytest.approx(0.3e-3 + 0.1e-3)
    assert trapped_of(replace(ASKED, trapped=0.4e-3, held_behind=held)).trapped_most == 0.4e-3


@pytest.mark.expected_from(
    "property", "common practice, no source: a band only where the engine is laid over"
)
def test_a_band_for_an_engine_laid_over() -> None:
    lean = math.radians(15.0)
    leaned = frozen_array([0.0, math.sin(lean), math.cos(lean)])
    straight, over = trapped_of(ASKED), trapped_of(replace(ASKED, up=leaned))
    assert (straight.basis, straight.trapped_most) == ("taken as none", 0.0)
    assert (over.basis, over.trapped_least, over.trapped_most) == ("band", 0.0, pytest.approx(0.2e-3))
    body = body_of(plan("sump", box(0, 300, 0, 200), 120))
    inputs = replace(ASKED, up=leaned)
    result = solve(inputs, body)
    assert result.volume_full == pytest.approx(4e-3)  # the marks count none of it
    none = solve(replace(inputs, trapped=0.0), body)
    assert result.level_lowest_running is not None
    assert none.level_lowest_running is not None
    assert result.level_lowest_running < none.level_lowest_running
    assert any(a.key == "oil.trapped" and "{most}" in a.says for a in check(inputs, body, result).assumptions)


@pytest.mark.expected_from("property", "what a slope traps is not there to cover the mouth on it")
def test_cover_on_slopes_lacks_what_they_trap() -> None:
    mouth = Pickup(frozen_array(np.array([150, 100, -110]) * MM), 0.03)
    body = body_of(plan("sump", box(0, 300, 0, 200), 120), pickup=mouth)
    asked = MotionInputs(EnginePlacement(), Loads(nose_up=math.radians(10.0), left_turn=2.0))
    covers = []
    for more in (None, 0.4e-3):
        held = (HeldBehind("rear", 0.2e-3, held_nose_up=None if more is None else 0.2e-3 + more),)
        oil = solve(replace(ASKED, held_behind=held), body)
        covers.append(motion.solve(asked, body, oil))
    dry, wet = covers[1], covers[0]
    assert dry.tightest_slope is not None
    assert wet.tightest_slope is not None
    # Standing level with 0.4 L less on 0.06 m2: 6.7 mm less; the pull is straight, the surface moves alike.
    assert wet.tightest_slope.cover - dry.tightest_slope.cover == pytest.approx(
        0.4e-3 / 0.06 * math.cos(math.radians(10.0)), rel=1e-6
    )
    assert dry.tightest_acceleration == wet.tightest_acceleration
