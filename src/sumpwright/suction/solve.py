"""From tube, screen, oil and pump to the pressure at the pump's inlet."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.pickup_line import PickupLine, TubeCorner
from sumpwright.motion.model import MotionResult
from sumpwright.oil import OilResult
from sumpwright.oil.properties import OilProperties, properties_of, pump_flow
from sumpwright.quantities.units import (
    STANDARD_GRAVITY,
    CubicMetre,
    FloatArray,
    Hertz,
    Kelvin,
    Metre,
    Pascal,
    Second,
    frozen_array,
)
from sumpwright.suction.crossing import crossing
from sumpwright.suction.formulas import (
    cantilever_frequency,
    curtain_area,
    fall_speed,
    no_vortex_depth,
    opening_velocity,
    residence_time,
    smallest_clearing_bubble,
    standard_atmosphere_pressure,
    tube_bending_stiffness,
)
from sumpwright.suction.losses import Losses, figures_of, line_losses
from sumpwright.suction.model import (
    AirRow,
    Cure,
    PressureMap,
    Priming,
    Share,
    SuctionInputs,
    SuctionResult,
    Support,
    WorkedPoint,
)

COLD: Kelvin = 313.15
"""Below this the short cold-start limit applies, above it the warm one."""

MAP_SIZE = 60
FLOW_SHARE = 2.0**-35
"""A flow under a pressure is found to this share of what the pump asks for."""

_FRONT_STEPS = 60
STANDING_ON_BAFFLE: Metre = 0.010
FREQUENCY_DOUBT = 0.30


def solve(
    inputs: SuctionInputs, up: FloatArray, body: PanBody, oil: OilResult, motion: MotionResult | None
) -> SuctionResult:
    """Pressures, priming, joints, support and air of the suction side.

    ``up`` (3,) is the vehicle's up on level ground in engine axes; ``oil`` and ``motion``
    give how low the surface gets. Whatever the inputs do not carry is None and named in ``cannot``.
    """
    atmosphere = standard_atmosphere_pressure(inputs.altitude)
    properties = properties_of(inputs.oil)
    line = inputs.line
    cannot = _missing(inputs, properties)
    level = oil.level_lowest_running
    mouth = None if body.inputs.pickup is None else body.inputs.pickup.mouth
    submergence = oil.mouth_cover
    gap = None if line is None else (line.floor_gap if line.floor_gap is not None else _floor_gap(body, up))
    volume = (
        oil.volume_low
        if oil.hold_up is None or oil.volume_low is None
        else max(oil.volume_low - oil.hold_up.hold_up_most, 0.0)
    )
    curtain = (
        None if line is None or gap is None else curtain_area(inputs.mouth_diameter, gap) / line.section.area
    )
    result = SuctionResult(
        atmosphere=atmosphere,
        map=None,
        points=(),
        coldest_fed=None,
        priming_at_start=None,
        lift=None if line is None or level is None else float(up @ line.port) - level,
        mouth_gap=gap,
        curtain_over_tube=curtain,
        submergence=submergence,
        submergence_wanted=None,
        joints_above=_joints_above(line, up, level, motion),
        support=_support(inputs, line),
        residence=None,
        clearing_bubble=None,
        running_volume=volume,
        cold_return_flow=None,
        cures=(),
        port_miss=None if line is None else float(np.linalg.norm(line.path[-1] - line.port)),
        cannot=cannot,
    )
    sight = fed_line(inputs, up, level, motion)
    if sight is None or line is None or properties is None or level is None or mouth is None:
        return result
    hot_flow = float(sight.demand(np.asarray(inputs.pump.top_speed)))
    hot_density = properties.density(inputs.hot)
    hot_viscosity = properties.dynamic_viscosity(inputs.hot)
    points = sight.points()
    mouth_area = math.pi * inputs.mouth_diameter**2 / 4.0
    residence = residence_time(volume, hot_flow) if volume else None
    cold = inputs.coldest_start
    return replace(
        result,
        map=sight.map(),
        points=points,
        coldest_fed=sight.coldest_fed(),
        priming_at_start=None if cold is None else Priming(cold, sight.fill_time(cold)),
        submergence_wanted=no_vortex_depth(inputs.mouth_diameter, hot_flow / mouth_area),
        residence=residence,
        clearing_bubble=None
        if residence is None or submergence is None or submergence <= 0.0
        else smallest_clearing_bubble(submergence, residence, hot_density, hot_viscosity, STANDARD_GRAVITY),
        cold_return_flow=_returned(_with_baffle(inputs, body), properties, cold),
        hot_return_flow=_returned(_with_baffle(inputs, body), properties, inputs.hot),
        cures=_cures(sight, points),
        air=air_rows(sight, volume, submergence),
        return_fall=oil.level_rail - level,
        return_speed=fall_speed(oil.level_rail - level),
    )


def fed_line(
    inputs: SuctionInputs, up: FloatArray, level: Metre | None, motion: MotionResult | None
) -> FedLine | None:
    """The line with the oil at its lowest running level; None where the inputs do not carry it."""
    properties = properties_of(inputs.oil)
    top = inputs.pump.top_speed
    if inputs.line is None or properties is None or level is None or top is None:
        return None
    if pump_flow(inputs.pump, top) is None:
        return None
    atmosphere = standard_atmosphere_pressure(inputs.altitude)
    return FedLine(inputs, inputs.line, properties, up, level, atmosphere, motion)


def _missing(inputs: SuctionInputs, properties: OilProperties | None) -> tuple[tuple[str, str], ...]:
    wanted = (
        (inputs.line is None, "the pickup's tube", "suction"),
        (properties is None, "the oil's grade or its viscosity at 40 and 100 °C", "oil.grade"),
        (
            inputs.pump.flow is None and inputs.pump.engine_displacement is None,
            "what the pump delivers, or the engine's size",
            "pump.delivers",
        ),
        (inputs.pump.top_speed is None, "the engine's top speed", "pump.top_speed"),
    )
    return tuple((what, key) for absent, what, key in wanted if absent)


class FedLine:
    """One line under one oil: pressures at any temperature and speed. Holds inputs only."""

    def __init__(
        self,
        inputs: SuctionInputs,
        line: PickupLine,
        properties: OilProperties,
        up: FloatArray,
        level: Metre,
        atmosphere: Pascal,
        motion: MotionResult | None,
    ) -> None:
        self.inputs, self.line, self.properties = inputs, line, properties
        self.up, self.level, self.atmosphere = up, level, atmosphere
        self.gravity, self.lift = _worst_lift(line, up, level, motion, inputs)
        self.level_lift = float(up @ line.port) - level
        self.figures = figures_of(line)

    def with_line(self, line: PickupLine) -> FedLine:
        """The same sight through another tube."""
        other = object.__new__(FedLine)
        other.__dict__.update(self.__dict__)
        other.line, other.figures = line, figures_of(line)
        return other

    def demand(self, speed: Any) -> FloatArray:
        """What the pump asks of the tube [m3/s] at engine speeds [Hz]."""
        top = pump_flow(self.inputs.pump, 1.0)
        per_turn = 0.0 if top is None else top
        turns = np.asarray(speed, dtype=np.float64)
        opened = self.inputs.relief_from
        # Relief oil that goes back to the pump's inlet never comes up the tube again.
        if self.inputs.relief_returns_to == "pump inlet" and opened is not None:
            turns = np.minimum(turns, opened)
        return np.asarray(per_turn * turns)

    def losses(self, flow: Any, temperature: Any, wetted: Any = None, has_bands: bool = True) -> Losses:
        """Losses at flows and temperatures that broadcast together."""
        t = np.asarray(temperature, dtype=np.float64)
        oil = self.properties
        density: Any
        viscosity: Any
        if t.ndim == 0:
            density, viscosity = oil.density(float(t)), oil.dynamic_viscosity(float(t))
        else:
            density = np.vectorize(oil.density, otypes=[float])(t)
            viscosity = np.vectorize(oil.dynamic_viscosity, otypes=[float])(t)
        return line_losses(
            self.line,
            self.inputs.mouth_shape,
            self.inputs.roughness,
            flow,
            density,
            viscosity,
            wetted,
            has_bands,
            self.figures,
        )

    def limit(self, temperature: Kelvin) -> Pascal:
        """Least absolute pressure wanted at the pump's inlet."""
        return self.inputs.least_cold_pressure if temperature < COLD else self.inputs.least_hot_pressure

    def lift_pressure(self, temperature: Kelvin, is_level: bool) -> Pascal:
        """Pressure that raising the oil costs: worst load held, or standing level."""
        density = self.properties.density(temperature)
        if is_level:
            return density * STANDARD_GRAVITY * self.level_lift
        return density * self.gravity * self.lift

    def pressure(self, temperature: Kelvin, speed: Hertz, is_level: bool = False) -> Pascal:
        """Absolute pressure at the pump's inlet, nominal."""
        lost = self.losses(self.demand(np.asarray(speed)), np.asarray(temperature))
        return self.atmosphere - float(lost.total) - self.lift_pressure(temperature, is_level)

    def map(self) -> PressureMap:
        """The whole field of temperatures and speeds, standing level."""
        inputs = self.inputs
        coldest = inputs.coldest_start if inputs.coldest_start is not None else 253.15
        temperatures = np.linspace(min(coldest, inputs.hot - 1.0), inputs.hot, MAP_SIZE)
        top = inputs.pump.top_speed or 1.0
        speeds = np.linspace(top / MAP_SIZE, top, MAP_SIZE)
        lost = self.losses(self.demand(speeds)[None, :], temperatures[:, None])
        lift = np.array([self.lift_pressure(float(t), True) for t in temperatures])
        return PressureMap(
            temperatures=frozen_array(temperatures),
            speeds=frozen_array(speeds),
            pressure=frozen_array(self.atmosphere - lost.total - lift[:, None]),
            limit=frozen_array([self.limit(float(t)) for t in temperatures]),
            is_extrapolated=np.array([self.properties.is_extrapolated(float(t)) for t in temperatures]),
        )

    def points(self) -> tuple[WorkedPoint, ...]:
        """The conditions that are worked out line by line."""
        inputs = self.inputs
        found = [self._point("hot, top speed", inputs.hot, inputs.pump.top_speed or 0.0, False)]
        if inputs.pump.idle_speed is not None:
            found.append(self._point("hot idle", inputs.hot, inputs.pump.idle_speed, True))
        if inputs.coldest_start is not None:
            found.append(self._point("coldest start", inputs.coldest_start, inputs.start_speed, True))
        return tuple(found)

    def _point(self, name: str, temperature: Kelvin, speed: Hertz, is_level: bool) -> WorkedPoint:
        flow = self.demand(np.asarray(speed))
        lost = self.losses(flow, np.asarray(temperature))
        lift = self.lift_pressure(temperature, is_level)
        limit = self.limit(temperature)
        shares = (
            Share("entrance", *(float(lost.entrance),) * 3),
            Share("screen", float(lost.screen), float(lost.screen_least), float(lost.screen_most)),
            Share("tube", *(float(lost.tube),) * 3),
            Share("bends", float(lost.bends), float(lost.bends_least), float(lost.bends_most)),
            Share("velocity", *(float(lost.velocity),) * 3),
            Share("lift", lift, lift, lift),
        )
        return WorkedPoint(
            name=name,  # type: ignore[arg-type]
            temperature=temperature,
            speed=speed,
            flow=float(flow),
            velocity=float(lost.speed),
            reynolds=float(lost.reynolds),
            gravity=STANDARD_GRAVITY if is_level else self.gravity,
            shares=shares,
            pressure=self.atmosphere - float(lost.total) - lift,
            pressure_least=self.atmosphere - float(lost.total_most) - lift,
            pressure_most=self.atmosphere - float(lost.total_least) - lift,
            limit=limit,
            fed_flow=float(self.flow_at(self.atmosphere - limit - lift, temperature, float(flow))),
        )

    def flow_at(self, depression: Any, temperature: Kelvin, most: float, wetted: Any = None) -> FloatArray:
        """Flow [m3/s], at most ``most``, that loses no more than the depression; arrays over ``wetted``."""
        allowed = np.asarray(depression, dtype=np.float64)
        passes = self.losses(np.full_like(allowed, most), temperature, wetted, False).total <= allowed
        between = ~passes & (allowed > 0.0)
        flow = np.where(passes, most, 0.0)
        if between.any():
            sought = allowed[between]
            front = None if wetted is None else np.broadcast_to(wetted, allowed.shape)[between]

            def excess(tried: FloatArray) -> FloatArray:
                lost = self.losses(tried, temperature, front, False).total
                return np.asarray(lost - sought)

            flow[between] = crossing(
                excess, np.zeros_like(sought), np.full_like(sought, most), FLOW_SHARE * most
            )
        return flow

    def fill_time(self, temperature: Kelvin) -> Second:
        """Time from the first turn until oil stands at the pump; infinite where it never does.

        The tube starts full up to the oil's level. The pump draws at the start speed, and the
        oil follows no faster than the cold limit's depression drives it through what is wet.
        """
        runs = self.line.runs()
        ends = np.concatenate([[0.0], np.cumsum(runs)])
        heights = self.line.path @ self.up - self.level
        length = float(ends[-1])
        most = float(self.demand(np.asarray(self.inputs.start_speed)))
        if most <= 0.0:
            return math.inf
        steps = (np.arange(_FRONT_STEPS) + 0.5) * (length / _FRONT_STEPS)
        wet_by_itself = np.interp(steps, ends, heights) <= 0.0
        # Only what lies above the level and beyond its first crossing has to be drawn.
        first = int(np.argmin(wet_by_itself)) if not wet_by_itself.all() else _FRONT_STEPS
        drawn = steps[first:]
        if drawn.size == 0:
            return 0.0
        density = self.properties.density(temperature)
        rise = density * STANDARD_GRAVITY * np.interp(drawn, ends, heights)
        flow = self.flow_at(
            self.atmosphere - self.inputs.least_cold_pressure - rise, temperature, most, drawn
        )
        if np.any(flow <= 0.0):
            return math.inf
        return float(np.sum((length / _FRONT_STEPS) * self.line.section.area / flow))

    def is_fed(self, temperature: Kelvin) -> bool:
        """Whether oil is at the pump in time and with enough pressure to go on."""
        return self.fill_time(temperature) <= self.inputs.fed_within and self.pressure(
            temperature, self.inputs.start_speed, True
        ) >= self.limit(temperature)

    def coldest_fed(self) -> Priming | None:
        """Coldest start that is fed in time, to a tenth of a degree; None where not even warm oil is."""
        low, high = 223.15, COLD - 0.1
        if not self.is_fed(high):
            return None
        if self.is_fed(low):
            return Priming(low, self.fill_time(low))
        while high - low > 0.1:
            middle = 0.5 * (low + high)
            if self.is_fed(middle):
                high = middle
            else:
                low = middle
        return Priming(high, self.fill_time(high))

    def asked(self) -> tuple[tuple[Kelvin, Hertz, bool], ...]:
        """The worked points: temperature, speed, and whether the engine stands level."""
        inputs = self.inputs
        asked = [(inputs.hot, inputs.pump.top_speed or 0.0, False)]
        if inputs.pump.idle_speed is not None:
            asked.append((inputs.hot, inputs.pump.idle_speed, True))
        if inputs.coldest_start is not None:
            asked.append((inputs.coldest_start, inputs.start_speed, True))
        return tuple(asked)

    def all_hold(self) -> bool:
        """Whether every worked point keeps its limit."""
        return all(self.pressure(t, speed, is_level) >= self.limit(t) for t, speed, is_level in self.asked())

    def least_margin(self) -> Pascal:
        """Pressure over its limit at the worked point where least of it is left."""
        return min(self.pressure(t, speed, is_level) - self.limit(t) for t, speed, is_level in self.asked())


