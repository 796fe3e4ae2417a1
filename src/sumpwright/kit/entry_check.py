"""The chance that every bolt goes into the flange's own holes, cold and hot."""

from __future__ import annotations

import numpy as np

from sumpwright.body import PanBody
from sumpwright.findings import Figure, Finding, Verdict, judge_at_least, worst
from sumpwright.kit.flange_holes import cutter_reach, relative_covariance, slip_anchor
from sumpwright.kit.model import FlangeHole, KitInputs
from sumpwright.quantities import COVERAGE_95
from sumpwright.rail.entry import Cause, EntryChance, EntryQuestion, chance_words, entry_chance

SURE_ENOUGH = 0.95
"""Chance from which all bolts count as entering (the shop's usual 19 of 20)."""

_CAUSE_WORDS: dict[Cause, str] = {
    "measuring": "the readings' uncertainty",
    "cutting": "the cutter's plus and minus",
    "welding": "the weld joints' shrinkage",
    "heat": "the creep when hot",
}


def entry_question(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> EntryQuestion | None:
    """What decides whether bolts and studs go in; None where there are none.

    Dowel holes are opened to suit, so they only say where the flange hangs. Holes of a
    flange in segments are opened after the last weld, so its joints do not count.
    """
    pattern = body.pattern
    rows = [pattern.index(hole.hole) for hole in holes]
    kept = [k for k, row in enumerate(rows) if pattern.fasteners[row].kind != "dowel"]
    if not kept:
        return None
    rows = [rows[k] for k in kept]
    clearance = [
        0.5 * (holes[k].diameter - pattern.fasteners[pattern.index(holes[k].hole)].diameter) for k in kept
    ]
    anchor = slip_anchor(pattern)
    xy = np.asarray(pattern.xy)[rows]
    both = np.array([[2 * row, 2 * row + 1] for row in rows]).ravel()
    limit = [
        cutter_reach(inputs.flange_cutter, body.inputs.flange_thickness, float(np.hypot(*(place - anchor))))
        for place in xy
    ]
    return EntryQuestion(
        xy=xy,
        covariance=np.asarray(relative_covariance(pattern))[np.ix_(both, both)],
        clearance=np.array(clearance),
        # A cutter's reach holds in every direction; the square of this half width fits inside it.
        cutter_limit=np.array(limit) / np.sqrt(2.0),
        expansion_difference=inputs.expansion_pan - inputs.expansion_block,
        temperature_rise=inputs.temperature_rise,
        anchor=np.asarray(anchor),
    )


def entry_findings(inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]) -> list[Finding]:
    """Whether all bolts enter, as a chance, with what takes most of their room."""
    question = entry_question(inputs, body, holes)
    if question is None:
        return []
    hangs = any(fastener.kind == "dowel" for fastener in body.pattern.fasteners)
    chance = entry_chance(question)
    cold, hot = (
        (chance.as_laid_cold, chance.as_laid_hot) if hangs else (chance.fitted_cold, chance.fitted_hot)
    )
    verdict = worst([_judged(cold, chance), _judged(hot, chance)])
    decides = chance.dominant_cold if cold <= hot else chance.dominant_hot
    count = len(question.clearance)
    laid = "hung on its dowels" if hangs else "pushed and turned to fit"
    as_laid = (
        "" if hangs else f" As it is laid, before pushing: {chance_words(chance.as_laid_cold, chance.draws)}."
    )
    tightest = [hole.hole for hole in holes if _is_threaded(body, hole)][chance.tightest_hole]
    return [
        Finding(
            code="KIT-33",
            verdict=verdict,
            where="flange holes",
            says=f"all {{count}} bolts enter cold in {chance_words(cold, chance.draws)} flanges, {laid}; "
            f"hot none is pinched in {chance_words(hot, chance.draws)}",
            figures=(
                Figure("count", count, "1", "count"),
                Figure("draws", chance.draws, "1", "count"),
                Figure("rise", inputs.temperature_rise, "K", "temperature difference"),
            ),
            value=min(cold, hot),
            limit=SURE_ENOUGH,
            unit="1",
            kind="ratio",
            u95=_drawing_u95(min(cold, hot), chance.draws),
            how_sure=f"{{draws}} flanges drawn from what may be off, {{rise}} warmer when hot; "
            f"{_CAUSE_WORDS[decides]} takes most of the room, {tightest} is the tightest.{as_laid}",
            do=""
            if verdict is Verdict.HOLDS
            else f"open the holes near {tightest} to the next size, or sharpen what takes most of the room: "
            f"{_CAUSE_WORDS[decides]}",
            source="derived",
        )
    ]


def _is_threaded(body: PanBody, hole: FlangeHole) -> bool:
    return body.pattern.fasteners[body.pattern.index(hole.hole)].kind != "dowel"


def _drawing_u95(share: float, draws: int) -> float:
    """What drawing a limited number leaves open of a chance."""
    return COVERAGE_95 * float(np.sqrt(max(share * (1.0 - share), 1.0 / draws) / draws))


def _judged(share: float, chance: EntryChance) -> Verdict:
    return judge_at_least(share, SURE_ENOUGH, _drawing_u95(share, chance.draws))
