"""What the readings of the finished pan say."""

from __future__ import annotations

import math

from sumpwright.findings import Figure, Finding, Verdict, judge_at_most
from sumpwright.proof.flatness import steepest_edge
from sumpwright.proof.model import (
    AsBuilt,
    DecayResult,
    Flatness,
    ProofInputs,
    ProofResult,
    StickCorrection,
)
from sumpwright.quantities.units import CubicMetrePerSecond, Ratio

LEAK_ALLOWED: CubicMetrePerSecond = 0.05e-6
"""Standard air, as a screen only: common practice."""
SEAMS_NAMED = 4
"""So many unwatched seams are named in a sentence."""
MASS_OFF: Ratio = 0.08
"""Weighed against computed: sheet within its tolerance and the weld's filler stay below: common practice."""


def built_findings(inputs: ProofInputs, result: ProofResult) -> list[Finding]:
    """Findings on everything that was read and written down; none where there is no record."""
    record = inputs.record
    if record is None:
        return []
    found = [_trouble(name, what) for name, what in record.trouble]
    if record.bubbles:
        found += _bubbles(record, result.tight_seams)
    if result.decay is not None:
        found.append(_decay(result.decay))
    for flatness in result.flatness:
        found += _flatness(inputs, flatness)
    if record.weighed is not None and result.mass:
        found.append(_mass(record.weighed, result.mass))
    if result.correction is not None:
        found.append(_stick(result.correction))
    elif record.pours:
        found.append(_no_stick())
    return found


def _trouble(name: str, what: str) -> Finding:
    return Finding(
        code="PROOF-17",
        verdict=Verdict.CANNOT_SAY,
        where=name,
        says=f"This entry of the record was left out: {what}",
        how_sure="Its own check sum tells whether it is whole.",
        do="Write those readings down again with 'sumpwright record'; leave the damaged file where it is",
        source="derived",
    )


def _bubbles(record: AsBuilt, seams: tuple[str, ...]) -> list[Finding]:
    leaking = [look for look in record.bubbles if look.growing > 0]
    if leaking:
        return [
            Finding(
                code="PROOF-10",
                verdict=Verdict.FAILS,
                where=look.seam,
                says="{count} growing under soap in a minute; none is allowed",
                figures=(Figure("count", look.growing, "1", "count"),),
                value=float(look.growing),
                limit=0.0,
                unit="1",
                kind="count",
                how_sure="A bubble that grows is air that comes through.",
                do="Let the air out first. Mark the place, dry and clean it, grind out and weld again,"
                " and watch"
                " this seam anew",
                source="astm-e515",
                cautions=("compressed-air", "closed volumes"),
            )
            for look in leaking
        ]
    watched = {look.seam.casefold() for look in record.bubbles}
    open_ones = [name for name in seams if name.casefold() not in watched]
    named = "; ".join(open_ones[:SEAMS_NAMED]) + ("; ..." if len(open_ones) > SEAMS_NAMED else "")
    return [
        Finding(
            code="PROOF-10",
            verdict=Verdict.CANNOT_SAY if open_ones else Verdict.HOLDS,
            where="seams",
            says="No bubble grew on those that were watched, {watched} of the {seams} that have to hold oil",
            figures=(
                Figure("watched", len(seams) - len(open_ones), "1", "count"),
                Figure("seams", len(seams), "1", "count"),
            ),
            value=float(len(seams) - len(open_ones)),
            limit=float(len(seams)),
            unit="1",
            kind="count",
            how_sure="Soap shows leaks far smaller than those that oil finds.",
            do=f"Watch the others for a minute each, named as on the bench sheet: {named}"
            if open_ones
            else "",
            source="astm-e515",
        )
    ]