def _worst_lift(
    line: PickupLine, up: FloatArray, level: Metre, motion: MotionResult | None, inputs: SuctionInputs
) -> tuple[float, Metre]:
    """Pull and lift [m/s2, m] of the held load that costs the pump most.

    The cover maps give the oil over the mouth along each pull; the port's height above the
    mouth along the same pull less that cover is the lift.
    """
    worst = (STANDARD_GRAVITY, float(up @ line.port) - level)
    if motion is None:
        return worst
    for cover in (motion.accelerations, motion.slopes):
        if cover is None:
            continue
        rise = cover.up @ (line.port - line.path[0])
        # Where the mouth is bare the pump draws air; that is the cover map's finding, not a lift.
        lift = rise - np.maximum(cover.cover, 0.0)
        cost = cover.pull * lift
        k = int(np.argmax(cost))
        if cost[k] > worst[0] * worst[1]:
            worst = (float(cover.pull[k]), float(lift[k]))
    return worst


def _floor_gap(body: PanBody, up: FloatArray) -> Metre | None:
    """From the mouth straight down to the pan's floor."""
    pickup, cavity = body.inputs.pickup, body.cavity
    if pickup is None or cavity is None:
        return None
    start = pickup.mouth
    best = math.inf
    a, b, c = (cavity.vertices[cavity.triangles[:, k]] for k in range(3))
    edge1, edge2 = b - a, c - a
    cross = np.cross(-up, edge2)
    det = np.einsum("ij,ij->i", edge1, cross)
    safe = np.where(np.abs(det) < 1e-15, 1.0, det)
    t0 = start - a
    s = np.einsum("ij,ij->i", t0, cross) / safe
    q = np.cross(t0, edge1)
    w = (q @ -up) / safe
    t = np.einsum("ij,ij->i", edge2, q) / safe
    hit = (np.abs(det) >= 1e-15) & (s >= -1e-9) & (w >= -1e-9) & (s + w <= 1.0 + 1e-9) & (t > 1e-9)
    if hit.any():
        best = float(t[hit].min())
    return best if math.isfinite(best) else None


