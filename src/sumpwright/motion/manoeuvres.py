"""Manoeuvres in trade words, from what the job asks of the oil to traces of the pull it feels.

Each is sized by the same envelope as the cover map, so that a pan is driven as hard as it was
held. Times are common practice: a corner 1 to 6 s, a hairpin's peak under 1 s, a brake zone 2 s.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sumpwright.motion.driven_model import Trace
from sumpwright.motion.model import Envelope
from sumpwright.quantities import STANDARD_GRAVITY, EnginePlacement
from sumpwright.quantities.units import FloatArray, Hertz, Metre, Second, frozen_array

STEP: Second = 0.004
ALLOWED_BARE: Second = 0.3
"""How long a pickup may draw air on end; common practice."""

CORNER_RADIUS: Metre = 20.0
"""A tight corner; common practice. It sets the speed, and so how quickly the pan turns; the pull is given."""

_G = STANDARD_GRAVITY


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """What the vehicle does over time, in words' own signs (k,) each."""

    forward: FloatArray  # m/s2
    left: FloatArray  # m/s2, a left turn is positive
    up: FloatArray  # m/s2
    nose_up: FloatArray  # rad, of the ground under it
    lean_right: FloatArray  # rad


def still(count: int) -> Motion:
    """Standing level."""
    none = np.zeros(count)
    return Motion(none, none, none, none, none)


def pulls_of(motion: Motion, placement: EnginePlacement) -> FloatArray:
    """Effective gravity (k, 3) [m/s2] in engine axes: slope first nose up, then leaned."""
    n, lean = motion.nose_up, motion.lean_right
    down = -_G * np.stack(
        [np.sin(n), np.cos(n) * np.sin(lean), np.cos(n) * np.cos(lean)],
        axis=1,
    )
    felt = down - np.stack([motion.forward, motion.left, motion.up], axis=1)
    return frozen_array(felt @ placement.attitude.matrix())


def turning_of(motion: Motion, placement: EnginePlacement, step: Second) -> FloatArray | None:
    """How the pan turns (k, 3) [rad/s] in engine axes; None where it does not.

    Yaw is the pull to the side over the speed, which is that of a corner of ``CORNER_RADIUS`` at the
    hardest pull; pitch and roll are the changes of the ground's slope: nose up, then leaned.
    """
    if len(motion.left) < 2:
        return None
    hardest = float(np.abs(motion.left).max())
    yaw = motion.left / math.sqrt(hardest * CORNER_RADIUS) if hardest > 0.0 else np.zeros_like(motion.left)
    lean = motion.lean_right
    nose_down = -np.gradient(motion.nose_up, step)
    roll = np.gradient(lean, step)
    # The ground's slope is felt in the vehicle's axes, which lean with it.
    turned = np.stack([roll, np.cos(lean) * nose_down, -np.sin(lean) * nose_down + yaw], axis=1)
    if not turned.any():
        return None
    return frozen_array(turned @ placement.attitude.matrix())


def ramp(times: FloatArray, *knots: tuple[float, float]) -> FloatArray:
    """A line through (time, value) knots with smoothed corners: no jerk that no tyre could give."""
    t = np.array([k[0] for k in knots])
    v = np.array([k[1] for k in knots])
    out = np.full(len(times), v[0])
    for a in range(len(knots) - 1):
        width = max(t[a + 1] - t[a], 1e-9)
        s = np.clip((times - t[a]) / width, 0.0, 1.0)
        out += (v[a + 1] - v[a]) * s * s * (3.0 - 2.0 * s)
    return out


