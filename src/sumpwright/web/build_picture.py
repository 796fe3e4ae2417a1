"""The pan built up in the order of welding: what is set, which seam is welded, how the torch is held."""

from __future__ import annotations

from sumpwright.job.model import Job
from sumpwright.outputs.weld_map import turns
from sumpwright.outputs.words import write_shop_length
from sumpwright.web.picture_messages import BuildPicture, BuildSeam, BuildStep, TorchAt, TorchShape
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import flat_list_mm, point_mm, unit_vector
from sumpwright.weld.model import HoldPoint, Seam, Step, Torch, TorchHold, WeldPlan, WeldResult


def build_picture(now: Snapshot, revision: str) -> BuildPicture:
    """Every step of the plan; why there is none, where there is none."""
    outcome, job = now.outcomes.get("weld"), now.job
    weld: WeldResult | None = None if outcome is None else outcome.result
    is_stale = now.is_stale("weld")
    if weld is None or weld.plan is None or job is None:
        why = "The welds have not been planned yet." if weld is None else "No order of welding was found."
        return _none(revision, why)
    if is_stale and _parts_are_others(now, weld):
        return _none(revision, "Planned for an earlier state of the files: plan the welds again to see them.")
    plan = weld.plan
    place = {seam.number: at for at, seam in enumerate(weld.seams)}
    return BuildPicture(
        revision=revision,
        trouble=[],
        stale=is_stale,
        seams=[_seam(seam, turns(plan).get(seam.number)) for seam in weld.seams],
        steps=_steps(plan, weld.seams, place, job),
        torch=None if job.weld is None else _torch(job.weld.torch),
        checked=_checked(weld),
    )


def _parts_are_others(now: Snapshot, weld: WeldResult) -> bool:
    """Whether the seams no longer lie between parts that are there."""
    kit = now.results().kit
    names = set() if kit is None else {part.name for part in kit.parts}
    plan = weld.plan
    return plan is None or any(
        name not in names for step in plan.steps if step.action == "set" for name in step.parts
    )


def _seam(seam: Seam, turn: int | None) -> BuildSeam:
    return BuildSeam(
        turn=turn,
        where=seam.where,
        tight=seam.is_oil_tight,
        length_mm=round(seam.length * 1e3, 2),
        path_mm=flat_list_mm(seam.path),
    )


def _steps(plan: WeldPlan, seams: tuple[Seam, ...], place: dict[int, int], job: Job) -> list[BuildStep]:
    number = turns(plan)
    stops = list(plan.hold_points)
    found: list[BuildStep] = []
    for step in plan.steps:
        while stops and stops[0].after_step < step.number:
            found.append(_stop(stops.pop(0), step.place))
        if step.action == "set":
            found.append(_set(step))
        elif step.seam is not None:
            found.append(_weld(step, seams[place[step.seam]], place[step.seam], number[step.seam], job))
    return [*found, *(_stop(stop, "plate") for stop in stops)]


def _stop(stop: HoldPoint, place: str) -> BuildStep:
    return _step("stop", stop.number, place, f"Stop: {stop.name}", checks=list(stop.checks))


def _set(step: Step) -> BuildStep:
    lies = step.place == "bench" and not step.built
    verb = "Lay on the bench" if lies else "Set and tack"
    return _step("set", step.number, step.place, f"{verb}: {', '.join(step.parts)}", parts=list(step.parts))


def _weld(step: Step, seam: Seam, at: int, turn: int, job: Job) -> BuildStep:
    early = "; now, for later nothing gets there" if step.before_closing else ""
    length = write_shop_length(seam.length, job.units)
    says = f"Weld {turn}: {seam.where}, {step.side}, {length}{early}"
    return _step(
        "weld", step.number, step.place, says, seam=at, holds=[_torch_at(hold) for hold in step.holds]
    )


def _step(
    action: str,
    number: int,
    place: str,
    says: str,
    *,
    parts: list[str] | None = None,
    seam: int | None = None,
    checks: list[str] | None = None,
    holds: list[TorchAt] | None = None,
) -> BuildStep:
    return BuildStep.model_validate(
        {
            "action": action, "number": number, "place": place, "says": says, "parts": parts or [],
            "seam": seam, "checks": checks or [], "holds": holds or [],
        }
    )  # fmt: skip


def _torch_at(hold: TorchHold) -> TorchAt:
    return TorchAt(
        at_mm=round(hold.at * 1e3, 2),
        tip_mm=point_mm(hold.tip),
        axis=unit_vector(hold.axis),
        body=unit_vector(hold.body),
        rod=None if hold.rod is None else unit_vector(hold.rod),
        stick_out_mm=round(hold.stick_out * 1e3, 2),
    )


def _torch(torch: Torch) -> TorchShape:
    return TorchShape(
        cup_mm=round(torch.cup * 1e3, 2),
        cup_length_mm=round(torch.cup_length * 1e3, 2),
        body_mm=round(torch.body * 1e3, 2),
        body_length_mm=round(torch.body_length * 1e3, 2),
        back_cap_mm=round(torch.back_cap * 1e3, 2),
        rod_mm=None if torch.filler is None else round(torch.filler * 1e3, 2),
    )


def _checked(weld: WeldResult) -> str:
    replay = weld.replay
    if replay is None:
        return ""
    if replay.holds:
        return (
            "Built up again step by step by a checker of its own: the torch gets to all"
            f" {replay.stations} places tried."
        )
    return "The checker that builds it up again does not agree with this order: do not weld by it."


def _none(revision: str, why: str) -> BuildPicture:
    return BuildPicture(
        revision=revision, trouble=[why], stale=False, seams=[], steps=[], torch=None, checked=""
    )
