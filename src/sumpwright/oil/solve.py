"""Oil at rest in the pan at its standing attitude."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.body import Cavity, PanBody
from sumpwright.geometry import Surface
from sumpwright.oil.dipstick import is_inside, mark_on_stick, stick_reach
from sumpwright.oil.drain import drained
from sumpwright.oil.fittings import extractions, sensor_reaches
from sumpwright.oil.formulas import stick_length_per_volume
from sumpwright.oil.heights import heights_left
from sumpwright.oil.level import LevelCurve, carried_up, rail_lowest_level
from sumpwright.oil.model import DipMark, HoldUp, LevelRow, OilInputs, OilResult, StickReach, StickTruth
from sumpwright.oil.old_pan import old_pan_held
from sumpwright.oil.properties import HOT, POURED, USUAL_DENSITY_15, hold_up_of, swelling
from sumpwright.oil.reading import stick_truth
from sumpwright.oil.trapped import trapped_of
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre


@dataclass(frozen=True, slots=True)
class Volumes:
    """Oil in the pan by what the job says of fill, marks and hold-up. None = not to be had from it."""

    full: CubicMetre | None  # run, stopped and drained back
    low: CubicMetre | None
    running: CubicMetre | None  # full mark, most hold-up
    lowest: CubicMetre | None  # low mark, most hold-up
    hold_up: HoldUp | None


def volumes(inputs: OilInputs) -> Volumes:
    """What the fill leaves in the pan."""
    hold_up = hold_up_of(inputs)
    trapped = trapped_of(inputs)
    full = None if inputs.fill is None else inputs.fill - trapped.trapped_least
    unsure = trapped.trapped_most - trapped.trapped_least
    low = None if full is None or inputs.low_below_full is None else full - inputs.low_below_full
    return Volumes(
        full=full,
        low=low,
        running=None if full is None or hold_up is None else full - hold_up.hold_up_most - unsure,
        lowest=None if low is None or hold_up is None else low - hold_up.hold_up_most - unsure,
        hold_up=hold_up,
    )


def open_surface(cavity: Cavity, up: FloatArray) -> Surface:
    """The oil space in which the oil finds its level.

    Where the fill stands above the rail's lowest point the walls are carried on upwards, so
    that the level is the one the oil would take in the block, not one under a lid.
    """
    return carried_up(cavity) if up[2] > 0.1 else cavity.surface()


def level_of(curve: LevelCurve, volume: CubicMetre | None) -> Metre | None:
    """Level of a volume; None where there is no oil, or more than the space holds."""
    if volume is None or not volume > 0.0:
        return None
    found = curve.level_for(volume)
    return None if math.isnan(found) else found


def solve(inputs: OilInputs, body: PanBody) -> OilResult:
    """Capacity, levels, dipstick marks, table and balance; the body must have a cavity."""
    cavity = body.cavity
    if cavity is None:
        raise ValueError("the body has no cavity: nothing can hold oil")
    up = inputs.up / np.linalg.norm(inputs.up)
    in_pan = LevelCurve.prepare(cavity, up)
    level_rail = rail_lowest_level(cavity, up)
    open_top = open_surface(cavity, up)
    curve = LevelCurve.prepare(open_top, up)

    def level(volume: CubicMetre | None) -> Metre | None:
        return level_of(curve, volume)

    in_it = volumes(inputs)
    full, low, running, hold_up = in_it.full, in_it.low, in_it.running, in_it.hold_up
    level_full, level_low, level_lowest = level(full), level(low), level(in_it.lowest)

    density = USUAL_DENSITY_15 if inputs.oil.density_15 is None else inputs.oil.density_15
    poured_at = POURED if inputs.poured_at is None else inputs.poured_at
    to_reading = 1.0 if inputs.read_at is None else swelling(density, poured_at, inputs.read_at)
    to_hot = swelling(density, poured_at, HOT if inputs.hot is None else inputs.hot)

    marks: list[DipMark] = []
    truth: StickTruth | None = None
    reach: StickReach | None = None
    per_volume: float | None = None
    tube = body.inputs.dipstick
    if tube is not None:
        for name, volume in (("full", full), ("low", low)):
            if volume is not None:
                at = level(volume * to_reading)
                marks.append(mark_on_stick(name, volume, at, tube, open_top, up))
        read = [mark.from_stop for mark in marks if mark.from_stop is not None]
        reach = stick_reach(tube, cavity, min(read, default=0.0))
        if level_full is not None and marks and marks[0].from_stop is not None:
            area = curve.wetted_area(level_full)
            if area > 0.0:
                per_volume = stick_length_per_volume(area, -float(up @ tube.axis))
        if full is not None and inputs.placement is not None:
            truth = stick_truth(tube, open_top, curve, full * to_reading, hold_up, inputs.placement)

    capacity = in_pan.volume_below(level_rail)
    left = drained(body, inputs.placement, up)
    stopped = None if full is None else full * to_hot
    most_running = None if full is None or hold_up is None else (full - hold_up.hold_up_least) * to_hot
    old = old_pan_held(
        inputs, level_rail - in_pan.lowest, lambda below: in_pan.volume_below(level_rail - below)
    )
    target = inputs.target_capacity
    if target is None and old is not None:
        target = old.space
    return OilResult(
        capacity_to_rail=capacity,
        whole_volume=in_pan.whole,
        level_full=level_full,
        level_low=level_low,
        level_running=level(running),
        marks=tuple(marks),
        table=level_table(in_pan, level_rail),
        balance=cavity.lump_volumes,
        balance_gap=None if target is None else capacity - target,
        stick_mm_per_litre=per_volume,
        level_rail=level_rail,
        level_deepest=in_pan.lowest,
        level_poured=level(inputs.fill),
        level_lowest_running=level_lowest,
        hold_up=hold_up,
        volume_full=full,
        volume_low=low,
        wall_area=_wall_area(cavity),
        stick=reach,
        mouth_cover=_mouth_cover(body, up, level_lowest),
        stick_truth=truth,
        drained=left,
        drain_is_inside=bool(left),
        heights=heights_left(inputs, curve, most_running, stopped),
        swell_to_reading=to_reading,
        crank=inputs.crank,
        trapped=trapped_of(inputs),
        extractions=extractions(body, up),
        sensors=sensor_reaches(body, curve, low, None if hold_up is None else hold_up.hold_up_most),
        old_pan=old,
        target=target,
    )


def level_table(curve: LevelCurve, level_rail: Metre, rows: int = 24) -> tuple[LevelRow, ...]:
    """Volume at even steps of depth, from the deepest point to the rail's lowest point.

    The step is 1, 2, 2.5 or 5 times a power of ten in millimetres; the last row is the rail.
    """
    depth = level_rail - curve.lowest
    if not depth > 0.0:
        return ()
    wanted = depth / rows
    power = 10.0 ** math.floor(math.log10(wanted))
    step = next(m * power for m in (1.0, 2.0, 2.5, 5.0, 10.0) if m * power >= wanted * (1.0 - 1e-9))
    count = math.floor(depth / step * (1.0 - 1e-9))
    depths = [step * k for k in range(1, count + 1)] + [depth]
    return tuple(LevelRow(d, depth - d, curve.volume_below(curve.lowest + d)) for d in depths)


def mouth_is_inside(body: PanBody) -> bool:
    """Whether the pickup's mouth lies in the oil space or above it, between the walls carried up."""
    if body.cavity is None or body.inputs.pickup is None:
        return False
    return is_inside(carried_up(body.cavity), body.inputs.pickup.mouth)


def _mouth_cover(body: PanBody, up: FloatArray, level: Metre | None) -> Metre | None:
    """Oil over the pickup mouth's centre at a level; negative where dry, None for a mouth outside the pan."""
    if level is None or body.inputs.pickup is None or not mouth_is_inside(body):
        return None
    return level - float(up @ body.inputs.pickup.mouth)


def _wall_area(cavity: Cavity) -> float:
    return math.fsum(face.area for face in cavity.faces if face.role != "rail")
