"""All manoeuvres of a job driven through the compartments, doors failing one by one, changes tried."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from sumpwright.body import PanBody
from sumpwright.body.division import divide
from sumpwright.geometry import Surface
from sumpwright.motion.chambers import AT_RAIL, chambers, home_of
from sumpwright.motion.driven import drive, level_volumes
from sumpwright.motion.driven_model import Chambers, Driven, DrivenOil, PumpDemand, Stuck, Trace
from sumpwright.motion.formulas import slosh_damping
from sumpwright.motion.loads import envelope_of
from sumpwright.motion.logs import Log, LogFit, LogNote, agreement, dips_of, fit, notes_of, trace_of
from sumpwright.motion.manoeuvres import manoeuvres
from sumpwright.motion.model import MotionInputs
from sumpwright.oil import OilResult
from sumpwright.oil.dipstick import is_inside
from sumpwright.oil.model import OilInputs
from sumpwright.oil.properties import properties_of, pump_flow
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.quantities.units import (
    CubicMetre,
    CubicMetrePerSecond,
    FloatArray,
    Kelvin,
    Metre,
    MetrePerSecondSquared,
    Second,
    frozen_array,
)

HOT: Kelvin = 373.15
LEAST_DAMPING = 0.05
"""Below this the swing of a smooth tank is too lively for a pan with corners; a trial's figure."""

MORE_OIL: CubicMetre = 0.3e-3
LESS_HELD_UP = 0.7
MOUTH_MOVE: Metre = 0.030
WALL_RISE: Metre = 0.020
FAILURES: tuple[Stuck, ...] = ("stuck open", "stuck shut", "fitted backwards")
WET_SUMP_END: MetrePerSecondSquared = 1.5 * STANDARD_GRAVITY
AFLOAT = ("marine", "marine emergency", "sailing hull", "planing hull")


@dataclass(frozen=True, slots=True, eq=False)
class DriveInputs:
    """What is driven: the loads of the job, the engine's speeds, logged laps."""

    motion: MotionInputs
    oil: OilInputs
    logs: tuple[Log, ...] = ()
    crank: FloatArray | None = None  # (n, 4) m
    roll_period: Second = 4.5
    pitch_period: Second = 3.5


@dataclass(frozen=True, slots=True, eq=False)
class Driving:
    """One manoeuvre with both bounds of how fast the surface follows."""

    trace: Trace
    lagged: Driven
    unlagged: Driven
    flow_per_turn: CubicMetre = 0.0  # of the pump

    @property
    def uncovered_least(self) -> Second:
        """Longest bare stretch of the kinder run."""
        return min(self.lagged.uncovered, self.unlagged.uncovered)

    @property
    def uncovered_most(self) -> Second:
        """Longest bare stretch of the worse run."""
        return max(self.lagged.uncovered, self.unlagged.uncovered)

    @property
    def least_cover(self) -> Metre:
        """Least oil over the mouth's edge in either run."""
        return float(min(self.lagged.cover.min(), self.unlagged.cover.min()))

    @property
    def worst_moment(self) -> tuple[Driven, int]:
        """The run and the row at which the mouth is covered least."""
        worst = self.lagged if self.lagged.cover.min() <= self.unlagged.cover.min() else self.unlagged
        return worst, worst.worst

    @property
    def out_of_reach(self) -> CubicMetre:
        """Oil in the pan at the worst moment that does not stand over the mouth."""
        run, row = self.worst_moment
        over = float(run.reserve[row]) * self.asked(row)
        return max(float(run.volumes[row].sum()) - over, 0.0)

    def asked(self, row: int) -> CubicMetrePerSecond:
        """What the pump asks at a recorded row."""
        run, _ = self.worst_moment
        at = min(round(float(run.times[row]) / self.trace.step), len(self.trace.speeds) - 1)
        return self.flow_per_turn * float(self.trace.speeds[at])

    @property
    def least_reserve(self) -> Second:
        """Least seconds of oil left over the mouth in either run."""
        return float(min(self.lagged.reserve.min(), self.unlagged.reserve.min()))


@dataclass(frozen=True, slots=True)
class DoorFailure:
    """What one failing door does to the worst manoeuvre."""

    door: str
    how: Stuck
    worst_trace: str
    uncovered: Second
    least_cover: Metre


