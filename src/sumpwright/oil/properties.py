"""What the oil is: viscosity and density at any temperature, pump demand and hold-up.

The one place for it; motion, suction and proof ask here.
"""

from __future__ import annotations

from dataclasses import dataclass

from sumpwright.oil.formulas import (
    hold_up_from_flow,
    pump_flow_at_speed,
    pump_flow_from_engine,
    viscosity_at,
    viscosity_line_height,
    viscosity_line_slope,
    volume_correction,
)
from sumpwright.oil.model import HoldUp, OilChoice, OilInputs, Pump
from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    Hertz,
    Kelvin,
    KilogramPerCubicMetre,
    PascalSecond,
    Ratio,
    SquareMetrePerSecond,
)
from sumpwright.tables.oils import hot_grade, read_grade, typical_oil, winter_grade

USUAL_DENSITY_15: KilogramPerCubicMetre = 870.0
"""Typical engine oil at 15 degC, from memory (0.84 to 0.89)."""

DENSITY_RANGE: tuple[KilogramPerCubicMetre, KilogramPerCubicMetre] = (801.0, 1164.0)
"""Base densities that the volume correction is published for."""

WARM: tuple[Kelvin, Kelvin] = (313.15, 373.15)
"""40 and 100 degC, where data sheets give viscosities."""

HOT: Kelvin = 373.15
"""Hot oil in the pan where the job does not say."""

POURED: Kelvin = 288.15
"""Temperature at which the litres are counted where the job does not say."""

HOLD_UP_BAND = (0.10, 0.25)
"""Share of the fill that is usually up in a running engine; common practice."""

RETURN_TIMES = (0.5, 2.0)
"""Seconds that pumped oil usually takes back to the pan; common practice."""

PUMP_SHARES = (0.003, 0.0045)
"""Pump delivery per turn over engine displacement where nothing is known."""


@dataclass(frozen=True, slots=True)
class OilProperties:
    """One oil, as a line on the viscosity-temperature chart and a density."""

    name: str
    line_height: Ratio  # A
    line_slope: Ratio  # B
    density_15: KilogramPerCubicMetre
    is_typical: bool  # viscosities are those of a typical oil of the grade, not this oil's own
    pumping_limit: PascalSecond | None = None  # the grade still pumps, at most this thick ...
    pumping_at: Kelvin | None = None  # ... at this temperature

    def viscosity(self, temperature: Kelvin) -> SquareMetrePerSecond:
        """Kinematic viscosity at a temperature."""
        return viscosity_at(self.line_height, self.line_slope, temperature)

    def density(self, temperature: Kelvin) -> KilogramPerCubicMetre:
        """Density at a temperature."""
        return self.density_15 * volume_correction(self.density_15, temperature)

    def dynamic_viscosity(self, temperature: Kelvin) -> PascalSecond:
        """Dynamic viscosity at a temperature."""
        return self.viscosity(temperature) * self.density(temperature)

    def is_extrapolated(self, temperature: Kelvin) -> bool:
        """Whether the chart's line is followed to where wax and yield stress count, or boiling oil."""
        return temperature < 273.15 or temperature > 473.15 or self.viscosity(temperature) < 2e-6


def swelling(density_15: KilogramPerCubicMetre, start: Kelvin, end: Kelvin) -> Ratio:
    """Volume at the end temperature over volume at the start."""
    return volume_correction(density_15, start) / volume_correction(density_15, end)


