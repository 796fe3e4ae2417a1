"""What the driven manoeuvres say: how long the pickup is bare, what a failing door does, what helps."""

from __future__ import annotations

from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    Proposal,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.motion.drives import WET_SUMP_END, DriveInputs, DriveResult, Driving

PRACTICE = "common-practice"

WORSE_BY = 1.05
"""A failing door makes a pan worse that is bare already, if the longest stretch grows by more than this."""


def check(inputs: DriveInputs, result: DriveResult) -> StageReport:
    """Findings of the driven traces; one for each manoeuvre, door failures, the change that helps most."""
    if result.missing:
        return StageReport(findings=(_cannot(result),))
    findings = [_manoeuvre(run, result) for run in result.runs]
    findings.extend(_rail(result))
    findings.extend(_doors(result))
    findings.extend(log_findings(result))
    if any(run.uncovered_most > run.trace.asked_for for run in result.runs):
        findings.append(_advice(result))
    if result.oil is not None:
        error = max(
            max(abs(run.lagged.balance_error), abs(run.unlagged.balance_error)) for run in result.runs
        )
        findings.append(_balance(error, result))
    return StageReport(tuple(findings), _proposals(result), _assumptions(inputs))


def _cannot(result: DriveResult) -> Finding:
    return Finding(
        code="MOT-10",
        verdict=Verdict.CANNOT_SAY,
        where="pickup mouth",
        says="Nothing was driven: what the oil goes through is not known",
        how_sure="Nothing to judge.",
        do="Enter " + " and ".join(result.missing),
        source=PRACTICE,
    )


def verdict_of(run: Driving) -> Verdict:
    """Both runs decide: the surface follows the pull at once, or swings after it as its first mode."""
    worse = judge_at_most(run.uncovered_most, run.trace.asked_for, None)
    kinder = judge_at_most(run.uncovered_least, run.trace.asked_for, None)
    if worse is Verdict.HOLDS:
        return Verdict.HOLDS
    return Verdict.FAILS if kinder is Verdict.FAILS else Verdict.CLOSE


def _manoeuvre(run: Driving, result: DriveResult) -> Finding:
    verdict = verdict_of(run)
    worst = run.lagged if run.lagged.uncovered >= run.unlagged.uncovered else run.unlagged
    at = float(worst.times[worst.worst])
    figures = (
        Figure("bare", run.uncovered_most, "s", "time"),
        Figure("kinder", run.uncovered_least, "s", "time"),
        Figure("allowed", run.trace.asked_for, "s", "time"),
        Figure("at", at, "s", "time"),
        Figure("cover", run.least_cover, "m", "length"),
        Figure("reserve", min(run.least_reserve, 999.0), "s", "time"),
        Figure("short", -run.least_cover, "m", "length"),
        Figure("away", run.out_of_reach, "m3", "volume"),
    )
    if run.uncovered_most <= 0.0:
        says = (
            "The mouth stays under at least {cover} of oil, least after {at}; {reserve} of oil are then "
            "left at what the pump takes"
        )
    else:
        says = (
            "The mouth draws air for {bare} on end, {allowed} allowed; worst after {at}, the oil {short} "
            "below its edge and {away} of it out of reach"
        )
    best = result.tried[0] if result.tried else None
    do = ""
    if verdict is not Verdict.HOLDS:
        do = (
            f"Best of the changes tried: {best.what}" if best is not None else "Change the shape or add doors"
        )
    return Finding(
        code="MOT-11",
        verdict=verdict,
        where=f"pickup mouth, {run.trace.name}",
        says=says,
        figures=figures,
        value=run.uncovered_most,
        limit=run.trace.asked_for,
        unit="s",
        kind="time",
        how_sure=("Bare for {kinder} to {bare}: " if run.uncovered_most > 0.0 else "Least of two runs: ")
        + "the surface follows at once, or swings after the pull; "
        "one flat surface in each compartment, no splash. Low mark, hot, most oil up in the engine.",
        do=do,
        source="derived",
    )


def _reaches_rail(run: Driving) -> bool:
    return bool(run.lagged.rail_gap.min() < 0.0 and run.unlagged.rail_gap.min() < 0.0)


def _rail(result: DriveResult) -> list[Finding]:
    """One finding for all manoeuvres in which the oil climbs past the rail, the highest named."""
    over = {
        run.trace.name: -max(float(run.lagged.rail_gap.min()), float(run.unlagged.rail_gap.min()))
        for run in result.runs
        if _reaches_rail(run)
    }
    if not over:
        return []
    highest = max(over, key=lambda name: over[name])
    return [
        Finding(
            code="MOT-12",
            verdict=Verdict.CLOSE,
            where=f"pan rail, {highest}",
            says="In {count} of {all} manoeuvres the oil stands above the rail's edge, up to {over} here: it "
            "wets the crankcase and the crank may beat it",
            figures=(
                Figure("count", float(len(over)), "1", "count"),
                Figure("all", float(len(result.runs)), "1", "count"),
                Figure("over", over[highest], "m", "length"),
            ),
            value=over[highest],
            limit=0.0,
            unit="m",
            kind="length",
            how_sure="The walls are taken to go straight on above the rail.",
            do="A roof baffle over the sump keeps it down; look at what the oil meets above the rail",
            source="derived",
        )
    ]


