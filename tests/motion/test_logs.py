"""Logged laps: axes, signs and units told from the log; moved to the pan; dips against bare stretches."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.motion.driven import drive
from sumpwright.motion.driven_model import DrivenOil, PumpDemand
from sumpwright.motion.logs import Log, agreement, dips_of, fit, notes_of, trace_of
from sumpwright.quantities import STANDARD_GRAVITY, EnginePlacement
from tests.motion.test_driven import box, chambers

G = STANDARD_GRAVITY


def lap(rate: float = 50.0, seconds: float = 40.0) -> Log:
    """A lap of corners: yaw, speed and left acceleration belong together."""
    times = np.arange(0.0, seconds, 1.0 / rate)
    rng = np.random.default_rng(5)
    speed = 20.0 + 4.0 * np.sin(2 * math.pi * times / 17.0)
    yaw = 0.35 * np.sin(2 * math.pi * times / 8.0)
    forward = np.gradient(speed, times) + rng.normal(0, 0.2, len(times))
    left = speed * yaw + rng.normal(0, 0.2, len(times))
    up = G + rng.normal(0, 0.4, len(times))
    return Log("lap", times, forward, left, up, True, np.full(len(times), 80.0), yaw, speed)


def faults(log: Log) -> str:
    return " / ".join(note.says for note in notes_of(log) if note.is_fault)


def test_a_good_lap_is_accepted() -> None:
    assert notes_of(lap()) == ()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda log: replace(log, up=-log.up), "sign"),
        (lambda log: replace(log, left=-log.left), "opposite ways"),
        (lambda log: replace(log, forward=log.left, left=log.forward), "swapped"),
        (lambda log: replace(log, left=log.up, up=log.left), "swapped"),
        (lambda log: replace(log, up=log.up * G, left=log.left * G), "m/s2, not g"),
        (lambda log: replace(log, up=log.up / G, left=log.left / G), "g, not m/s2"),
        (lambda log: replace(log, has_gravity=False), "taken off"),
        (lambda log: replace(log, up=None), "no column for up"),
        (lambda log: replace(log, times=log.times[::-1].copy()), "backwards"),
    ],
)
def test_wrong_axes_signs_and_units_are_told(change: object, says: str) -> None:
    assert says in faults(change(lap()))  # type: ignore[operator]
    with pytest.raises(ValueError, match=says):
        trace_of(change(lap()), EnginePlacement(), 80.0)  # type: ignore[operator]


@pytest.mark.expected_from("property", "a bridged spike leaves no pull that no tyre gives")
def test_gaps_and_spikes_are_noticed_and_bridged() -> None:
    log = lap()
    keep = (log.times < 10.0) | (log.times > 10.4)
    forward = log.forward.copy()
    forward[300] = 40.0 * G
    gappy = Log("lap", log.times[keep], forward[keep], log.left[keep], log.up[keep], True)  # type: ignore[index]
    said = " / ".join(note.says for note in notes_of(gappy))
    assert "1 gaps" in said
    assert "spikes" in said
    trace = trace_of(gappy, EnginePlacement(), 80.0)
    assert np.abs(trace.pulls[:, 0]).max() < 2.0 * G


@pytest.mark.expected_from("closed form", "standing still: one g down; resampled to the driven step")
def test_a_standing_log_feels_gravity_alone() -> None:
    times = np.arange(0.0, 10.0, 0.02)
    zero = np.zeros_like(times)
    trace = trace_of(Log("still", times, zero, zero, zero + G, True), EnginePlacement(), 80.0)
    np.testing.assert_allclose(trace.pulls, np.tile([0.0, 0.0, -G], (len(trace.pulls), 1)), atol=1e-9)
    assert trace.length == pytest.approx(times[-1], abs=trace.step)


@pytest.mark.expected_from(
    "closed form", "circle of radius R at yaw rate w: w^2 R inwards; a sensor nearer in by d reads w^2 d less"
)
def test_a_sensor_away_from_the_pan_is_moved_to_it() -> None:
    times = np.arange(0.0, 20.0, 0.02)
    yaw, radius, inside = 0.5, 40.0, 3.0
    left = np.full(len(times), yaw**2 * (radius - inside))
    log = Log(
        "circle",
        times,
        np.zeros_like(times),
        left,
        np.full(len(times), G),
        True,
        yaw_rate=np.full(len(times), yaw),
        sensor_from_pan=(0.0, inside),
    )
    trace = trace_of(log, EnginePlacement(), 80.0)
    assert -trace.pulls[500, 1] == pytest.approx(yaw**2 * radius, rel=1e-6)


@pytest.mark.expected_from("property", "a log simulated with a hold-up gives that hold-up back")
def test_hold_up_is_found_again_from_pressure_dips() -> None:
    tank = box(0.0, 0.4, 0.25, 0.4)
    pan = replace(chambers((tank,), ()), mouth=np.array([0.2, 0.19, -0.185]))
    times = np.arange(0.0, 60.0, 0.02)
    rng = np.random.default_rng(11)
    left = np.zeros_like(times)
    for k in range(10):
        left += (2.0 + 0.9 * k) * np.exp(-(((times - 4.0 - 5.5 * k) / 1.1) ** 2))
    left += rng.normal(0.0, 0.05, len(times))
    zero = np.zeros_like(times)
    log = Log("lap", times, zero, left, zero + G, True, zero + 80.0)
    trace = trace_of(log, EnginePlacement(), 80.0)
    pump = PumpDemand(8e-4, 80.0)
    assumed = DrivenOil(4.2e-3, 0.9e-3, 1.1, 820.0, 0.01, 0.05)
    true = replace(assumed, in_pan=4.2e-3 - 0.45e-3, held_up=1.35e-3, return_time=1.65)
    real = drive(pan, trace, true, pump)
    bare = np.interp(times - 0.12, real.times, (real.cover < 0.0).astype(float)) > 0.5
    assert bare.any()
    log = replace(log, pressure=np.where(bare, 1.2e5, 4.0e5) + rng.normal(0, 3e3, len(times)))
    assert len(dips_of(log)) >= 2
    found = fit(pan, trace, log, assumed, pump)
    assert found is not None
    assert found.hold_up_times == pytest.approx(1.5, abs=0.31)
    assert found.after.score >= found.before.score
    again = agreement(real, 0.0, dips_of(log))
    assert again.met == again.dips
    assert again.shift == pytest.approx(0.12, abs=0.05)
