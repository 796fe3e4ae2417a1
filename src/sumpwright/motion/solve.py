"""Is the pickup covered if a corner or a slope is held for ever?"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.body import PanBody, Pickup
from sumpwright.motion.better_place import better_place
from sumpwright.motion.cover import OpenTop, cover_map
from sumpwright.motion.loads import (
    HEADINGS,
    LEANS,
    NOSES,
    RINGS,
    acceleration_loads,
    acceleration_words,
    envelope_of,
    headings,
    pull_of_accelerations,
    pull_of_slopes,
    rim,
    slope_loads,
    slope_words,
)
from sumpwright.motion.model import CoverMap, Envelope, HeldTo, MotionInputs, MotionResult, Tightest
from sumpwright.motion.slopes import nearest_on_slopes
from sumpwright.oil import OilResult
from sumpwright.oil.dipstick import is_inside
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre

USUAL_COVER: Metre = 0.020
"""Oil over the mouth that keeps it from drawing air; common practice, 20 to 25 mm."""

NAMED_HEADINGS = 8
"""Straight ahead, braking, both turns and the four between."""


def solve(inputs: MotionInputs, body: PanBody, oil: OilResult) -> MotionResult:
    """Cover maps over all that is asked, at the low mark with the most oil up in the engine."""
    envelope = envelope_of(inputs.loads)
    least = USUAL_COVER if inputs.least_cover is None else inputs.least_cover
    missing = _missing(inputs, body, oil, envelope)
    pickup, cavity = body.inputs.pickup, body.cavity
    if missing or pickup is None or cavity is None or oil.volume_low is None or oil.hold_up is None:
        return _nothing(envelope, least, missing)
    if not is_inside(cavity.surface(), pickup.mouth):
        return _nothing(envelope, least, (), mouth_is_inside=False)
    pan = OpenTop.of(body)
    standing_up = inputs.placement.up_in_engine()

    def maps(volume: CubicMetre) -> tuple[CoverMap | None, CoverMap | None]:
        less = 0.0 if oil.trapped is None else oil.trapped.more_on_slopes
        return _maps(inputs, envelope, pan, pickup, standing_up, volume, less)

    trapped = oil.trapped
    unsure = 0.0 if trapped is None else trapped.trapped_most - trapped.trapped_least
    volume = max(0.0, oil.volume_low - oil.hold_up.hold_up_most - unsure)
    accelerations, slopes = maps(volume)
    drawn = tuple(one for one in (accelerations, slopes) if one is not None)
    is_short = any(float(np.min(one.cover)) < least for one in drawn)
    better = better_place(drawn, pan, cavity, pickup, standing_up, volume, least) if is_short else None
    kinder: tuple[Metre, ...] = ()
    if oil.hold_up.basis == "band":
        kinder = tuple(
            float(np.min(one.cover))
            for one in maps(oil.volume_low - oil.hold_up.hold_up_least)
            if one is not None
        )
    return MotionResult(
        envelope=envelope,
        volume=volume,
        least_cover=least,
        accelerations=accelerations,
        slopes=slopes,
        tightest_acceleration=None if accelerations is None else _tightest(accelerations),
        tightest_slope=None if slopes is None else _tightest(slopes),
        held_to=() if accelerations is None else held_to(accelerations, envelope, least),
        kinder_cover=kinder,
        better=better,
        nearest=() if slopes is None else nearest_on_slopes(oil, envelope, inputs.placement, pan.surface),
    )


def maps_alone(
    inputs: MotionInputs, body: PanBody, volume: CubicMetre
) -> tuple[CoverMap | None, CoverMap | None]:
    """The cover maps over all that is asked (accelerations, slopes) with so much oil, and nothing else.

    The body must have a cavity and a pickup.
    """
    pickup = body.inputs.pickup
    if pickup is None:
        raise ValueError("without a pickup there is nothing to cover")
    up = inputs.placement.up_in_engine()
    return _maps(inputs, envelope_of(inputs.loads), OpenTop.of(body), pickup, up, volume)


def _maps(
    inputs: MotionInputs,
    envelope: Envelope,
    pan: OpenTop,
    pickup: Pickup,
    standing_up: FloatArray,
    volume: CubicMetre,
    less_on_slopes: CubicMetre = 0.0,
) -> tuple[CoverMap | None, CoverMap | None]:
    accelerations = slopes = None
    if max(envelope.left_turn, envelope.right_turn, envelope.braking, envelope.accelerating) > 0.0:
        forward, left = acceleration_loads(envelope)
        accelerations = cover_map(
            "accelerations",
            (forward, left),
            (RINGS, HEADINGS),
            pull_of_accelerations(forward, left, inputs.placement),
            pan,
            pickup,
            standing_up,
            volume,
        )
    if max(envelope.nose_up, envelope.nose_down, envelope.lean_right, envelope.lean_left) > 0.0:
        nose, lean = slope_loads(envelope)
        slopes = cover_map(
            "slopes",
            (nose, lean),
            (LEANS, NOSES),
            pull_of_slopes(nose, lean, inputs.placement),
            pan,
            pickup,
            standing_up,
            max(0.0, volume - less_on_slopes),
        )
    return accelerations, slopes


def held_to(cover: CoverMap, envelope: Envelope, least: Metre) -> tuple[HeldTo, ...]:
    """How far each of eight directions can be held, counted from standing still outwards."""
    rings, count = cover.shape
    by_ring = cover.cover.reshape(rings, count)
    found = []
    for k in range(0, count, count // NAMED_HEADINGS):
        angle = float(headings()[k])
        asked = rim(envelope, angle)
        if asked <= 0.0:
            continue
        column = by_ring[:, k] - least
        words = acceleration_words(math.cos(angle), math.sin(angle))
        short = np.flatnonzero(column < 0.0)
        if len(short) == 0:
            found.append(HeldTo(words, asked, asked, True))
            continue
        first = int(short[0])
        if first == 0:
            found.append(HeldTo(words, math.nan, asked, False))
            continue
        # Straight line between the last ring that holds and the first that does not.
        share = float(column[first - 1] / (column[first - 1] - column[first]))
        found.append(HeldTo(words, asked * (first - 1 + share) / (rings - 1), asked, False))
    return tuple(found)


def _tightest(cover: CoverMap) -> Tightest:
    worst = int(np.argmin(cover.cover))
    along, across = float(cover.along[worst]), float(cover.across[worst])
    words = acceleration_words(along, across) if cover.kind == "accelerations" else slope_words(along, across)
    return Tightest(words, across, along, float(cover.cover[worst]), float(cover.cover_shared[worst]))


def _missing(inputs: MotionInputs, body: PanBody, oil: OilResult, envelope: Envelope) -> tuple[str, ...]:
    wanted = (
        ("loads.use", envelope.moves),
        ("pickup.mouth", body.inputs.pickup is not None),
        ("oil.fill", oil.volume_full is not None),
        ("oil.between_marks", oil.volume_full is None or oil.volume_low is not None),
    )
    return tuple(key for key, is_there in wanted if not is_there)


def _nothing(
    envelope: Envelope, least: Metre, missing: tuple[str, ...], mouth_is_inside: bool = True
) -> MotionResult:
    return MotionResult(
        envelope=envelope,
        volume=None,
        least_cover=least,
        accelerations=None,
        slopes=None,
        tightest_acceleration=None,
        tightest_slope=None,
        missing=missing,
        mouth_is_inside=mouth_is_inside,
    )
