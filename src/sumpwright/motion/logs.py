"""A logged lap as a trace: its axes and signs checked, gaps and spikes noticed, moved to the pan.

An accelerometer reads what the oil feels the other way round: standing still it shows one g
upwards. Loggers differ in axes, signs, units and in whether gravity is taken off; the job says
which, and what the log itself shows is held against it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.motion.driven import drive
from sumpwright.motion.driven_model import Chambers, Driven, DrivenOil, PumpDemand, Trace
from sumpwright.motion.low_pass import smooth
from sumpwright.motion.manoeuvres import ALLOWED_BARE, STEP
from sumpwright.quantities import STANDARD_GRAVITY, EnginePlacement
from sumpwright.quantities.units import (
    BoolArray,
    FloatArray,
    Hertz,
    MetrePerSecondSquared,
    Ratio,
    Second,
    frozen_array,
)

CUT_OFF: Hertz = 5.0
"""Quicker shaking than this the oil as a whole does not follow; bumps and engine are in it."""
SPIKE: MetrePerSecondSquared = 6.0 * STANDARD_GRAVITY
GAP_TIMES = 5.0
LONGEST_FILLED: Second = 0.5
DIP_SHARE = 0.30
"""A dip is oil pressure this much below its running median; common practice."""
MATCH_WITHIN: Second = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """Columns of a log in base SI and in the vehicle's axes (k,); None = not logged."""

    name: str
    times: FloatArray  # s
    forward: FloatArray  # m/s2, as the sensor reads: positive while accelerating
    left: FloatArray  # m/s2, positive in a left turn
    up: FloatArray | None  # m/s2, about one g standing still; None or gravity taken off: see has_gravity
    has_gravity: bool
    engine_speed: FloatArray | None = None  # Hz
    yaw_rate: FloatArray | None = None  # rad/s, positive turning left
    speed: FloatArray | None = None  # m/s
    pressure: FloatArray | None = None  # Pa
    sensor_from_pan: tuple[float, float] = (0.0, 0.0)  # m forward and left of the pan


@dataclass(frozen=True, slots=True)
class LogNote:
    """One thing noticed in a log; ``is_fault`` ones make it unusable."""

    is_fault: bool
    says: str


@dataclass(frozen=True, slots=True, eq=False)
class Dip:
    """A stretch of low oil pressure."""

    start: Second
    end: Second


@dataclass(frozen=True, slots=True)
class Agreement:
    """Predicted bare stretches against measured dips."""

    dips: int
    bare: int
    met: int  # dips with a bare stretch near by
    shift: Second  # by which the dips follow, median of the met ones

    @property
    def score(self) -> Ratio:
        """Harmonic mean of hits among dips and among bare stretches; 1 = all meet."""
        return 2.0 * self.met / (self.dips + self.bare) if self.dips + self.bare else 1.0