def _joints_above(
    line: PickupLine | None, up: FloatArray, level: Metre | None, motion: MotionResult | None
) -> tuple[tuple[str, bool], ...]:
    """Each joint and whether it comes out of the oil, standing level or under any held load."""
    if line is None or level is None:
        return ()
    found = []
    for joint in line.joints:
        place = np.array(line.at(joint.along))
        above = bool(up @ place > level)
        for cover in () if motion is None else (motion.accelerations, motion.slopes):
            if cover is not None and not above:
                above = bool(np.any(cover.up @ (place - line.path[0]) > cover.cover))
        found.append((joint.name, above))
    return tuple(found)


def _support(inputs: SuctionInputs, line: PickupLine | None) -> Support | None:
    if (
        line is None
        or line.elastic_modulus is None
        or line.tube_density is None
        or line.end_mass is None
        or line.section.shape != "round"
    ):
        return None
    free = line.free_length if line.free_length is not None else float(line.runs().sum())
    bore = line.section.clear_width
    outside = bore + 2.0 * line.section.wall
    mass = line.tube_density * math.pi / 4.0 * (outside**2 - bore**2) * free
    frequency = cantilever_frequency(
        tube_bending_stiffness(outside, bore, line.elastic_modulus), free, mass, line.end_mass
    )
    orders: list[tuple[float, Hertz, Hertz]] = []
    met: list[tuple[float, Hertz]] = []
    idle, top = inputs.pump.idle_speed, inputs.pump.top_speed
    if inputs.cylinders is not None and top is not None:
        firing = inputs.cylinders / (inputs.strokes / 2.0)
        for order in (firing, 2.0 * firing):
            orders.append((order, order * (idle or 0.0), order * top))
            met.append((order, frequency / order))
    return Support(free, line.end_mass, frequency, tuple(orders), tuple(met))