def manoeuvres(
    envelope: Envelope,
    placement: EnginePlacement,
    top_speed: Hertz,
    idle_speed: Hertz,
    is_afloat: bool,
    roll_period: Second = 4.5,
    pitch_period: Second = 3.5,
) -> tuple[Trace, ...]:
    """Every manoeuvre that the envelope gives reason for, in the order of the sheet."""
    built: list[Trace] = []

    def add(
        name: str,
        words: str,
        seconds: float,
        shape: Callable[[FloatArray], Motion],
        speed: Callable[[FloatArray], FloatArray] | float,
        step: float = STEP,
    ) -> None:
        times = np.arange(0.0, seconds, step)
        turning = speed(times) if callable(speed) else np.full(len(times), float(speed))
        motion = shape(times)
        built.append(
            Trace(
                name,
                words,
                step,
                pulls_of(motion, placement),
                frozen_array(turning),
                ALLOWED_BARE,
                turning_of(motion, placement, step),
            )
        )

    none = np.zeros_like
    working = 0.85 * top_speed
    for side, sign, hold in (("left", 1.0, envelope.left_turn), ("right", -1.0, envelope.right_turn)):
        if hold <= 0.0:
            continue
        add(
            f"{side} circle",
            f"steady circle to the {side}, 10 s",
            12.0,
            lambda t, s=sign, h=hold: Motion(  # type: ignore[misc]
                none(t), s * ramp(t, (0.5, 0.0), (1.1, h), (11.0, h), (11.5, 0.0)), none(t), none(t), none(t)
            ),
            working,
        )
        if envelope.braking > 0.0:
            brake = envelope.braking

            def into(t: FloatArray, s: float = sign, h: float = hold, b: float = brake) -> Motion:
                # Off the brake as the corner builds up, along the rim of the friction ellipse.
                share = ramp(t, (2.4, 0.0), (3.2, 1.0))
                on = ramp(t, (0.2, 0.0), (0.5, 1.0), (6.2, 1.0), (6.8, 0.0))
                return Motion(
                    -b * on * np.cos(0.5 * math.pi * share),
                    s * h * on * np.sin(0.5 * math.pi * share),
                    none(t),
                    none(t),
                    none(t),
                )

            add(
                f"brake, turn {side}",
                f"brake hard for 2 s, then turn in to the {side}",
                8.0,
                into,
                lambda t: ramp(t, (0.2, top_speed), (2.5, 0.55 * top_speed), (8.0, 0.8 * top_speed)),
            )
    if min(envelope.left_turn, envelope.right_turn) > 0.0:
        swing = min(envelope.left_turn, envelope.right_turn)
        add(
            "slalom",
            "left and right in turn, 2 s each way",
            12.0,
            lambda t: Motion(
                none(t),
                swing * np.sin(2 * math.pi * t / 4.0) * ramp(t, (0.0, 0.0), (1.0, 1.0)),
                none(t),
                none(t),
                none(t),
            ),
            working,
        )
    if envelope.accelerating > 0.0:
        push = envelope.accelerating
        add(
            "launch",
            "from standing, three gears",
            8.0,
            lambda t: Motion(
                push
                * ramp(
                    t,
                    (0.3, 0.0),
                    (0.5, 1.0),
                    (2.2, 1.0),
                    (2.3, 0.0),
                    (2.5, 0.8),
                    (4.6, 0.7),
                    (4.7, 0.0),
                    (4.9, 0.5),
                    (7.5, 0.4),
                ),
                none(t),
                none(t),
                none(t),
                none(t),
            ),
            lambda t: ramp(
                t, (0.3, 0.6 * top_speed), (2.2, top_speed), (2.4, 0.7 * top_speed), (8.0, top_speed)
            ),
        )
    if envelope.braking > 0.0:
        stop = envelope.braking
        add(
            "hard stop",
            "brake from speed for 3 s, stand",
            7.0,
            lambda t: Motion(
                -stop * ramp(t, (0.3, 0.0), (0.6, 1.0), (3.6, 1.0), (3.8, 0.0)),
                none(t),
                none(t),
                none(t),
                none(t),
            ),
            lambda t: ramp(t, (0.3, 0.9 * top_speed), (3.6, idle_speed), (7.0, idle_speed)),
        )
    if not is_afloat:
        _on_land(envelope, idle_speed, working, add)
    else:
        _afloat(envelope, working, roll_period, pitch_period, add)
    return tuple(built)


