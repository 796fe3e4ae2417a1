"""Run the stages of one job, each from what the earlier ones found."""

from __future__ import annotations

import platform
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import metadata
from typing import Any

from sumpwright.body import BodyInputs, PanBody
from sumpwright.findings import Finding, StageReport, Verdict
from sumpwright.flow.memory import Memory
from sumpwright.flow.stages import QUICK_STAGES, Stage, StageName, with_needs
from sumpwright.job.model import Job, JobResults
from sumpwright.kit import KitInputs, SheetKit
from sumpwright.motion.drives import DriveInputs, DriveResult
from sumpwright.motion.model import MotionInputs, MotionResult
from sumpwright.oil import OilInputs, OilResult
from sumpwright.oil.old_pan import with_old_pan
from sumpwright.proof.model import ProofInputs, ProofResult
from sumpwright.quantities.units import FloatArray
from sumpwright.rail import HolePattern, RailInputs, RailResult
from sumpwright.suction.model import SuctionInputs, SuctionResult
from sumpwright.weld.bow_model import BowInputs, BowResult
from sumpwright.weld.filler_model import FillerInputs, FillerPlan
from sumpwright.weld.model import WeldInputs, WeldResult

# What can change a number between two machines: printed with the results.
LIBRARIES = ("numpy", "scipy", "numba", "manifold3d", "shapely")


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a run is: ``done`` of ``of`` stages are finished, and what comes now."""

    done: int
    of: int
    stage: Stage | None  # None once everything is finished


def run(
    job: Job,
    stages: tuple[StageName, ...] = QUICK_STAGES,
    on_progress: Callable[[Progress], None] | None = None,
    memory: Memory | None = None,
) -> JobResults:
    """Solve and check each stage, and gather what they say.

    The stages that the asked ones build on run too. A stage whose ground is missing does
    not run; one 'cannot say' finding names what is missing. With a ``memory``, a stage
    whose inputs it has seen is not worked out again.
    """
    wanted = with_needs(stages)
    memory = Memory() if memory is None else memory
    results: dict[StageName, Any] = {}
    reports: list[StageReport] = []
    for done, stage in enumerate(wanted):
        if on_progress is not None:
            on_progress(Progress(done, len(wanted), stage))
        lack = _what_is_missing(stage, results)
        if lack is None:
            results[stage.name], report = _solve_and_check(stage.name, job, results, memory)
        else:
            report = StageReport(findings=(_cannot_start(stage, lack),))
        reports.append(report)
    if on_progress is not None:
        on_progress(Progress(len(wanted), len(wanted), None))
    return JobResults(
        rail=results.get("rail"),
        body=results.get("body"),
        oil=results.get("oil"),
        kit=results.get("kit"),
        findings=tuple(finding for report in reports for finding in report.findings),
        proposals=tuple(proposal for report in reports for proposal in report.proposals),
        assumptions=job.assumptions
        + tuple(assumption for report in reports for assumption in report.assumptions),
        versions=versions(),
        motion=results.get("motion"),
        suction=results.get("suction"),
        drive=results.get("drive"),
        filler=results.get("filler"),
        bow=results.get("bow"),
        weld=results.get("weld"),
        proof=results.get("proof"),
    )


def _solve_and_check(
    name: StageName, job: Job, results: dict[StageName, Any], memory: Memory
) -> tuple[Any, StageReport]:
    """Result and report of one stage; its modules are loaded only when it is first asked for.

    A stage gets its inputs and nothing else, and they are what its result is remembered by.
    """
    if name == "suction" and job.suction is None:
        return None, StageReport(findings=(_no_pickup(),))
    work: dict[StageName, Callable[..., tuple[Any, StageReport]]] = {
        "rail": _rail,
        "body": _body,
        "oil": _oil,
        "motion": _motion,
        "drive": _drive,
        "suction": _suction,
        "kit": _kit,
        "filler": _filler,
        "bow": _bow,
        "weld": _weld,
        "proof": _proof,
    }
    (result, report), _ = memory.recall(name, stage_inputs(name, job, results), work[name])
    return result, report


def stage_inputs(name: StageName, job: Job, results: Mapping[StageName, Any]) -> tuple[Any, ...]:
    """All that a stage gets, from the job and from what the stages before it found."""
    body, oil, motion, kit = (results.get(earlier) for earlier in ("body", "oil", "motion", "kit"))
    inputs: dict[StageName, tuple[Any, ...]] = {
        "rail": (job.rail,),
        "body": (job.body, results["rail"].pattern if "rail" in results else None),
        "oil": (with_old_pan(job.oil, results.get("rail")), body),
        "motion": (job.motion, body, oil),
        "drive": (DriveInputs(job.motion, job.oil, job.logs), body, oil),
        "suction": (job.suction, job.oil.up, body, oil, motion),
        "kit": (job.kit, body),
        "weld": (job.weld, kit, job.kit),
        "filler": (job.filler, kit),
        "bow": (job.bow, kit),
        "proof": (job.proof, job.oil, job.weld, kit, oil),
    }
    return inputs[name]


def _rail(inputs: RailInputs) -> tuple[RailResult, StageReport]:
    from sumpwright.rail import check, solve

    result = solve.solve(inputs)
    return result, check.check(inputs, result)


def _body(inputs: BodyInputs, pattern: HolePattern) -> tuple[PanBody, StageReport]:
    from sumpwright.body import check, solve

    body = solve.solve(inputs, pattern)
    return body, check.check(body)


def _oil(inputs: OilInputs, body: PanBody) -> tuple[OilResult, StageReport]:
    from sumpwright.oil import check, solve

    result = solve.solve(inputs, body)
    return result, check.check(inputs, body, result)


def _motion(inputs: MotionInputs, body: PanBody, oil: OilResult) -> tuple[MotionResult, StageReport]:
    from sumpwright.motion import check, solve

    result = solve.solve(inputs, body, oil)
    return result, check.check(inputs, body, oil, result)


def _drive(inputs: DriveInputs, body: PanBody, oil: OilResult) -> tuple[DriveResult, StageReport]:
    from sumpwright.motion import drive_check, drives

    result = drives.solve(inputs, body, oil)
    return result, drive_check.check(inputs, result)


def _suction(
    inputs: SuctionInputs, up: FloatArray, body: PanBody, oil: OilResult, motion: MotionResult
) -> tuple[SuctionResult, StageReport]:
    from sumpwright.suction import check, solve

    result = solve.solve(inputs, up, body, oil, motion)
    return result, check.check(inputs, result)


def _no_pickup() -> Finding:
    """Suction without a pickup in the job."""
    return Finding(
        code="SUC-00",
        verdict=Verdict.CANNOT_SAY,
        where="Suction",
        says="Where the pump draws from is not given, so nothing is known of how it is fed",
        how_sure="Nothing to judge.",
        do="Enter [pickup] and [suction] in the job file",
        source="job-file",
    )


def _kit(inputs: KitInputs, body: PanBody) -> tuple[SheetKit, StageReport]:
    from sumpwright.kit import check, solve

    kit = solve.solve(inputs, body)
    return kit, check.check(inputs, kit)


def _filler(inputs: FillerInputs | None, kit: SheetKit) -> tuple[FillerPlan | None, StageReport]:
    from sumpwright.weld import filler, filler_check

    if inputs is None or not kit.parts:
        return None, StageReport()
    plan = filler.choose_fillers(inputs, kit)
    return plan, filler_check.check_fillers(inputs, plan)


def _bow(inputs: BowInputs | None, kit: SheetKit) -> tuple[BowResult | None, StageReport]:
    from sumpwright.weld import bow, bow_check

    if inputs is None or not kit.parts:
        return None, StageReport()
    moved = bow.solve_bow(inputs, kit)
    return moved, bow_check.check_bow(kit, moved)


def _proof(
    inputs: ProofInputs, oil_inputs: OilInputs, weld: WeldInputs | None, kit: SheetKit, oil: OilResult
) -> tuple[ProofResult, StageReport]:
    from dataclasses import replace

    from sumpwright.oil.stick_table import stick_table
    from sumpwright.proof import check, solve
    from sumpwright.proof.seam_names import tight_seams

    seams: tuple[str, ...] = ()
    is_read = inputs.every_panel or inputs.record is not None or inputs.earlier is not None
    if weld is not None and is_read:
        seams = tight_seams(weld, kit)
    if inputs.record is not None and inputs.record.pours:
        inputs = replace(inputs, stick=stick_table(oil_inputs, kit.body))
    marks = tuple((mark.name, mark.volume) for mark in oil.marks if mark.from_stop is not None)
    result = solve.solve(inputs, kit, marks, oil.capacity_to_rail, seams)
    return result, check.check(inputs, kit, result)


def _weld(inputs: WeldInputs, kit: SheetKit, kit_inputs: KitInputs) -> tuple[WeldResult, StageReport]:
    from sumpwright.weld import check, remedies, solve

    result = solve.solve(inputs, kit)
    found = remedies.find_remedies(inputs, kit_inputs, kit, result, solve.solve)
    return result, check.check(inputs, kit, result, found)


@dataclass(frozen=True, slots=True)
class Lack:
    """What a stage would need and does not have."""

    what: str
    section: str  # whose findings say what would cure it


def _what_is_missing(stage: Stage, results: dict[StageName, Any]) -> Lack | None:
    """Why this stage cannot run, or None where it can."""
    rail: RailResult | None = results.get("rail")
    if "rail" in stage.needs and (rail is None or rail.pattern is None):
        reasons = () if rail is None else rail.cannot
        return Lack("the holes of the rail could not be placed" + _because(reasons), "Rail")
    body: PanBody | None = results.get("body")
    if "body" in stage.needs and (body is None or body.cavity is None):
        reasons = () if body is None else body.trouble
        return Lack("the lumps did not join to one closed shape" + _because(reasons), "Shape")
    kit: SheetKit | None = results.get("kit")
    if "kit" in stage.needs and (kit is None or not kit.parts):
        why = "" if kit is None or not kit.rebuild.why else f" ({kit.rebuild.why})"
        return Lack(f"there is no kit of parts{why}", "Parts")
    return None


REASONS_SAID = 2
"""So many reasons stand in the sentence; the section that is named has all of them."""


def _because(reasons: tuple[tuple[str, str], ...]) -> str:
    """The first reasons in brackets, or nothing."""
    if not reasons:
        return ""
    more = "; ..." if len(reasons) > REASONS_SAID else ""
    return f" ({'; '.join(reason for reason, _ in reasons[:REASONS_SAID])}{more})"


def _cannot_start(stage: Stage, lack: Lack) -> Finding:
    """The one finding of a stage that could not run: number 00 of every stage."""
    return Finding(
        code=f"{stage.code}-00",
        verdict=Verdict.CANNOT_SAY,
        where=stage.section,
        says=_plain(f"Not worked out, because {lack.what}"),
        how_sure="Nothing was worked out here, so nothing here holds.",
        do=f"Settle the {lack.section} findings first",
        source="derived",
    )


def _plain(words: str) -> str:
    """Words that stand in a sentence with gaps but are none."""
    return words.replace("{", "(").replace("}", ")")


def versions() -> tuple[tuple[str, str], ...]:
    """Of this program and of what its numbers rest on: (name, version)."""
    named = tuple((name, metadata.version(name)) for name in ("sumpwright", *LIBRARIES))
    return (*named, ("python", platform.python_version()))
