"""What the weld stage says: is every seam reached, what comes early, what hides, what runs cold."""

from __future__ import annotations

import math
from collections.abc import Mapping

from sumpwright.findings import Figure, Finding, Proposal, StageReport, Verdict, judge_at_most
from sumpwright.kit import SheetKit
from sumpwright.weld.formulas import least_stick_out
from sumpwright.weld.model import Seam, WeldInputs, WeldPlan, WeldResult
from sumpwright.weld.obstacles import STRONGBACK
from sumpwright.weld.pockets import pockets_of
from sumpwright.weld.remedies import Remedy

THICK_TO_THIN = 2.0
"""From this ratio on the thick side stays cold: common practice."""

GAP_SHARE = 0.25
"""Of the thinner sheet, the widest gap for thin work: common practice."""

MOST_SAID = 6

FROM_SOLIDS = "Tried with the torch's own measures at stations along the seam; a wrist can do a little more."


def check(
    inputs: WeldInputs, kit: SheetKit, result: WeldResult, remedies: tuple[Remedy, ...] = ()
) -> StageReport:
    """Findings of the weld stage, in the order of the work.

    ``remedies`` are ways round seams out of reach, each tried; what none is found for says so.
    """
    plan = result.plan
    if plan is None:
        return StageReport((_nothing_to_weld(),))
    seams = {seam.number: seam for seam in result.seams}
    findings = [
        *_reach(inputs, plan, seams, remedies),
        *_bare(plan, seams),
        *_bench(plan, seams),
        *_early(plan, seams),
    ]
    findings += [*_replay(result), *_bolts(plan, seams), *_unseen(plan, seams)]
    findings += _vents(inputs, kit, result)
    findings += [*_cold_laps(result), *_gaps(result), *_pockets(kit)]
    tried = tuple(remedy.proposal for remedy in remedies)
    return StageReport(tuple(findings), (*tried, *_proposals(inputs, plan, seams)))


def _nothing_to_weld() -> Finding:
    return Finding(
        "WELD-01",
        Verdict.CANNOT_SAY,
        "Welding",
        "There are no parts to weld together, so no order of welding was looked for",
        how_sure="Nothing to judge.",
        do="Settle the Parts findings first",
        source="derived",
    )


def _reach(
    inputs: WeldInputs, plan: WeldPlan, seams: Mapping[int, Seam], remedies: tuple[Remedy, ...]
) -> list[Finding]:
    if not plan.left_over:
        return [
            Finding(
                "WELD-01",
                Verdict.HOLDS,
                "all seams",
                "An order is found in which the torch reaches all {count} seams that are welded, each in "
                "its turn",
                (Figure("count", len(plan.order), "1", "count", 0),),
                how_sure=FROM_SOLIDS,
                source="derived",
            )
        ]
    found = []
    for number in plan.left_over:
        stretches = [stretch for stretch in plan.blocked if stretch.seam == number]
        length = float(sum(stretch.length for stretch in stretches))
        by = tuple(dict.fromkeys(name for stretch in stretches for name in stretch.by))
        place = stretches[0].place if stretches else None
        start = float(stretches[0].start) if stretches else 0.0
        found.append(
            Finding(
                "WELD-01",
                Verdict.FAILS,
                _plain(seams[number].where),
                "No order is found in which the torch reaches this seam: with the pan complete {blocked} of "
                "its "
                f"{{length}} stay out of reach, from {{start}} on; in the way: {_list(by)}",
                (
                    Figure("blocked", length, "m", "length", 0),
                    Figure("length", seams[number].length, "m", "length", 0),
                    Figure("start", start, "m", "length", 0),
                ),
                value=length,
                limit=0.0,
                unit="m",
                kind="length",
                how_sure=FROM_SOLIDS,
                do=_cure(inputs, seams[number], remedies),
                source="derived",
                place=place,
            )
        )
    return found


