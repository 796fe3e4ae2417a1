"""What is proposed where no order reaches a seam, each planned anew in full before it is said.

Three ways: another strongback plate, another joint on the seam's edge, and an opening in a
panel that a patch plate closes afterwards. A way is only proposed when the kit made with it closes, its plan
reaches more seams than before and loses none, and the checker that knows only solids
agrees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from sumpwright.findings import Figure, Proposal
from sumpwright.kit.model import JointChoice, JointKind, KitInputs, SheetKit
from sumpwright.kit.patch_model import PatchPlate
from sumpwright.kit.solve import solve as solve_kit
from sumpwright.quantities.units import Metre
from sumpwright.weld.model import Seam, WeldInputs, WeldResult
from sumpwright.weld.obstacles import STRONGBACK, obstacles_of
from sumpwright.weld.openings import open_panels, openings_for

MOST_SEAMS = 4
"""Seams for which a way is looked for; each costs a plan or more."""

MOST_PLANS = 4
"""Whole plans that are tried for one seam."""

Planner = Callable[[WeldInputs, SheetKit], WeldResult]


@dataclass(frozen=True, slots=True, eq=False)
class Remedy:
    """A change that was tried and works: the seams that it brings into reach."""

    proposal: Proposal
    seam: Seam  # of the plan without it
    reached: tuple[str, ...]  # what is reached with it and was not without, in words
    plan: WeldResult  # with it


def find_remedies(
    inputs: WeldInputs, kit_inputs: KitInputs, kit: SheetKit, result: WeldResult, plan: Planner
) -> tuple[Remedy, ...]:
    """A way for every seam out of reach, as far as one is found; none are looked for where all are reached.

    A side of an inner wall that stays bare is no reason to open a panel.
    """
    if result.plan is None or not result.plan.left_over:
        return ()
    by_number = {seam.number: seam for seam in result.seams}
    missed = [by_number[n] for n in result.plan.left_over]
    found: list[Remedy] = []
    cured: set[str] = set()
    for seam in missed[:MOST_SEAMS]:
        if seam.where in cured:
            continue
        remedy = _for_seam(seam, inputs, kit_inputs, kit, result, plan)
        if remedy is not None:
            found.append(remedy)
            cured |= set(remedy.reached)
    return tuple(found)


def _for_seam(
    seam: Seam,
    inputs: WeldInputs,
    kit_inputs: KitInputs,
    kit: SheetKit,
    result: WeldResult,
    plan: Planner,
) -> Remedy | None:
    tried = 0
    for other_weld, other_kit, proposal in _ways(seam, inputs, kit_inputs, kit, result):
        tried += 1
        if tried > MOST_PLANS:
            break
        made = kit
        if other_kit is not None:
            made = solve_kit(replace(other_kit, etched=False, nests=False, rates=None), kit.body)
        if made.rebuild.refused or (made.patches is not None and made.patches.trouble):
            continue
        again = plan(other_weld, made)
        reached = _gained(result, again)
        if reached:
            return Remedy(_with_the_rest(proposal, again), seam, reached, again)
    return None


def _with_the_rest(proposal: Proposal, again: WeldResult) -> Proposal:
    """The proposal with how it stands with the other seams."""
    left = 0 if again.plan is None else len(again.plan.left_over)
    if not left:
        return replace(proposal, effect=f"{proposal.effect} Planned anew with it, every seam is reached.")
    return replace(
        proposal,
        effect=f"{proposal.effect} Planned anew with it, {{left}} of the other seams still need a change of "
        "their own.",
        figures=(*proposal.figures, Figure("left", float(left), "1", "count", 0)),
    )


def _gained(before: WeldResult, after: WeldResult) -> tuple[str, ...]:
    """What is reached now and was not before; nothing where something else is lost or the checker objects."""
    if before.plan is None or after.plan is None or after.replay is None or not after.replay.holds:
        return ()
    out_before, out_after = _out(before), _out(after)
    if out_after - out_before:
        return ()
    return tuple(sorted(out_before - out_after))


def _out(result: WeldResult) -> set[str]:
    """Names of seams that are not welded."""
    plan = result.plan
    assert plan is not None
    by_number = {seam.number: seam for seam in result.seams}
    return {by_number[n].where for n in (*plan.left_over, *plan.bare)}


def _ways(
    seam: Seam, inputs: WeldInputs, kit_inputs: KitInputs, kit: SheetKit, result: WeldResult
) -> Iterator[tuple[WeldInputs, KitInputs | None, Proposal]]:
    """Changed inputs (None: the same kit) and what to propose for them, the cheapest at the bench first."""
    yield from _other_plates(seam, inputs, result)
    for changed, proposal in _other_joints(seam, kit_inputs, kit):
        yield inputs, changed, proposal
    for changed, proposal in _patch_plates(seam, inputs, kit_inputs, kit, result):
        yield inputs, changed, proposal


# --- another plate ------------------------------------------------------------------------------


def _other_plates(
    seam: Seam, inputs: WeldInputs, result: WeldResult
) -> Iterator[tuple[WeldInputs, None, Proposal]]:
    """A strongback that ends at the flange, or that is open in its middle, where it is what is in the way."""
    plan = result.plan
    assert plan is not None
    plate = inputs.strongback
    if not any(one.seam == seam.number and STRONGBACK in one.by for one in plan.blocked):
        return
    if seam.side == "outside" and plate.beyond > 0.0:
        yield (
            replace(inputs, strongback=replace(plate, beyond=0.0)),
            None,
            Proposal(
                "WELD-01",
                "weld.plate_beyond",
                "0 mm",
                f"A plate that ends flush with the flange makes room for the torch at: {_plain(seam.where)}.",
            ),
        )
    if not plate.is_open:
        yield (
            replace(inputs, strongback=replace(plate, is_open=True)),
            None,
            Proposal(
                "WELD-01",
                "weld.plate_open",
                "true",
                "A plate with its middle cut out lets the torch in from the rail side, at: "
                f"{_plain(seam.where)}.",
            ),
        )


# --- another joint ------------------------------------------------------------------------------

INSTEAD: dict[str, tuple[JointKind, ...]] = {
    "corner inside": ("open corner", "overlapped"),
    "full lap": ("open corner", "overlapped"),
    "inward lap": ("inward cut back",),
    "inward cut back": ("inward lap",),
}
"""Joints that put the bead elsewhere on the same edge."""


def _other_joints(seam: Seam, kit_inputs: KitInputs, kit: SheetKit) -> Iterator[tuple[KitInputs, Proposal]]:
    """The seam's edge joined another way, or the same way with the sheets changed over."""
    if seam.joint is None:
        return
    joint = kit.joints[seam.joint]
    kinds = list(INSTEAD.get(seam.kind, ()))
    pairs = [(kind, joint.part_a, joint.part_b) for kind in kinds]
    if seam.kind in ("full lap", "inward lap"):
        own: JointKind = "full lap" if seam.kind == "full lap" else "inward lap"
        pairs += [(own, joint.part_a, joint.part_b), (own, joint.part_b, joint.part_a)]
    names = set()
    if kit.body.cavity is not None:
        names = {face.name for face in kit.body.cavity.faces}
    asked = kit_inputs.joint_choices
    row = next((k for k, c in enumerate(asked) if {c.part_a, c.part_b} == {joint.part_a, joint.part_b}), None)
    for kind, one, other in pairs:
        if not {one, other} <= names:
            continue
        target, value = "joints.+", f'{{ part = "{one}", other = "{other}", joint = "{kind}" }}'
        if row is not None:
            # The row that is there keeps its order of sheets and gets another joint.
            one, other = asked[row].part_a, asked[row].part_b
            target, value = f"joints.{row + 1}.joint", kind
        choice = JointChoice(one, other, kind)
        if choice in asked:
            continue
        kept = [c for k, c in enumerate(asked) if k != row]
        yield (
            replace(kit_inputs, joint_choices=(*kept, choice)),
            Proposal(
                "WELD-01",
                target,
                value,
                f"With {_plain(_a(kind))} between {_plain(one)} and {_plain(other)} the bead lies where the "
                "torch gets to it.",
            ),
        )