def air_rows(fed: FedLine, volume: CubicMetre | None, depth: Metre | None) -> tuple[AirRow, ...]:
    """Rest and bubbles as the pan is, with a litre more, at idle, and cold."""
    if not volume or depth is None or depth <= 0.0:
        return ()
    pump, inputs = fed.inputs.pump, fed.inputs
    asked: list[tuple[Any, CubicMetre, Hertz, Kelvin]] = [
        ("as it is", volume, pump.top_speed or 0.0, inputs.hot),
        ("one litre more in the pan", volume + 1e-3, pump.top_speed or 0.0, inputs.hot),
    ]
    if pump.idle_speed is not None:
        asked.append(("at idle", volume, pump.idle_speed, inputs.hot))
    if inputs.coldest_start is not None:
        asked.append(("cold, at the start speed", volume, inputs.start_speed, inputs.coldest_start))
    rows = []
    for what, oil, speed, temperature in asked:
        flow = float(fed.demand(speed))
        if flow <= 0.0:
            continue
        rest = residence_time(oil, flow)
        bubble = smallest_clearing_bubble(
            depth,
            rest,
            fed.properties.density(temperature),
            fed.properties.dynamic_viscosity(temperature),
            STANDARD_GRAVITY,
        )
        rows.append(AirRow(what, rest, bubble))
    return tuple(rows)


