"""Level sensors and extraction tubes in pans whose answers can be worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import PanBody, Pickup
from sumpwright.body.fittings import Fitting
from sumpwright.findings import Verdict
from sumpwright.oil import OilInputs
from sumpwright.oil.check import check
from sumpwright.oil.solve import solve
from sumpwright.quantities import EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan

UP = np.array([0.0, 0.0, 1.0])


def leaned(degrees: float) -> np.ndarray:
    """Nose down: the front (x) is the low end."""
    turn = math.radians(degrees)
    return frozen_array([-math.sin(turn), 0.0, math.cos(turn)])


def pan(*fittings: Fitting, **more: object) -> PanBody:
    """300 x 200 x 120 mm deep: 0.06 m2."""
    body = body_of(plan("sump", box(0, 300, 0, 200), 120), **more)
    return replace(body, inputs=replace(body.inputs, fittings=fittings))


def wants(up: np.ndarray = UP, **more: object) -> OilInputs:
    asked = OilInputs(4e-3, 1e-3, None, 0.5e-3, 0.0, frozen_array(up), placement=EnginePlacement())
    return replace(asked, **more)  # type: ignore[arg-type]


def tube(x: float, y: float, z: float) -> Fitting:
    line = frozen_array(np.array([[x, y, -10], [x, y, z]]) * MM)
    at = frozen_array(np.array([x, 200, -10]) * MM)
    return Fitting("suck-out", "extraction tube", at, "plain", 0.012, inside=line, inside_diameter=0.010)


@pytest.mark.expected_from("closed form", "5 mm over a flat floor of 300 x 200 mm are 0.3 L")
def test_a_tube_over_a_flat_floor_leaves_what_lies_under_its_end() -> None:
    body = pan(tube(150, 100, -115))
    result = solve(wants(), body)
    (found,) = result.extractions
    assert found.left_behind == pytest.approx(0.3e-3, rel=1e-9)
    assert found.off_floor == pytest.approx(0.005)
    findings = {f.code: f for f in check(wants(), body, result).findings if f.code in ("OIL-15", "OIL-16")}
    assert findings["OIL-15"].verdict is Verdict.FAILS  # 5 % of 4 L are 0.2 L
    assert findings["OIL-15"].limit == pytest.approx(0.2e-3)
    assert findings["OIL-16"].verdict is Verdict.HOLDS


@pytest.mark.expected_from(
    "closed form", "floor 10 deg down to the front: a wedge whose surface is level through the tube's end"
)
@pytest.mark.parametrize(("x", "over"), [(290.0, 5.0), (150.0, 5.0)])
def test_a_tube_over_a_leaning_floor_leaves_a_wedge(x: float, over: float) -> None:
    up = leaned(10.0)
    (found,) = solve(wants(up), pan(tube(x, 100, -120 + over))).extractions
    # The oil's surface through the end: z = -115 + (x - x0) tan 10 deg falls towards ... the front lies low.
    slope = math.tan(math.radians(10.0))
    back = over / slope  # so far behind the end the surface meets the floor
    deep = over + (300.0 - x) * slope
    run = min(back + 300.0 - x, 300.0)
    shallow = deep - run * slope
    assert found.left_behind == pytest.approx(0.5 * (deep + shallow) * run * 200 * 1e-9, rel=1e-6)


@pytest.mark.expected_from("property", "an end outside the oil space sucks nothing and fails")
def test_an_end_outside_the_pan() -> None:
    body = pan(tube(150, 100, -125))
    result = solve(wants(), body)
    (found,) = result.extractions
    assert found.left_behind is None
    (finding,) = [f for f in check(wants(), body, result).findings if f.code == "OIL-15"]
    assert finding.verdict is Verdict.FAILS


def sensor(z: float) -> Fitting:
    at = frozen_array(np.array([0, 100, z]) * MM)
    return Fitting(
        "low oil", "sensor", at, "M18x1.5", 0.028, inside=frozen_array(np.array([[30, 100, z]]) * MM)
    )


@pytest.mark.expected_from(
    "closed form", "0.06 m2: 2.4 L at 40 mm, 0.6 L under a low mark of 3 L, 0.1 L under it running"
)
def test_a_sensor_between_low_mark_and_mouth() -> None:
    mouth = Pickup(frozen_array(np.array([150, 100, -110]) * MM), 0.03)
    for z, early, late in (
        (-80.0, Verdict.HOLDS, Verdict.HOLDS),
        (-60.0, Verdict.FAILS, Verdict.HOLDS),
        (-100.0, Verdict.HOLDS, Verdict.FAILS),
    ):
        body = pan(sensor(z), pickup=mouth)
        result = solve(wants(), body)
        (found,) = result.sensors
        volume = 0.06 * (0.120 + z * MM)
        assert found.switches_at == pytest.approx(volume)
        assert found.under_low == pytest.approx(3e-3 - volume)
        assert found.under_low_running == pytest.approx(2.5e-3 - volume)
        assert found.over_mouth == pytest.approx(0.110 + z * MM)
        findings = {
            f.code: f for f in check(wants(), body, result).findings if f.code in ("OIL-13", "OIL-14")
        }
        assert findings["OIL-13"].verdict is early
        assert findings["OIL-14"].verdict is late


@pytest.mark.expected_from("property", "a sensor whose switching point is not given cannot be judged")
def test_a_sensor_without_its_point() -> None:
    body = pan(replace(sensor(-80.0), inside=None))
    findings = check(wants(), body, solve(wants(), body)).findings
    assert [f.verdict for f in findings if f.code == "OIL-13"] == [Verdict.CANNOT_SAY]
