"""From the kit to what proves it: safe pressure, gear, and what the readings say."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.kit import SheetKit
from sumpwright.proof.flatness import flatness_of
from sumpwright.proof.formulas import (
    detectable_leak,
    free_energy,
    head_pressure,
    pressure_of_warming,
    standard_leak,
    stored_energy,
)
from sumpwright.proof.gear import gear_of
from sumpwright.proof.model import (
    DecayReading,
    DecayResult,
    LiquidTest,
    PanelStrength,
    ProofInputs,
    ProofResult,
)
from sumpwright.proof.panels import at_least, metal_of, panels_of, strength_of
from sumpwright.proof.poured import corrected
from sumpwright.quantities.units import CubicMetre, Metre, Pascal, Ratio

CEILING: Pascal = 20_000.0
"""No pan is tested above this, whatever its metal would bear: common practice."""
LEAST_TEST: Pascal = 3_000.0
"""Below this a gauge of a shop shows too little; dye or paraffin finds leaks as well: common practice."""
RELIEF: Ratio = 1.25
"""Relief valve over test pressure, at most: common practice."""


def solve(
    inputs: ProofInputs,
    kit: SheetKit,
    marks: tuple[tuple[str, CubicMetre], ...] = (),
    capacity: CubicMetre | None = None,
    seams: tuple[str, ...] = (),
) -> ProofResult:
    """What the pan bears and how it is proven.

    ``marks`` are the dipstick's, with their volumes; ``capacity`` is level oil up to
    the rail; ``seams`` are the names of those that have to hold oil.
    """
    cavity = kit.body.cavity
    panels, not_computed = _panels(inputs, kit)
    weakest = min((panel.metal_limit for panel in panels), default=None)
    safe = None if weakest is None else min(weakest, CEILING)
    test = None if safe is None else _rounded_down(min(inputs.asked_pressure, safe))
    volume = 0.0 if cavity is None else float(cavity.volume)
    absolute = None if test is None else inputs.atmosphere + test
    return ProofResult(
        panels=panels,
        safe_pressure=safe,
        test_pressure=test,
        ceiling=CEILING,
        asked_pressure=inputs.asked_pressure,
        relief_pressure=None if test is None else min(RELIEF * test, CEILING),
        inside_volume=volume,
        energy=None if test is None else stored_energy(test, volume, inputs.atmosphere),
        energy_free=None if test is None else free_energy(test, volume, inputs.atmosphere),
        detectable=None
        if absolute is None
        else detectable_leak(
            inputs.gauge_step,
            inputs.temperature_step,
            absolute,
            inputs.bench_temperature,
            volume,
            inputs.hold_time,
        ),
        warming_fakes=None
        if absolute is None
        else pressure_of_warming(absolute, inputs.bench_temperature, 1.0),
        gear=None
        if kit.rebuild.refused
        else gear_of(inputs, kit, inputs.asked_pressure if test is None else test),
        liquids=_liquids(volume, _depth(kit)),
        flatness=tuple(
            found for found in (flatness_of(inputs, "free"), flatness_of(inputs, "pulled down")) if found
        ),
        decay=None
        if inputs.record is None or inputs.record.decay is None
        else _decay(inputs, inputs.record.decay, volume),
        correction=None
        if inputs.record is None or inputs.stick is None or not inputs.record.pours
        else corrected(
            inputs.stick,
            inputs.record.pours,
            marks,
            jug_u=inputs.jug_off / math.sqrt(3.0),
            read_u=inputs.stick_off / math.sqrt(3.0),
            capacity=capacity,
        ),
        mass=None if kit.rebuild.refused else kit.mass,
        tight_seams=seams,
        not_computed=not_computed,
    )


def _panels(
    inputs: ProofInputs, kit: SheetKit
) -> tuple[tuple[PanelStrength, ...], tuple[tuple[str, str], ...]]:
    """Every panel at the asked pressure, weakest first, and those that could not be worked out."""
    if kit.rebuild.refused:
        return (), (("all panels", "the kit was refused, so there is no part whose strength could be told"),)
    missing, waiting = [], []
    for panel in panels_of(kit):
        part = next(part for part in kit.parts if part.name == panel.part)
        metal = metal_of(part.material)
        if metal is None:
            missing.append((panel.name, f"the strength of {part.material} is not known here"))
            continue
        waiting.append((at_least(panel, metal), panel, metal))
    tested = min(inputs.asked_pressure, CEILING)
    found: list[PanelStrength] = []
    for sure, panel, metal in sorted(waiting, key=lambda row: (min(row[0]), row[1].name)):
        if not inputs.every_panel and found and _decides_nothing(sure, found, tested):
            continue
        found.append(strength_of(panel, metal, inputs.asked_pressure, tested))
    return tuple(sorted(found, key=lambda panel: (panel.metal_limit, panel.panel))), tuple(missing)


def _decides_nothing(sure: tuple[Pascal, Pascal], found: list[PanelStrength], tested: Pascal) -> bool:
    """Whether a panel that bears at least so much cannot become the weakest or pass half its thickness."""
    metal, formula = sure
    weakest = min(panel.metal_limit for panel in found)
    softest = min(panel.formula_limit for panel in found)
    return metal > weakest and formula > max(softest, tested)


def _rounded_down(pressure: Pascal) -> Pascal:
    """A pressure one can set: whole half kilopascals, below one tenth of one."""
    step = 500.0 if pressure >= 1_000.0 else 100.0
    return max(step, math.floor(pressure / step + 1e-9) * step)


def _depth(kit: SheetKit) -> Metre:
    cavity = kit.body.cavity
    if cavity is None:
        return 0.0
    heights = np.asarray(cavity.vertices)[:, 2]
    return float(heights.max() - heights.min())


def _liquids(volume: CubicMetre, depth: Metre) -> tuple[LiquidTest, ...]:
    """Ways without air: what they weigh, press, take, and what comes after."""
    water, paraffin = 1000.0, 800.0
    return (
        LiquidTest(
            "developer and dye",
            0.0,
            0.0,
            3_600.0,
            "Dye brushed on the seams inside, chalk or developer outside; wash off all of it before any"
            " welding"
            " again: dye in a seam spoils the weld.",
        ),
        LiquidTest(
            "paraffin (kerosene)",
            paraffin * 0.1 * volume,
            head_pressure(paraffin, 0.1 * depth),
            3_600.0,
            "A tenth of the pan, turned so that every seam is wetted in turn, outside chalked. It burns: no"
            " flame, no welding before it is hot-washed and dry.",
        ),
        LiquidTest(
            "water with a drop of washing-up liquid",
            water * volume,
            head_pressure(water, depth),
            3_600.0,
            "Filled to the rail on a stand that bears it, joints chalked, half an hour to an hour. Steel"
            " rusts"
            " the same day: dry with warm air at once, and look into every lap.",
        ),
    )


def _decay(inputs: ProofInputs, reading: DecayReading, volume: CubicMetre) -> DecayResult:
    """Leak from pressure lost, put right for the air's temperature."""
    raw = reading.start_gauge - reading.end_gauge
    outside = inputs.atmosphere if reading.barometer is None else reading.barometer
    end = outside + reading.end_gauge
    cooled = pressure_of_warming(
        end, reading.end_temperature, reading.end_temperature - reading.start_temperature
    )
    drop = raw + cooled
    if reading.barometer is None:
        return DecayResult(None, None, drop, raw)
    leak = standard_leak(
        outside + reading.start_gauge,
        end,
        reading.start_temperature,
        reading.end_temperature,
        volume,
        reading.time,
    )
    u95 = detectable_leak(
        inputs.gauge_step, inputs.temperature_step, end, reading.end_temperature, volume, reading.time
    )
    return DecayResult(leak, u95, drop, raw)