def _doors(result: DriveResult) -> list[Finding]:
    """Which failing doors the engine survives."""
    found = []
    allowed = max((run.trace.asked_for for run in result.runs), default=0.3)
    all_right = all(run.uncovered_most <= run.trace.asked_for for run in result.runs)
    worst = max((run.uncovered_most for run in result.runs), default=0.0)
    for failure in result.failures:
        if not all_right and failure.uncovered <= WORSE_BY * worst:
            continue  # the pan fails with doors that work; these are told together below
        verdict = judge_at_most(failure.uncovered, allowed, None)
        # A door that fails is not yet failing: the sheet says what would happen, it refuses nothing.
        shown = Verdict.HOLDS if verdict is Verdict.HOLDS else Verdict.CLOSE
        if verdict is Verdict.HOLDS:
            says = "The engine survives it: the mouth is bare for at most {bare} on end, {allowed} allowed"
        elif all_right:
            says = "The engine does not survive it: bare for {bare} on end, {allowed} allowed"
        else:
            says = "It gets worse still: bare for {bare} on end, {allowed} allowed"
        found.append(
            Finding(
                code="MOT-13",
                verdict=shown,
                where=f"door {failure.door}, {failure.how}, in '{failure.worst_trace}'",
                says=says,
                figures=(
                    Figure("bare", failure.uncovered, "s", "time"),
                    Figure("cover", failure.least_cover, "m", "length"),
                    Figure("allowed", allowed, "s", "time"),
                ),
                value=failure.uncovered,
                limit=allowed,
                unit="s",
                kind="time",
                how_sure="Every manoeuvre was driven again with this door failing.",
                do=""
                if verdict is Verdict.HOLDS
                else "Ears that fit one way only, a captive pin, a backstop; look at the door at every oil "
                "change",
                source="derived",
            )
        )
    same = [failure for failure in result.failures if failure.uncovered <= WORSE_BY * worst]
    if same and not all_right:
        least = min(failure.uncovered for failure in same)
        most = max(failure.uncovered for failure in same)
        found.append(
            Finding(
                code="MOT-13",
                verdict=Verdict.CLOSE,
                where=f"doors {', '.join(sorted({failure.door for failure in same}))}",
                says="Stuck open, shut or fitted backwards, no single door changes the verdict: bare for "
                "{least} to {most} on end, with all doors working {worst}",
                figures=(
                    Figure("least", least, "s", "time"),
                    Figure("most", most, "s", "time"),
                    Figure("worst", worst, "s", "time"),
                ),
                value=most,
                limit=allowed,
                unit="s",
                kind="time",
                how_sure=f"Every manoeuvre was driven again with each failure by itself, {len(same)} in all.",
                do="Cure the pan first; the doors decide nothing until it works with all of them",
                source="derived",
            )
        )
    return found


def _advice(result: DriveResult) -> Finding:
    best = result.tried[0] if result.tried else None
    allowed = max(run.trace.asked_for for run in result.runs)
    worst = max(run.uncovered_most for run in result.runs)
    past = result.hardest > WET_SUMP_END * 0.999
    enough = best is not None and best.uncovered <= allowed
    says = "Of {count} changes tried none is enough"
    if best is not None and enough:
        says = (
            f"Of {{count}} changes tried one is enough: {best.what}; bare for {{after}} instead of {{before}}"
        )
    elif best is not None:
        says += f"; most helps {best.what}: bare for {{after}} instead of {{before}}"
    do = (
        "Try it: change the key and look again"
        if enough
        else (
            "A wet sump is past its use here: a dry sump, or an accumulator that feeds the gap"
            if past
            else "Walls with doors round the pickup, a deeper sump, or an accumulator that feeds the gap"
        )
    )
    return Finding(
        code="MOT-14",
        verdict=Verdict.CLOSE if enough else Verdict.FAILS,
        where="whole pan, all manoeuvres",
        says=says,
        figures=(
            Figure("count", float(len(result.tried)), "1", "count"),
            Figure("after", best.uncovered if best is not None else worst, "s", "time"),
            Figure("before", worst, "s", "time"),
            Figure("allowed", allowed, "s", "time"),
        ),
        value=best.uncovered if best is not None else worst,
        limit=allowed,
        unit="s",
        kind="time",
        how_sure="Each change was driven through every manoeuvre that goes wrong; new walls and depths were "
        "not tried here.",
        do=do,
        source="derived",
    )


