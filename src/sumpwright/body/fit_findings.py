"""What is said of clearances, ground, tool access and the way off."""

from __future__ import annotations

import math

from sumpwright.body.clearance import SEARCH_STEP
from sumpwright.body.finding_words import length_figure, place_of, plain
from sumpwright.body.ground_findings import ground_findings
from sumpwright.body.model import PanBody
from sumpwright.body.surroundings import (
    BoltAccess,
    Clearance,
    Fit,
    KeepOut,
    Withdrawal,
)
from sumpwright.findings import Assumption, Figure, Finding, Verdict, judge_at_least
from sumpwright.quantities.measured import COVERAGE_95


def fit_findings(body: PanBody, fit: Fit) -> list[Finding]:
    """Findings of everything round the pan."""
    around = body.inputs.surroundings
    found = [_unreadable(name, why) for name, why in around.unreadable]
    by_name = {keep_out.name: keep_out for keep_out in around.keep_outs}
    for clearance in fit.clearances:
        found.append(_clearance(by_name[clearance.keep_out], clearance))
    if fit.ground is not None and around.ground is not None:
        found += ground_findings(around.ground, fit.ground)
    found += _access(fit.access)
    if fit.withdrawal is not None:
        found.append(_withdrawal(fit.withdrawal))
    return found


def fit_assumptions(body: PanBody) -> list[Assumption]:
    """What is taken of the surroundings."""
    around = body.inputs.surroundings
    taken = []
    if around.keep_outs:
        taken.append(
            Assumption(
                "pan.weld_stands",
                "Weld metal is taken to stand {weld} proud of the sheet along outward corners.",
                (length_figure("weld", around.weld_stands),),
            )
        )
    if around.tools is not None and around.tools.is_placeholder:
        taken.append(
            Assumption("shop.tools", "Sockets and wrenches are shipped figures, not measured in this shop.")
        )
    return taken


def _unreadable(name: str, why: str) -> Finding:
    return Finding(
        code="BODY-31",
        verdict=Verdict.CANNOT_SAY,
        where=plain(name),
        says=f"The surface of {plain(name)} could not be read: {plain(why)}.",
        how_sure="Nothing is known of it.",
        do="write the file anew, or draw the thing as a box or a round bar",
        source="job-file",
    )


def _clearance(keep_out: KeepOut, clearance: Clearance) -> Finding:
    name, part = plain(keep_out.name), plain(clearance.part)
    u95 = None if keep_out.u is None else COVERAGE_95 * keep_out.u
    sure = (
        f"How sure the place of {name} is was not said."
        if u95 is None
        else f"Exact for the shapes as given; the place of {name} could be off by {{off}}."
    )
    if clearance.posture != "as it stands":
        sure += " The worst posture was searched to {step}."
    if clearance.open_sides:
        sure += f" The surface of {name} has holes, so what lies inside it cannot be told."
    figures = (
        length_figure("gap", max(clearance.gap, 0.0)),
        length_figure("limit", keep_out.wanted),
        length_figure("into", max(-clearance.gap, 0.0)),
        length_figure("step", SEARCH_STEP),
        length_figure("off", u95 or 0.0),
    )
    if clearance.swallowed:
        wrong_side = (
            f"{name} lies inside the pan, or the pan inside it"
            if keep_out.lies == "outside the pan"
            else f"{name} should lie inside the pan, and part of it does not"
        )
        says, verdict = f"{wrong_side}.", Verdict.FAILS
    elif clearance.gap <= 0.0:
        says, verdict = f"{name} runs into the pan at its {part}, {clearance.posture}.", Verdict.FAILS
    else:
        says = (
            f"{name} clears the pan's {part} by {{gap}}, {plain(clearance.posture)}; {{limit}} are asked for."
        )
        verdict = judge_at_least(clearance.gap, keep_out.wanted, u95)
    hot = "; heat bakes oil and sealant" if keep_out.is_hot else ""
    do = f"draw the lump in beside {name}, or cut a notch for it{hot}"
    if verdict is Verdict.HOLDS:
        do = ""
        if clearance.open_sides:
            verdict, do = Verdict.CLOSE, f"close the holes in the surface of {name}, or draw it as a box"
    return Finding(
        code="BODY-30",
        verdict=verdict,
        where=f"{name}, {part}",
        says=says,
        figures=figures,
        value=clearance.gap,
        limit=keep_out.wanted,
        unit="m",
        kind="length",
        u95=u95,
        how_sure=sure,
        do=do,
        source="job-file",
        place=place_of(clearance.on_pan),
    )


