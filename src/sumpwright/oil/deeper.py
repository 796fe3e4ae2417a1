"""How deep one named lump has to be for the oil that is wanted: worked out on the shape itself."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.body import Lump, PanBody
from sumpwright.body.clearance import least_spare
from sumpwright.body.finding_words import lump_key
from sumpwright.body.ground import ground_clearance
from sumpwright.body.model import Cavity
from sumpwright.body.solve import shape
from sumpwright.findings import Figure, Proposal
from sumpwright.geometry import Plane
from sumpwright.geometry.polygons import signed_area
from sumpwright.oil.check_volume import room_wanted
from sumpwright.oil.figures import length, litres
from sumpwright.oil.level import LevelCurve, rail_lowest_level
from sumpwright.oil.model import OilInputs, OilResult
from sumpwright.quantities.units import CubicMetre, FloatArray, Metre

STEP: Metre = 0.001
"""A depth is proposed in whole steps."""
FIRST_TRY: Metre = 0.010
MOST_DEEPER: Metre = 0.30
ROUNDS = 8
STRIP_STEP: Metre = 0.002


@dataclass(frozen=True, slots=True, eq=False)
class _Deeper:
    lump: Lump
    depth: Metre
    capacity: CubicMetre
    body: PanBody
    cavity: Cavity
    is_sound: bool  # keeps the rules of its shape as well as the pan as drawn does


def depth_that_fits(inputs: OilInputs, body: PanBody, result: OilResult) -> list[Proposal]:
    """The depth of the deepest lump that gives the room wanted, where fill or old pan ask for more.

    Nothing where no lump's floor hangs on its ``depth`` alone, or where none that deep makes a pan.
    """
    proposals = []
    done: dict[CubicMetre, _Deeper | None] = {}
    for code, wanted in room_wanted(inputs, result):
        if wanted not in done:
            done[wanted] = _deepened(body, inputs.up, wanted)
        found = done[wanted]
        if found is not None:
            proposals.append(_proposal(code, body, found))
    return proposals


def _deepened(body: PanBody, up: FloatArray, wanted: CubicMetre) -> _Deeper | None:
    """The deepest lump first, of equal ones the widest; None where none helps."""
    lumps = [
        (lump.drawn_depth, signed_area(np.asarray(lump.outline)), number)
        for number, lump in enumerate(body.inputs.lumps)
        if lump.adds and lump.floor is not None and lump.drawn_depth is not None and '"' not in lump.name
    ]
    for _, _, number in sorted(lumps, reverse=True):
        found = _search(body, up, number, wanted)
        if found is not None:
            return found
    return None


def _search(body: PanBody, up: FloatArray, number: int, wanted: CubicMetre) -> _Deeper | None:
    """The least whole step that holds what is wanted, by secants on a volume that only grows.

    Where that depth leaves a strip too small to make beside another floor, the next that does not.
    """
    low, last = 0.0, _tried(body, up, number, 0.0)
    if last is None:
        return None
    held, high, above = last.capacity, FIRST_TRY, _tried(body, up, number, FIRST_TRY)
    for _ in range(ROUNDS):
        if above is None or above.capacity >= wanted:
            break
        grown = (above.capacity - held) / (high - low)
        low, held = high, above.capacity
        if grown <= 0.0 or high >= MOST_DEEPER:
            return None
        high = min(MOST_DEEPER, _up_to_step(high + max((wanted - held) / grown, STEP)))
        above = _tried(body, up, number, high)
    if above is None or above.capacity < wanted:
        return None
    # Down again where the last try went too far; between the two the volume is nearly a straight line.
    for _ in range(ROUNDS):
        if high - low <= STEP * 1.001:
            break
        share = (wanted - held) / (above.capacity - held)
        at = min(max(_up_to_step(low + share * (high - low)), low + STEP), high - STEP)
        tried = _tried(body, up, number, at)
        if tried is None:
            break
        if tried.capacity >= wanted:
            high, above = at, tried
        else:
            low, held = at, tried.capacity
    for _ in range(ROUNDS):
        if above is None or above.is_sound:
            return above
        high += STRIP_STEP
        above = _tried(body, up, number, high)
    return None


def _up_to_step(value: Metre) -> Metre:
    return math.ceil(value / STEP - 1e-6) * STEP


def _tried(body: PanBody, up: FloatArray, number: int, deeper: Metre) -> _Deeper | None:
    """The pan with one floor lower; None where that makes none."""
    lump = body.inputs.lumps[number]
    assert lump.floor is not None
    assert lump.drawn_depth is not None
    # Rounded up to the step as a depth, not as a difference: the value written is the one tried.
    depth = lump.drawn_depth if deeper == 0.0 else _up_to_step(lump.drawn_depth + deeper)
    down = (depth - lump.drawn_depth) * float(lump.floor.normal[2])
    lumps = list(body.inputs.lumps)
    lumps[number] = replace(lump, floor=Plane(lump.floor.normal, lump.floor.offset - down))
    tried = shape(replace(body.inputs, lumps=tuple(lumps)), body.pattern)
    if tried.cavity is None or len(tried.trouble) > len(body.trouble):
        return None
    unit = up / np.linalg.norm(up)
    capacity = LevelCurve.prepare(tried.cavity, unit).volume_below(rail_lowest_level(tried.cavity, unit))
    return _Deeper(lump, depth, capacity, tried, tried.cavity, len(tried.gate) <= len(body.gate))


def _proposal(code: str, body: PanBody, found: _Deeper) -> Proposal:
    effect = "The pan then holds {capacity} up to the rail's lowest point"
    figures: tuple[Figure, ...] = (litres("capacity", found.capacity),)
    asked = body.inputs.surroundings.ground
    ground = None if asked is None else ground_clearance(found.body, found.cavity)
    if asked is not None and ground is not None and ground.lowest is not None:
        figures = (*figures, length("ground", ground.lowest), length("asked", asked.wanted))
        at_bump = ground.at_bump is not None and ground.at_bump < (asked.wanted_at_bump or 0.0)
        if ground.lowest < asked.wanted:
            effect += ", but stands only {ground} above the ground; {asked} are asked for"
        elif at_bump:
            effect += ", but comes too near the ground at full bump"
        else:
            effect += " and stands {ground} above the ground; {asked} are asked for"
    if body.cavity is not None:
        spare, swallowed = least_spare(found.body, found.cavity)
        before, had = least_spare(body, body.cavity)
        is_nearer = spare is not None and before is not None and spare < 0.0 <= before
        if is_nearer or len(swallowed) > len(had):
            effect += ". It then comes too near what stands round it"
    effect += ". The same fill then stands lower: look whether the pickup's mouth stays covered"
    return Proposal(
        code=code,
        target=lump_key(found.lump.name, "depth"),
        value=f"{round(1e3 * found.depth, 4):g} mm",
        effect=effect,
        figures=figures,
    )