def _balance(error: float, result: DriveResult) -> Finding:
    assert result.oil is not None
    whole = result.oil.in_pan + result.oil.held_up
    share = error / whole
    return Finding(
        code="MOT-15",
        verdict=judge_at_most(share, 1e-9, None),
        where="all manoeuvres",
        says="The oil's account is kept: nothing was lost or made in any run beyond rounding",
        figures=(Figure("share", share, "1", "ratio"),),
        value=share,
        limit=1e-9,
        unit="1",
        kind="ratio",
        how_sure="Pan and engine added up at the end of every run.",
        source="derived",
    )


def _steady(name: str, bare: int) -> Finding:
    """A log whose oil pressure never dips, against the bare stretches predicted for it."""
    return Finding(
        code="MOT-27",
        verdict=Verdict.HOLDS if bare == 0 else Verdict.CLOSE,
        where=f"oil pressure in log {name.replace('{', '(').replace('}', ')')}",
        says="The oil pressure never dips in this log; the drive over it tells of {bare} bare stretches",
        figures=(Figure("bare", float(bare), "1", "count"),),
        value=float(bare),
        limit=0.0,
        unit="1",
        kind="count",
        how_sure="A dip is pressure 30 % below what is usual at that speed; a gauge that answers slowly hides"
        " short ones.",
        do=""
        if bare == 0
        else "Lucky so far or told too darkly: look at how quickly the gauge answers, and drive the same"
        " again at the low mark",
        source="derived",
    )


def log_findings(result: DriveResult) -> list[Finding]:
    """What was noticed in the logs, and whether their pressure dips meet the prediction."""
    found = [
        Finding(
            code="MOT-16",
            verdict=Verdict.CLOSE,
            where=f"log {name}",
            says="Noticed in the log: " + note.says.replace("{", "(").replace("}", ")"),
            how_sure="From the log itself.",
            do="Look at these lines before trusting what follows from them",
            source="derived",
        )
        for name, note in result.notes
        if not note.is_fault
    ]
    found += [_steady(name, bare) for name, bare in result.steady]
    for name, suits in result.fits:
        best = suits.after
        figures = (
            Figure("dips", float(best.dips), "1", "count"),
            Figure("met", float(best.met), "1", "count"),
            Figure("met_before", float(suits.before.met), "1", "count"),
            Figure("bare", float(best.bare), "1", "count"),
            Figure("held", suits.hold_up_times, "1", "percent"),
            Figure("leak", suits.leak_times, "1", "percent"),
        )
        found.append(
            Finding(
                code="MOT-17",
                verdict=judge_at_least(best.score, 0.8, None),
                where=f"oil pressure in log {name}",
                says="Of {dips} dips of the oil pressure {met_before} meet a predicted bare stretch as "
                "assumed, and {met} of {bare} with {held} of the hold-up and {leak} of the doors' leak gap",
                figures=figures,
                value=best.score,
                limit=0.8,
                unit="1",
                kind="ratio",
                how_sure="A dip is pressure 30 % below what is usual at that speed; the best of a few "
                "hold-ups and leaks that were tried.",
                do=""
                if best.score >= 0.8
                else "The prediction does not tell what this pan does; look for another cause of the dips",
                source="derived",
            )
        )
    return found


def _proposals(result: DriveResult) -> tuple[Proposal, ...]:
    found = []
    worst = max((run.uncovered_most for run in result.runs), default=0.0)
    for tried in result.tried:
        if tried.value and tried.uncovered < worst - 0.02:
            found.append(
                Proposal(
                    code="MOT-14",
                    target=tried.key,
                    value=tried.value,
                    effect="The mouth is then bare for at most {after} on end, now {before}",
                    figures=(
                        Figure("after", tried.uncovered, "s", "time"),
                        Figure("before", worst, "s", "time"),
                    ),
                )
            )
    return tuple(found[:3])


def _returns_in_words(inputs: DriveInputs) -> str:
    shares = [port.share for port in inputs.oil.ports if port.port == "return"]
    if all(share is None for share in shares):
        return "from the named returns, each alike,"
    if any(share is None for share in shares):
        return "from the named returns by their shares, those without one alike,"
    return "from the named returns by their shares, the rest over the whole rail opening,"


def _assumptions(inputs: DriveInputs) -> tuple[Assumption, ...]:
    taken = [
        Assumption(
            key="drives",
            says="Manoeuvres are sized by [loads]: corners and brake zones of usual length; a mouth may be "
            "bare for {allowed} on end.",
            figures=(Figure("allowed", 0.3, "s", "time"),),
            source=PRACTICE,
        ),
        Assumption(
            key="oil.hold_up",
            says="Oil comes back "
            + (
                _returns_in_words(inputs)
                if any(port.port == "return" for port in inputs.oil.ports)
                else "over the whole rail opening,"
            )
            + " on average after the time that the hold-up and the pump's flow at top speed give.",
            source=PRACTICE,
        ),
    ]
    if inputs.oil.pump.idle_speed is None:
        taken.append(Assumption("pump.idle_speed", "Idle is taken as 15 % of top speed.", source=PRACTICE))
    return tuple(taken)
