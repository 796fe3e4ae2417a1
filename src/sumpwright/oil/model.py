"""How much oil, how high, and what the dipstick says."""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.quantities.units import CubicMetre, FloatArray, Metre


@dataclass(frozen=True, slots=True, eq=False)
class OilInputs:
    """What the shop wants of the oil. None = not given."""

    fill: CubicMetre | None  # poured in: full mark
    low_below_full: CubicMetre | None  # litres between the marks
    target_capacity: CubicMetre | None  # the old pan's, for the balance
    hold_up: CubicMetre | None  # up in the running engine
    trapped: CubicMetre | None  # never drains back at this attitude
    up: FloatArray  # (3,) unit vector, the vehicle's up in engine axes, level ground


@dataclass(frozen=True, slots=True)
class DipMark:
    """A mark on the stick."""

    name: str  # "full", "low"
    volume: CubicMetre  # oil in the pan at that mark
    from_stop: Metre | None  # along the stick from its shoulder; None = stick misses the surface
    from_tip: Metre | None


@dataclass(frozen=True, slots=True)
class LevelRow:
    """One row of the volume-against-level table."""

    depth_at_deepest: Metre
    below_rail: Metre  # least distance of the surface below the rail face's lowest opening point
    volume: CubicMetre


@dataclass(frozen=True, slots=True, eq=False)
class OilResult:
    """Answer of the oil stage."""

    capacity_to_rail: CubicMetre  # level surface at the standing attitude, first touch of the rail
    whole_volume: CubicMetre  # everything below the rail plane
    level_full: Metre | None  # surface: up . p = level [m]
    level_low: Metre | None
    level_running: Metre | None  # fill less hold-up and trapped
    marks: tuple[DipMark, ...]
    table: tuple[LevelRow, ...]
    balance: tuple[tuple[str, CubicMetre], ...]  # lump by lump
    balance_gap: CubicMetre | None  # capacity or volume at full against the target
    stick_mm_per_litre: float | None  # m per m3 at the full mark, along the stick