def _cure(inputs: WeldInputs, seam: Seam, remedies: tuple[Remedy, ...]) -> str:
    """The change that was tried and works; else what is left to try."""
    torch = inputs.torch
    works = [remedy for remedy in remedies if seam.where in remedy.reached]
    if works:
        target = works[0].proposal.target
        if target.startswith("weld.plate"):
            return "Take the plate that is proposed: it leaves room for the torch there"
        if target == "patch_plates.+":
            return (
                "Take the patch plate that is proposed: through its opening the torch gets there, and the "
                "plan made with it welds the plate last. Or move what is in the way"
            )
        return "Take the joint that is proposed: its bead lies where the torch gets to it"
    if seam.groove_angle is not None and 0.0 < seam.groove_angle < math.pi:
        least = least_stick_out(torch.cup, seam.groove_angle)
        if least > max(torch.stick_out, torch.stick_out_most or 0.0):
            return (
                "The groove is too narrow for the cup: a smaller cup or a longer stick-out (gas lens), up to "
                "twice as long, gets to its root; else open the groove, or move the joint"
            )
    return (
        "No opening with a patch plate and no other joint was found that brings the torch there. Measure "
        "the torch into the shop file and try a shorter cap or a longer stick-out; else move what is in the "
        "way, or make the space wider"
    )


def _bare(plan: WeldPlan, seams: Mapping[int, Seam]) -> list[Finding]:
    found = []
    for number in plan.bare:
        seam = seams[number]
        by = tuple(
            dict.fromkeys(name for stretch in plan.blocked if stretch.seam == number for name in stretch.by)
        )
        found.append(
            Finding(
                "WELD-02",
                Verdict.CLOSE,
                _plain(seam.where),
                "This side of the inner wall, {length} long, stays unwelded: once both parts stand, the "
                "torch no "
                f"longer gets there ({_list(by)} in the way). The wall's other sides hold it",
                (Figure("length", seam.length, "m", "length", 0),),
                how_sure=FROM_SOLIDS,
                do="Set the wall tight on this side, let a seam of sealer that stands hot oil close it, or "
                "hold "
                "it there from outside: a slot with a tab, welded flush and tight",
                source="common practice, no source",
                place=_middle(seam),
            )
        )
    return found


def _bench(plan: WeldPlan, seams: Mapping[int, Seam]) -> list[Finding]:
    if not plan.bench:
        return []
    names = _list(tuple(_plain(seams[number].where) for number in plan.bench))
    return [
        Finding(
            "WELD-03",
            Verdict.HOLDS,
            "welded before the plate",
            f"These seams are reached only before their parts stand in the pan: {names}. They are welded on "
            f"the "
            "bench and their parts set up as one",
            how_sure=FROM_SOLIDS,
            do="Clamp them square to a bar while they are tacked and until they are cold; check the angle",
            source="derived",
            place=_middle(seams[plan.bench[0]]),
        )
    ]


def _early(plan: WeldPlan, seams: Mapping[int, Seam]) -> list[Finding]:
    early = [step.seam for step in plan.steps if step.before_closing and step.place == "plate"]
    numbers = [number for number in early if number is not None]
    if not numbers:
        return []
    names = _list(tuple(_plain(seams[number].where) for number in numbers))
    return [
        Finding(
            "WELD-04",
            Verdict.HOLDS,
            "before the pan is closed",
            f"These seams come before the last panels: {names}. Afterwards nothing gets there any more",
            how_sure=FROM_SOLIDS,
            do="Follow the order of the weld map; look at each before the next panel hides it",
            source="derived",
            place=_middle(seams[numbers[0]]),
        )
    ]


def _replay(result: WeldResult) -> list[Finding]:
    report = result.replay
    if report is None:
        return []
    if report.holds:
        return [
            Finding(
                "WELD-05",
                Verdict.HOLDS,
                "the plan built up again",
                "Built up again step by step from the parts' solids, with the torch held at {count} places "
                "as "
                "planned, nothing touches",
                (Figure("count", report.stations, "1", "count", 0),),
                how_sure="A second way of computing that knows only the solids.",
                source="derived",
            )
        ]
    where = report.faults[0] if report.faults else ""
    if report.stuck:
        first = report.stuck[0]
        seam = next(seam for seam in result.seams if seam.number == first.seam)
        where = f"the torch meets {_list(first.by)} at {seam.where}"
    return [
        Finding(
            "WELD-05",
            Verdict.FAILS,
            "the plan built up again",
            f"Built up again from the parts' solids the order does not work: {_plain(where)}",
            how_sure="A second way of computing that knows only the solids; the two should agree.",
            do="Do not weld by this order; report the job as a fault of the program",
            source="derived",
            place=report.stuck[0].place if report.stuck else None,
        )
    ]


