"""What a free-surface run is given and what comes of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from sumpwright.geometry import Surface
from sumpwright.motion.driven_model import Chambers, Driven, DrivenOil, PumpDemand, Trace
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre, Ratio, Second


class FreeSurfaceError(ValueError):
    """The run cannot be made, or went wrong, and why."""


@dataclass(frozen=True, slots=True, eq=False)
class FreeSurfaceInputs:
    """Everything a run is given; the same pan, trace, oil and pump as the driven compartments get."""

    surface: Surface  # the whole oil space, closed, walls carried up above the rail
    chambers: Chambers
    trace: Trace
    oil: DrivenOil
    pump: PumpDemand
    cell: Metre
    turning: FloatArray | None = None  # (k, 3) rad/s, of the engine, each step of the trace
    return_points: FloatArray | None = None  # (n, 3) m; None = high up in the middle of each compartment
    cover_asked: Metre = 0.0
    snapshots_each: Second = 0.1
    seed: int = 1


@dataclass(frozen=True, slots=True)
class ThinPlace:
    """A part of the oil space too narrow for the cells."""

    where: tuple[float, float, float]  # m, engine frame
    width: Metre
    cell_that_helps: Metre


@dataclass(frozen=True, slots=True)
class Link:
    """A way too narrow for the cells, run by its resistance instead."""

    way: str
    narrowest: Metre
    cell: Metre


@dataclass(frozen=True, slots=True, eq=False)
class FreeSurfaceRun:
    """One run: the compartment model's figures, and what only this one knows."""

    driven: Driven
    cell: Metre
    parcels: int
    steps: int
    engine: str
    occupied: FloatArray  # (r,) share of the oil's volume that the cells below the surface hold
    thin_places: tuple[ThinPlace, ...] = ()
    links: tuple[Link, ...] = ()
    oil_error: CubicMetre = 0.0
    wall_clock: Second = 0.0
    snapshots: tuple[Snapshot, ...] = field(default=())
    worst: View | None = None  # the moment at which the mouth is covered least

    @property
    def real_time(self) -> Ratio:
        """Simulated seconds a second of waiting."""
        return float(self.driven.times[-1]) / self.wall_clock if self.wall_clock > 0.0 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Snapshot:
    """Height of the oil in columns of cells at one moment, for pictures and replay."""

    time: Second
    height: FloatArray  # (nx, ny) m of oil in each column, whatever its height


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """The oil at one moment, seen through the pan: share of oil along each line of sight."""

    time: Second
    origin: FloatArray  # (3,) m, corner of the grid in the engine frame
    cell: Metre
    from_left: FloatArray  # (nx, nz) 0..1, nan = no oil space there
    from_front: FloatArray  # (ny, nz) 0..1, nan = no oil space there


@dataclass(frozen=True, slots=True)
class FreeSurfaceAsked:
    """What the job file says of the free-surface check."""

    cell: Metre | None = None  # None = from the time allowed
    manoeuvres: tuple[str, ...] = ()  # () = the three worst


@dataclass(frozen=True, slots=True)
class Progress:
    """Told now and then while a run goes on."""

    trace: str
    done: Second
    length: Second
    cover: Metre
    longest_uncovered: Second