@dataclass(frozen=True, slots=True)
class Tried:
    """One change that was tried on all manoeuvres."""

    what: str
    key: str  # job-file key
    value: str  # as the fabricator would write it; "" where no single value does it
    uncovered: Second  # longest bare stretch after it
    least_cover: Metre


@dataclass(frozen=True, slots=True, eq=False)
class DriveResult:
    """Answer of the driven traces; no runs where something is missing."""

    runs: tuple[Driving, ...]
    failures: tuple[DoorFailure, ...]
    tried: tuple[Tried, ...]  # best first
    compartments: tuple[str, ...]
    surfaces: tuple[Surface, ...]  # of the compartments, walls carried up
    doors: tuple[str, ...]
    door_leaks: tuple[tuple[str, Metre], ...]
    door_columns: tuple[tuple[str, int], ...]  # (door, its column in each run's ``ways``)
    oil: DrivenOil | None
    missing: tuple[str, ...]
    hardest: MetrePerSecondSquared  # largest sustained turn asked
    notes: tuple[tuple[str, LogNote], ...] = ()  # (log, what was noticed in it)
    fits: tuple[tuple[str, LogFit], ...] = ()  # (log, hold-up and leak that suit its pressure dips)
    steady: tuple[tuple[str, int], ...] = ()  # (log whose oil pressure never dips, bare stretches told)


@dataclass(frozen=True, slots=True, eq=False)
class _Ready:
    """A pan with all that is driven through it."""

    pan: Chambers
    oil: DrivenOil
    pump: PumpDemand
    traces: tuple[Trace, ...]

    def runs(self) -> tuple[Driving, ...]:
        return tuple(
            Driving(trace, *_both(self.pan, trace, self.oil, self.pump), self.pump.flow)
            for trace in self.traces
        )


def _both(pan: Chambers, trace: Trace, oil: DrivenOil, pump: PumpDemand) -> tuple[Driven, Driven]:
    """A trace both ways the surface may follow, lagging and not, from the same start."""
    start = _start(pan, trace, oil)
    return drive(pan, trace, oil, pump, True, (), start), drive(pan, trace, oil, pump, False, (), start)


def _start(pan: Chambers, trace: Trace, oil: DrivenOil) -> FloatArray:
    """How the oil lies (c,) [m3] when a trace begins."""
    return level_volumes(pan, oil.in_pan, -trace.pulls[0])


def runs_alone(inputs: DriveInputs, body: PanBody, oil: OilResult) -> tuple[Driving, ...]:
    """Every manoeuvre driven as ``solve`` does, without failing doors and without changes tried."""
    ready, _ = _ready(inputs, body, oil)
    return () if ready is None else ready.runs()


def _ready(inputs: DriveInputs, body: PanBody, oil: OilResult) -> tuple[_Ready | None, tuple[str, ...]]:
    """What is driven, or what is missing for it."""
    envelope = envelope_of(inputs.motion.loads)
    missing = _missing(inputs, body, oil)
    pickup, cavity = body.inputs.pickup, body.cavity
    if missing or pickup is None or cavity is None:
        return None, missing
    if not is_inside(cavity.surface(), pickup.mouth):
        return None, ("pickup.mouth inside the oil space",)
    if not (np.abs(cavity.vertices[:, 2]) <= AT_RAIL).any():
        return None, ("a lump that reaches the rail",)
    pan, driven, pump = set_up(inputs, body, oil)
    top = inputs.oil.pump.top_speed or 0.0
    idle = inputs.oil.pump.idle_speed or 0.15 * top
    traces = (
        *manoeuvres(
            envelope,
            inputs.motion.placement,
            top,
            idle,
            inputs.motion.loads.use in AFLOAT,
            inputs.roll_period,
            inputs.pitch_period,
        ),
        *(trace_of(log, inputs.motion.placement, 0.85 * top) for log in inputs.logs),
    )
    return _Ready(pan, driven, pump, traces), ()


