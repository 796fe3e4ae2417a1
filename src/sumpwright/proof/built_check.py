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
from sumpwright.proof.seam_names import key_of
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
    leaked = _leaked_before(inputs, result)
    if record is None:
        return leaked
    found = leaked + [_trouble(name, what) for name, what in record.trouble]
    found += [_unread(name, why) for name, why in record.unread_logs]
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


def _leaked_before(inputs: ProofInputs, result: ProofResult) -> list[Finding]:
    """Seams that leaked on the pan before this one and have not been watched on this one."""
    if inputs.earlier is None:
        return []
    watched = set() if inputs.record is None else {key_of(look.seam) for look in inputs.record.bubbles}
    here = {key_of(seam) for seam in result.tight_seams}
    welded = {key_of(setting.seam): setting.words for setting in inputs.earlier.settings}
    found = []
    for look in inputs.earlier.leaks:
        name = key_of(look.seam)
        if name not in here or name in watched:
            continue
        how = f", welded with {_plain(welded[name])}" if name in welded else ""
        found.append(
            Finding(
                code="PROOF-19",
                verdict=Verdict.CLOSE,
                where=look.seam,
                says="On the pan before this one bubbles grew here under soap ({count})" + how,
                figures=(Figure("count", look.growing, "1", "count"),),
                how_sure="From that pan's record.",
                do="Fit this seam closer and clean it better than last time, weld it where the torch stands"
                " easy, and watch it first under soap",
                source="derived",
            )
        )
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


def _unread(name: str, why: str) -> Finding:
    return Finding(
        code="PROOF-20",
        verdict=Verdict.CANNOT_SAY,
        where=f"pressure log {_plain(name)}",
        says=f"This log could not be held against the moments at which the pickup is told to run bare:"
        f" {_plain(why)}",
        how_sure="Nothing was read from it.",
        do="Name its columns under [[logs]] of the record as the log's first line does, with the unit of the"
        " accelerations and whether one g is in them, and run 'sumpwright record' again",
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
                says="Bubbles that grew under soap in a minute: {count}; none is allowed",
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
    watched = {key_of(look.seam) for look in record.bubbles}
    open_ones = [name for name in seams if key_of(name) not in watched]
    named = "; ".join(open_ones[:SEAMS_NAMED]) + ("; ..." if len(open_ones) > SEAMS_NAMED else "")
    return [
        Finding(
            code="PROOF-10",
            # A pan whose seams are not known has not been watched.
            verdict=Verdict.HOLDS if seams and not open_ones else Verdict.CANNOT_SAY,
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
                verdict=_state_verdict(flatness, flatness.least_gap, flatness.gap_u95),
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
                u95=flatness.gap_u95,
                how_sure="From what one reading of dial and table may be off; between the points nothing was"
                " read.",
                do=do,
                source="common-practice",
            )
        )
    if flatness.largest_feeler is not None:
        found.append(_feeler(inputs, flatness, flatness.largest_feeler))
    return found


def _state_verdict(flatness: Flatness, size: float, u95: float | None) -> Verdict:
    """Pulled down decides; lying free a thin flange may still be pulled flat."""
    verdict = judge_at_most(size, flatness.tolerated, u95)
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
    # The gap lies between this leaf and the next.
    gap = feeler + 0.5 * inputs.feeler_step
    u95 = 2.0 * math.hypot(0.5 * inputs.feeler_step, inputs.straight_edge_off) / math.sqrt(3.0)
    verdict = judge_at_most(gap, limit, u95)
    if flatness.state == "free" and verdict is Verdict.FAILS:
        verdict = Verdict.CLOSE
    return Finding(
        code="PROOF-13",
        verdict=verdict,
        where=place,
        says="A feeler of {feeler} goes under the straight edge here, " + flatness.state + ", and the next"
        " leaf does not; {limit} usually seals with this sealant",
        figures=(
            Figure("feeler", feeler, "m", "length", 2),
            Figure("limit", limit if limit is not None else math.nan, "m", "length", 3),
            Figure("step", inputs.feeler_step, "m", "length", 3),
            Figure("edge", inputs.straight_edge_off, "m", "length", 3),
        ),
        value=gap,
        limit=limit,
        unit="m",
        kind="length",
        u95=u95,
        how_sure="The next leaf is {step} thicker and the straight edge may be off by {edge}: the gap is"
        " taken half way between the leaves.",
        do="" if verdict is Verdict.HOLDS else "Face this stretch, or shim it",
        source="common-practice",
    )


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
    """Volume model and marks, put right by the pours."""
    held = correction.capacity
    sits = "further down" if correction.shift >= 0.0 else "higher up"
    figures = [
        Figure("pours", correction.pours, "1", "count"),
        Figure("held", held.volume, "m3", "volume", 2),
        Figure("drawn", held.drawn, "m3", "volume", 2),
        Figure("held_u", 2.0 * held.volume_u, "m3", "volume", 2),
        Figure("shift", abs(correction.shift), "m", "length", 1),
        Figure("shift_u", 2.0 * correction.shift_u, "m", "length", 1),
    ]
    says = (
        "By {pours} pours read on the stick the pan holds {held} level to the rail (drawn: {drawn}),"
        " and the stick sits {shift} " + sits + " than drawn"
    )
    moves = []
    for k, (name, before, after, u) in enumerate(correction.marks):
        figures += [
            Figure(f"before{k}", before, "m", "length", 1),
            Figure(f"after{k}", after, "m", "length", 1),
            Figure(f"mark{k}", 2.0 * u, "m", "length", 1),
        ]
        moves.append(
            f"the {_plain(name)} mark from {{before{k}}} to {{after{k}}} below the shoulder"
            f" (within {{mark{k}}})"
        )
    do = "Put " + ", and ".join(moves) if moves else ""
    if not correction.fits:
        says += "; but the pours contradict each other by more than readings can"
        do = "Pour again into the dry pan, level, and read the stick after five minutes"
    return Finding(
        code="PROOF-15",
        verdict=Verdict.HOLDS if correction.fits else Verdict.CANNOT_SAY,
        where="dipstick",
        says=says,
        figures=tuple(figures),
        value=held.volume,
        unit="m3",
        kind="volume",
        u95=2.0 * held.volume_u,
        how_sure="Within {held_u} and {shift_u}, from the pours, what jug and stick may be off, and what"
        " drawn volumes usually are; each further pour makes it surer.",
        do=do,
        source="derived",
    )


def _plain(words: str) -> str:
    return words.replace("{", "(").replace("}", ")")


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
