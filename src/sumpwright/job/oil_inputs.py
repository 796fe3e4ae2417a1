"""From the oil's and the pump's sections to what the oil stage needs."""

from __future__ import annotations

import math
from typing import cast

import numpy as np

from sumpwright.job.job_file import JobFile
from sumpwright.job.lumps import placement_of, up_of
from sumpwright.job.refusals import OpenFile
from sumpwright.job.section_types import CELSIUS_0
from sumpwright.job.sections import OilSection, OldPanSection
from sumpwright.oil import OilInputs
from sumpwright.oil.model import CrankSweep, HeldBehind, OilChoice, Port, PortKind, Pump
from sumpwright.oil.properties import trouble_with
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import (
    FloatArray,
    Hertz,
    Kelvin,
    RadianPerSecond,
    SquareMetrePerSecond,
    frozen_array,
)

_NO_OIL = OilSection.model_validate({})


def check_oil(file: OpenFile, job_file: JobFile) -> None:
    """What has to hold between the oil's keys, and between the pump's."""
    oil, pump = job_file.oil, job_file.pump
    if oil is not None:
        pair = (oil.viscosity_40, oil.viscosity_100)
        if (pair[0] is None) != (pair[1] is None):
            missing = "viscosity_40" if pair[0] is None else "viscosity_100"
            good = f'{missing} = "{"63 cSt" if pair[0] is None else "10.8 cSt"}"'
            file.fault(("oil", missing), "the two viscosities go together; one is missing", good, read="")
        else:
            trouble = trouble_with(_choice(oil))
            if trouble is not None:
                key = "grade" if oil.grade is not None else "viscosity_100"
                file.fault(
                    ("oil", key),
                    trouble,
                    'grade = "5W-30"' if key == "grade" else 'viscosity_100 = "10.8 cSt"',
                )
        if oil.fill is not None and oil.between_marks is not None and oil.between_marks >= oil.fill:
            file.fault(
                ("oil", "between_marks"),
                "there would be no oil left at the low mark; it has to be less than the fill",
            )
        behind = sum(port.traps or 0.0 for port in job_file.ports if port is not None)
        held = (oil.hold_up or 0.0) + (oil.trapped or behind)
        if oil.fill is not None and held >= oil.fill:
            file.fault(
                ("oil", "trapped" if oil.hold_up is None else "hold_up"),
                "what is up in the engine is as much as the whole fill",
            )
    if pump is not None:
        if (pump.delivers is None) != (pump.at_speed is None):
            missing = "delivers" if pump.delivers is None else "at_speed"
            good = 'delivers = "54 L/min"' if missing == "delivers" else 'at_speed = "7000 rpm"'
            file.fault(
                ("pump", missing), "a delivery belongs to a speed; one of the two is missing", good, read=""
            )
        if pump.idle_speed is not None and pump.top_speed is not None and pump.idle_speed >= pump.top_speed:
            file.fault(("pump", "idle_speed"), "the idle speed has to be below the top speed")


def build_oil(job_file: JobFile) -> OilInputs:
    """The oil stage's inputs. Nothing is guessed here: what is missing, the oil stage names."""
    oil = job_file.oil or _NO_OIL
    pump, engine, crank = job_file.pump, job_file.engine, job_file.crank
    return OilInputs(
        fill=oil.fill,
        low_below_full=oil.between_marks,
        target_capacity=oil.old_capacity,
        hold_up=oil.hold_up,
        trapped=oil.trapped,
        up=up_of(engine),
        oil=_choice(oil),
        pump=Pump(
            flow=None if pump is None else pump.delivers,
            at_speed=None if pump is None else _turns(pump.at_speed),
            engine_displacement=None if engine is None else engine.displacement,
            idle_speed=None if pump is None else _turns(pump.idle_speed),
            top_speed=None if pump is None else _turns(pump.top_speed),
            return_time=None if pump is None else pump.return_time,
        ),
        poured_at=oil.poured_at,
        read_at=oil.read_at,
        hot=oil.hot,
        coldest_start=oil.coldest_start,
        placement=placement_of(engine),
        crank=None
        if crank is None
        else CrankSweep(frozen_array(crank.rear), frozen_array(crank.front), crank.sweep_radius),
        ports=tuple(
            Port(port.name, cast(PortKind, port.kind), frozen_array(port.at), port.share)
            for port in job_file.ports
            if port is not None
        )
        + _ports_of_fittings(job_file),
        held_behind=tuple(
            HeldBehind(
                port.name,
                port.traps,
                port.traps_nose_up,
                port.traps_nose_down,
                port.traps_lean_right,
                port.traps_lean_left,
            )
            for port in job_file.ports
            if port is not None and port.traps is not None
        ),
        most_left=None if job_file.drain is None else job_file.drain.most_left,
        old_up=_old_up(job_file.old_pan),
    )


def _ports_of_fittings(job_file: JobFile) -> tuple[Port, ...]:
    """Returns and breathers that come in through the pan's sheet; [[ports]] of the same name go first.

    Their lowest opening point is half the boss's diameter straight below its middle, which is
    never too high.
    """
    up = up_of(job_file.engine)
    named = {port.name for port in job_file.ports if port is not None}
    found = []
    for one in job_file.fittings:
        if one is None or one.kind not in ("return", "breather") or one.name in named:
            continue
        opening = one.at if one.inside is None else one.inside[-1]
        across = one.outside if one.inside_diameter is None or one.inside is None else one.inside_diameter
        lowest = np.array(opening) - 0.5 * across * up
        found.append(Port(one.name, cast(PortKind, one.kind), frozen_array(lowest), None))
    return tuple(found)


def _old_up(section: OldPanSection | None) -> FloatArray | None:
    """The vehicle's up in engine axes as the old pan stood, (3,); None where nothing is said of it."""
    if section is None:
        return None
    nose = (section.nose_up, section.nose_down)
    lean = (section.lean_right, section.lean_left)
    if nose == lean == (None, None):
        return None
    stood = Attitude(
        nose_up=(nose[0] or 0.0) - (nose[1] or 0.0), lean_right=(lean[0] or 0.0) - (lean[1] or 0.0)
    )
    return EnginePlacement(attitude=stood).up_in_engine()


def _choice(oil: OilSection) -> OilChoice:
    points: tuple[tuple[Kelvin, SquareMetrePerSecond], ...] = ()
    if oil.viscosity_40 is not None and oil.viscosity_100 is not None:
        points = ((CELSIUS_0 + 40.0, oil.viscosity_40), (CELSIUS_0 + 100.0, oil.viscosity_100))
    return OilChoice(grade=oil.grade or "", points=points, density_15=oil.density)


def _turns(speed: RadianPerSecond | None) -> Hertz | None:
    """Turns a second."""
    return None if speed is None else speed / (2.0 * math.pi)