def solve(inputs: DriveInputs, body: PanBody, oil: OilResult) -> DriveResult:
    """Drive every manoeuvre twice (surface lagging and not), with doors failing, and try changes."""
    envelope = envelope_of(inputs.motion.loads)
    hardest = max(envelope.left_turn, envelope.right_turn)
    ready, missing = _ready(inputs, body, oil)
    if ready is None:
        return DriveResult((), (), (), (), (), (), (), (), None, missing, hardest)
    pan, driven, pump, traces = ready.pan, ready.oil, ready.pump, ready.traces
    if not traces:
        return DriveResult((), (), (), pan.names, pan.surfaces, (), (), (), driven, ("loads",), hardest)
    runs = ready.runs()
    doors = tuple(way.name for way in pan.ways if way.is_door)
    return DriveResult(
        runs=runs,
        failures=_failures(pan, traces, driven, pump, doors),
        tried=_tried(pan, traces, driven, pump, inputs, runs, body),
        compartments=pan.names,
        surfaces=pan.surfaces,
        doors=doors,
        door_leaks=tuple((way.name, way.leak_gap) for way in pan.ways if way.is_door),
        door_columns=tuple((way.name, k) for k, way in enumerate(pan.ways) if way.is_door),
        oil=driven,
        missing=(),
        hardest=hardest,
        notes=tuple((log.name, note) for log in inputs.logs for note in notes_of(log)),
        fits=_fits(pan, traces, driven, pump, inputs.logs),
        steady=_steady(pan, traces, driven, pump, inputs.logs),
    )


def set_up(inputs: DriveInputs, body: PanBody, oil: OilResult) -> tuple[Chambers, DrivenOil, PumpDemand]:
    """Compartments, oil and pump as every drive starts with them; call it only where nothing is missing."""
    pickup, cavity = body.inputs.pickup, body.cavity
    assert pickup is not None
    assert cavity is not None
    pan = chambers(
        cavity,
        body.division,
        pickup,
        inputs.motion.placement.up_in_engine(),
        _crank(inputs.oil),
        *_returns(inputs.oil),
    )
    return pan, _oil(inputs, oil, pan), PumpDemand(pump_flow(inputs.oil.pump, 1.0) or 0.0, 1.0)


def _crank(oil: OilInputs) -> FloatArray | None:
    """Ends of the crank's sweep with its radius (2, 4) [m], None where the job gives none."""
    if oil.crank is None:
        return None
    ends = np.stack([oil.crank.rear, oil.crank.front])
    return frozen_array(np.column_stack([ends, np.full(2, oil.crank.sweep_radius)]))


def _returns(oil: OilInputs) -> tuple[FloatArray | None, FloatArray | None]:
    """Places (n, 3) [m] where drain-backs end and what each carries (n,), None where none is named.

    Returns without a share carry what the others leave, all alike; where every share is given and
    their sum is short of the whole, the rest comes back over the rail opening.
    """
    ports = [port for port in oil.ports if port.port == "return"]
    if not ports:
        return None, None
    given = sum(port.share or 0.0 for port in ports)
    silent = sum(port.share is None for port in ports)
    left = max(1.0 - given, 0.0) / max(silent, 1)
    return (
        frozen_array(np.stack([port.lowest for port in ports])),
        frozen_array([left if port.share is None else port.share for port in ports]),
    )


def _missing(inputs: DriveInputs, body: PanBody, oil: OilResult) -> tuple[str, ...]:
    pump = inputs.oil.pump
    wanted = (
        (body.inputs.pickup is None, "pickup"),
        (oil.volume_low is None or oil.hold_up is None, "oil.fill"),
        (oil.volume_low is not None and not oil.volume_low > 0.0, "oil.fill above oil.between_marks"),
        (properties_of(inputs.oil.oil) is None, "oil.grade"),
        (pump_flow(pump, 1.0) is None, "pump.delivers"),
        (pump.top_speed is None, "pump.top_speed"),
    )
    return tuple(key for absent, key in wanted if absent)


def _oil(inputs: DriveInputs, oil: OilResult, pan: Chambers) -> DrivenOil:
    """Low mark, hot, the most oil up in the engine: as the cover map judges."""
    properties = properties_of(inputs.oil.oil)
    assert properties is not None
    assert oil.volume_low is not None
    assert oil.hold_up is not None
    hot = HOT if inputs.oil.hot is None else inputs.oil.hot
    held = min(oil.hold_up.hold_up_most, 0.9 * oil.volume_low)
    top = pump_flow(inputs.oil.pump, inputs.oil.pump.top_speed or 0.0) or 0.0
    density, viscosity = properties.density(hot), properties.dynamic_viscosity(hot)
    flat = max(float(pan.lengths[pan.home].min()), 1e-3)
    long = max(float(pan.lengths[pan.home].max()), 1e-3)
    depth = max((oil.volume_low - held) / max(long * flat, 1e-6), 1e-3)
    damping = slosh_damping(long, flat, depth, viscosity / density)
    return DrivenOil(
        in_pan=oil.volume_low - held,
        held_up=held,
        return_time=held / top if top > 0.0 else 0.0,
        density=density,
        viscosity=viscosity,
        damping=min(max(damping, LEAST_DAMPING), 0.9),
    )


