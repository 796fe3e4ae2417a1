"""What reading the same thing twice says of a tool and the hand that held it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sumpwright.quantities.units import Metre
from sumpwright.rail.formulas import agreement_range, pooled_spread
from sumpwright.rail.model import Reading, RepeatSpread

_LEAST_REPEATS = 4
"""Fewer repeats than this say too little of a spread to change anything."""
_OUT_OF_PLACE = 16.0
"""A thing whose own spread is more than four times the others' holds a slip: left out here."""


def repeat_spreads(readings: tuple[Reading, ...]) -> tuple[RepeatSpread, ...]:
    """Spread of one reading for every tool that read something more than once."""
    out = []
    for tool in sorted({r.tool for r in readings}):
        own = [r for r in readings if r.tool == tool and r.u_is_default]
        squares, counts = _within_things(own)
        if not counts:
            continue
        repeats = sum(counts)
        spread = pooled_spread(sum(squares), repeats)
        stated = float(np.median([r.u for r in own]))
        is_wider = repeats >= _LEAST_REPEATS and sum(squares) / stated**2 > agreement_range(repeats)[1]
        out.append(RepeatSpread(tool, spread, repeats, stated, is_wider, spread if is_wider else stated))
    return tuple(out)


def widened(readings: tuple[Reading, ...], spreads: tuple[RepeatSpread, ...]) -> tuple[Reading, ...]:
    """The readings, with the tool's own uncertainty raised where repeats show that it is larger.

    Never lowered: repeats do not see what they have in common.
    """
    wider: dict[str, Metre] = {s.tool: s.used for s in spreads if s.is_wider}
    return tuple(
        replace(r, u=max(r.u, wider[r.tool])) if r.u_is_default and r.tool in wider else r for r in readings
    )


def _within_things(readings: list[Reading]) -> tuple[list[float], list[int]]:
    """Squared differences from the mean, and repeats, of each thing read more than once."""
    things: dict[tuple[object, ...], list[float]] = {}
    for r in readings:
        ends: tuple[object, ...] = (r.a, r.b)
        if r.kind in ("centre", "inside", "outside"):
            ends = tuple(sorted((r.a, str(r.b))))
        things.setdefault((r.kind, *ends, r.with_hole, r.group, r.part), []).append(r.value)
    pairs = sorted(
        (float(np.sum((np.array(v) - np.mean(v)) ** 2)), len(v) - 1) for v in things.values() if len(v) > 1
    )
    while len(pairs) > 2:
        # A slip in one repeat must not pass for the tool's spread.
        worst = max(range(len(pairs)), key=lambda k: pairs[k][0] / pairs[k][1])
        rest = [p for k, p in enumerate(pairs) if k != worst]
        usual = sum(q for q, _ in rest) / sum(f for _, f in rest)
        if pairs[worst][0] / pairs[worst][1] <= _OUT_OF_PLACE * usual:
            break
        pairs = rest
    return [q for q, _ in pairs], [f for _, f in pairs]
