"""From pan, lumps, old pan, dipstick, pickup and drain to what the body stage needs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from sumpwright.body import BodyInputs, DipstickTube, FlangeOutline, OldPan, OldPanDuty, Pickup
from sumpwright.body.surroundings import Surroundings
from sumpwright.findings import Assumption, Figure
from sumpwright.job.fitting_rules import place_of_drain
from sumpwright.job.fitting_sections import (
    FOOT_DIAMETER,
    FOOT_THREAD,
    build_fittings,
    build_guard,
    build_jacking,
    build_stand_offs,
)
from sumpwright.job.job_file import JobFile, duty_kind, duty_word
from sumpwright.job.lumps import build_lumps, drain_place, up_of
from sumpwright.job.sections import DipstickSection, PanSection
from sumpwright.job.suction_line import build_line
from sumpwright.job.wall_inputs import build_walls
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.tables.materials import find_material

SEALING_LAND: Metre = 0.005
BESIDE_OPENING: Metre = 0.008
EDGE_DISTANCE = 1.5
"""Metal beyond a hole's centre in bolt diameters: common practice, no source."""


def build_body(
    job_file: JobFile, written_lumps: list[Any], widest_bolt: Metre, surroundings: Surroundings
) -> tuple[BodyInputs, tuple[Assumption, ...]]:
    """The body stage's inputs, and what was taken where the job does not say."""
    told: list[Assumption] = []
    pan = job_file.pan
    assert pan is not None
    up = up_of(job_file.engine)
    stick, pickup = job_file.dipstick, job_file.pickup
    drain_at = place_of_drain(job_file)
    lumps = build_lumps(
        job_file.lumps, written_lumps, job_file.engine, None if drain_at is None else drain_at[:2], pan.sheet
    )
    inputs = BodyInputs(
        lumps=lumps,
        sheet=pan.sheet,
        flange_thickness=pan.flange,
        flange=_flange(pan, widest_bolt, told),
        up=up,
        dipstick=None if stick is None else _stick(stick),
        pickup=None
        if pickup is None
        else Pickup(frozen_array(pickup.mouth), pickup.mouth_diameter, build_line(job_file)),
        drain=None if drain_at is None else _drain(drain_place(drain_at[:2], lumps)),
        old_pan=_old_pan(job_file),
        beside_opening=BESIDE_OPENING if pan.beside_opening is None else pan.beside_opening,
        walls=build_walls(job_file, pan.sheet),
        surroundings=surroundings,
        fittings=build_fittings(job_file.fittings),
        stand_offs=build_stand_offs(job_file.stand_offs),
        guard=build_guard(job_file.stone_guard, pan.material),
        jacking=build_jacking(job_file.jacking),
    )
    if inputs.guard is not None:
        metal = find_material(inputs.guard.material)
        assert metal is not None, "check_fittings refuses this"
        inputs = replace(inputs, guard=replace(inputs.guard, material=metal.id))
        _tell_guard(job_file, told)
    if job_file.jacking is None:
        told.append(
            Assumption(
                "jacking.way",
                "Where a jack may push is not said; it is taken that none is put under the pan.",
            )
        )
    if job_file.engine is None:
        told.append(
            Assumption("engine", "How the engine stands is not given; it is taken as upright and level.")
        )
    return inputs, tuple(told)


def _tell_guard(job_file: JobFile, told: list[Assumption]) -> None:
    section = job_file.stone_guard
    assert section is not None
    if section.foot_diameter is None or section.foot_thread is None:
        told.append(
            Assumption(
                "stone_guard.feet",
                f"Where the job does not say, the guard's posts are {{across}} round with {FOOT_THREAD}.",
                (Figure("across", FOOT_DIAMETER, "m", "length"),),
            )
        )


def _flange(pan: PanSection, widest_bolt: Metre, told: list[Assumption]) -> FlangeOutline:
    outside, land = pan.flange_outside, pan.sealing_land
    if outside is None:
        outside = EDGE_DISTANCE * widest_bolt
        told.append(
            Assumption(
                "pan.flange_outside",
                "How much metal the flange keeps beyond the hole centres is not given; {outside} is "
                "taken, one and a "
                "half bolt diameters.",
                (Figure("outside", outside, "m", "length"),),
            )
        )
    if land is None:
        land = SEALING_LAND
        told.append(
            Assumption(
                "pan.sealing_land",
                "How wide the flange has to seal inside each hole is not given; {land} is taken.",
                (Figure("land", land, "m", "length"),),
            )
        )
    if pan.beside_opening is None:
        told.append(
            Assumption(
                "pan.beside_opening",
                "How far the flange reaches beyond the walls' outer face is not given; {beside} are taken, "
                "for the seam.",
                (Figure("beside", BESIDE_OPENING, "m", "length"),),
            )
        )
    return FlangeOutline(outside, land)


def _stick(stick: DipstickSection) -> DipstickTube:
    last = stick.bends[-1] if stick.bends else stick.stop
    return DipstickTube(
        stop=frozen_array(stick.stop),
        axis=_direction(last, stick.towards),
        stick_length=stick.length,
        bends=frozen_array(stick.bends) if stick.bends else None,
    )


def _direction(start: list[float], towards: list[float]) -> FloatArray:
    way = np.subtract(towards, start)
    return frozen_array(way / np.linalg.norm(way))


def _drain(place: tuple[Metre, Metre, Metre] | None) -> FloatArray | None:
    return None if place is None else frozen_array(place)


_FITTING_OF = {
    "level sensor": "sensor",
    "temperature sensor": "sensor",
    "turbo return": "return",
    "breather return": "breather",
}
"""Which kind of fitting takes over a duty of the old pan."""


def _old_pan(job_file: JobFile) -> OldPan:
    """The old pan's duties; what this job gives a place of its own is held by the new pan."""
    section = job_file.old_pan
    assert section is not None
    moved = {duty_word(written): to for written, to in (section.moved or {}).items()}
    given = {"pickup": job_file.pickup, "drain": job_file.drain, "dipstick": job_file.dipstick}
    duties = []
    for duty in section.carries:
        to = moved.get(duty)
        if to is None and given.get(duty) is not None:
            to = f"the new pan, as [{duty}] of the job file says"
        if to is None:
            kind = _FITTING_OF.get(duty, duty)
            to = next(
                (
                    f"the new pan, as the fitting '{one.name}' of the job file"
                    for one in job_file.fittings
                    if one is not None and one.kind == kind
                ),
                None,
            )
        duties.append(OldPanDuty(duty, duty_kind(duty), to))
    return OldPan(tuple(duties))