def _with_baffle(inputs: SuctionInputs, body: PanBody) -> SuctionInputs:
    """The openings of the body's roof baffles, where the job gives no others: area and mean width."""
    if inputs.return_area is not None or body.division is None:
        return inputs
    baffles = {wall.wall.name for wall in body.division.walls if wall.wall.kind == "roof baffle"}
    ways = [opening for opening in body.division.openings if opening.wall in baffles]
    area = sum(opening.area for opening in ways)
    if area <= 0.0:
        return inputs
    width = sum(opening.area * opening.hydraulic_diameter for opening in ways) / area
    return replace(inputs, return_area=area, return_opening=width)


def _returned(inputs: SuctionInputs, properties: OilProperties, temperature: Kelvin | None) -> float | None:
    """What the roof baffle's openings let back with oil standing on it [m3/s]; None where not known."""
    if inputs.return_area is None or inputs.return_opening is None or temperature is None:
        return None
    density = properties.density(temperature)
    velocity = opening_velocity(
        density * STANDARD_GRAVITY * STANDING_ON_BAFFLE,
        density,
        properties.dynamic_viscosity(temperature),
        inputs.return_opening,
        0.0,
    )
    return velocity * inputs.return_area


def _scaled_tube(line: PickupLine, factor: float) -> PickupLine:
    section = line.section
    return replace(
        line,
        section=replace(
            section, clear_width=section.clear_width * factor, clear_height=section.clear_height * factor
        ),
    )


