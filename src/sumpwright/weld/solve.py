"""From the kit to its seams, and to an order in which all of them are reached."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from sumpwright.kit import SheetKit
from sumpwright.kit.model import is_flange
from sumpwright.quantities.units import FloatArray
from sumpwright.weld.access import find_access
from sumpwright.weld.balance import greatest_pull, in_balance, moment_of
from sumpwright.weld.clamp_bolts import bolt_prisms, clear_of_bolts
from sumpwright.weld.entry import Ways, solids_by_part
from sumpwright.weld.hold_points import hold_points
from sumpwright.weld.model import Blocked, Step, WeldInputs, WeldPlan, WeldResult
from sumpwright.weld.obstacles import STRONGBACK, as_arrays, obstacles_of
from sumpwright.weld.order import Build, Order, Puzzle, find_order
from sumpwright.weld.pockets import pockets_of
from sumpwright.weld.replay import replay
from sumpwright.weld.runs import runs_of
from sumpwright.weld.seams import find_seams
from sumpwright.weld.sight import unseen_seams


def solve(inputs: WeldInputs, kit: SheetKit) -> WeldResult:
    """The weld plan of a kit; without parts there is nothing to weld."""
    seams = find_seams(inputs, kit)
    if not seams:
        return WeldResult(())
    obstacles = obstacles_of(kit, inputs.strongback)
    access = find_access(seams, inputs.torch, inputs.rules, obstacles)
    puzzle = Puzzle(
        seams={one.seam.number: one for one in access},
        obstacles=obstacles,
        ways=Ways(obstacles),
        flange=frozenset(part.name for part in kit.parts if is_flange(part)),
        inner=_inner_walls(kit),
        shells=frozenset(part.name for part in kit.parts if part.face is not None),
    )
    order = find_order(puzzle)
    plan = make_plan(inputs, kit, puzzle, order)
    by_number = {seam.number: seam for seam in seams}
    bolts = bolt_prisms(kit)
    plan = replace(plan, steps=tuple(clear_of_bolts(plan.steps, by_number, inputs, obstacles, bolts)))
    on_plate = frozenset((STRONGBACK, *(bolt.name for bolt in bolts)))
    solids = solids_by_part(as_arrays([*obstacles.prisms, *bolts]))
    report = replay(plan, by_number, inputs.torch, solids, on_plate)
    return WeldResult(seams, plan, report, _left_out(kit))


def _inner_walls(kit: SheetKit) -> frozenset[str]:
    division = kit.body.division
    return frozenset(placed.wall.name for placed in division.walls) if division is not None else frozenset()


def make_plan(inputs: WeldInputs, kit: SheetKit, puzzle: Puzzle, order: Order) -> WeldPlan:
    """Steps, runs and stops of an order."""
    seams = {number: access.seam for number, access in puzzle.seams.items()}
    middle = flange_middle(kit)
    steps: list[Step] = []
    for build in order.bench:
        steps = _with_build(steps, build, "bench", inputs, puzzle, middle)
    steps = _with_build(steps, order.plate, "plate", inputs, puzzle, middle)
    welded = tuple(step.seam for step in steps if step.seam is not None)
    on_plate = [step.seam for step in steps if step.seam is not None and step.place == "plate"]
    found = sorted(on_plate)
    by_seam = {step.seam: step for step in steps if step.seam is not None}
    return WeldPlan(
        steps=tuple(steps),
        order=welded,
        left_over=order.stuck,
        bare=tuple(sorted(order.choice.bare)),
        bench=tuple(sorted(order.choice.bench)),
        blocked=_out_of_reach(puzzle, order, by_seam),
        unseen=unseen_seams(list(seams.values()), puzzle.obstacles),
        pull=greatest_pull(seams, on_plate, middle),
        pull_in_order_found=greatest_pull(seams, found, middle),
        runs=tuple(runs_of(seam, seams, by_seam.get(seam.number), inputs.rules) for seam in seams.values()),
        hold_points=hold_points(kit, steps, pockets_of(kit)),
    )


def flange_middle(kit: SheetKit) -> FloatArray:
    """The middle of the flange's box: where its neutral axis runs, near enough for an order (3,) m."""
    points = [
        np.asarray(part.frame.to_space(np.asarray(part.outline.points)))
        for part in kit.parts
        if is_flange(part)
    ]
    every = np.concatenate(points)
    return np.asarray(0.5 * (every.min(axis=0) + every.max(axis=0)))


def _with_build(
    steps: list[Step],
    build: Build,
    place: str,
    inputs: WeldInputs,
    puzzle: Puzzle,
    middle: FloatArray,
) -> list[Step]:
    """The steps so far and those of one build."""
    seams = {number: access.seam for number, access in puzzle.seams.items()}
    standing: list[str] = []
    base = (STRONGBACK,) if place == "plate" else ()
    pull = np.zeros(2)
    found = list(steps)
    for index, stage in enumerate(build.stages):
        for unit in stage.units:
            found.append(
                Step(
                    len(found) + 1,
                    "set",
                    "plate" if place == "plate" else "bench",
                    parts=tuple(sorted(unit)),
                    built=tuple(sorted(standing)),
                )
            )
            standing += sorted(unit)
        mask = puzzle.obstacles.mask((*standing, *base))
        for number in in_balance(seams, stage.seams, middle, inputs.rules.long_from, pull):
            way, holds = puzzle.seams[number].best(mask)
            found.append(
                Step(
                    len(found) + 1,
                    "weld",
                    "plate" if place == "plate" else "bench",
                    seam=number,
                    side=way.side,
                    built=tuple(sorted((*standing, *base))),
                    holds=tuple(hold for hold in holds if hold is not None),
                    before_closing=index < len(build.stages) - 1,
                )
            )
            pull = pull + moment_of(seams[number], middle)
    return found


def _out_of_reach(puzzle: Puzzle, order: Order, steps: Mapping[int, Step]) -> tuple[Blocked, ...]:
    """Stretches out of reach: for what is not welded, beside everything; for stitches, at their step."""
    found: list[Blocked] = []
    everything = puzzle.obstacles.mask(puzzle.obstacles.names)
    for number, access in puzzle.seams.items():
        step = steps.get(number)
        standing = everything if step is None else puzzle.obstacles.mask(step.built)
        found += access.blocked(puzzle.obstacles, standing)
    return tuple(found)


def _left_out(kit: SheetKit) -> tuple[str, ...]:
    """Welds that this plan says nothing about."""
    said: list[str] = []
    internals = kit.internals
    if internals is None:
        return ()
    bolted = [fixing.wall for fixing in internals.fixings if fixing.way == "bolted"]
    if bolted:
        said.append(f"the bosses that hold {', '.join(bolted)}: weld them to their panels on the bench")
    if any(name.startswith("pickup") for name in internals.names):
        said.append(
            "the pickup's own welds (tube, end plate, skirt, feet): weld and bubble-test it by itself"
        )
    return tuple(said)