def _on_land(envelope: Envelope, idle: Hertz, working: Hertz, add: Callable[..., None]) -> None:
    none = np.zeros_like
    if envelope.nose_up > 0.0:
        climb = envelope.nose_up
        add(
            "hill hold",
            "hold on the hill at idle for 10 s, then pull away",
            16.0,
            lambda t: Motion(
                ramp(t, (11.0, 0.0), (11.3, 0.2 * _G), (15.0, 0.2 * _G)),
                none(t),
                none(t),
                np.full(len(t), climb),
                none(t),
            ),
            lambda t: ramp(t, (10.5, idle), (11.5, working), (16.0, working)),
        )
    if envelope.nose_up > 0.0 and envelope.nose_down > 0.0:
        add(
            "climb, crest, descend",
            "up the hill, over the top, down the other side",
            22.0,
            lambda t: Motion(
                none(t),
                none(t),
                -0.2 * _G * ramp(t, (9.5, 0.0), (10.5, 1.0), (11.5, 0.0)),
                ramp(
                    t,
                    (0.5, 0.0),
                    (1.5, envelope.nose_up),
                    (9.5, envelope.nose_up),
                    (11.5, -envelope.nose_down),
                ),
                none(t),
            ),
            lambda t: ramp(t, (9.5, working), (12.0, 0.4 * working), (22.0, 0.4 * working)),
        )
    for side, sign, lean in (("right", 1.0, envelope.lean_right), ("left", -1.0, envelope.lean_left)):
        if lean <= 0.0:
            continue
        add(
            f"side slope, {side} low",
            f"along a side slope, its {side} side low, with a bump",
            14.0,
            lambda t, s=sign, a=lean: Motion(
                none(t),
                none(t),
                0.6 * _G * ramp(t, (8.0, 0.0), (8.08, 1.0), (8.16, -1.0), (8.24, 0.0)),
                none(t),
                s * ramp(t, (0.5, 0.0), (1.5, a)),
            ),
            working,
        )
    if min(envelope.lean_left, envelope.lean_right) > math.radians(10.0):
        add(
            "landing",
            "0.3 s in the air, landing at 3 g",
            5.0,
            lambda t: Motion(
                none(t),
                none(t),
                _G * ramp(t, (1.0, 0.0), (1.05, -0.95), (1.35, -0.95), (1.40, 3.0), (1.50, 0.5), (1.7, 0.0)),
                none(t),
                none(t),
            ),
            working,
        )


def _afloat(
    envelope: Envelope, working: Hertz, roll: Second, pitch: Second, add: Callable[..., None]
) -> None:
    none = np.zeros_like
    for side, sign, heel in (("right", 1.0, envelope.lean_right), ("left", -1.0, envelope.lean_left)):
        if heel <= 0.0:
            continue
        add(
            f"heeled to the {side}",
            f"steady heel to the {side}; what stands after five minutes stands for the hour",
            300.0,
            lambda t, s=sign, a=heel: Motion(
                none(t), none(t), none(t), none(t), s * ramp(t, (2.0, 0.0), (8.0, a))
            ),
            working,
            0.01,
        )
    if min(envelope.lean_left, envelope.lean_right) > 0.0:
        size = min(envelope.lean_left, envelope.lean_right, math.radians(15.0))
        nod = min(envelope.nose_up, envelope.nose_down)
        add(
            "rolling and pitching",
            "rolling and pitching in a seaway, one minute",
            60.0,
            lambda t: Motion(
                none(t),
                none(t),
                none(t),
                nod * np.sin(2 * math.pi * t / pitch) * ramp(t, (0.0, 0.0), (5.0, 1.0)),
                size * np.sin(2 * math.pi * t / roll) * ramp(t, (0.0, 0.0), (5.0, 1.0)),
            ),
            working,
        )
