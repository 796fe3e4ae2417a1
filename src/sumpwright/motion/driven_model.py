"""A pan driven through time: its compartments, the trace, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    FloatArray,
    Hertz,
    KilogramPerCubicMetre,
    Metre,
    PascalSecond,
    Ratio,
    Second,
    SquareMetre,
)

Stuck = Literal["works", "stuck open", "stuck shut", "fitted backwards"]


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A way for oil between two compartments, cut into flat patches."""

    name: str
    between: tuple[int, int]
    centre: FloatArray  # (3,) m
    patches: FloatArray  # (q, 3) m, centres
    patch_areas: FloatArray  # (q,) m2
    patch_sides: FloatArray  # (q, 2, 3) m, half sides
    hydraulic_diameter: Metre
    thickness: Metre
    girth: Metre
    passes: Literal[-1, 0, 1]  # 1 = from the first to the second only
    is_door: bool
    lag: Second = 0.0
    leak_gap: Metre = 0.0
    overlap: Metre = 0.0

    @property
    def area(self) -> SquareMetre:
        """Of all patches."""
        return float(self.patch_areas.sum())


@dataclass(frozen=True, slots=True, eq=False)
class Chambers:
    """All that stays the same while the pan is driven."""

    names: tuple[str, ...]  # c
    surfaces: tuple[Surface, ...]  # c, walls carried up where they reach the rail
    capacities: FloatArray  # (c,) m3
    axes: FloatArray  # (c, 3, 3): two level directions and up, as the vehicle stands
    lengths: FloatArray  # (c, 2) m, along the two level directions
    ways: tuple[Way, ...]
    mouth: FloatArray  # (3,) m
    mouth_axis: FloatArray  # (3,) unit
    mouth_radius: Metre
    home: int  # compartment of the mouth
    returns: FloatArray  # (c,) shares
    crank: FloatArray  # (n, 4) m: points along the sweep's axis and its radius; (0, 4) = not given
    rail_points: FloatArray  # (n, 3) m, corners of the rail opening


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """What the pan goes through, in steps of the same length."""

    name: str
    words: str  # "left turn at {left_turn}, held 10 s"
    step: Second
    pulls: FloatArray  # (k, 3) m/s2, effective gravity in engine axes
    speeds: FloatArray  # (k,) Hz, engine speed
    asked_for: Second  # uncovered for longer than this fails
    turn_rate: FloatArray | None = None  # (k, 3) rad/s, of the pan about engine axes; None = it does not turn

    @property
    def length(self) -> Second:
        """How long it takes."""
        return self.step * len(self.pulls)


@dataclass(frozen=True, slots=True, eq=False)
class DrivenOil:
    """The oil that is driven about."""

    in_pan: CubicMetre
    held_up: CubicMetre  # on its way back at the start
    return_time: Second
    density: KilogramPerCubicMetre
    viscosity: PascalSecond
    damping: Ratio  # of the first mode, share of critical


@dataclass(frozen=True, slots=True, eq=False)
class Driven:
    """One run of one trace, recorded every few steps (r rows)."""

    trace: str
    is_lagged: bool
    times: FloatArray  # (r,) s
    cover: FloatArray  # (r,) m, oil over the mouth's highest edge
    reserve: FloatArray  # (r,) s, oil left over the mouth at what the pump asks
    oil_taken: FloatArray  # (r,) m3/s
    air_taken: FloatArray  # (r,) m3 since the start
    held_up: FloatArray  # (r,) m3
    crank_gap: FloatArray  # (r,) m, inf where no crank is given
    rail_gap: FloatArray  # (r,) m
    volumes: FloatArray  # (r, c) m3
    levels: FloatArray  # (r, c) m along each compartment's own up
    ways: FloatArray  # (r, o): doors 0..1 open, others flow [m3/s]
    balance_error: CubicMetre
    stuck: tuple[tuple[str, Stuck], ...] = ()
    ups: FloatArray | None = None  # (r, c, 3) unit, each compartment's surface normal

    @property
    def uncovered(self) -> Second:
        """Longest time on end with the mouth's highest edge bare."""
        if len(self.times) < 2:
            return 0.0
        step = float(self.times[1] - self.times[0])
        is_bare = np.concatenate([[False], self.cover < 0.0, [False]])
        turns = np.flatnonzero(is_bare[1:] != is_bare[:-1])
        return int((turns[1::2] - turns[::2]).max(initial=0)) * step

    def open_spans(self, column: int) -> list[tuple[Second, Second]]:
        """From when to when a door stands more than half open; ``column`` is its own in ``ways``."""
        step = float(self.times[1] - self.times[0]) if len(self.times) > 1 else 0.0
        is_open = np.concatenate([[False], self.ways[:, column] > 0.5, [False]])
        turns = np.flatnonzero(is_open[1:] != is_open[:-1])
        return [
            (float(self.times[a]), float(self.times[b - 1]) + step)
            for a, b in zip(turns[::2], turns[1::2], strict=True)
        ]

    @property
    def worst(self) -> int:
        """Row at which the mouth is covered least."""
        return int(self.cover.argmin())


@dataclass(frozen=True, slots=True)
class PumpDemand:
    """What the pump moves at an engine speed."""

    flow: CubicMetrePerSecond
    at_speed: Hertz