def properties_of(choice: OilChoice) -> OilProperties | None:
    """The oil that was chosen; None where neither two viscosities nor a known grade are given.

    Ask ``trouble_with`` first: what it refuses has no properties either.
    """
    if trouble_with(choice) is not None:
        return None
    density = USUAL_DENSITY_15 if choice.density_15 is None else choice.density_15
    grade = read_grade(choice.grade) if choice.grade else None
    winter = winter_grade(grade) if grade else None
    name = str(grade) if grade else "oil as measured"
    if choice.points:
        (t1, nu1), (t2, nu2) = choice.points[0], choice.points[1]
        is_typical = False
    else:
        typical = typical_oil(grade) if grade else None
        if typical is None:
            return None
        (t1, nu1), (t2, nu2) = (WARM[0], typical.kv40), (WARM[1], typical.kv100)
        is_typical = True
    slope = viscosity_line_slope(nu1, t1, nu2, t2)
    return OilProperties(
        name=name,
        line_height=viscosity_line_height(nu1, t1, slope),
        line_slope=slope,
        density_15=density,
        is_typical=is_typical,
        pumping_limit=None if winter is None else winter.pumping_limit,
        pumping_at=None if winter is None else winter.pumping_at,
    )


def trouble_with(choice: OilChoice) -> str | None:
    """What is wrong with the oil as given, in shop words; None where nothing is."""
    if choice.density_15 is not None and not DENSITY_RANGE[0] <= choice.density_15 <= DENSITY_RANGE[1]:
        return "no lubricating oil has this density at 15 °C; 840 to 890 kg/m³ is usual"
    if choice.grade and read_grade(choice.grade) is None:
        return f"'{choice.grade}' is no engine oil grade; write one like 5W-30 or SAE 30"
    if choice.points:
        if len(choice.points) != 2:
            return "viscosity is needed at exactly two temperatures"
        (t1, nu1), (t2, nu2) = sorted(choice.points)
        if not t2 - t1 >= 20.0:
            return "the two viscosities must be at least 20 °C apart"
        if not nu1 > nu2:
            return "oil does not get thicker when it is warmed: the two viscosities are swapped or wrong"
        if not nu2 >= 1e-6 or not nu1 <= 1.0:
            return "no engine oil is that thin or that thick"
        # Engine oils lie between 3.0 and 4.2 on the chart; a slope far outside is a slip of the pen.
        if not 2.0 <= viscosity_line_slope(nu1, t1, nu2, t2) <= 5.5:
            return "no oil changes with temperature like this: check the two viscosities"
        grade = read_grade(choice.grade) if choice.grade else None
        hot = hot_grade(grade) if grade else None
        if hot is not None:
            slope = viscosity_line_slope(nu1, t1, nu2, t2)
            at_100 = viscosity_at(viscosity_line_height(nu1, t1, slope), slope, WARM[1])
            # 5 % beyond the limits still counts as this grade: reading and line are no better.
            if not 0.95 * hot.kv100_least <= at_100 <= 1.05 * hot.kv100_below:
                return f"the two viscosities are not those of an oil of grade {grade}"
    return None


def pump_flow(pump: Pump, speed: Hertz) -> CubicMetrePerSecond | None:
    """Delivery the pump asks of the pan at an engine speed; None where nothing says how much.

    Where only the engine's size is known, the larger of the usual shares.
    """
    if pump.flow is not None and pump.at_speed is not None:
        return pump_flow_at_speed(pump.flow, pump.at_speed, speed)
    if pump.engine_displacement is not None:
        return pump_flow_from_engine(pump.engine_displacement, speed, PUMP_SHARES[1])
    return None


def hold_up_of(inputs: OilInputs) -> HoldUp | None:
    """Oil that is up in the running engine: given, from flow and return time, or the usual band.

    None where neither hold-up, return time with flow, nor fill is known.
    """
    if inputs.hold_up is not None:
        return HoldUp(inputs.hold_up, inputs.hold_up, "given")
    pump = inputs.pump
    if pump.return_time is not None and pump.top_speed is not None:
        flow = pump_flow(pump, pump.top_speed)
        if flow is not None:
            up: CubicMetre = hold_up_from_flow(flow, pump.return_time)
            return HoldUp(up, up, "flow")
    if inputs.fill is None:
        return None
    return HoldUp(HOLD_UP_BAND[0] * inputs.fill, HOLD_UP_BAND[1] * inputs.fill, "band")