def _bolts(plan: WeldPlan, seams: Mapping[int, Seam]) -> list[Finding]:
    """Clamp bolts that the torch cannot pass."""
    steps = [step for step in plan.steps if step.bolts_out and step.seam is not None]
    if not steps:
        return []
    bolts = tuple(dict.fromkeys(name.removeprefix("clamp bolt ") for s in steps for name in s.bolts_out))
    first = seams[steps[0].seam]  # type: ignore[index]
    return [
        Finding(
            "WELD-11",
            Verdict.HOLDS,
            "heads of the clamp bolts",
            f"At {{count}} of the plate's bolts the torch does not pass the head ({_list(bolts)})",
            (Figure("count", float(len(bolts)), "1", "count", 0),),
            how_sure="Hexagon heads with a washer, tried with the torch's own measures.",
            do="Take such a bolt out while the bead passes it, one at a time, the tacks beside it set, its "
            "neighbours tight, and put it back before the next; or use low heads",
            source="common practice, no source",
            place=_middle(first),
        )
    ]


def _unseen(plan: WeldPlan, seams: Mapping[int, Seam]) -> list[Finding]:
    found = []
    for number in plan.unseen:
        seam = seams[number]
        says = "A leak in this seam is not seen from outside: other parts hide it"
        do = "Test it before it is hidden, or listen and watch at the gaps of what hides it"
        if seam.kind == "corner inside":
            says = (
                "A leak in this inner bead does not show at the leak test, for the outer bead of the same "
                "corner closes it off; only the outer one is proven"
            )
            do = "Try the inner bead with a penetrant before the outer one is laid, or do not count on it"
        elif seam.side == "inside":
            says = "A leak in this inner bead comes out where other parts hide it"
        found.append(
            Finding(
                "WELD-06",
                Verdict.CLOSE,
                _plain(seam.where),
                says,
                how_sure="Looked at along straight lines from outside, the plate taken off.",
                do=do,
                source="derived",
                place=_middle(seam),
            )
        )
    return found


def _vents(inputs: WeldInputs, kit: SheetKit, result: WeldResult) -> list[Finding]:
    rings = () if kit.internals is None else tuple(boss.ring for boss in kit.internals.bosses if boss.ring)
    holes = sum(len(part.holes) for part in kit.parts if part.face is not None)
    says = (
        "The plate is open, so the pan is never closed round while it is welded"
        if inputs.strongback.is_open
        else "With its last panel the pan closes on the plate; the gas gets out through {vent} in the "
        "plate's middle" + (f" and the holes of its {holes} bosses" if holes else "")
    )
    if rings:
        says += f". {_list(rings)} are stitched, so that gas and a leak get out from under them"
    return [
        Finding(
            "WELD-07",
            Verdict.HOLDS,
            "vents",
            says,
            (Figure("vent", inputs.strongback.vent, "m", "length", 0),),
            how_sure="A rule: nothing that is closed is welded on.",
            do="Drill the plate before it is bolted on and keep the hole clear",
            source="common practice, no source",
            cautions=("closed volumes",),
        )
    ]


