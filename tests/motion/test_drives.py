"""Manoeuvres, failing doors and tried changes on a small pan; slosh formulas against theory."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.motion import drives
from sumpwright.motion.drive_check import check, verdict_of
from sumpwright.motion.driven_model import Driven, DrivenOil
from sumpwright.motion.drives import DoorFailure, DriveInputs, DriveResult, Driving, Tried
from sumpwright.motion.formulas import slosh_damping, slosh_frequency
from sumpwright.motion.loads import envelope_of
from sumpwright.motion.manoeuvres import Motion, manoeuvres, pulls_of, ramp, still
from sumpwright.motion.model import Loads, MotionInputs
from sumpwright.oil.model import OilInputs
from sumpwright.quantities import STANDARD_GRAVITY, Attitude, EnginePlacement, Load

G = STANDARD_GRAVITY


@pytest.mark.expected_from(
    "published", "sloshing-theory: 0.40 m long, 0.10 m deep: 1.1311 Hz; third mode 2.398 Hz"
)
def test_own_frequency_of_a_tank() -> None:
    assert slosh_frequency(0.40, 0.10, G) / (2 * math.pi) == pytest.approx(1.1311, rel=1e-3)
    assert slosh_frequency(0.40, 0.10, G, 3.0) / (2 * math.pi) == pytest.approx(2.398, rel=1e-3)


@pytest.mark.expected_from(
    "closed form",
    "boundary layers on walls and floor plus the bulk: 0.40 x 0.20 x 0.10 m, 10 mm2/s: 0.0077 + 0.0002",
)
def test_damping_of_smooth_walls() -> None:
    assert slosh_damping(0.40, 0.20, 0.10, 1e-5) == pytest.approx(0.00772 + 0.0002, rel=0.02)
    assert slosh_damping(0.40, 0.20, 0.10, 1e-4) == pytest.approx(0.024 + 0.002, rel=0.03)
    # Very deep: sinh leaves the floats' range unless it is held.
    assert math.isfinite(slosh_damping(0.01, 0.01, 10.0, 1e-5))


@pytest.mark.expected_from(
    "closed form", "climbing 20 % at 0.3 g: 26.837 degrees to the rear, 1.0989 g; 0.5 g: 26.565 degrees"
)
def test_pulls_of_slope_and_acceleration() -> None:
    climb = math.atan(0.2)
    one = still(1)
    motion = Motion(one.forward + 0.3 * G, one.left, one.up, one.nose_up + climb, one.lean_right)
    pull = pulls_of(motion, EnginePlacement())[0]
    assert math.degrees(math.atan2(-pull[0], -pull[2])) == pytest.approx(26.837, abs=0.001)
    assert np.linalg.norm(pull) / G == pytest.approx(1.0989, abs=1e-4)
    turn = pulls_of(
        Motion(one.forward, one.left + 0.5 * G, one.up, one.nose_up, one.lean_right), EnginePlacement()
    )[0]
    assert math.degrees(math.atan2(-turn[1], -turn[2])) == pytest.approx(26.565, abs=0.001)


@pytest.mark.expected_from("property", "the same pull as the frames' own matrices, in any placement")
def test_pulls_agree_with_the_frames() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        nose, lean, turned, up, forward, left = rng.uniform(-0.6, 0.6, 6)
        placement = EnginePlacement(Attitude(*rng.uniform(-0.5, 0.5, 3)))
        load = Load(Attitude(0.0, nose, lean), forward * G, left * G, up * G)
        one = still(1)
        motion = Motion(
            one.forward + forward * G,
            one.left + left * G,
            one.up + up * G,
            one.nose_up + nose,
            one.lean_right + lean,
        )
        np.testing.assert_allclose(
            pulls_of(motion, placement)[0], load.effective_gravity(placement), atol=1e-12
        )
        del turned


@pytest.mark.expected_from("property", "every manoeuvre stays inside the envelope it was made from")
def test_manoeuvres_stay_inside_the_envelope() -> None:
    envelope = envelope_of(Loads(use="summer tyres"))
    traces = manoeuvres(envelope, EnginePlacement(), 100.0, 15.0, is_afloat=False)
    assert {"left circle", "brake, turn right", "slalom", "launch", "hard stop"} <= {t.name for t in traces}
    for trace in traces:
        side = np.abs(trace.pulls[:, 1]).max()
        assert side <= 1.01 * G * 1.0 + 0.1 * G, trace.name
        assert np.isfinite(trace.pulls).all()
        assert trace.speeds.max() <= 100.0 + 1e-9


def test_a_boat_heels_and_rolls_and_does_not_brake() -> None:
    envelope = envelope_of(Loads(use="sailing hull"))
    names = {t.name for t in manoeuvres(envelope, EnginePlacement(), 40.0, 10.0, is_afloat=True)}
    assert names == {"heeled to the right", "heeled to the left", "rolling and pitching"}


@pytest.mark.expected_from("closed form", "a smooth ramp passes half way at half time and keeps its ends")
def test_ramp() -> None:
    times = np.array([0.0, 1.0, 1.5, 2.0, 3.0])
    np.testing.assert_allclose(ramp(times, (1.0, 2.0), (2.0, 4.0)), [2.0, 2.0, 3.0, 4.0, 4.0])


def _driven(bare: float) -> Driven:
    times = np.arange(0.0, 4.0, 0.02)
    cover = np.where((times >= 1.0) & (times < 1.0 + bare), -0.01, 0.03)
    zero = np.zeros_like(times)
    return Driven(
        "t",
        True,
        times,
        cover,
        zero + 2.0,
        zero,
        zero,
        zero,
        zero + 1,
        zero + 1,
        zero[:, None],
        zero[:, None],
        zero[:, None],
        0.0,
    )


def _result(least: float, most: float, **more: object) -> DriveResult:
    envelope = envelope_of(Loads(use="road"))
    trace = manoeuvres(envelope, EnginePlacement(), 100.0, 15.0, False)[0]
    run = Driving(trace, _driven(least), _driven(most))
    given: dict[str, object] = {
        "runs": (run,),
        "failures": (),
        "tried": (),
        "compartments": ("whole pan",),
        "surfaces": (),
        "doors": (),
        "door_leaks": (),
        "door_columns": (),
        "oil": DrivenOil(3e-3, 1e-3, 1.0, 820.0, 0.01, 0.05),
        "missing": (),
        "hardest": 4.0,
    }
    given.update(more)
    return DriveResult(**given)  # type: ignore[arg-type]


def _inputs() -> DriveInputs:
    oil = OilInputs(4e-3, 1e-3, None, 1e-3, None, np.array([0.0, 0.0, 1.0]))
    return DriveInputs(MotionInputs(EnginePlacement(), Loads(use="road")), oil)


@pytest.mark.parametrize(
    ("least", "most", "verdict"),
    [(0.0, 0.2, Verdict.HOLDS), (0.1, 0.8, Verdict.CLOSE), (0.6, 0.8, Verdict.FAILS)],
)
def test_both_runs_decide(least: float, most: float, verdict: Verdict) -> None:
    result = _result(least, most)
    assert verdict_of(result.runs[0]) is verdict
    assert any(f.code == "MOT-11" and f.verdict is verdict for f in check(_inputs(), result).findings)


def test_a_failing_door_refuses_nothing_but_is_told() -> None:
    failure = DoorFailure("flap", "fitted backwards", "left circle", 2.0, -0.02)
    found = [
        f for f in check(_inputs(), _result(0.0, 0.0, failures=(failure,))).findings if f.code == "MOT-13"
    ]
    assert found[0].verdict is Verdict.CLOSE
    assert "does not survive" in found[0].says


@pytest.mark.expected_from(
    "property", "the longest bare stretch of those that change nothing is the one given"
)
def test_failing_doors_that_change_nothing_are_told_once() -> None:
    failures = (
        DoorFailure("flap", "stuck open", "left circle", 1.2, -0.02),
        DoorFailure("flap", "stuck shut", "left circle", 1.21, -0.02),
        DoorFailure("flap", "fitted backwards", "left circle", 3.0, -0.05),
    )
    found = [f for f in check(_inputs(), _result(1.0, 1.2, failures=failures)).findings if f.code == "MOT-13"]
    assert len(found) == 2
    assert "fitted backwards" in found[0].where
    assert "worse still" in found[0].says
    assert "no single door" in found[1].says
    assert {f.name: f.value for f in found[1].figures}["most"] == pytest.approx(1.21)


@pytest.mark.expected_from("closed form", "open from 1.00 to 1.50 s and from 3.00 s to the end at 4.00 s")
def test_when_a_door_stands_open() -> None:
    run = _driven(0.2)
    opened = np.where(((run.times >= 0.99) & (run.times < 1.49)) | (run.times >= 2.99), 0.9, 0.2)
    spans = replace(run, ways=opened[:, None]).open_spans(0)
    np.testing.assert_allclose(spans, [(1.0, 1.5), (3.0, 4.0)])


def test_the_change_that_helps_most_is_named_and_past_use_is_said() -> None:
    tried = (Tried("0.3 L more oil", "oil.fill", "4.30 L", 0.5, -0.01),)
    found = check(_inputs(), _result(1.0, 1.2, tried=tried, hardest=1.6 * G))
    advice = next(f for f in found.findings if f.code == "MOT-14")
    assert advice.verdict is Verdict.FAILS
    assert "0.3 L more oil" in advice.says
    assert "dry sump" in advice.do
    assert found.proposals[0].target == "oil.fill"


@pytest.mark.expected_from(
    "property", "of the two ways in which the surface may follow, the worse one counts"
)
def test_a_failing_door_is_judged_by_the_worse_of_both_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    def driven(
        pan: object, trace: object, oil: object, pump: object, is_lagged: bool, stuck: object, start: object
    ) -> Driven:
        return _driven(0.1 if is_lagged else 2.0)

    monkeypatch.setattr(drives, "drive", driven)
    monkeypatch.setattr(drives, "_start", lambda pan, trace, oil: None)
    trace = manoeuvres(envelope_of(Loads(use="road")), EnginePlacement(), 100.0, 15.0, False)[0]
    nothing: Any = None
    found = drives._failures(nothing, (trace,), nothing, nothing, ("flap",))
    assert [failure.how for failure in found] == ["stuck open", "stuck shut", "fitted backwards"]
    assert all(failure.uncovered == pytest.approx(2.0, abs=0.03) for failure in found)
