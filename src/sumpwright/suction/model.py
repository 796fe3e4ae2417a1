"""What feeds the pump, how thick the oil is on its way, and how much margin is left."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sumpwright.body.pickup_line import PickupLine
from sumpwright.oil.model import OilChoice, Pump
from sumpwright.quantities.units import (
    BoolArray,
    CubicMetre,
    CubicMetrePerSecond,
    FloatArray,
    Hertz,
    Kelvin,
    Metre,
    MetrePerSecond,
    Pascal,
    Ratio,
    Second,
)

Element = Literal["entrance", "screen", "tube", "bends", "velocity", "lift"]
"""Parts of the pressure that is missing at the pump; velocity = what moves the oil."""

Mouth = Literal["flush", "projecting", "bell"]


@dataclass(frozen=True, slots=True, eq=False)
class SuctionInputs:
    """Everything the suction stage needs besides the oil at rest and the cover map."""

    line: PickupLine | None  # None = the job gives no tube
    mouth_diameter: Metre
    mouth_shape: Mouth
    oil: OilChoice
    pump: Pump
    relief_returns_to: Literal["pump inlet", "pan"] | None  # None = not given
    relief_from: Hertz | None  # engine speed at which the relief opens, hot
    altitude: Metre
    coldest_start: Kelvin | None
    hot: Kelvin
    start_speed: Hertz  # engine speed in the first seconds
    fed_within: Second  # time the pump may take to get oil at the coldest start
    least_hot_pressure: Pascal  # absolute, at the pump's inlet, warm and steady
    least_cold_pressure: Pascal  # absolute, for a short cold start
    roughness: Metre
    cylinders: int | None
    strokes: Literal[2, 4] = 4
    return_area: float | None = None  # m2, roof-baffle openings that the oil returns through
    return_opening: Metre | None = None  # m, diameter of one


@dataclass(frozen=True, slots=True, eq=False)
class PressureMap:
    """Absolute pressure at the pump's inlet over temperature and speed."""

    temperatures: FloatArray  # (t,) K
    speeds: FloatArray  # (s,) Hz
    pressure: FloatArray  # (t, s) Pa absolute; below zero = the pump cannot be fed
    limit: FloatArray  # (t,) Pa absolute
    is_extrapolated: BoolArray  # (t,) the oil's chart does not reach so far


@dataclass(frozen=True, slots=True)
class Share:
    """How much of the missing pressure one element takes."""

    element: Element
    loss: Pascal
    loss_least: Pascal  # honest band of the formula
    loss_most: Pascal


@dataclass(frozen=True, slots=True)
class WorkedPoint:
    """One running condition, element by element."""

    name: Literal["hot, top speed", "hot idle", "coldest start"]
    temperature: Kelvin
    speed: Hertz
    flow: CubicMetrePerSecond
    velocity: MetrePerSecond
    reynolds: Ratio
    gravity: float  # m/s2, effective
    shares: tuple[Share, ...]
    pressure: Pascal  # absolute at the pump's inlet
    pressure_least: Pascal  # all elements at the worse end of their bands
    pressure_most: Pascal
    limit: Pascal
    fed_flow: CubicMetrePerSecond  # flow that passes with the limit just held; at most the demand


@dataclass(frozen=True, slots=True)
class Priming:
    """Drawing oil up the tube at one temperature."""

    temperature: Kelvin
    fill_time: Second  # from first turn to oil at the pump; inf = never


@dataclass(frozen=True, slots=True)
class Support:
    """The tube as a beam."""

    free_length: Metre
    end_mass: float  # kg
    frequency: Hertz
    firing_orders: tuple[tuple[float, Hertz, Hertz], ...]  # (order, at idle, at top speed)
    met_at: tuple[tuple[float, Hertz], ...]  # (order, engine speed at which it meets the frequency)


@dataclass(frozen=True, slots=True)
class Cure:
    """One size that would do, the rest unchanged."""

    what: Literal["tube bore", "screen area", "bend radius"]
    now: float  # m or m2
    needed: float | None  # m or m2; None = this alone does not do it


@dataclass(frozen=True, slots=True)
class AirRow:
    """How long oil rests in the pan and which bubbles leave it in that time, with one thing changed."""

    what: Literal["as it is", "one litre more in the pan", "at idle", "cold, at the start speed"]
    residence: Second
    clearing_bubble: Metre


@dataclass(frozen=True, slots=True, eq=False)
class SuctionResult:
    """Answer of the suction stage; None where the inputs do not carry it."""

    atmosphere: Pascal
    map: PressureMap | None
    points: tuple[WorkedPoint, ...]
    coldest_fed: Priming | None  # coldest temperature at which the oil is there in time
    priming_at_start: Priming | None  # at the coldest start asked for
    lift: Metre | None  # worst oil surface up to the port, standing level
    mouth_gap: Metre | None
    curtain_over_tube: Ratio | None
    submergence: Metre | None  # oil over the mouth at low mark, running
    submergence_wanted: Metre | None  # water-sump rule, hot top speed
    joints_above: tuple[tuple[str, bool], ...]  # (joint, is above the lowest oil level)
    support: Support | None
    residence: Second | None
    clearing_bubble: Metre | None
    running_volume: CubicMetre | None
    cold_return_flow: (
        CubicMetrePerSecond | None
    )  # through the baffle's openings, cold, oil standing 10 mm on it
    cures: tuple[Cure, ...]
    port_miss: Metre | None  # tube's end to the pump's port
    cannot: tuple[tuple[str, str], ...]  # (what is missing, key)
    air: tuple[AirRow, ...] = ()
    return_fall: Metre | None = None  # from the rail's lowest point down to the running surface
    return_speed: MetrePerSecond | None = None  # at which oil falling from there strikes it
    hot_return_flow: CubicMetrePerSecond | None = None  # as cold_return_flow, hot
