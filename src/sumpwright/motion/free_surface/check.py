"""What the free-surface check says: it may lower a verdict of the compartment model, never raise one."""

from __future__ import annotations

from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_most,
    worst,
)
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase, FreeSurfaceResult
from sumpwright.motion.manoeuvres import CORNER_RADIUS

ELSEWHERE_ALLOWED = 0.06
"""Oil that the compartment model may have in another place, rms share of all; a trial's figure."""
VOLUME_ALLOWED = 0.02
"""How far the volume below the surface may be off, averaged over a second."""
COVER_ALLOWED_CELLS = 1.0
"""How far the covers may lie apart beside half a cell, rms, where there is one compartment."""


def check(result: FreeSurfaceResult) -> StageReport:
    """Findings for every manoeuvre that was run or asked, and what was taken for granted."""
    findings = [_bare(case) for case in result.cases]
    for case in result.cases:
        findings.append(_one_space(case) if result.is_one_compartment else _apart(case))
        findings.append(_volume(case))
    if result.cases:
        findings.extend(_thin(result.cases[0]))
    findings.extend(_not_run(name, why) for name, why in result.trouble)
    findings.extend(_left(name) for name in result.not_run)
    return StageReport(tuple(findings), (), _assumptions(result))


def verdict_of_case(case: FreeSurfaceCase) -> Verdict:
    """Of the free surface known to half a cell, and never better than the compartment model's."""
    side = case.beside
    most = judge_at_most(side.bare_most, case.allowed, None)
    least = judge_at_most(side.bare_least, case.allowed, None)
    own = Verdict.HOLDS if most is Verdict.HOLDS else Verdict.CLOSE
    if least is Verdict.FAILS:
        own = Verdict.FAILS
    return worst([own, case.quick_verdict])


def _bare(case: FreeSurfaceCase) -> Finding:
    side = case.beside
    verdict = verdict_of_case(case)
    says = (
        "As the oil really moves, the mouth stays under at least {cover} of it"
        if side.bare <= 0.0
        else "As the oil really moves, the mouth draws air for {bare} on end, {allowed} allowed"
    )
    own = judge_at_most(side.bare_most, case.allowed, None)
    how = "Bare for {least} to {most} with the surface half a cell of {cell} up or down. "
    if verdict is case.quick_verdict and own is not verdict:
        how += "The quicker model judged it no better, and that stands: this check lowers, it never raises. "
    return Finding(
        code="MOT-20",
        verdict=verdict,
        where=f"pickup mouth, {case.name}, free surface",
        says=says,
        figures=(
            Figure("bare", side.bare, "s", "time"),
            Figure("least", side.bare_least, "s", "time"),
            Figure("most", side.bare_most, "s", "time"),
            Figure("allowed", case.allowed, "s", "time"),
            Figure("cover", side.least_cover, "m", "length"),
            Figure("cell", case.run.cell, "m", "length"),
        ),
        value=side.bare,
        limit=case.allowed,
        unit="s",
        kind="time",
        how_sure=how + "Hold-up, returns and doors are the job's or guessed, as in the quicker model.",
        do="" if verdict is Verdict.HOLDS else "See what the driven manoeuvres advise; check again after it",
        source="derived",
    )


def _apart(case: FreeSurfaceCase) -> Finding:
    """Oil that the two models have in different compartments."""
    side = case.beside
    verdict = judge_at_most(side.elsewhere, ELSEWHERE_ALLOWED, None)
    shown = Verdict.HOLDS if verdict is Verdict.HOLDS else Verdict.CLOSE
    return Finding(
        code="MOT-21",
        verdict=shown,
        where=f"compartments, {case.name}",
        says="{share} of the oil lies in other compartments than the quicker model says, rms over time; "
        "beside the run with a swinging surface alone it is {swinging}"
        if shown is Verdict.HOLDS
        else "The two models disagree: {share} of the oil lies in other compartments than the quicker one "
        "says, rms over time; beside the run with a swinging surface alone it is {swinging}",
        figures=(
            Figure("share", side.elsewhere, "1", "percent"),
            Figure("swinging", side.elsewhere_swinging, "1", "percent"),
            Figure("within", side.in_bracket, "1", "percent"),
        ),
        value=side.elsewhere,
        limit=ELSEWHERE_ALLOWED,
        unit="1",
        kind="percent",
        how_sure="The quicker model is taken as the range of its two runs; the mouth's cover lies in that "
        "range, half a cell more or less, for {within} of the time.",
        do=""
        if shown is Verdict.HOLDS
        else "Take the worse of the two; the quicker one knows one flat surface in each compartment",
        source="derived",
    )