def _cures(sight: FedLine, points: tuple[WorkedPoint, ...]) -> tuple[Cure, ...]:
    """How much bore, screen or bend radius alone would make every worked point hold."""
    if all(point.pressure >= point.limit for point in points):
        return ()
    line = sight.line
    cures = [
        Cure(
            "tube bore",
            line.section.clear_width,
            _least(line.section.clear_width, 3.0, lambda f: sight.with_line(_scaled_tube(line, f))),
        )
    ]
    if line.screen is not None:
        screen = line.screen
        cures.append(
            Cure(
                "screen area",
                screen.area,
                _least(
                    screen.area,
                    10.0,
                    lambda f: sight.with_line(replace(line, screen=replace(screen, area=screen.area * f))),
                ),
            )
        )
    tight = [
        c for c in line.corners if c.kind == "mitre" or (c.radius or 0.0) < 1.5 * line.section.clear_width
    ]
    if tight:
        radius = 1.5 * line.section.hydraulic_diameter
        wide = replace(line, corners=tuple(TubeCorner("bend", radius) for _ in line.corners))
        now = min((c.radius or 0.0) if c.kind == "bend" else 0.0 for c in tight)
        cures.append(Cure("bend radius", now, radius if sight.with_line(wide).all_hold() else None))
    return tuple(cures)


def _least(now: float, most: float, changed: object) -> float | None:
    """Smallest multiple of ``now`` up to ``most`` at which all holds, to 1 %."""
    assert callable(changed)
    if not changed(most).all_hold():
        return None
    low, high = 1.0, most
    while high / low > 1.01:
        middle = math.sqrt(low * high)
        if changed(middle).all_hold():
            high = middle
        else:
            low = middle
    return now * high