def _worst(runs: list[tuple[Trace, Driven]]) -> tuple[str, Second, Metre]:
    """Longest bare stretch of all runs with its trace, then the least cover."""
    trace, run = max(runs, key=lambda pair: (pair[1].uncovered, -float(pair[1].cover.min())))
    return trace.name, run.uncovered, float(min(r.cover.min() for _, r in runs))


def _fits(
    pan: Chambers, traces: tuple[Trace, ...], oil: DrivenOil, pump: PumpDemand, logs: tuple[Log, ...]
) -> tuple[tuple[str, LogFit], ...]:
    found = []
    for log, trace in zip(logs, traces[len(traces) - len(logs) :], strict=True):
        suits = fit(pan, trace, log, oil, pump)
        if suits is not None:
            found.append((log.name, suits))
    return tuple(found)


def _steady(
    pan: Chambers, traces: tuple[Trace, ...], oil: DrivenOil, pump: PumpDemand, logs: tuple[Log, ...]
) -> tuple[tuple[str, int], ...]:
    """Logs with an oil pressure that never dips, and how many bare stretches are predicted for them."""
    return tuple(
        (log.name, agreement(drive(pan, trace, oil, pump), float(log.times[0]), ()).bare)
        for log, trace in zip(logs, traces[len(traces) - len(logs) :], strict=True)
        if log.pressure is not None and not dips_of(log)
    )


def _failures(
    pan: Chambers, traces: tuple[Trace, ...], oil: DrivenOil, pump: PumpDemand, doors: tuple[str, ...]
) -> tuple[DoorFailure, ...]:
    found = []
    starts = [_start(pan, trace, oil) for trace in traces] if doors else []
    for door in doors:
        for how in FAILURES:
            # Both ways the surface may follow, as the verdict itself has it.
            runs = [
                (trace, drive(pan, trace, oil, pump, is_lagged, ((door, how),), start))
                for trace, start in zip(traces, starts, strict=True)
                for is_lagged in (True, False)
            ]
            name, bare, cover = _worst(runs)
            found.append(DoorFailure(door, how, name, bare, cover))
    return tuple(found)


def _tried(
    pan: Chambers,
    traces: tuple[Trace, ...],
    oil: DrivenOil,
    pump: PumpDemand,
    inputs: DriveInputs,
    runs: tuple[Driving, ...],
    body: PanBody,
) -> tuple[Tried, ...]:
    """Changes that need no new shape, each driven through every manoeuvre that goes wrong."""
    weak = [run.trace for run in runs if run.uncovered_most > run.trace.asked_for]
    if not weak:
        return ()
    pickup = body.inputs.pickup
    assert pickup is not None
    options: list[tuple[str, str, str, Chambers, DrivenOil]] = []
    if inputs.oil.fill is not None:
        options.append(
            (
                "0.3 L more oil",
                "oil.fill",
                f"{(inputs.oil.fill + MORE_OIL) * 1e3:.2f} L",
                pan,
                replace(oil, in_pan=oil.in_pan + MORE_OIL),
            )
        )
    options.append(
        (
            "a third less oil up in the engine (better drain-backs)",
            "oil.hold_up",
            f"{LESS_HELD_UP * oil.held_up * 1e3:.2f} L",
            pan,
            replace(
                oil,
                in_pan=oil.in_pan + (1.0 - LESS_HELD_UP) * oil.held_up,
                held_up=LESS_HELD_UP * oil.held_up,
                return_time=LESS_HELD_UP * oil.return_time,
            ),
        )
    )
    if any(way.is_door for way in pan.ways):
        turned = replace(
            pan, ways=tuple(replace(w, passes=_other_way(w.passes)) if w.is_door else w for w in pan.ways)
        )
        options.append(("every door the other way round", "doors.passes", "", turned, oil))
    if any(way.is_door and way.leak_gap > 0.0 for way in pan.ways):
        tight = replace(pan, ways=tuple(replace(w, leak_gap=0.5 * w.leak_gap) for w in pan.ways))
        options.append(("doors that leak half as much", "doors.leak_gap", "", tight, oil))
    higher = _walls_higher(body, inputs)
    if higher is not None:
        what, key, value, raised = higher
        options.append((what, key, value, raised, oil))
    for word, step in (
        ("to the front", (1.0, 0.0)),
        ("to the rear", (-1.0, 0.0)),
        ("to the left", (0.0, 1.0)),
        ("to the right", (0.0, -1.0)),
    ):
        moved = _moved(pan, body, step)
        if moved is not None:
            point = ", ".join(f'"{c * 1e3:.0f} mm"' for c in moved.mouth)
            options.append(
                (f"the mouth {MOUTH_MOVE * 1e3:.0f} mm {word}", "pickup.mouth", f"[{point}]", moved, oil)
            )
    found = []
    for what, key, value, changed_pan, changed_oil in options:
        runs_now = [(trace, run) for trace in weak for run in _both(changed_pan, trace, changed_oil, pump)]
        _, bare, cover = _worst(runs_now)
        found.append(Tried(what, key, value, bare, cover))
    return tuple(sorted(found, key=lambda tried: (tried.uncovered, -tried.least_cover)))


