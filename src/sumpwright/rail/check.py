"""What the rail stage says: do the readings agree, which is bad, how sure are the holes, which bolts."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.findings import (
    Assumption,
    Figure,
    Finding,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.quantities import COVERAGE_95
from sumpwright.quantities.units import Metre
from sumpwright.rail.bolts import LEAST_BOTTOM, engagement_times, length_window
from sumpwright.rail.faults import joined
from sumpwright.rail.lands import shaped_lands
from sumpwright.rail.model import (
    BoltLine,
    HolePattern,
    Land,
    LandShape,
    RailHole,
    RailInputs,
    RailResult,
    Reading,
)
from sumpwright.rail.network import GIVEN_DIAMETER_U, WITH_EDGES
from sumpwright.rail.seen_check import seen_assumptions, seen_findings
from sumpwright.rail.suspects import LEAST_REDUNDANCY
from sumpwright.rail.uncertainty import off_by

_KIND_WORDS = {
    "centre": "centre to centre",
    "inside": "inside",
    "outside": "outside",
    "same_side": "same side",
    "diameter": "diameter",
    "in_line": "in line",
    "offset": "offset",
    "on_one_circle": "on one circle",
    "square": "square",
    "mirrored": "mirrored",
    "readout": "readout",
    "scan": "scan",
    "height": "height",
    "chord": "chord",
    "rise": "rise",
}
_HEIGHT_SLACK = 1e-9


def check(inputs: RailInputs, result: RailResult) -> StageReport:
    """Findings of the rail stage, in the order of the work."""
    findings = [
        *_cannot(result),
        *seen_findings(inputs, result),
        *_agreement(result),
        *_not_told_apart(result),
        *_suspects(result),
        *_could_be_off(inputs, result),
        *_unchecked(result),
        *_repeats(result),
        *_lands(inputs, result),
        *_land_joints(result),
        *_bolts(inputs, result),
    ]
    return StageReport(
        findings=tuple(findings), assumptions=(*_assumptions(inputs), *seen_assumptions(inputs, result))
    )


def plain(words: str) -> str:
    """A name from the job as it may stand in a sentence with gaps."""
    return words.replace("{", "(").replace("}", ")")


def reading_words(reading: Reading) -> str:
    """A reading as one names it at the bench."""
    kind = _KIND_WORDS[reading.kind]
    if reading.kind == "diameter":
        what = f"diameter of {reading.a}"
    elif reading.kind == "in_line":
        what = f"{reading.with_hole} in line with {reading.a} and {reading.b}"
    elif reading.kind == "square":
        what = f"{reading.a} to {reading.with_hole} square to {reading.a} to {reading.b}"
    elif reading.kind == "mirrored":
        what = f"{reading.a} and {reading.b} mirrored ({reading.part})"
    elif reading.kind in ("readout", "scan"):
        what = f"{reading.a}, {kind} {reading.part}"
        if reading.kind == "scan" and reading.line <= 0:
            return plain(f"{reading.group}: {reading.a} {'across' if reading.part == 'y' else 'along'}")
    elif reading.b is None:
        what = f"{reading.a}, {kind} {reading.group}".rstrip()
    else:
        what = f"{reading.a} to {reading.b}, {kind}"
    if reading.line <= 0:
        return plain(f"{what}, as given in the job")
    return plain(f"line {reading.line}: {what}")


def _line_words(reading: Reading) -> str:
    if reading.kind == "scan" and reading.line <= 0:
        return f"{reading.a} in {reading.group}"
    return f"line {reading.line}" if reading.line > 0 else f"the diameter given for {reading.a}"


def length(name: str, value: Metre, digits: int | None = None) -> Figure:
    """A length for a sentence."""
    return Figure(name, value, "m", "length", digits)


def _cannot(result: RailResult) -> list[Finding]:
    return [
        Finding(
            code="RAIL-01",
            verdict=Verdict.CANNOT_SAY,
            where="rail",
            says=f"The hole pattern cannot be laid out: {plain(missing)}",
            how_sure="Nothing is guessed here; without it there is no pattern.",
            do=f"Give {plain(cure)}.",
            source="plane-geometry",
        )
        for missing, cure in result.cannot
    ]


def _agreement(result: RailResult) -> list[Finding]:
    if result.fit is None or result.fit_range is None or result.s0 is None:
        if not result.checks:
            return []
        return [
            Finding(
                code="RAIL-02",
                verdict=Verdict.CANNOT_SAY,
                where="rail",
                says="There are just enough readings for the shape, so none of them checks another",
                how_sure="A slip in any of them would go straight into the holes.",
                do="Read at least three more distances, best across the rail.",
                source="chi-square-tables",
            )
        ]
    verdict = judge_at_most(result.fit, result.fit_range[1], None)
    figures = (
        Figure("s0", result.s0, "1", "ratio", 2),
        Figure("spare", result.redundancy, "1", "count"),
        Figure("fit", result.fit, "1", "ratio", 1),
        Figure("most", result.fit_range[1], "1", "ratio", 1),
        Figure("least", result.fit_range[0], "1", "ratio", 1),
    )
    kept = "The readings that were kept" if any(c.set_aside for c in result.checks) else "The readings"
    if verdict is Verdict.HOLDS:
        says = f"{kept} agree: they scatter {{s0}} times what their tools are said to"
        how = (
            "Sum of squares {fit}, honest readings stay below {most};"
            " {spare} readings more than the shape needs."
        )
        do = ""
        if result.fit < result.fit_range[0]:
            how += (
                " Below {least} they agree better than stated: the uncertainties given may be too large;"
                " they are used as they stand."
            )
    else:
        says = f"{kept} do not agree: they scatter {{s0}} times what their tools are said to"
        how = (
            "Sum of squares {fit}, honest readings stay below {most}; {spare} readings more than the shape"
            " needs. All uncertainties are widened by {s0}."
        )
        do = (
            "Read the suspects again."
            if result.not_told_apart or any(c.set_aside for c in result.checks)
            else "No single reading stands out: the tool or the hole edges are rougher than stated. "
            "Give a larger u, or chamfer-free edges and a second round of readings."
        )
    return [
        Finding(
            code="RAIL-02",
            verdict=verdict,
            where="rail",
            says=says,
            figures=figures,
            value=result.fit,
            limit=result.fit_range[1],
            unit="1",
            kind="ratio",
            u95=None,
            how_sure=how,
            do=do,
            source="chi-square-tables",
        )
    ]


def _not_told_apart(result: RailResult) -> list[Finding]:
    out = []
    for group in result.not_told_apart:
        checks = [result.checks[k] for k in group]
        lines = joined(tuple(reading_words(c.reading) for c in checks))
        out.append(
            Finding(
                code="RAIL-03",
                verdict=Verdict.FAILS,
                where=plain(joined(tuple(_line_words(c.reading) for c in checks))),
                says=f"One of these readings is wrong, and nothing tells which: {lines}",
                figures=(Figure("w", max(c.normalised or 0.0 for c in checks), "1", "ratio", 1),),
                how_sure="Together they miss by {w} times what is usual; any one of them would explain it.",
                do="Read all of them again, or add a reading between other holes of theirs.",
                source="baarda-1968",
            )
        )
    return out


def _reads_same(one: Reading, other: Reading) -> bool:
    """Whether two readings are repeats of one."""
    return (one.kind, {one.a, one.b}, one.part, one.group) == (
        other.kind,
        {other.a, other.b},
        other.part,
        other.group,
    )


def _suspects(result: RailResult) -> list[Finding]:
    out = []
    told: set[tuple[str, frozenset[str | None], str, str]] = set()
    for c in result.checks:
        if not c.set_aside or c.should_have_been is None or c.should_have_been_u is None:
            continue
        same = [other for other in result.checks if other.set_aside and _reads_same(c.reading, other.reading)]
        mark = (c.reading.kind, frozenset((c.reading.a, c.reading.b)), c.reading.part, c.reading.group)
        if mark in told:
            continue  # one finding a pair, however often it was read
        told.add(mark)
        again = "Read it again"
        if len(same) > 1:
            others = (
                "The other reading of it misses" if len(same) == 2 else f"All {len(same)} readings of it miss"
            )
            again = f"{others} alike, so read it another way: between the other edges, or with another tool"
        rivals = tuple(_line_words(result.checks[k].reading) for k in c.rivals)
        looks = f" It looks like {plain(_either(c.looks_like))}." if c.looks_like else ""
        how = (
            "It misses by {w} times what is usual, 3.29 is allowed; left out of the pattern."
            " What it should have been comes from all the others, known to {u95}."
        )
        if rivals:
            how += f" Nearly as likely: {joined(rivals)}."
        out.append(
            Finding(
                code="RAIL-04",
                # With another reading nearly as likely the pattern may stand on the wrong one.
                verdict=Verdict.CANNOT_SAY if rivals else Verdict.CLOSE,
                where=plain(f"{c.reading.a}{' to ' + c.reading.b if c.reading.b else ''}"),
                says=f"{reading_words(c.reading)} reads {{read}}, the others say {{should}}: off by {{off}}",
                figures=(
                    length("read", c.reading.value, 2),
                    length("should", c.should_have_been, 2),
                    length("off", abs(c.reading.value - c.should_have_been), 2),
                    length("u95", COVERAGE_95 * c.should_have_been_u, 2),
                    Figure("w", c.normalised or 0.0, "1", "ratio", 1),
                ),
                value=c.reading.value - c.should_have_been,
                limit=c.least_visible_error,
                unit="m",
                kind="length",
                u95=COVERAGE_95 * math.hypot(c.should_have_been_u, c.reading.u),
                how_sure=how,
                do=f"{looks} {again}".strip()
                + (f". Read {joined(rivals)} again too." if rivals else ".")
                + " Until then the pattern stands on the others.",
                source="baarda-1968",
                place=_between(result.pattern, c.reading.a, c.reading.b),
            )
        )
    return out


def _could_be_off(inputs: RailInputs, result: RailResult) -> list[Finding]:
    pattern = result.pattern
    if pattern is None:
        return []
    off = off_by(pattern)
    fixed = off_by(pattern, floating=False)
    k = int(np.argmax(off))
    name = plain(pattern.names[k])
    verdict = judge_at_most(float(off[k]), inputs.coverage_limit, None)
    how = (
        "From how sure each reading is and how they hang together, with the pattern pushed and turned to fit;"
        " measured from {datum} alone it is up to {fixed}."
    ).replace("{datum}", plain(inputs.datum))
    if result.covariance_factor > 1.0:
        how += " Widened, because the readings do not agree."
    if result.redundancy == 0:
        how += " No reading checks another, so a slip is not in this figure."
        verdict = Verdict.CANNOT_SAY if verdict is Verdict.HOLDS else verdict
    figures, do = _what_next(result)
    if verdict is Verdict.HOLDS:
        do = ""
    return [
        Finding(
            code="RAIL-05",
            verdict=verdict,
            where=f"hole {name}",
            says=f"The least sure hole, {name}, could be off by {{off}}; {{limit}} is allowed",
            figures=(
                length("off", float(off[k]), 2),
                length("limit", inputs.coverage_limit, 2),
                length("fixed", float(fixed.max()), 2),
                *figures,
            ),
            value=float(off[k]),
            limit=inputs.coverage_limit,
            unit="m",
            kind="length",
            u95=None,
            how_sure=how,
            do=do,
            source="adjustment-computations",
            place=_place(pattern, k),
        )
    ]


def _between(pattern: HolePattern | None, *names: str | None) -> tuple[float, float, float] | None:
    """Midway between the holes of a reading; None where it names no hole of the pattern."""
    if pattern is None:
        return None
    places = [_place(pattern, pattern.names.index(name)) for name in names if name in pattern.names]
    if not places:
        return None
    return (sum(x for x, _, _ in places) / len(places), sum(y for _, y, _ in places) / len(places), 0.0)


def _place(pattern: HolePattern, k: int) -> tuple[float, float, float]:
    return (float(pattern.xy[k, 0]), float(pattern.xy[k, 1]), 0.0)


def _unchecked(result: RailResult) -> list[Finding]:
    bad = [c for c in result.checks if c.redundancy < LEAST_REDUNDANCY and not c.set_aside]
    if not result.checks or result.redundancy == 0:
        return []
    if not bad:
        seen = [c.least_visible_error for c in result.checks if c.least_visible_error is not None]
        return [
            Finding(
                code="RAIL-06",
                verdict=Verdict.HOLDS,
                where="rail",
                says="Every reading is checked by others: a slip of {seen} in any of them would show",
                figures=(length("seen", max(seen), 2),),
                how_sure="Four times out of five; larger slips more surely.",
                source="baarda-1968",
            )
        ]
    words = joined(tuple(reading_words(c.reading) for c in bad))
    if all(c.reading.kind == "diameter" for c in bad):
        figures: tuple[Figure, ...] = ()
        do = "Read the diameters twice, or the same pairs once inside and once outside."
    else:
        figures, do = _what_next(result)
    holes = tuple(dict.fromkeys(name for c in bad for name in (c.reading.a, c.reading.b) if name))
    return [
        Finding(
            code="RAIL-06",
            verdict=Verdict.CANNOT_SAY,
            where=plain(joined(holes)),
            says=f"Nothing checks {words}",
            figures=(Figure("count", len(bad), "1", "count"), *figures),
            how_sure="A slip in {count} of the readings would go straight into the holes and not be seen.",
            do=do,
            source="baarda-1968",
        )
    ]


def _what_next(result: RailResult) -> tuple[tuple[Figure, ...], str]:
    """The most useful readings in words: the first by itself, then the others."""
    if not result.next_readings:
        return (), "Read the same distances again with a finer tool; no new pair of holes would help."
    first, *rest = result.next_readings
    does = []
    if first.checks:
        count = len(first.checks)
        does.append(f"checks {count} reading{'s' if count > 1 else ''} that nothing checks now")
    does.append("leaves the least sure hole off by {after} at most")
    words = f"Read {plain(first.a)} to {plain(first.b)} next: it {' and '.join(does)}."
    if rest:
        words += f" After that {plain(_either(tuple(f'{r.a} to {r.b}' for r in rest)))}."
    return (length("after", first.off_by, 2),), words


def _either(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _repeats(result: RailResult) -> list[Finding]:
    return [
        Finding(
            code="RAIL-13",
            verdict=Verdict.CLOSE,
            where=plain(s.tool),
            says=f"Readings taken again with the {plain(s.tool)} scatter {{spread}}, {{stated}} is stated",
            figures=(
                length("spread", s.spread, 3),
                length("stated", s.stated, 3),
                Figure("repeats", s.repeats, "1", "count"),
            ),
            value=s.spread,
            limit=s.stated,
            unit="m",
            kind="length",
            how_sure="From {repeats} repeats; the larger figure is used for every reading with this tool that"
            " has none of its own.",
            do="Clean the hole edges and zero the tool, or state the larger figure in the shop file.",
            source="chi-square-tables",
        )
        for s in result.repeats
        if s.is_wider
    ]


def _lands(inputs: RailInputs, result: RailResult) -> list[Finding]:
    out = []
    read = {shape.land: shape for shape in result.land_shapes}
    for land in shaped_lands(inputs, result.land_shapes):
        shape = read.get(land.name)
        uneven = shape.unevenness if shape is not None else None
        why = _off_plane(inputs, land, uneven)
        if why is None:
            continue
        followed = _can_be_followed(inputs, land, uneven)
        out.append(
            Finding(
                code="RAIL-07",
                verdict=Verdict.HOLDS if followed else Verdict.CANNOT_SAY,
                where=plain(f"land {land.name}"),
                says=f"The land {plain(land.name)} {why}; "
                + ("the flange has to follow it" if followed else "a flat flange would not seal on it"),
                figures=(
                    length("height", abs(land.height), 2),
                    length("limit", inputs.off_plane_limit, 2),
                    length("radius", land.radius or 0.0, 1),
                    length("uneven", uneven or 0.0, 2),
                ),
                value=max(abs(land.height), uneven or 0.0),
                limit=inputs.off_plane_limit,
                unit="m",
                kind="length",
                how_sure=_land_source(shape),
                do="Look at Shape and Parts for the plates that close it."
                if followed
                else "Give the land's holes, height (of an arch, its crown's), radius and width, or give "
                "the land as flat if it is.",
                source="common-practice",
            )
        )
    return out


def _can_be_followed(inputs: RailInputs, land: Land, uneven: Metre | None) -> bool:
    """Whether enough is known of a land for plates of its own."""
    if land.from_hole is None or land.to_hole is None:
        return False
    if not math.isfinite(land.height) or (uneven or 0.0) > inputs.off_plane_limit + _HEIGHT_SLACK:
        return False
    return land.kind != "arch" or (land.height != 0.0 and land.radius is not None and land.width is not None)


def _land_joints(result: RailResult) -> list[Finding]:
    if not result.land_joints:
        return []
    places = plain(joined(tuple(f"{j.hole} ({j.inner} and {j.outer})" for j in result.land_joints)))
    return [
        Finding(
            code="RAIL-14",
            verdict=Verdict.HOLDS,
            where=plain(joined(tuple(j.hole for j in result.land_joints))),
            says=f"Unlike lands and their seals meet at {places}",
            how_sure="From the lands given in the job.",
            do="Lay a dab of liquid sealant into each of these corners just before the pan goes on.",
            source="common-practice",
        )
    ]


def _land_source(shape: LandShape | None) -> str:
    if shape is None:
        return "As given in the job; nothing was read of it."
    told = (("height", shape.height), ("radius", shape.radius))
    what = [words for words, found in told if found is not None]
    return f"Its {' and '.join(what)} as read." if what else "Too little was read of it for a figure."


def _side(land: Land) -> str:
    """Which side of the rail plane, in a word instead of a sign; the pan hangs below."""
    return "below" if land.height < 0.0 else "above"


def _off_plane(inputs: RailInputs, land: Land, uneven: Metre | None) -> str | None:
    if land.kind == "arch":
        return "is an arch of radius {radius}" if land.radius else "is an arch of a radius not given"
    if land.kind == "step":
        return f"is a step, {{height}} {_side(land)} the datum plane"
    if not math.isfinite(land.height):
        return "has no usable height"
    if abs(land.height) > inputs.off_plane_limit + _HEIGHT_SLACK:
        return f"lies {{height}} {_side(land)} the datum plane, {{limit}} is allowed"
    if uneven is not None and uneven > inputs.off_plane_limit + _HEIGHT_SLACK:
        return "is uneven by {uneven}, {limit} is allowed"
    return None


def _bolts(inputs: RailInputs, result: RailResult) -> list[Finding]:
    threaded = [h for h in inputs.holes if h.fastener.kind != "dowel"]
    if not threaded:
        return []
    if inputs.flange_thickness <= 0.0:
        return [_bolts_unknown("the flange's thickness is not given", "pan.flange")]
    if engagement_times(inputs.thread_material) is None:
        metal = plain(inputs.thread_material) or "nothing"
        return [
            _bolts_unknown(
                f"how much thread {metal} needs is not known", "rail.threads: iron, aluminium or steel"
            )
        ]
    holes = {h.name: h for h in inputs.holes}
    out: list[Finding] = []
    # One finding for all holes with the same answer: ten alike bolts are one line to read.
    groups: dict[tuple[object, ...], list[BoltLine]] = {}
    for line in result.bolts:
        fastener = holes[line.hole].fastener
        key = (
            line.is_stud, line.thread, line.clamped, line.old_length, line.new_length,
            line.bottom_clearance, fastener.blind_depth, fastener.is_through,
        )  # fmt: skip
        groups.setdefault(key, []).append(line)
    for lines in groups.values():
        hole = holes[lines[0].hole]
        names = plain(joined(tuple(line.hole for line in lines)))
        if lines[0].is_stud:
            out.append(_stud(lines[0], names))
        else:
            out.extend(_bolt(inputs, hole, lines[0], names))
    return out


def _bolts_unknown(why: str, key: str) -> Finding:
    return Finding(
        code="RAIL-08",
        verdict=Verdict.CANNOT_SAY,
        where="bolts",
        says=f"New bolt lengths cannot be said: {why}",
        how_sure="Too short strips the thread, too long bottoms in the hole.",
        do=f"Give {key}.",
        source="common-practice",
    )


def _bolt(inputs: RailInputs, hole: RailHole, line: BoltLine, names: str) -> list[Finding]:
    window = length_window(inputs, hole)
    if window is None:
        return []
    thread = plain(line.thread)
    figures = [
        length("clamped", line.clamped, 1),
        length("needed", line.needed_engagement, 1),
        length("bottom", LEAST_BOTTOM, 1),
        length("least", window.least, 1),
    ]
    most_words = ""
    if window.most is not None:
        figures.append(length("most", window.most, 1))
        most_words = " and at most {most}"
    if line.new_length is None or line.new_engagement is None:
        nothing_can = window.most is not None and window.most < window.least
        if not inputs.new_bolt_lengths:
            verdict, do = (
                Verdict.CANNOT_SAY,
                "Give the lengths the shop can buy: bolt_lengths in the shop file.",
            )
        elif nothing_can:
            verdict = Verdict.FAILS
            do = "Use a thinner flange or washer, tap the holes deeper, or fit studs."
        else:
            verdict, do = Verdict.FAILS, "Cut a longer bolt to length, or change the washer."
        why = (
            "no length can hold enough thread without bottoming"
            if nothing_can
            else "no length on the shop's list fits"
        )
        return [
            Finding(
                code="RAIL-09",
                verdict=verdict,
                where=f"{thread} at {names}",
                says=f"{_capital(why)}; it takes at least {{least}}{most_words} under the head",
                figures=tuple(figures),
                how_sure="{clamped} is clamped, {needed} of thread must hold, {bottom} stays free below.",
                do=do,
                source="common-practice",
            )
        ]
    figures += [length("new", line.new_length, 1), length("held", line.new_engagement, 1)]
    old = ""
    if line.old_length is not None:
        figures.append(length("old", line.old_length, 1))
        old = " (the old one is {old})"
        if abs(line.old_length - line.new_length) < 1e-6:
            old = " (as the old one)"
    held = ""
    if line.old_engagement is not None:
        figures.append(length("before", line.old_engagement, 1))
        held = " The old pan's bolts held {before}."
    out = [
        Finding(
            code="RAIL-10",
            verdict=judge_at_least(line.new_engagement, line.needed_engagement - 1e-9, None),
            where=f"{thread} at {names}",
            says=f"Buy {{new}}{old}; {{held}} of thread holds, {{needed}} is needed",
            figures=tuple(figures),
            value=line.new_engagement,
            limit=line.needed_engagement,
            unit="m",
            kind="length",
            how_sure=f"{{clamped}} is clamped: flange, washer and seal.{held} Full thread to the rail face is"
            " taken; a counterbore takes from it.",
            do="Try one bolt by hand in each hole before the pan goes on.",
            source="common-practice",
        )
    ]
    if hole.fastener.is_through:
        return out
    if line.bottom_clearance is None:
        out.append(
            Finding(
                code="RAIL-11",
                verdict=Verdict.CANNOT_SAY,
                where=names,
                says="Whether the {new} bolts bottom here is not known: no depth of hole is given",
                figures=tuple(figures),
                how_sure="A bolt that bottoms feels tight and clamps nothing.",
                do="Measure the thread depth with a wire and give blind_depth, or say that it goes through.",
                source="common-practice",
            )
        )
    else:
        out.append(
            Finding(
                code="RAIL-11",
                verdict=judge_at_least(line.bottom_clearance, LEAST_BOTTOM - 1e-9, None),
                where=names,
                says="Under the {new} bolts {room} stays free at the bottom of each hole, {bottom} is needed",
                figures=(*figures, length("room", line.bottom_clearance, 1)),
                value=line.bottom_clearance,
                limit=LEAST_BOTTOM,
                unit="m",
                kind="length",
                how_sure="From the thread depth given; sealant or oil in the hole takes room.",
                do="Blow the holes out and run a tap through them.",
                source="common-practice",
            )
        )
    return out


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _stud(line: BoltLine, names: str) -> Finding:
    needed = line.clamped + line.needed_engagement
    old = line.old_length
    verdict = judge_at_least(old, needed - 1e-9, None)
    figures = [length("needed", needed, 1), length("clamped", line.clamped, 1)]
    if old is None:
        says = "The studs must stand {needed} out of the rail face; how far they do is not given"
        do = "Measure them and give old_bolt_length (what stands out), or buy longer studs."
    else:
        figures.append(length("old", old, 1))
        says = "The studs stand {old} out of the rail face, {needed} is needed"
        do = "" if verdict is Verdict.HOLDS else "Buy longer studs."
    return Finding(
        code="RAIL-12",
        verdict=verdict,
        where=names,
        says=says,
        figures=tuple(figures),
        value=old,
        limit=needed,
        unit="m",
        kind="length",
        how_sure="{clamped} is clamped, then a full-height nut and two threads beyond it.",
        do=do,
        source="common-practice",
    )


def _assumptions(inputs: RailInputs) -> list[Assumption]:
    out = []
    edge_holes = {
        name
        for r in inputs.readings
        if r.kind in WITH_EDGES or r.kind == "diameter" or (r.kind == "offset" and r.part)
        for name in (r.a, r.b)
    }
    loose = [h for h in inputs.holes if h.name in edge_holes and h.edge_diameter is not None]
    if any(h.edge_diameter_u is None for h in loose):
        out.append(
            Assumption(
                key="rail.fasteners.edge_diameter",
                says="Hole diameters given in the job are taken as sure as one caliper reading, {u95}",
                figures=(length("u95", COVERAGE_95 * GIVEN_DIAMETER_U, 2),),
            )
        )
    if any(h.fastener.kind == "stud" and h.fastener.pitch is None for h in inputs.holes):
        out.append(
            Assumption(
                key="rail.fasteners.thread",
                says="A stud without a pitch is taken to have one of 0.15 times its diameter",
            )
        )
    return out