def _one_space(case: FreeSurfaceCase) -> Finding:
    """Without inner walls nothing crosses: the covers are compared instead."""
    side = case.beside
    limit = COVER_ALLOWED_CELLS * case.run.cell
    verdict = judge_at_most(side.cover_off, limit, None)
    shown = Verdict.HOLDS if verdict is Verdict.HOLDS else Verdict.CLOSE
    return Finding(
        code="MOT-22",
        verdict=shown,
        where=f"oil over the mouth, {case.name}",
        says="Both models have the oil over the mouth {off} apart, rms over time beyond half a cell"
        if shown is Verdict.HOLDS
        else "The two models disagree: the oil over the mouth is {off} apart, rms over time beyond half a "
        "cell",
        figures=(
            Figure("off", side.cover_off, "m", "length"),
            Figure("within", side.in_bracket, "1", "percent"),
        ),
        value=side.cover_off,
        limit=limit,
        unit="m",
        kind="length",
        how_sure="The quicker model is taken as the range of its two runs; the cover lies in it for {within} "
        "of the time.",
        do=""
        if shown is Verdict.HOLDS
        else "Take the worse of the two; the quicker one knows one flat surface, no splash and no wave",
        source="derived",
    )


def _volume(case: FreeSurfaceCase) -> Finding:
    """Whether the computed surface holds the oil's volume."""
    off = abs(case.beside.volume_kept - 1.0)
    verdict = judge_at_most(off, VOLUME_ALLOWED, None)
    shown = Verdict.HOLDS if verdict is Verdict.HOLDS else Verdict.CLOSE
    return Finding(
        code="MOT-23",
        verdict=shown,
        where=f"volume below the computed surface, {case.name}",
        says="Averaged over a second it is {kept} of the oil at the worst; the oil itself is never lost or "
        "made",
        figures=(Figure("kept", case.beside.volume_kept, "1", "percent", 1),),
        value=off,
        limit=VOLUME_ALLOWED,
        unit="1",
        kind="percent",
        how_sure="Cell by cell, over the whole manoeuvre.",
        do="" if shown is Verdict.HOLDS else "A smaller cell keeps it better; see [free_surface] cell",
        source="derived",
    )


def _thin(case: FreeSurfaceCase) -> list[Finding]:
    """Places narrower than two cells: the oil there is a guess."""
    return [
        Finding(
            code="MOT-24",
            verdict=Verdict.CLOSE,
            where="a narrow place of the oil space",
            says="It is about {wide} across, less than two cells: how oil moves there is not worked out",
            figures=(
                Figure("wide", place.width, "m", "length"),
                Figure("cell", place.cell_that_helps, "m", "length"),
            ),
            value=place.width,
            limit=2.0 * case.run.cell,
            unit="m",
            kind="length",
            how_sure="Taken off the grid.",
            do="Where it matters, run again with cells of {cell}",
            source="derived",
            place=place.where,
        )
        for place in case.run.thin_places
    ]


def _not_run(name: str, why: str) -> Finding:
    return Finding(
        code="MOT-25",
        verdict=Verdict.CANNOT_SAY,
        where=f"free surface, {name}",
        says="It could not be run: " + why.replace("{", "(").replace("}", ")"),
        how_sure="Nothing was worked out here, so nothing here holds.",
        do="Cure what is named and run it again; the quicker model's figures stand meanwhile",
        source="derived",
    )


def _left(name: str) -> Finding:
    return Finding(
        code="MOT-26",
        verdict=Verdict.CANNOT_SAY,
        where=f"free surface, {name}",
        says="It was asked for and has not been run to its end",
        how_sure="Nothing was worked out here, so nothing here holds.",
        do="Run 'drive --free-surface'; a run that was stopped goes on where it was",
        source="derived",
    )


def _assumptions(result: FreeSurfaceResult) -> tuple[Assumption, ...]:
    if not result.cases:
        return ()
    taken = [
        Assumption(
            key="free_surface.cell",
            says="The oil as it really moves was worked out in cells of {cell}; air is without weight, walls "
            "are without thickness and go straight on above the rail.",
            figures=(Figure("cell", result.cell, "m", "length"),),
            source="derived",
        ),
        Assumption(
            key="free_surface.manoeuvres",
            says="Where a manoeuvre turns, the oil feels the pan turn as in a corner of {radius}; the pull "
            "to the side stays the job's. A log with a yaw rate turns as it was logged.",
            figures=(Figure("radius", CORNER_RADIUS, "m", "length"),),
            source="common-practice",
        ),
    ]
    for link in result.cases[0].run.links:
        taken.append(
            Assumption(
                key="free_surface.cell",
                says=f"The way '{link.way}' is {{wide}} at its narrowest, less than a cell: it passes what "
                "the hole law of the quicker model lets through.",
                figures=(Figure("wide", link.narrowest, "m", "length"),),
                source="derived",
            )
        )
    return tuple(taken)