def _cold_laps(result: WeldResult) -> list[Finding]:
    worst: dict[str, Seam] = {}
    for seam in result.seams:
        if seam.kind in ("boss", "ring"):
            continue
        ratio = _ratio(seam)
        if ratio >= THICK_TO_THIN and (seam.kind not in worst or ratio > _ratio(worst[seam.kind])):
            worst[seam.kind] = seam
    return [
        Finding(
            "WELD-08",
            Verdict.CLOSE,
            f"thick to thin, {kind}",
            "{thick} meets {thin} along seams of this kind: the thick side stays cold, and the bead can lie "
            "on "
            "it without holding (cold lap)",
            (
                Figure("thick", max(seam.thickness_a, seam.thickness_b), "m", "length", 1),
                Figure("thin", min(seam.thickness_a, seam.thickness_b), "m", "length", 1),
            ),
            value=_ratio(seam),
            limit=THICK_TO_THIN,
            unit="1",
            kind="ratio",
            how_sure="A rule of thumb; only a coupon of the same two thicknesses, cut through, says it.",
            do="Aim two thirds of the arc at the thick side, warm it, and section a coupon first",
            source="common practice, no source",
            place=_middle(seam),
        )
        for kind, seam in worst.items()
    ]


def _ratio(seam: Seam) -> float:
    return max(seam.thickness_a, seam.thickness_b) / min(seam.thickness_a, seam.thickness_b)


def _gaps(result: WeldResult) -> list[Finding]:
    """The tight seam whose gap comes nearest to what thin sheet stands."""
    loose = ("boss", "corner inside")
    tight = [seam for seam in result.seams if seam.is_oil_tight and seam.kind not in loose]
    if not tight:
        return []
    seam = max(tight, key=lambda one: one.fit_up_gap / min(one.thickness_a, one.thickness_b))
    limit = GAP_SHARE * min(seam.thickness_a, seam.thickness_b)
    return [
        Finding(
            "WELD-09",
            judge_at_most(seam.fit_up_gap, limit, None),
            "fit-up of tight seams",
            "Two edges, each off by the cutter's tolerance, leave a gap of {gap}; thin sheet stands {limit}",
            (
                Figure("gap", seam.fit_up_gap, "m", "length", 2),
                Figure("limit", limit, "m", "length", 2),
            ),
            value=seam.fit_up_gap,
            limit=limit,
            unit="m",
            kind="length",
            how_sure="Both edges cut independently; u95 not known, for the tolerance is a limit.",
            do="Dress the edges at the dry fit until no gap is wider",
            source="common practice, no source",
            place=_middle(seam),
        )
    ]


def _pockets(kit: SheetKit) -> list[Finding]:
    return [
        Finding(
            "WELD-10",
            Verdict.CLOSE,
            _plain(pocket),
            "No wash reaches in here: what stays in it after welding comes out with the hot oil",
            how_sure="From the parts as drawn.",
            do="Brush and degrease it before it is covered, and leave its stitches open at the lowest point",
            source="common practice, no source",
        )
        for pocket in pockets_of(kit)
    ]


def _proposals(inputs: WeldInputs, plan: WeldPlan, seams: Mapping[int, Seam]) -> tuple[Proposal, ...]:
    """For sides of inner walls that stay bare: what may make room, not tried yet."""
    if plan.left_over or inputs.strongback.is_open:
        return ()
    in_the_way = [one for one in plan.blocked if one.seam in plan.bare and STRONGBACK in one.by]
    if not in_the_way:
        return ()
    names = _list(tuple(dict.fromkeys(_plain(seams[one.seam].where) for one in in_the_way)))
    return (
        Proposal(
            "WELD-02",
            "weld.plate_open",
            "true",
            f"A plate with its middle cut out may let the torch in from the rail side, at: {names}; this is "
            "not tried yet.",
        ),
    )


def _middle(seam: Seam) -> tuple[float, float, float]:
    centre = 0.5 * (seam.path[0] + seam.path[-1]) if not seam.is_closed else seam.path.mean(axis=0)
    return (float(centre[0]), float(centre[1]), float(centre[2]))


def _list(names: tuple[str, ...]) -> str:
    """Names in words; of many only the first."""
    shown = [_plain(name) for name in names[:MOST_SAID]]
    if len(names) > MOST_SAID:
        return f"{', '.join(shown)} and {len(names) - MOST_SAID} more"
    if len(shown) < 2:
        return shown[0] if shown else "other parts"
    return f"{', '.join(shown[:-1])} and {shown[-1]}"


def _plain(text: str) -> str:
    """Names that stand in a sentence with gaps but are none."""
    return text.replace("{", "(").replace("}", ")")