def notes_of(log: Log) -> tuple[LogNote, ...]:
    """What the log shows of its own axes, signs and units."""
    found: list[LogNote] = []

    def fault(says: str) -> None:
        found.append(LogNote(True, says))

    def note(says: str) -> None:
        found.append(LogNote(False, says))

    steps = np.diff(log.times)
    if len(log.times) < 10:
        fault("the log has fewer than ten lines")
        return tuple(found)
    if not np.all(steps > 0.0):
        fault(f"time runs backwards or stands still at line {int(np.argmin(steps > 0.0)) + 2} of the log")
        return tuple(found)
    usual = float(np.median(steps))
    gaps = steps > GAP_TIMES * usual
    if gaps.any():
        longest = float(steps.max())
        text = f"{int(gaps.sum())} gaps, the longest {longest:.2g} s"
        if longest > LONGEST_FILLED:
            note(text + "; what happened in it is not known, a straight line is drawn through it")
        else:
            note(text + ", bridged by a straight line")
    if usual > 0.21:
        fault(f"a line every {usual:.2g} s is too coarse: corners need ten lines a second")
    g = STANDARD_GRAVITY
    sizes = {"forward": np.median(np.abs(log.forward)), "left": np.median(np.abs(log.left))}
    means = {"forward": float(np.mean(log.forward)), "left": float(np.mean(log.left))}
    if log.has_gravity:
        if log.up is None:
            fault("gravity is said to be in the log, but no column for up is given")
        else:
            up = float(np.median(log.up))
            if abs(up + g) < 0.35 * g:
                fault("up reads minus one g at rest: its sign is the other way round")
            elif abs(up) > 3.0 * g:
                fault(f"up reads {up / g:.2g} g in the median: the unit is m/s2, not g")
            elif 0.05 * g < abs(up) < 0.2 * g:
                fault(f"up reads {up / g:.2g} g in the median: the unit is g, not m/s2")
            elif abs(up - g) > 0.35 * g:
                for name, mean in means.items():
                    if abs(abs(mean) - g) < 0.35 * g:
                        fault(f"{name} carries the one g of gravity that up should: the axes are swapped")
                        break
                else:
                    fault(f"up reads {up / g:.2g} g in the median where one g is expected")
    elif log.up is not None and abs(abs(float(np.median(log.up))) - g) < 0.35 * g:
        fault("up carries one g although gravity is said to be taken off")
    for name, size in sizes.items():
        if float(size) > 4.0 * g:
            fault(f"{name} reads {float(size) / g:.2g} g in the median: the unit is m/s2, not g")
    if log.yaw_rate is not None and log.speed is not None:
        turning = log.speed * log.yaw_rate
        if np.std(turning) > 0.5:
            match = float(np.corrcoef(turning, log.left)[0, 1])
            if match < -0.5:
                fault("left and yaw rate turn opposite ways: one of the two has its sign the other way round")
            elif abs(match) < 0.3:
                across = float(np.corrcoef(turning, log.forward)[0, 1])
                if abs(across) > 0.6:
                    fault("the yaw rate goes with forward, not with left: the two axes are swapped")
                else:
                    note("left and yaw rate do not go together; check both columns")
    spikes = np.abs(np.stack([log.forward, log.left])) > SPIKE
    if spikes.any():
        note(f"{int(spikes.any(axis=0).sum())} lines beyond {SPIKE / g:.0f} g taken as spikes and bridged")
    return tuple(found)


def trace_of(log: Log, placement: EnginePlacement, usual_speed: Hertz, step: Second = STEP) -> Trace:
    """The log as the pull that the oil feels, resampled, spikes bridged, quick shaking taken out.

    Raises ValueError with every fault that ``notes_of`` finds.
    """
    faults = [note.says for note in notes_of(log) if note.is_fault]
    if faults:
        raise ValueError("; ".join(faults))
    start, end = float(log.times[0]), float(log.times[-1])
    times = np.arange(start, end, step)

    def at(values: FloatArray) -> FloatArray:
        return np.asarray(np.interp(times, log.times, values))

    bad: BoolArray = (np.abs(log.forward) > SPIKE) | (np.abs(log.left) > SPIKE)
    good = ~bad & np.isfinite(log.forward) & np.isfinite(log.left)
    forward = _smooth(np.interp(times, log.times[good], log.forward[good]), step)
    left = _smooth(np.interp(times, log.times[good], log.left[good]), step)
    if log.up is None:
        up = np.full(len(times), STANDARD_GRAVITY)
    else:
        up = _smooth(at(log.up), step)
        if not log.has_gravity:
            up = up + STANDARD_GRAVITY
    if log.yaw_rate is not None and log.sensor_from_pan != (0.0, 0.0):
        yaw = _smooth(at(log.yaw_rate), step)
        turn = np.gradient(yaw, step)
        # From the sensor to the pan: r = -sensor_from_pan; a = a_s + yaw' x r + yaw x (yaw x r).
        rx, ry = -log.sensor_from_pan[0], -log.sensor_from_pan[1]
        forward = forward - turn * ry - yaw**2 * rx
        left = left + turn * rx - yaw**2 * ry
    felt = -np.stack([forward, left, up], axis=1)
    turning = None
    if log.yaw_rate is not None:
        none = np.zeros(len(times))
        yawing = np.stack([none, none, _smooth(at(log.yaw_rate), step)], axis=1)
        turning = frozen_array(yawing @ placement.attitude.matrix())
    speeds = (
        np.full(len(times), usual_speed)
        if log.engine_speed is None
        else np.maximum(at(log.engine_speed), 0.0)
    )
    return Trace(
        name=log.name,
        words="as logged",
        step=step,
        pulls=frozen_array(felt @ placement.attitude.matrix()),
        speeds=frozen_array(speeds),
        asked_for=ALLOWED_BARE,
        turn_rate=turning,
    )


