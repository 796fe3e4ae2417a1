"""The free surface beside the compartment model: where the oil is, how deep the mouth, how long bare."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.motion.driven_model import Driven
from sumpwright.motion.free_surface.model import FreeSurfaceRun
from sumpwright.quantities.units import BoolArray, FloatArray, Metre, Ratio, Second

AVERAGED_OVER: Second = 1.0
"""The volume below the surface is judged by its mean over this long."""


@dataclass(frozen=True, slots=True)
class SideBySide:
    """What both models say of one manoeuvre."""

    bare: Second  # longest on end with the mouth's edge bare
    bare_least: Second  # the same with the surface half a cell higher
    bare_most: Second  # and half a cell lower
    least_cover: Metre
    least_reserve: Second
    elsewhere: Ratio  # rms share of the oil outside what the two compartment runs bracket
    elsewhere_swinging: Ratio  # rms share of the oil that the swinging compartment run has elsewhere
    in_bracket: Ratio  # share of the time with the cover between both runs, half a cell more or less
    cover_off: Metre  # rms distance of the cover from that bracket
    volume_kept: Ratio  # mean over a second of the volume below the surface, the one furthest from 1


def longest(bare: BoolArray, step: Second) -> Second:
    """Longest stretch on end of a record taken every ``step`` [s]."""
    best = run = 0
    for is_bare in bare:
        run = run + 1 if is_bare else 0
        best = max(best, run)
    return best * step


def beside(run: FreeSurfaceRun, swinging: Driven, following: Driven) -> SideBySide:
    """The free surface against the two compartment runs of the same trace, at its own moments."""
    free = run.driven
    step = float(free.times[1] - free.times[0]) if len(free.times) > 1 else 0.0
    half = 0.5 * run.cell
    low, high = _bracket(free.times, swinging, following, "cover")
    off = np.maximum(np.maximum(low - half - free.cover, free.cover - high - half), 0.0)
    v_low, v_high = _bracket(free.times, swinging, following, "volumes")
    v_off = np.maximum(np.maximum(v_low - free.volumes, free.volumes - v_high), 0.0)
    whole = np.maximum(free.volumes.sum(axis=1), 1e-12)
    # What is missing in one compartment is too much in another: half the sum is what lies elsewhere.
    elsewhere = 0.5 * v_off.sum(axis=1) / whole
    swing = _at(free.times, swinging.times, swinging.volumes)
    apart = 0.5 * np.abs(free.volumes - swing).sum(axis=1) / whole
    return SideBySide(
        bare=longest(free.cover < 0.0, step),
        bare_least=longest(free.cover < -half, step),
        bare_most=longest(free.cover < half, step),
        least_cover=float(free.cover.min()),
        least_reserve=float(free.reserve.min()),
        elsewhere=_rms(elsewhere),
        elsewhere_swinging=_rms(apart),
        in_bracket=float((off <= 0.0).mean()),
        cover_off=_rms(off),
        volume_kept=furthest_mean(run.occupied, step),
    )


def furthest_mean(occupied: FloatArray, step: Second) -> Ratio:
    """Of the means over ``AVERAGED_OVER`` the one furthest from 1; the whole mean of a shorter run."""
    width = min(max(round(AVERAGED_OVER / step), 1), len(occupied)) if step > 0.0 else len(occupied)
    means = np.convolve(occupied, np.full(width, 1.0 / width), mode="valid")
    return float(means[np.argmax(np.abs(means - 1.0))])


def _bracket(times: FloatArray, one: Driven, other: Driven, what: str) -> tuple[FloatArray, FloatArray]:
    a = _at(times, one.times, getattr(one, what))
    b = _at(times, other.times, getattr(other, what))
    return np.minimum(a, b), np.maximum(a, b)


def _at(times: FloatArray, known: FloatArray, values: FloatArray) -> FloatArray:
    """Values (r,) or (r, c) between the recorded moments."""
    if values.ndim == 1:
        return np.asarray(np.interp(times, known, values))
    return np.stack([np.interp(times, known, values[:, c]) for c in range(values.shape[1])], axis=1)


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))
