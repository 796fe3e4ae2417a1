"""What the rail stage says of scans and pictures: found, how big, how far from the calipers, what is odd."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.findings import Assumption, Figure, Finding, Verdict, judge_at_most
from sumpwright.quantities import COVERAGE_95
from sumpwright.rail.faults import joined
from sumpwright.rail.model import RailInputs, RailResult
from sumpwright.rail.scan_model import SeenHole, SeenRail, SeenTrouble
from sumpwright.rail.seen import is_left_out

SCALE_OFF = 0.01
"""Size against the calipers beyond which something else than the scanner is wrong: common practice."""

_UNIT_WORDS = {"mm": "millimetres", "in": "inches", "m": "metres"}
_SETTLED = ("straightened", "own size", "unit")
"""Troubles that have been dealt with: told, with nothing to be put right."""


def seen_findings(inputs: RailInputs, result: RailResult) -> list[Finding]:
    """Findings of every scan and picture, in the order in which they were looked at."""
    out: list[Finding] = []
    for one in result.seen:
        out += [_trouble(one, trouble) for trouble in one.troubles]
        if one.holes and not any(t.is_fatal for t in one.troubles):
            out += [*_found(inputs, one), *_size(one), *_disagreement(inputs, one), *_flatness(inputs, one)]
    return out


def seen_assumptions(inputs: RailInputs, result: RailResult) -> list[Assumption]:
    """What was taken of scans and pictures that the job does not say."""
    out = []
    for scan in inputs.scans:
        seen = next((one for one in result.seen if one.name == scan.name), None)
        inside = None if seen is None else seen.inside
        if inside is not None and not inside.is_skin_told:
            out.append(
                Assumption(
                    "scan.side",
                    f"Which side of the old pan's sheet {_plain(scan.name)} shows is not given; its inside is"
                    " taken, and what the old pan held is counted from it",
                )
            )
        if inside is not None and inside.metal is not None:
            out.append(
                Assumption(
                    "scan.metal",
                    f"{_plain(scan.name)} shows the old pan's outside; its wall and its flange are taken as"
                    " {metal} thick everywhere",
                    (Figure("metal", inside.metal, "m", "length", 1),),
                )
            )
    for one in result.seen:
        if one.unit is not None and one.unit_is_found and not is_left_out(one):
            out.append(
                Assumption(
                    "scan.units",
                    f"The unit of {_plain(one.name)} is not given; {_UNIT_WORDS[one.unit]} are taken, because"
                    " only these make a rail of it",
                )
            )
        if not is_left_out(one):
            out.append(_true_in_shape(inputs, one))
    for picture in inputs.pictures:
        if sum(mark.at is not None for mark in picture.marks) == 4:
            out.append(
                Assumption(
                    "gasket_picture.marks",
                    "The four marks are taken as picked to one pixel and measured to {u95}",
                    (Figure("u95", COVERAGE_95 * picture.mark_u, "m", "length", 2),),
                )
            )
    return out


LENS_BEND = 0.01
"""By so much a lens may draw the marks of a photograph too far out or in, a usual one: from memory."""
OUT_OF_SQUARE = math.radians(0.1)
_LEFT_OF_BEND = 2.0 / (3.0 * math.sqrt(3.0))
"""Most of r - r**3 for r from 0 to 1: what four marks at r = 1 leave of a bend that grows as r**3."""


def _true_in_shape(inputs: RailInputs, one: SeenRail) -> Assumption:
    """That a scanner or a lens draws true shapes, with what it costs if it does not."""
    if one.kind == "scan":
        told = [hole.off for hole in one.holes if hole.off is not None]
        says = (
            f"{_plain(one.name)} is taken as true in shape, its size alone being put right by the calipers; "
        )
        if told:
            says += "a warp would show in how far its holes miss the calipers, here up to {off}"
        else:
            says += "too few holes were read by hand for a warp of it to show"
        figures = (Figure("off", max(told), "m", "length", 2),) if told else ()
        return Assumption("scan.of", says, figures)
    picture = next(picture for picture in inputs.pictures if picture.name == one.name)
    marks = np.array([mark.at for mark in picture.marks if mark.at is not None])
    if len(marks) == 4:
        reach = float(np.hypot(*(marks - marks.mean(axis=0)).T).max())
        return Assumption(
            "gasket_picture.file",
            f"The lens of {_plain(one.name)} is taken to draw straight lines straight; one that draws its"
            " marks {bend} out of place would put holes between them off by up to {off}. Lay a straight edge"
            " beside the gasket and see whether it looks straight",
            (
                Figure("bend", LENS_BEND, "1", "percent", 0),
                Figure("off", _LEFT_OF_BEND * LENS_BEND * reach, "m", "length", 1),
            ),
        )
    at = np.array([(hole.x, hole.y) for hole in one.holes if hole.name is not None])
    reach = float(np.hypot(*(at - at.mean(axis=0)).T).max())
    return Assumption(
        "gasket_picture.file",
        f"The two directions of {_plain(one.name)} are taken as square to each other, as a flat-bed scanner's"
        " are; {skew} out of square would put its far holes off by {off}",
        (
            Figure("skew", OUT_OF_SQUARE, "rad", "angle", 1),
            Figure("off", 0.5 * OUT_OF_SQUARE * reach, "m", "length", 2),
        ),
    )


def _plain(words: str) -> str:
    return words.replace("{", "(").replace("}", ")")


def _trouble(one: SeenRail, trouble: SeenTrouble) -> Finding:
    kind = "length" if trouble.unit == "m" else "ratio"
    digits = 3 if trouble.unit == "m" else 2
    verdict = Verdict.CLOSE
    if trouble.is_fatal:
        verdict = Verdict.CANNOT_SAY
    elif trouble.kind in _SETTLED:
        verdict = Verdict.HOLDS
    how = "Nothing of it is used." if trouble.is_fatal else "Seen in the file itself."
    if trouble.kind == "straightened":
        how = "From how well marks can be picked and were measured; it is in the holes' figures."
    return Finding(
        code="RAIL-40" if trouble.is_fatal else "RAIL-41",
        verdict=verdict,
        where=_plain(one.name),
        says=f"{trouble.says[:1].upper()}{trouble.says[1:]}",
        figures=(
            Figure("value", trouble.value, trouble.unit, kind, digits),
            Figure("limit", trouble.limit, trouble.unit, kind, digits),
        ),
        how_sure=how,
        do=trouble.do,
        source="derived",
    )


def _found(inputs: RailInputs, one: SeenRail) -> list[Finding]:
    names = {hole.name for hole in one.holes if hole.name is not None}
    missing = tuple(hole.name for hole in inputs.holes if hole.name not in names)
    named = [hole for hole in one.holes if hole.name is not None]
    worst = max(named, key=lambda hole: hole.u)
    figures = (
        Figure("found", len(named), "1", "count"),
        Figure("all", len(inputs.holes), "1", "count"),
        Figure("u95", COVERAGE_95 * worst.u * one.widened, "m", "length", 2),
        Figure("times", one.widened, "1", "ratio", 1),
    )
    how = f"The least sure, {worst.name}, to {{u95}}"
    if one.widened > 1.05:
        how += (
            "; that is {times} times what its edge alone says, because they miss the calipers by so much more"
        )
    return [
        Finding(
            code="RAIL-42",
            verdict=Verdict.HOLDS if not missing else Verdict.CLOSE,
            where=_plain(one.name),
            says=f"{{found}} of the rail's {{all}} holes were found in {_plain(one.name)}"
            + (f"; {_plain(joined(missing))} not" if missing else ""),
            figures=figures,
            how_sure=f"{how}.",
            do=f"Read {_plain(joined(missing))} with the caliper." if missing else "",
            source="gander-1994",
        )
    ]


def _size(one: SeenRail) -> list[Finding]:
    if one.scale is None:
        return [
            Finding(
                code="RAIL-43",
                verdict=Verdict.CANNOT_SAY,
                where=_plain(one.name),
                says=f"How true {_plain(one.name)} is in size is not known: too little was read by hand",
                how_sure="A scanner's size is not trusted by itself; calipers govern.",
                do="Read at least two long distances with the caliper, one along and one across the rail.",
                source="umeyama-1991",
            )
        ]
    off = one.scale - 1.0
    figures = [Figure("off", abs(off), "1", "percent", 2), Figure("limit", SCALE_OFF, "1", "percent", 1)]
    way = "larger" if off >= 0.0 else "smaller"
    says = f"The calipers make the rail {{off}} {way} than {_plain(one.name)} shows it"
    if one.unit is not None:
        says += f", read in {_UNIT_WORDS[one.unit]}"
    if one.stretch is not None:
        figures.append(Figure("stretch", 2.0 * abs(one.stretch), "1", "percent", 2))
        says += (
            f"; its sideways is {{stretch}} {'longer' if one.stretch > 0 else 'shorter'} than its up and down"
        )
    return [
        Finding(
            code="RAIL-43",
            verdict=Verdict.HOLDS if abs(off) <= SCALE_OFF else Verdict.CLOSE,
            where=_plain(one.name),
            says=says,
            figures=tuple(figures),
            value=abs(off),
            limit=SCALE_OFF,
            unit="1",
            kind="percent",
            how_sure="Calipers govern the size; up to {limit} is usual for scanners (common practice).",
            do=""
            if abs(off) <= SCALE_OFF
            else "Check the unit, the resolution and one long distance by hand.",
            source="umeyama-1991",
        )
    ]


def _disagreement(inputs: RailInputs, one: SeenRail) -> list[Finding]:
    """Holes that lie elsewhere than the calipers say, the worst in words."""
    told = [hole for hole in one.holes if hole.off is not None and hole.off_u is not None]
    if not told:
        return []
    limit = inputs.coverage_limit
    # A way made of two normal figures stays below 2.45 standard uncertainties 95 times of 100.
    two = float(np.sqrt(-2.0 * np.log(0.05)))
    verdicts = [judge_at_most(_off(hole), limit, two * (hole.off_u or 0.0)) for hole in told]
    worst = max(told, key=_off)
    bad = tuple(str(h.name) for h, v in zip(told, verdicts, strict=True) if v is Verdict.FAILS)
    near = tuple(str(h.name) for h, v in zip(told, verdicts, strict=True) if v is Verdict.CLOSE)
    verdict = Verdict.CLOSE if bad or near else Verdict.HOLDS
    what = "pan's hole" if one.kind == "scan" else "gasket's hole"
    do = ""
    if bad:
        do = (
            f"Read {_plain(joined(bad))} with the caliper once more: if the reading stands, the {what} was"
            " made or worn off its place, or the wrong edge was scanned, and the calipers are right."
        )
    elif near:
        do = f"Read {_plain(joined(near))} with the caliper if these holes matter to within {{limit}}."
    return [
        Finding(
            code="RAIL-44",
            verdict=verdict,
            where=f"hole {_plain(str(worst.name))}",
            says=f"{_plain(str(worst.name))} in {_plain(one.name)} lies {{off}} from where the calipers put"
            " it, the most of all; {limit} is allowed",
            figures=(
                Figure("off", _off(worst), "m", "length", 2),
                Figure("limit", limit, "m", "length", 2),
                Figure("u95", two * (worst.off_u or 0.0), "m", "length", 2),
            ),
            value=_off(worst),
            limit=limit,
            unit="m",
            kind="length",
            u95=two * (worst.off_u or 0.0),
            how_sure="After it was laid over the calipers as well as it goes; known to {u95}.",
            do=do,
            source="umeyama-1991",
        )
    ]


def _off(hole: SeenHole) -> float:
    return 0.0 if hole.off is None else hole.off


def _flatness(inputs: RailInputs, one: SeenRail) -> list[Finding]:
    if one.flatness is None or one.noise is None:
        return []
    scan = next((scan for scan in inputs.scans if scan.name == one.name), None)
    is_block = scan is not None and scan.of == "block"
    verdict = judge_at_most(one.flatness, inputs.off_plane_limit, None) if is_block else Verdict.HOLDS
    face = "rail's face" if is_block else "old pan's flange"
    return [
        Finding(
            code="RAIL-45",
            verdict=verdict,
            where=_plain(one.name),
            says=f"The {face} is flat to {{flat}} in {_plain(one.name)}",
            figures=(
                Figure("flat", one.flatness, "m", "length", 2),
                Figure("limit", inputs.off_plane_limit, "m", "length", 2),
                Figure("noise", one.noise, "m", "length", 3),
            ),
            value=one.flatness,
            limit=inputs.off_plane_limit,
            unit="m",
            kind="length",
            how_sure="From patches a centimetre wide, leaving out the wildest in twenty; single points"
            " scatter {noise}. Parts far off the plane are not in it."
            + ("" if is_block else " The old flange is no part of the new pan."),
            do="Lay a straight edge along it and look for {limit} of light."
            if is_block and verdict is not Verdict.HOLDS
            else "",
            source="common-practice",
        )
    ]