def _access(access: tuple[BoltAccess, ...]) -> list[Finding]:
    findings = [_one_access(one) for one in access if one.room is None or one.room < 0.0]
    reached = [one for one in access if one.room is not None and one.room >= 0.0]
    if reached:
        tightest = min(reached, key=lambda one: one.room or 0.0)
        by_wrench = [plain(one.name) for one in reached if one.tool == "wrench"]
        swung = [one for one in reached if one.free_swing is not None and one.click > 0.0]
        least = min(swung, key=lambda one: one.free_swing or 0.0, default=None)
        tail = f"; only a flat wrench reaches {', '.join(by_wrench)}" if by_wrench else ""
        if least is not None and least.free_swing is not None:
            tail += (
                f"; a ratchet swings least at {plain(least.name)}, {{swing}}: {{clicks}} clicks a stroke, "
                "{strokes} strokes a turn"
            )
        findings.append(
            Finding(
                code="BODY-40",
                verdict=Verdict.HOLDS,
                where=plain(tightest.name),
                says=f"{{count}} of {{all}} heads can be turned; the tightest, {plain(tightest.name)}, has "
                f"{{room}} beside its tool{tail}.",
                figures=(
                    Figure("count", float(len(reached)), "1", "count"),
                    Figure("all", float(len(access)), "1", "count"),
                    length_figure("room", tightest.room or 0.0),
                    *_swing_figures(least),
                ),
                value=tightest.room,
                limit=0.0,
                unit="m",
                kind="length",
                how_sure="Exact for the tools and shapes as given; hands and hoses are not counted.",
                source="shop-file",
                place=place_of(tightest.place),
            )
        )
    return findings


def _swing_figures(least: BoltAccess | None) -> tuple[Figure, ...]:
    if least is None or least.free_swing is None:
        return ()
    clicks = clicks_of(least)
    return (
        Figure("swing", least.free_swing, "rad", "angle", 0),
        Figure("clicks", float(clicks), "1", "count"),
        Figure("strokes", float(math.ceil(2.0 * math.pi / (clicks * least.click) - 1e-9)), "1", "count"),
    )


def clicks_of(one: BoltAccess) -> int:
    """Teeth that a ratchet passes in its free swing."""
    return 0 if one.free_swing is None else math.floor(one.free_swing / one.click + 1e-9)


def _one_access(one: BoltAccess) -> Finding:
    name = plain(one.name)
    if one.room is None:
        return Finding(
            code="BODY-41",
            verdict=Verdict.CANNOT_SAY,
            where=name,
            says=f"Whether {name} can be turned is not known: {plain(one.why_not)}.",
            how_sure="Nothing is given to judge by.",
            do="add the socket or wrench to the shop file's tools",
            source="shop-file",
            place=place_of(one.place),
        )
    return Finding(
        code="BODY-42",
        verdict=Verdict.FAILS,
        where=name,
        says=f"No tool turns {name}: {plain(one.blocked_by)} is {{short}} too near.",
        figures=(length_figure("short", -one.room),),
        value=one.room,
        limit=0.0,
        unit="m",
        kind="length",
        u95=None,
        how_sure="Exact for the tools and shapes as given; hands and hoses are not counted.",
        do="set the wall back here by {short}, cut a recess for the tool, or use a stud with a nut",
        source="shop-file",
        place=place_of(one.place),
    )


def _withdrawal(found: Withdrawal) -> Finding:
    figures = tuple(length_figure(f"step_{k}", length, 0) for k, (_, length) in enumerate(found.way))
    steps = ", ".join(f"{word} {{step_{k}}}" for k, (word, _) in enumerate(found.way))
    if found.is_clear:
        says = f"The pan comes off: {steps}." if steps else "The pan comes off freely."
    else:
        stop = plain(found.blocked_by)
        says = f"The pan does not come off: after {steps or 'no way at all'} it is stopped by {stop}."
    return Finding(
        code="BODY-45",
        verdict=Verdict.HOLDS if found.is_clear else Verdict.FAILS,
        where="way off",
        says=says,
        figures=figures,
        value=found.least_gap,
        limit=0.0,
        unit="m",
        kind="length",
        how_sure="Straight slides only, no tipping; what is thinner than a millimetre may be missed.",
        do="" if found.is_clear else "split the fixture, make the pan shallower here, or lift the engine",
        source="plane-geometry",
    )
