"""The scanned old pan against the new one, level by level."""

from __future__ import annotations

from sumpwright.findings import Assumption, Finding, Verdict, judge_at_least
from sumpwright.oil.figures import length, litres
from sumpwright.oil.model import OilInputs, OilResult, OldPanHeld
from sumpwright.quantities import COVERAGE_95
from sumpwright.quantities.units import CubicMetre
from sumpwright.rail.pan_inside import HIDDEN_SAID

MISSED_SAID = 0.01


def against_old_pan(inputs: OilInputs, result: OilResult) -> list[Finding]:
    """Room up to the rail against what the scan of the old pan gives, and the fill against it."""
    old = result.old_pan
    if old is None:
        return []
    return [_room(inputs, result, old), *_fill(inputs, old)]


def scanned_room_wanted(inputs: OilInputs, result: OilResult) -> list[tuple[str, CubicMetre]]:
    """Code and room to the rail where the scanned old pan is the target and held more."""
    old = result.old_pan
    if old is None or inputs.target_capacity is not None or old.space <= result.capacity_to_rail:
        return []
    return [("OIL-17", old.space)]


def old_pan_assumptions(inputs: OilInputs, result: OilResult) -> list[Assumption]:
    """What was taken of how the old pan stood."""
    if result.old_pan is None or inputs.old_up is not None:
        return []
    return [
        Assumption(
            "old_pan.nose_up",
            "The old pan's rail is taken to have stood level; give nose_up or lean_right in [old_pan] if not",
        )
    ]


def _room(inputs: OilInputs, result: OilResult, old: OldPanHeld) -> Finding:
    gap = result.capacity_to_rail - old.space
    u95 = COVERAGE_95 * old.space_u
    is_target = inputs.target_capacity is None
    verdict = judge_at_least(result.capacity_to_rail, old.space, u95) if is_target else Verdict.HOLDS
    is_hidden = old.inside.hidden > HIDDEN_SAID
    if is_hidden and verdict is Verdict.HOLDS:
        verdict = Verdict.CLOSE
    says = "Up to the rail's lowest place the old pan held {old} as it stood, by its scan; the new one holds"
    says += " {new}, {gap} more" if gap >= 0.0 else " {new}, {short} less"
    do = []
    if is_target and verdict is Verdict.FAILS:
        do.append(
            "Give back {short}: the table level by level shows where it went; if less will do, say what is"
            " needed in oil.old_capacity."
        )
    if is_hidden:
        do.append(
            "If what is not seen from the rail is the bench, cut it away from the scan; if the pan reaches"
            " out under its rail, pour water in, measure it and give oil.old_capacity."
        )
    return Finding(
        code="OIL-17",
        verdict=verdict,
        where="old pan and new",
        says=says,
        figures=(
            litres("old", old.space),
            litres("new", result.capacity_to_rail),
            litres("gap", gap),
            litres("short", -gap),
            litres("u95", u95),
        ),
        value=result.capacity_to_rail,
        limit=old.space,
        unit="m3",
        kind="volume",
        u95=u95,
        how_sure=_how_sure(old),
        do=" ".join(do),
        source="plane-geometry",
    )


def _how_sure(old: OldPanHeld) -> str:
    inside = old.inside
    words = ["The scan tells the old pan's room to {u95}; what stood in it (tray, pickup) counts as metal."]
    if inside.missed > MISSED_SAID:
        words.append(
            f"Under {100.0 * inside.missed:.0f} % of the opening nothing was scanned; that is bridged."
        )
    if inside.hidden > HIDDEN_SAID:
        words.append(
            f"{100.0 * inside.hidden:.0f} % of the scan below the rail is not seen from the rail, and what"
            " oil stood there is not counted: it held at least this."
        )
    if not inside.is_skin_told:
        words.append(
            "Taken as a scan of the inside; of the outside it would hold less (scan.side, scan.metal)."
        )
    return " ".join(words)


def _fill(inputs: OilInputs, old: OldPanHeld) -> list[Finding]:
    """Whether what the job says was poured in went into the old pan that was scanned."""
    fill = inputs.target_capacity
    if fill is None:
        return []
    u95 = COVERAGE_95 * old.space_u
    verdict = judge_at_least(old.space, fill, u95)
    if verdict is Verdict.HOLDS and old.fill_below_rail is not None:
        return [
            Finding(
                code="OIL-18",
                verdict=Verdict.HOLDS,
                where="old pan",
                says="The {fill} that the old pan was filled with stood {below} below its rail, by its scan",
                figures=(
                    litres("fill", fill),
                    length("below", old.fill_below_rail, 0),
                    litres("old", old.space),
                    litres("u95", u95),
                ),
                value=old.space,
                limit=fill,
                unit="m3",
                kind="volume",
                u95=u95,
                how_sure="Its room up to the rail, {old}, is known to {u95}.",
                source="plane-geometry",
            )
        ]
    return [
        Finding(
            code="OIL-18",
            verdict=Verdict.CLOSE,
            where="old pan",
            says="The job says that the old pan was filled with {fill}; by its scan it holds {old} to its"
            " rail",
            figures=(litres("fill", fill), litres("old", old.space), litres("u95", u95)),
            value=old.space,
            limit=fill,
            unit="m3",
            kind="volume",
            u95=u95,
            how_sure="The scan tells it to {u95}; oil in the filter and the engine is part of a fill.",
            do="See which is right: pour water into the old pan and measure it; check scan.side and"
            " scan.metal.",
            source="plane-geometry",
        )
    ]