def _smooth(values: FloatArray, step: Second) -> FloatArray:
    """Low pass at the cut-off, forwards and backwards so that nothing is late."""
    if len(values) < 40:
        return values
    return smooth(values, step, CUT_OFF)


def dips_of(log: Log) -> tuple[Dip, ...]:
    """Stretches of oil pressure well below what the engine otherwise has at that speed."""
    if log.pressure is None:
        return ()
    usual = _usual_pressure(log)
    low = log.pressure < (1.0 - DIP_SHARE) * usual
    return tuple(Dip(float(log.times[a]), float(log.times[b - 1])) for a, b in _stretches(low))


def _usual_pressure(log: Log) -> FloatArray:
    """Median pressure of lines at a like engine speed (twelve bands); of all lines where none is logged."""
    assert log.pressure is not None
    if log.engine_speed is None:
        return np.full(len(log.times), float(np.median(log.pressure)))
    edges = np.quantile(log.engine_speed, np.linspace(0.0, 1.0, 13))
    band = np.clip(np.searchsorted(edges, log.engine_speed, side="right") - 1, 0, 11)
    medians = np.array(
        [np.median(log.pressure[band == k]) if np.any(band == k) else np.nan for k in range(12)]
    )
    return np.asarray(medians[band])


def _stretches(mask: BoolArray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def agreement(run: Driven, start: Second, dips: tuple[Dip, ...]) -> Agreement:
    """Bare stretches of a run that began at ``start`` of the log, against its dips."""
    bare = [
        (float(run.times[a]) + start, float(run.times[b - 1]) + start) for a, b in _stretches(run.cover < 0.0)
    ]
    shifts = []
    used: set[int] = set()
    for dip in dips:
        near = [
            (abs(dip.start - begin), k)
            for k, (begin, end) in enumerate(bare)
            if k not in used and dip.start >= begin - MATCH_WITHIN and dip.start <= end + 2.0 * MATCH_WITHIN
        ]
        if near:
            _, k = min(near)
            used.add(k)
            shifts.append(dip.start - bare[k][0])
    return Agreement(len(dips), len(bare), len(shifts), float(np.median(shifts)) if shifts else math.nan)


@dataclass(frozen=True, slots=True)
class LogFit:
    """Hold-up and door leak that make predicted bare stretches meet the measured dips best."""

    hold_up_times: Ratio  # of what was assumed
    leak_times: Ratio
    before: Agreement
    after: Agreement


HOLD_UP_TRIED = (0.5, 0.7, 0.85, 1.0, 1.2, 1.5, 1.9)
LEAK_TRIED = (0.5, 1.0, 2.0, 4.0)


def fit(pan: Chambers, trace: Trace, log: Log, oil: DrivenOil, pump: PumpDemand) -> LogFit | None:
    """Try hold-ups and door leaks against the log's dips; None where it logged no pressure or has no dip."""
    dips = dips_of(log)
    if not dips:
        return None
    start = float(log.times[0])
    before = agreement(drive(pan, trace, oil, pump), start, dips)
    leaks = LEAK_TRIED if any(way.is_door and way.leak_gap > 0.0 for way in pan.ways) else (1.0,)
    best = (before.score, 0.0, 1.0, 1.0, before)
    for times in HOLD_UP_TRIED:
        change = (times - 1.0) * oil.held_up
        if oil.in_pan - change <= 0.05 * oil.in_pan:
            continue
        other = replace(
            oil,
            in_pan=oil.in_pan - change,
            held_up=times * oil.held_up,
            return_time=times * oil.return_time,
        )
        for leak in leaks:
            changed = replace(pan, ways=tuple(replace(w, leak_gap=leak * w.leak_gap) for w in pan.ways))
            now = agreement(drive(changed, trace, other, pump), start, dips)
            # Of equal scores the one nearest to what was assumed.
            near = -abs(math.log(times)) - abs(math.log(leak))
            if (now.score, near) > (best[0], best[1] if best[1] < 0.0 else 0.0):
                best = (now.score, near, times, leak, now)
    return LogFit(best[2], best[3], before, best[4])
