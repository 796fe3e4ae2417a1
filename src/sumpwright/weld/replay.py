"""The checker: builds the pan again step by step from solids and holds the torch as the plan says.

It shares nothing with the search but the parts' solids. The torch is made of cylinders and
a ball; a step holds where none of them has metal in common with what stands.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from manifold3d import Manifold

from sumpwright.kit.solids import common_volume
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.weld.model import Blocked, ReplayReport, Seam, Step, Torch, TorchHold, WeldPlan
from sumpwright.weld.torch_shape import ARM, WIRE, free_tip

CRUMB = 2e-10
"""m3 that torch and metal may share (a fifth of a cubic millimetre): facets of the cylinders."""

SLACK = math.radians(0.5)
"""By which a hold may lean more than the torch's angles allow: rounding."""

FACETS = 24

APART: Metre = 0.028
"""Holds of one step closer together than this are checked once, both ends always."""


def replay(
    plan: WeldPlan,
    seams: Mapping[int, Seam],
    torch: Torch,
    solids: Mapping[str, Sequence[Manifold]],
    base: frozenset[str],
) -> ReplayReport:
    """What goes wrong when the plan is followed as written.

    ``base`` is what is on the plate before the first step there: the strongback and the heads
    of its bolts, less those that a step says to take out.
    """
    faults: list[str] = []
    stuck: list[Blocked] = []
    tried = 0
    on_plate, on_bench, where = set(base), set[str](), dict[str, set[str]]()
    for step in plan.steps:
        if step.action == "set":
            if step.place == "plate":
                on_plate |= set(step.parts)
                where |= dict.fromkeys(step.parts, on_plate)
            else:
                if step.parts[0] not in where or not step.built:
                    on_bench = set(step.built)
                on_bench = on_bench | set(step.parts)
                where |= dict.fromkeys(on_bench, on_bench)
            continue
        assert step.seam is not None
        seam = seams[step.seam]
        missing = {seam.part_a, seam.part_b} - set(where) - base
        if missing:
            faults.append(
                f"step {step.number} welds {seam.where} before {', '.join(sorted(missing))} is there"
            )
            continue
        standing = where.get(seam.part_a, where.get(seam.part_b, on_plate)) - set(step.bolts_out)
        faults += _wrong_holds(step, seam, torch)
        for hold in _some(step.holds):
            tried += 1
            hit = _hits(hold, seam, torch, standing, solids)
            if hit:
                place = (float(hold.tip[0]), float(hold.tip[1]), float(hold.tip[2]))
                stuck.append(Blocked(seam.number, hold.at, hold.at, place, hit))
    unwelded = set(seams) - set(plan.order) - set(plan.left_over) - set(plan.bare)
    faults += [f"{seams[number].where} is never welded" for number in sorted(unwelded)]
    return ReplayReport(tried, tuple(stuck), tuple(faults))


def _some(holds: Sequence[TorchHold]) -> list[TorchHold]:
    kept: list[TorchHold] = []
    for k, hold in enumerate(holds):
        if not kept or k == len(holds) - 1 or hold.at - kept[-1].at >= APART:
            kept.append(hold)
    return kept


def _wrong_holds(step: Step, seam: Seam, torch: Torch) -> list[str]:
    """Holds that lean more than the shop's torch may."""
    way = next(way for way in seam.ways if way.side == step.side)
    for hold in step.holds:
        share = hold.at / seam.length * (len(way.path) - 1)
        k = min(int(share), len(way.path) - 2)
        along = way.path[k + 1] - way.path[k]
        along = along / np.linalg.norm(along)
        middle = way.middle[k] + (share - k) * (way.middle[k + 1] - way.middle[k])
        middle = middle - (middle @ along) * along
        middle = middle / np.linalg.norm(middle)
        drag = math.asin(float(np.clip(hold.axis @ along, -1.0, 1.0)))
        across = hold.axis - (hold.axis @ along) * along
        tilt = math.acos(float(np.clip(across @ middle / np.linalg.norm(across), -1.0, 1.0)))
        most = max(torch.stick_out, torch.stick_out_most or 0.0)
        if hold.stick_out > most or abs(drag) > torch.drag + SLACK or tilt > torch.tilt + SLACK:
            return [f"step {step.number} holds the torch at an angle or a distance that it may not have"]
    return []


def _hits(
    hold: TorchHold,
    seam: Seam,
    torch: Torch,
    standing: set[str],
    solids: Mapping[str, Sequence[Manifold]],
) -> tuple[str, ...]:
    """The parts that stand and that torch, rod or hands run into."""
    way = seam.ways[0]
    half = 0.5 * math.acos(float(np.clip(way.leg_a[0] @ way.leg_b[0], -1.0, 1.0)))
    low = free_tip(half, torch.drag)
    pieces = _torch_pieces(hold, torch, low)
    if hold.rod is not None and torch.filler is not None:
        pieces += _rod_pieces(hold, torch, low)
    found = []
    for name in sorted(standing):
        for solid in solids.get(name, ()):
            if any(common_volume(piece, solid) > CRUMB for piece in pieces):
                found.append(name)
                break
    return tuple(found)


def _torch_pieces(hold: TorchHold, torch: Torch, low: Metre) -> list[Manifold]:
    end = hold.stick_out
    back = end + torch.cup_length
    out = math.sin(torch.body_angle) * hold.body + math.cos(torch.body_angle) * hold.axis
    neck = hold.tip + back * hold.axis
    hand = neck + torch.body_length * out
    return [
        _bar(hold.tip + low * hold.axis, hold.tip + end * hold.axis, 0.9 * WIRE),
        _bar(hold.tip + end * hold.axis, neck, 0.5 * torch.cup),
        _bar(neck, neck + torch.back_cap * hold.axis, 0.5 * torch.body),
        _bar(neck, hand, 0.5 * torch.body),
        _ball(hand, 0.5 * torch.hand),
        _bar(hand, hand + torch.arm * out, ARM),
    ]


def _rod_pieces(hold: TorchHold, torch: Torch, low: Metre) -> list[Manifold]:
    assert hold.rod is not None
    assert torch.filler is not None
    hand = hold.tip + (torch.filler + 0.5 * torch.filler_hand) * hold.rod
    return [
        _bar(hold.tip + 2.0 * low * hold.rod, hold.tip + torch.filler * hold.rod, 0.9 * WIRE),
        _ball(hand, 0.5 * torch.filler_hand),
        _bar(hand, hand + torch.arm * hold.rod, ARM),
    ]


def _bar(start: FloatArray, end: FloatArray, radius: Metre) -> Manifold:
    """A round bar, as many-sided as its facets inside the true circle."""
    axis = end - start
    length = float(np.linalg.norm(axis))
    axis = axis / length
    seed = np.eye(3)[int(np.argmin(np.abs(axis)))]
    x_axis = np.cross(axis, seed)
    x_axis = x_axis / np.linalg.norm(x_axis)
    turn = np.column_stack([x_axis, np.cross(axis, x_axis), axis, start])
    return Manifold.cylinder(length, radius, radius, FACETS).transform(turn)


def _ball(middle: FloatArray, radius: Metre) -> Manifold:
    return Manifold.sphere(radius, FACETS).translate((float(middle[0]), float(middle[1]), float(middle[2])))