def _decay(decay: DecayResult) -> Finding:
    if decay.leak is None or decay.leak_u95 is None:
        return Finding(
            code="PROOF-11",
            verdict=Verdict.CANNOT_SAY,
            where="pressure decay",
            says="The gauge fell by {raw}, {drop} of it with the air put back to its first temperature;"
            " without"
            " the barometer that is no amount of air",
            figures=(
                Figure("raw", decay.raw_drop, "Pa", "pressure", 2),
                Figure("drop", decay.corrected_drop, "Pa", "pressure", 2),
            ),
            how_sure="A gauge counts from the air outside, the amount of air from nothing.",
            do="Write down the barometer's reading at the bench",
            source="gas-law",
        )
    return Finding(
        code="PROOF-11",
        verdict=judge_at_most(decay.leak, LEAK_ALLOWED, decay.leak_u95),
        where="pressure decay",
        says="The gauge fell by {raw}, {drop} of it with the air put back to its first temperature: {leak}"
        " against {limit}. A screen only: the pan passes on its bubbles",
        figures=(
            Figure("raw", decay.raw_drop, "Pa", "pressure", 2),
            Figure("drop", decay.corrected_drop, "Pa", "pressure", 2),
            Figure("leak", decay.leak, "m3/s", "air lost", 1),
            Figure("limit", LEAK_ALLOWED, "m3/s", "air lost", 1),
        ),
        value=decay.leak,
        limit=LEAK_ALLOWED,
        unit="m3/s",
        kind="air lost",
        u95=decay.leak_u95,
        how_sure="From how finely gauge and thermometer can be read; how much the pan breathes is not in it.",
        do="Look for the leak with soap, plugs and gasket first" if decay.leak > LEAK_ALLOWED else "",
        source="gas-law",
    )


def _flatness(inputs: ProofInputs, flatness: Flatness) -> list[Finding]:
    where = f"sealing face, {flatness.state}"
    size = flatness.least_gap if flatness.least_gap is not None else flatness.largest_feeler
    if size is None:
        return []
    if flatness.tolerated is None:
        return [
            Finding(
                code="PROOF-16",
                verdict=Verdict.CANNOT_SAY,
                where=where,
                says="The face is uneven by {size}; whether that seals depends on the sealant, which is not"
                " named",
                figures=(Figure("size", size, "m", "length", 2),),
                how_sure="As good as the readings.",
                do="Name install.seal in the job file",
                source="common-practice",
            )
        ]
    found = []
    if flatness.least_gap is not None and flatness.least_squares is not None:
        worst = flatness.take_off[0] if flatness.take_off else None
        do = ""
        if worst is not None:
            do = (
                "Take off up to {off}, most at x {x}, y {y} (the sheet lists every place), or put a shim"
                " of that"
                " height under the low places"
            )
        if flatness.state == "free" and worst is not None:
            do = "Pull it down on the plate and read again first. " + do
        found.append(
            Finding(
                code="PROOF-12",
                verdict=_state_verdict(flatness, flatness.least_gap),
                where=where,
                says="The least gap between two flats that hold all {count} points is {gap} ({squares}"
                " by least"
                " squares); {limit} usually seals with this sealant",
                figures=(
                    Figure("count", flatness.count, "1", "count"),
                    Figure("gap", flatness.least_gap, "m", "length", 2),
                    Figure("squares", flatness.least_squares, "m", "length", 2),
                    Figure("limit", flatness.tolerated, "m", "length", 2),
                    Figure("off", 0.0 if worst is None else worst[2], "m", "length", 2),
                    Figure("x", 0.0 if worst is None else worst[0], "m", "length", 0),
                    Figure("y", 0.0 if worst is None else worst[1], "m", "length", 0),
                ),
                value=flatness.least_gap,
                limit=flatness.tolerated,
                unit="m",
                kind="length",
                how_sure="As good as the dial and the table under it; between the points nothing was read.",
                do=do,
                source="common-practice",
            )
        )
    if flatness.largest_feeler is not None:
        found.append(_feeler(inputs, flatness, flatness.largest_feeler))
    return found


def _state_verdict(flatness: Flatness, size: float) -> Verdict:
    """Pulled down decides; lying free a thin flange may still be pulled flat."""
    verdict = judge_at_most(size, flatness.tolerated, None)
    if flatness.state == "free" and verdict is Verdict.FAILS:
        return Verdict.CLOSE
    return verdict