def _a(kind: str) -> str:
    return f"an {kind} joint" if kind[0] in "aeiou" else f"a {kind} joint"


# --- patch plates -------------------------------------------------------------------------------


def _patch_plates(
    seam: Seam, inputs: WeldInputs, kit_inputs: KitInputs, kit: SheetKit, result: WeldResult
) -> Iterator[tuple[KitInputs, Proposal]]:
    """An opening in a panel for this seam, or for a neighbour that is in its turn only because of it.

    Of two seams of one wall only one may be left over, while the other was welded on the
    bench and keeps the first from being reached: an opening for either will do.
    """
    plan = result.plan
    assert plan is not None
    by_number = {one.number: one for one in result.seams}
    beside = [
        by_number[n]
        for n in (*plan.bench, *plan.bare)
        if {by_number[n].part_a, by_number[n].part_b} & {seam.part_a, seam.part_b}
        and by_number[n].kind in ("inner wall", seam.kind)
        and n != seam.number
    ]
    name = _free_name(kit)
    obstacles = obstacles_of(kit, inputs.strongback)
    panels = open_panels(kit)
    for target in (seam, *beside):
        for plate in openings_for(target, inputs, obstacles, panels, name):
            yield (
                replace(kit_inputs, patch_plates=(*kit_inputs.patch_plates, plate)),
                Proposal(
                    "WELD-01",
                    "patch_plates.+",
                    patch_text(plate),
                    f"An opening of {{width}} x {{height}} in {_plain(plate.panel)}, closed by a patch plate "
                    f"afterwards, lets the torch to {_plain(seam.where)}.",
                    (
                        Figure("width", plate.width, "m", "length", 0),
                        Figure("height", plate.height, "m", "length", 0),
                    ),
                ),
            )


def patch_text(plate: PatchPlate) -> str:
    """The plate as it stands in a job file."""
    at = ", ".join(f'"{_mm(float(value))}"' for value in np.asarray(plate.at))
    return (
        f'{{ name = "{plate.name}", panel = "{plate.panel}", at = [{at}], width = "{_mm(plate.width)}", '
        f'height = "{_mm(plate.height)}", corner = "{_mm(plate.corner)}" }}'
    )


def _free_name(kit: SheetKit) -> str:
    taken = {part.name for part in kit.parts}
    number = 1
    while f"patch plate {number}" in taken:
        number += 1
    return f"patch plate {number}"


def _mm(length: Metre) -> str:
    return f"{round(length * 1e3, 3):g} mm"


def _plain(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