def _other_way(passes: Literal[-1, 0, 1]) -> Literal[-1, 0, 1]:
    return 1 if passes == -1 else -1 if passes == 1 else 0


def _walls_higher(body: PanBody, inputs: DriveInputs) -> tuple[str, str, str, Chambers] | None:
    """The pan with every inner wall that ends below the rail raised, None where there is none.

    Words, job-file key and value ("" where several walls change) and the chambers that follow.
    """
    cavity, pickup = body.cavity, body.inputs.pickup
    assert cavity is not None
    assert pickup is not None
    walls, tops = [], []
    for wall in body.inputs.walls:
        limits = []
        for limit in wall.limits:
            if wall.kind == "wall" and limit.normal[2] > 1.0 - 1e-9 and limit.offset < -1e-6:
                top = min(limit.offset + WALL_RISE, 0.0)
                tops.append((wall.name, top))
                limits.append(replace(limit, offset=top))
            else:
                limits.append(limit)
        walls.append(replace(wall, limits=tuple(limits)))
    if not tops:
        return None
    division = divide(cavity, tuple(walls), pickup.mouth, body.inputs.snap_distance, body.inputs.snap_angle)
    raised = chambers(
        cavity,
        division,
        pickup,
        inputs.motion.placement.up_in_engine(),
        _crank(inputs.oil),
        *_returns(inputs.oil),
    )
    name, top = tops[0]
    rise = f"{WALL_RISE * 1e3:.0f} mm"
    if len(tops) == 1:
        return f"wall '{name}' {rise} higher", f'walls."{name}".top_below', f"{-top * 1e3:.0f} mm", raised
    return f"the {len(tops)} walls that end below the rail {rise} higher", "walls.top_below", "", raised


def _moved(pan: Chambers, body: PanBody, step: tuple[float, float]) -> Chambers | None:
    """The mouth moved level with the floor below it, or None where it would leave its oil."""

    mouth = pan.mouth + MOUTH_MOVE * np.array([step[0], step[1], 0.0])
    cavity = body.cavity
    assert cavity is not None
    gap = _above_floor(body, pan.mouth)
    here = _above_floor(body, mouth)
    if gap is None or here is None:
        return None
    mouth = mouth + np.array([0.0, 0.0, gap - here])
    home = home_of(pan, mouth)
    return None if home is None else replace(pan, mouth=frozen_array(mouth), home=home)


def _above_floor(body: PanBody, point: FloatArray) -> Metre | None:
    """Height over the nearest face straight below, in engine axes."""
    from sumpwright.oil.dipstick import crossings

    cavity = body.cavity
    assert cavity is not None
    hits = crossings(cavity.surface(), point, frozen_array([0.0, 0.0, -1.0]))
    below = [distance for distance, _ in hits if distance > 0.0]
    return min(below) if below else None