def _feeler(inputs: ProofInputs, flatness: Flatness, feeler: float) -> Finding:
    assert inputs.record is not None
    steep = steepest_edge(inputs.record.edges, flatness.state)
    limit = flatness.tolerated
    if steep is not None and flatness.tolerated_per_length is not None and limit is not None:
        along = flatness.tolerated_per_length * steep.span
        if steep.feeler > along and along < limit:
            feeler, limit, place = steep.feeler, along, steep.place
        else:
            place = flatness.feeler_place
    else:
        place = flatness.feeler_place
    return Finding(
        code="PROOF-13",
        verdict=_state_verdict_at(flatness, feeler, limit),
        where=place,
        says="A feeler of {feeler} goes under the straight edge here, " + flatness.state + "; {limit} usually"
        " seals with this sealant",
        figures=(
            Figure("feeler", feeler, "m", "length", 2),
            Figure("limit", limit if limit is not None else math.nan, "m", "length", 3),
        ),
        value=feeler,
        limit=limit,
        unit="m",
        kind="length",
        how_sure="A feeler shows the gap to the next leaf: it may be a leaf's step more.",
        do="Face this stretch, or shim it" if limit is not None and feeler > limit else "",
        source="common-practice",
    )


def _state_verdict_at(flatness: Flatness, size: float, limit: float | None) -> Verdict:
    verdict = judge_at_most(size, limit, None)
    if flatness.state == "free" and verdict is Verdict.FAILS:
        return Verdict.CLOSE
    return verdict


def _mass(weighed: float, computed: float) -> Finding:
    off = abs(weighed / computed - 1.0)
    return Finding(
        code="PROOF-14",
        verdict=Verdict.HOLDS if off <= MASS_OFF else Verdict.CLOSE,
        where="pan",
        says="It weighs {weighed}, {computed} was computed without weld metal: {off} apart, {limit} is what"
        " sheet and filler explain",
        figures=(
            Figure("weighed", weighed, "kg", "mass", 2),
            Figure("computed", computed, "kg", "mass", 2),
            Figure("off", off, "1", "percent", 0),
            Figure("limit", MASS_OFF, "1", "percent", 0),
        ),
        value=off,
        limit=MASS_OFF,
        unit="1",
        kind="percent",
        how_sure="As good as the scales; sheet thickness is allowed some per cent.",
        do="Measure the wall of every sheet: another thickness or another metal may have got in"
        if off > MASS_OFF
        else "",
        source="common-practice",
    )


def _stick(correction: StickCorrection) -> Finding:
    first = correction.marks[0] if correction.marks else None
    says = (
        "By what was poured in, the pan holds {scale} of what was drawn and the stick sits {shift} further"
        " down"
    )
    figures = [
        Figure("scale", correction.scale, "1", "percent", 1),
        Figure("shift", correction.shift, "m", "length", 1),
        Figure("scale_u", 2.0 * correction.scale_u, "1", "percent", 1),
        Figure("shift_u", 2.0 * correction.shift_u, "m", "length", 1),
    ]
    do = ""
    if first is not None:
        figures += [
            Figure("before", first[1], "m", "length", 1),
            Figure("after", first[2], "m", "length", 1),
            Figure("mark_u", 2.0 * first[3], "m", "length", 1),
        ]
        do = f"Move the {first[0]} mark from {{before}} to {{after}} below the shoulder (within {{mark_u}})"
    if not correction.fits:
        says += "; but the pours contradict each other by more than readings can"
    return Finding(
        code="PROOF-15",
        verdict=Verdict.HOLDS if correction.fits else Verdict.CANNOT_SAY,
        where="dipstick",
        says=says,
        figures=tuple(figures),
        value=correction.scale,
        unit="1",
        kind="percent",
        u95=2.0 * correction.scale_u,
        how_sure="Within {scale_u} and {shift_u}, from the pours and what was known before them.",
        do=do
        if correction.fits
        else "Pour again into the dry pan, level, and read the stick after five minutes",
        source="derived",
    )


def _no_stick() -> Finding:
    return Finding(
        code="PROOF-18",
        verdict=Verdict.CANNOT_SAY,
        where="dipstick",
        says="What was poured in cannot be held against the stick: no reading lies where the computed stick"
        " meets the oil",
        how_sure="Nothing to compare.",
        do="Enter [dipstick] in the job file, and read the stick from its shoulder",
        source="derived",
    )
