"""The heads of the bolts that hold the flange on the plate: in the torch's way, and taken out where they are.

They stand on the flange's underside, beside the seams of the walls. Wherever the torch can
be held clear of them it is; where it cannot, the bolt in its way comes out while the bead
passes and goes back in, one at a time.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.geometry import FlatFrame
from sumpwright.kit import SheetKit
from sumpwright.kit.metal import chords
from sumpwright.kit.model import is_flange
from sumpwright.quantities.units import FloatArray, Metre, frozen_array
from sumpwright.tables.fasteners import across_flats
from sumpwright.weld.access import Station, find_access
from sumpwright.weld.model import Seam, Step, TorchHold, WeldInputs
from sumpwright.weld.obstacles import Obstacles, Prism, as_arrays
from sumpwright.weld.torch_shape import ToolBalls, tool_balls

HEAD_SHARE = 0.7
"""Height of a hexagon head over its thread's diameter: from memory, a little more than the standard's."""

FLATS_SHARE = 1.7
"""Width over flats over the diameter, for threads that the table does not have: from memory."""

WASHER: Metre = 0.0016

ROOM: Metre = 0.001
"""Kept between torch and head: nobody welds along a touching bolt."""


def bolt_prisms(kit: SheetKit) -> tuple[Prism, ...]:
    """Head and washer of every clamp bolt on the underside of the flange, as a round bar over its corners."""
    flanges = [
        (part, Polygon(chords(part.outline))) for part in kit.parts if is_flange(part) and part.roll is None
    ]
    pattern = kit.body.pattern
    found = []
    for name, (x, y), fastener in zip(pattern.names, pattern.xy, pattern.fasteners, strict=True):
        if fastener.kind == "dowel":
            continue
        known = None if fastener.thread is None else across_flats(fastener.thread)
        flats = FLATS_SHARE * fastener.diameter if known is None else known.value
        for part, shape in flanges:
            here = np.array([[float(x), float(y), float(part.frame.origin[2])]])
            flat = np.asarray(part.frame.to_flat(here))[0]
            if abs(float(part.frame.normal[2])) < 0.99 or not shape.covers(shapely.Point(*flat)):
                continue
            disc = shapely.Point(*flat).buffer(flats / math.sqrt(3.0), quad_segs=6)
            high = HEAD_SHARE * fastener.diameter + WASHER
            frame = FlatFrame(part.frame.origin, part.frame.x_axis, part.frame.y_axis)
            found.append(Prism(f"clamp bolt {name}", frame, high, disc))
            break
    return tuple(found)


def clear_of_bolts(
    steps: Sequence[Step],
    seams: Mapping[int, Seam],
    inputs: WeldInputs,
    obstacles: Obstacles,
    bolts: Sequence[Prism],
) -> list[Step]:
    """The steps with the torch held clear of the bolts, and the bolts that have to come out for each."""
    if not bolts:
        return list(steps)
    bolts = [
        replace(bolt, thickness=bolt.thickness + ROOM, shape=bolt.shape.buffer(ROOM, quad_segs=4))
        for bolt in bolts
    ]
    alone = as_arrays(list(bolts))
    together: Obstacles | None = None
    found = []
    for step in steps:
        if step.action != "weld" or step.place != "plate" or step.seam is None or not step.holds:
            found.append(step)
            continue
        seam = seams[step.seam]
        balls = {out: _balls(seam, inputs, out) for out in {hold.stick_out for hold in step.holds}}
        if not any(_meets(hold, balls[hold.stick_out], alone) for hold in step.holds):
            found.append(step)
            continue
        if together is None:
            together = as_arrays([*obstacles.prisms, *bolts])
        found.append(_cleared(step, seam, inputs, together, [bolt.name for bolt in bolts]))
    return found


def _balls(seam: Seam, inputs: WeldInputs, stick_out: Metre) -> ToolBalls:
    way = seam.ways[0]
    half = 0.5 * math.acos(float(np.clip(way.leg_a[0] @ way.leg_b[0], -1.0, 1.0)))
    return tool_balls(replace(inputs.torch, stick_out=stick_out), half)


def _meets(hold: TorchHold, balls: ToolBalls, bolts: Obstacles) -> bool:
    """Whether torch or rod meet a bolt's head."""
    from sumpwright.weld.access_compiled import hits

    out = np.zeros(len(bolts.names), dtype=np.bool_)
    arrays = (bolts.bits, bolts.frames, bolts.heights, bolts.boxes, bolts.sides, bolts.first)
    pose = np.stack([hold.body, np.cross(hold.axis, hold.body), hold.axis])
    if hits(hold.tip, frozen_array(pose), balls.torch, balls.torch_groups, *arrays, out):
        return True
    if hold.rod is None or balls.rod is None:
        return False
    return bool(hits(hold.tip, frozen_array(_about(hold.rod)), balls.rod, balls.rod_groups, *arrays, out))


def _about(axis: FloatArray) -> FloatArray:
    """Axes (3, 3) with the given one last."""
    seed = np.eye(3)[int(np.argmin(np.abs(axis)))]
    one = np.cross(axis, seed)
    one = one / np.linalg.norm(one)
    return np.stack([one, np.cross(axis, one), axis])


def _cleared(step: Step, seam: Seam, inputs: WeldInputs, together: Obstacles, bolts: Sequence[str]) -> Step:
    """The step with holds that meet the fewest bolts, and which those are."""
    used = replace(seam, ways=tuple(way for way in seam.ways if way.side == step.side))
    way = find_access((used,), inputs.torch, inputs.rules, together)[0].ways[0]
    standing = together.mask(step.built)
    soft = together.mask(bolts)
    holds: list[TorchHold] = []
    out = 0
    for station in way.stations:
        held = _least_met(station, standing, soft)
        if held is not None:
            holds.append(held[0])
            out |= held[1]
    return replace(step, holds=tuple(holds), bolts_out=together.named(out))


def _least_met(station: Station, standing: int, soft: int) -> tuple[TorchHold, int] | None:
    """A hold beside what stands that meets the fewest of the soft parts, and those; None without a hold."""
    best: tuple[int, TorchHold, int] | None = None
    for reach in station.reaches:
        torches = [item for item in reach.torch if not item[0] & standing]
        rods = [item for item in reach.rod if not item[0] & standing]
        if not torches or (reach.has_rod and not rods):
            continue
        mask, pose, stick_out = min(torches, key=lambda item: (item[0] & soft).bit_count())
        met = mask & soft
        rod = None
        if reach.has_rod:
            rod_mask, rod_pose = min(rods, key=lambda item: ((item[0] & soft) & ~met).bit_count())
            met |= rod_mask & soft
            rod = frozen_array(rod_pose[2])
        if best is None or met.bit_count() < best[0]:
            hold = TorchHold(
                station.at,
                station.place,
                frozen_array(pose[2]),
                frozen_array(pose[0]),
                rod,
                reach.towards_end,
                stick_out,
            )
            best = (met.bit_count(), hold, met)
    return None if best is None else (best[1], best[2])
