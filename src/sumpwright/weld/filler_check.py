"""What there is to say of fillers and of this shop's welder."""

from __future__ import annotations

from sumpwright.findings import (
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.kit.rule_cases import length_figure
from sumpwright.tables.welding import find_filler
from sumpwright.weld.filler_model import FillerInputs, FillerPlan, WeldPair

ARC_ON = 0.3
"""Share of the time that the arc burns in hand work on a pan: common practice, no source."""


def check_fillers(inputs: FillerInputs, plan: FillerPlan) -> StageReport:
    """Findings on every pair: filler, heat of the oil, current, duty, purge, coupon."""
    found: list[Finding] = []
    for pair in plan.pairs:
        found.append(_filler(inputs, pair))
        if pair.choice is None:
            continue
        found += _hot(plan, pair)
        found += _machine(inputs, pair)
        if pair.needs_purge:
            found.append(_purge(inputs, pair))
        found.append(_coupon(pair))
    return StageReport(tuple(found))


def _where(pair: WeldPair) -> str:
    metals = pair.metal_a if pair.metal_a == pair.metal_b else f"{pair.metal_a} to {pair.metal_b}"
    return f"{metals}, {pair.what}"


def _sizes(pair: WeldPair) -> tuple[Figure, ...]:
    return (length_figure("thin", pair.thin), length_figure("thick", pair.thick))


def _filler(inputs: FillerInputs, pair: WeldPair) -> Finding:
    """Whether the pair can be welded, and with what."""
    if pair.choice is None:
        return Finding(
            code="WELD-50",
            verdict=Verdict.FAILS,
            where=f"{_where(pair)}, {pair.first}",
            says="no filler is known that fuses these two metals",
            how_sure="aluminium does not fuse with steel or stainless at all, and grey iron cracks; a "
            "pair that "
            "is merely missing in the table may be weldable, ask the filler's maker",
            do="make both of one metal, or bolt them with a seal between",
            source="steel-filler-practice",
            place=pair.place,
        )
    at_hand = inputs.rods is None or pair.filler in inputs.rods
    fits = pair.filler in (pair.choice.filler, *pair.choice.or_also)
    also = f", or {' or '.join(pair.choice.or_also)}" if pair.choice.or_also else ""
    verdict = Verdict.HOLDS if fits and at_hand else Verdict.CLOSE if fits else Verdict.FAILS
    if fits and at_hand:
        second = (
            "" if pair.filler == pair.choice.filler else f", from the rack; {pair.choice.filler} comes first"
        )
        says = f"{{thin}} to {{thick}} is welded with {pair.filler}{second}: {pair.choice.why}"
    elif fits:
        says = (
            f"{{thin}} to {{thick}} wants {pair.choice.filler}{also}, and none of them is on the shop's rack"
        )
    else:
        says = (
            f"{{thin}} to {{thick}} wants {pair.choice.filler}{also}; of that family the rack has only "
            f"{pair.filler}"
        )
    return Finding(
        code="WELD-50",
        verdict=verdict,
        where=_where(pair),
        says=says,
        figures=_sizes(pair),
        how_sure="by the filler makers' tables"
        if inputs.rods is not None
        else "by the filler makers' tables; what is on the rack is not given, so it is not judged",
        do="" if verdict is Verdict.HOLDS else f"buy {pair.choice.filler}",
        source=pair.choice.source,
        place=pair.place,
    )


def _hot(plan: FillerPlan, pair: WeldPair) -> list[Finding]:
    """Whether hot oil spoils the seam of this filler in time."""
    filler = find_filler(pair.filler)
    if filler is None or filler.hottest is None or pair.choice is None:
        return []
    verdict = judge_at_most(plan.hot_oil, filler.hottest, None)
    return [
        Finding(
            code="WELD-51",
            verdict=verdict,
            where=f"{_where(pair)}, {filler.id}",
            says="the oil gets {value}, and a seam of this filler may be kept at {limit} at most for long: "
            + filler.why,
            figures=(
                Figure("value", plan.hot_oil, "K", "temperature", 0),
                Figure("limit", filler.hottest, "K", "temperature", 0),
            ),
            value=plan.hot_oil,
            limit=filler.hottest,
            unit="K",
            kind="temperature",
            how_sure="by the filler makers' guidance; the oil's temperature is the job's",
            do="" if verdict is Verdict.HOLDS else f"weld with {pair.choice.filler}",
            source=filler.source,
            place=pair.place,
        )
    ]


def _machine(inputs: FillerInputs, pair: WeldPair) -> list[Finding]:
    """Process, kind of current, amps and duty of the shop's welder."""
    card = inputs.welder
    name = "the shop's welder" if inputs.welder_said else "the welder taken for the shop's"
    if pair.amps is None:
        return [
            Finding(
                code="WELD-52",
                verdict=Verdict.CANNOT_SAY,
                where=_where(pair),
                says=f"no settings are known for {{thin}} to {{thick}} with {card.process}",
                figures=_sizes(pair),
                how_sure="the table of settings ends before this sheet",
                do="ask the welder's or the filler's maker, and weld a coupon",
                source="gas-tungsten-settings",
            )
        ]
    source = "gas-tungsten-settings" if card.process == "TIG" else "wire-settings"
    if pair.current not in card.current:
        return [
            Finding(
                code="WELD-53",
                verdict=Verdict.FAILS,
                where=_where(pair),
                says=f"{card.process} on this metal wants {pair.current}, and {name} has {card.current} "
                f"only: "
                "the oxide skin stays and nothing flows",
                how_sure="by how aluminium is welded everywhere",
                do="have it welded on a machine with AC, by wire, or make the pan of steel",
                source="common-practice",
            )
        ]
    low, high = pair.amps
    verdict = judge_at_least(card.most_amps, low, None)
    if verdict is Verdict.HOLDS and card.most_amps < high:
        verdict = Verdict.CLOSE
    if verdict is Verdict.HOLDS and card.least_amps > low:
        verdict = Verdict.CLOSE
    found = [
        Finding(
            code="WELD-54",
            verdict=verdict,
            where=_where(pair),
            says=f"{{thin}} to {{thick}} is welded with {{low}} to {{high}}, and {name} gives {{least}} to "
            "{most}",
            figures=(
                *_sizes(pair),
                Figure("low", low, "A", "current"),
                Figure("high", high, "A", "current"),
                Figure("least", card.least_amps, "A", "current"),
                Figure("most", card.most_amps, "A", "current"),
            ),
            how_sure="starting ranges for hand work, from makers' tables; joint, gap and hand change them "
            "by a "
            "quarter either way",
            do=_amps_cure(verdict, card.most_amps < high),
            source=source,
        )
    ]
    if pair.working_share is not None:
        duty = judge_at_least(pair.working_share, ARC_ON, None)
        found.append(
            Finding(
                code="WELD-55",
                verdict=Verdict.CLOSE if duty is Verdict.FAILS else duty,
                where=_where(pair),
                says=f"in the middle of that range {name} may weld {{value}} of the time, and the arc burns "
                "about {limit} of the time in such work",
                figures=(
                    Figure("value", pair.working_share, "1", "percent", 0),
                    Figure("limit", ARC_ON, "1", "percent", 0),
                ),
                value=pair.working_share,
                limit=ARC_ON,
                unit="1",
                kind="percent",
                how_sure="worked back from one pair of current and duty by equal heat in the windings; "
                "the rating "
                "plate goes first",
                do=""
                if duty is Verdict.HOLDS
                else "weld one seam, let the machine cool, weld the next; the pan "
                "stays straighter for it too",
                source="from-memory",
            )
        )
    return found


def _amps_cure(verdict: Verdict, too_weak: bool) -> str:
    if verdict is Verdict.HOLDS:
        return ""
    if verdict is Verdict.FAILS:
        return (
            "have the pan welded on a stronger machine, take thinner sheet, or another metal; warming the "
            "parts "
            "first does not make up for so much"
        )
    if too_weak:
        return "warm aluminium to a hand's heat first, take the thinner end, and prove it on a coupon"
    return "the machine starts too strong for the thin sheet: put a bar of copper behind it"


def _purge(inputs: FillerInputs, pair: WeldPair) -> Finding:
    """Stainless wants argon on the oil side, or it grows sugar there."""
    return Finding(
        code="WELD-56",
        verdict=Verdict.HOLDS if inputs.welder.has_purge else Verdict.CLOSE,
        where=_where(pair),
        says="stainless is welded with argon on its back"
        + ("" if inputs.welder.has_purge else ", and the shop's card has no purge")
        + ": without it the oil side grows black sugar that comes off into the oil",
        how_sure="a rule; the test is a coupon whose back is bright or straw, not black",
        do="tape the inside off, leave a vent and purge well before the arc, or clamp a copper bar "
        "behind the seam; grind off any sugar you can see",
        source="common-practice",
        cautions=("closed volumes",),
    )


def _coupon(pair: WeldPair) -> Finding:
    """A test piece of the same pair comes before the pan."""
    return Finding(
        code="WELD-57",
        verdict=Verdict.HOLDS if pair.proven else Verdict.CLOSE,
        where=_where(pair),
        says="a coupon of {thin} to {thick} was cut through or bent in this shop, and was sound"
        if pair.proven
        else "no coupon of {thin} to {thick} is listed that was cut through or bent",
        figures=_sizes(pair),
        how_sure="the shop file's list of weld coupons",
        do=""
        if pair.proven
        else "weld one as the pan will be, saw it through and etch it, or bend it root outwards: full "
        "depth, no "
        "crack, no chain of pores; then list it under weld_coupons",
        source="common-practice",
    )
