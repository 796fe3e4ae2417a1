"""What there is to say of how the welded pan moves, and what is left of its flange."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.findings import (
    SEVERITY,
    Figure,
    Finding,
    Proposal,
    StageReport,
    Verdict,
    judge_at_least,
    judge_at_most,
)
from sumpwright.kit.flange_segments import PILOT_LESS
from sumpwright.kit.model import SheetKit, is_flange
from sumpwright.kit.rule_cases import length_figure
from sumpwright.quantities.units import Metre
from sumpwright.tables.materials import find_material, usual_flange_thickness
from sumpwright.weld.bow_model import BowResult
from sumpwright.weld.plate_on_lands import plate_on_lands
from sumpwright.weld.strongback_model import STIFF_ENOUGH, StrongbackGear

FLAT_FREE: Metre = 0.0001
"""A flange this flat needs no facing with liquid sealant: common practice, 0.10 to 0.15 mm overall."""

SEATS_TILT = math.radians(1.0)
"""A bolt's head sits square enough within this: common practice, no source."""

_HOW_SURE = {
    "order of magnitude": "order of magnitude only: nothing ties the pull of a seam to this shop; weld a "
    "strip "
    "along one edge, measure its bow and list it under weld_strips",
    "by coupon": "the pull is this shop's own, from a welded strip; a fifth is left either way for seams "
    "that "
    "go slower or quicker (common practice)",
    "by record": "drawn to how far an earlier pan of this shop moved; a quarter is left either way for "
    "another "
    "shape (common practice)",
}


def check_bow(kit: SheetKit, bow: BowResult) -> StageReport:
    """Findings on the bow, the facing, the bolt seats, the hole pattern and the panels."""
    plate = _plate(bow.strongback)
    if bow.strongback is not None:
        plate = (*plate, *plate_on_lands(kit.body))
    if bow.trouble:
        return StageReport((_nothing(bow), *plate))
    facing, proposals = _facing(kit, bow)
    found = [_flatness(bow), facing, _seats(bow), *_pattern(kit, bow), *_joints(bow), *_waves(bow), *plate]
    return StageReport(tuple(found), proposals)


def _plate(gear: StrongbackGear | None) -> tuple[Finding, ...]:
    """Whether the plate is stiff enough to hold the flange."""
    if gear is None:
        return ()
    verdict = judge_at_least(gear.stiffness, STIFF_ENOUGH, None)
    return (
        Finding(
            code="WELD-66",
            verdict=Verdict.CLOSE if verdict is Verdict.FAILS else verdict,
            where="strongback",
            says="{thickness} of steel is {value} times as stiff as the flange that is bolted to it, {limit} "
            "times wanted",
            figures=(
                length_figure("thickness", gear.plate.thickness),
                Figure("value", gear.stiffness, "1", "ratio", 0),
                Figure("limit", STIFF_ENOUGH, "1", "ratio", 0),
            ),
            value=gear.stiffness,
            limit=STIFF_ENOUGH,
            unit="1",
            kind="ratio",
            how_sure="stiffness of two plates of the same width, by their thickness and metal",
            do=""
            if verdict is Verdict.HOLDS
            else "take a thicker plate, or bolt the plate itself to a stiff table",
            source="common-practice",
        ),
    )


def _nothing(bow: BowResult) -> Finding:
    why = bow.trouble.replace("{", "(").replace("}", ")")
    return Finding(
        code="WELD-60",
        verdict=Verdict.CANNOT_SAY,
        where="flange",
        says=f"how far the pan moves in welding is not worked out: {why}",
        how_sure="nothing was worked out here, so nothing here holds",
        do="settle that, and bolt the flange to a thick plate whatever the figures say",
        source="derived",
    )


def _flatness(bow: BowResult) -> Finding:
    """Out of flat off the plate, against what seals without facing."""
    least, most = bow.released
    verdict = Verdict.HOLDS if most <= FLAT_FREE else Verdict.CLOSE
    return Finding(
        code="WELD-60",
        verdict=verdict,
        where="flange",
        says="welded on the plate and let go cold it comes off {least} to {most} out of flat (welded "
        "lying free "
        "{free_least} to {free_most}); liquid sealant wants {limit} all over",
        figures=(
            length_figure("least", least, 2),
            length_figure("most", most, 2),
            length_figure("free_least", bow.free[0], 2),
            length_figure("free_most", bow.free[1], 2),
            length_figure("limit", FLAT_FREE, 2),
        ),
        value=most,
        limit=FLAT_FREE,
        unit="m",
        kind="length",
        how_sure=_HOW_SURE[bow.doubt] + "; bolt holes and the openings of inner walls are left out",
        do=""
        if verdict is Verdict.HOLDS
        else "bolt the flange to the strongback before the first tack, leave it there until cold, and "
        "face it "
        "after the last weld",
        source="weld-tendon-force",
    )


def _facing(kit: SheetKit, bow: BowResult) -> tuple[Finding, tuple[Proposal, ...]]:
    """What is left of the flange once it is faced flat, against what such flanges are made of."""
    flange = next(part for part in kit.parts if is_flange(part))
    metal = find_material(flange.material)
    usual = None if metal is None else usual_flange_thickness(metal.family)
    least = None if usual is None else usual.least
    verdict = judge_at_least(bow.left_least, least, None)
    figures = (
        length_figure("least", bow.facing[0], 2),
        length_figure("most", bow.facing[1], 2),
        length_figure("left", bow.left_least, 1),
        length_figure("thickness", flange.thickness, 1),
        *(() if least is None else (length_figure("limit", least, 1),)),
    )
    finding = Finding(
        code="WELD-61",
        verdict=verdict,
        where="flange",
        says="facing it flat takes {least} to {most} off; of {thickness} that leaves {left} in the "
        "thinnest place" + ("" if least is None else ", and {limit} is usual for the metal"),
        figures=figures,
        value=bow.left_least,
        limit=least,
        unit="m",
        kind="length",
        how_sure=_HOW_SURE[bow.doubt],
        do=""
        if verdict is Verdict.HOLDS
        else "take a thicker flange; for milling, shim under the flange where it stands off the table and "
        "clamp "
        "over the shims: a sprung flange that is clamped flat is milled true and springs back when it is "
        "let go",
        source="common-practice",
    )
    if verdict is Verdict.HOLDS or least is None:
        return finding, ()
    needed = math.ceil((least + bow.facing[1]) * 1e3) * 1e-3
    return finding, (
        Proposal(
            code="WELD-61",
            target="pan.flange",
            value=f"{needed * 1e3:g} mm",
            effect="{limit} is left after facing",
            figures=(length_figure("limit", least, 1),),
        ),
    )


def _seats(bow: BowResult) -> Finding:
    """Bolt seats that are no longer square to the faced side."""
    assert bow.holes is not None
    tilt = bow.holes.seat_tilt
    worst = int(np.argmax(tilt))
    thick = float(np.ptp(bow.holes.lift_most))
    verdict = judge_at_most(float(tilt[worst]), SEATS_TILT, None)
    if verdict is Verdict.FAILS:
        verdict = Verdict.CLOSE  # a spot face cures it
    return Finding(
        code="WELD-62",
        verdict=verdict,
        where=f"bolt seat at {bow.holes.names[worst]}",
        says="once the flange is faced its seats lean by up to {value}, {limit} allowed, and are up to "
        "{thick} "
        "thicker at one bolt than at another",
        figures=(
            Figure("value", float(tilt[worst]), "rad", "angle", 1),
            Figure("limit", SEATS_TILT, "rad", "angle", 1),
            length_figure("thick", thick, 2),
        ),
        value=float(tilt[worst]),
        limit=SEATS_TILT,
        unit="rad",
        kind="angle",
        how_sure=_HOW_SURE[bow.doubt] + "; this is the far end of the range",
        do="" if verdict is Verdict.HOLDS else "spot-face the seats from the back, square to the faced side",
        source="common-practice",
    )


def _pattern(kit: SheetKit, bow: BowResult) -> list[Finding]:
    """Whether the bolts still enter once the pan has drawn its holes together."""
    assert bow.holes is not None
    draw = np.hypot(bow.holes.draw_most[:, 0], bow.holes.draw_most[:, 1])
    bolts = {
        name: fastener.diameter
        for name, fastener in zip(kit.body.pattern.names, kit.body.pattern.fasteners, strict=True)
        if fastener.kind != "dowel"  # reamed from the blanking plate once the pan is cold
    }
    worst: tuple[float, str, float, float] | None = None
    for hole in kit.flange_holes:
        if hole.hole not in bow.holes.names or hole.hole not in bolts:
            continue
        moved = float(draw[bow.holes.names.index(hole.hole)])
        room = 0.5 * (hole.diameter - bolts[hole.hole]) - hole.from_measuring - hole.from_cutter
        if worst is None or moved - room > worst[0]:
            worst = (moved - room, hole.hole, moved, room)
    if worst is None:
        return []
    _, name, moved, room = worst
    verdict = judge_at_most(moved, room, None)
    if verdict is Verdict.FAILS:
        verdict = Verdict.CLOSE  # opening the holes after welding cures it
    place = kit.body.pattern.xy[kit.body.pattern.names.index(name)]
    return [
        Finding(
            code="WELD-63",
            verdict=verdict,
            where=f"hole {name}",
            says="the seams draw the hole pattern together by up to {moved} here, and the cold hole "
            "leaves the "
            "bolt {room} beside measuring and cutting",
            figures=(length_figure("moved", moved, 2), length_figure("room", room, 2)),
            value=moved,
            limit=room,
            unit="m",
            kind="length",
            how_sure=_HOW_SURE[bow.doubt]
            + "; along the seams only, what they draw across themselves comes on top",
            do=""
            if verdict is Verdict.HOLDS
            else "cut the holes 1 to 2 mm small and open them from the blanking plate when the pan is cold",
            source="weld-tendon-force",
            place=(float(place[0]), float(place[1]), 0.0),
        )
    ]


def _joints(bow: BowResult) -> list[Finding]:
    """Whether the pilot holes of a flange in segments can still be opened true."""
    if bow.joint_draw is None or bow.joint_shift is None:
        return []
    least, most = bow.joint_shift
    room = 0.5 * PILOT_LESS
    verdict = Verdict.HOLDS if most <= room else Verdict.CLOSE  # setting them apart cures it
    return [
        Finding(
            code="WELD-64",
            verdict=verdict,
            where="flange joints",
            says="each joint of the segmented flange draws it together by {draw_least} to"
            " {draw_most}, and all "
            "of them move a hole by {least} to {most}; the pilots leave {room} to open it true",
            figures=(
                length_figure("draw_least", bow.joint_draw[0], 2),
                length_figure("draw_most", bow.joint_draw[1], 2),
                length_figure("least", least, 2),
                length_figure("most", most, 2),
                length_figure("room", room, 2),
            ),
            value=most,
            limit=room,
            unit="m",
            kind="length",
            how_sure="by two rules for free butt seams that differ by a factor of two, on the ring"
            " lying free; "
            "bolted down it is less",
            do="dowel all segments to the strongback set apart by {draw_least}, weld the joints"
            " first, and open "
            "the pilot holes from the blanking plate when it is cold",
            source="spraragen-ettinger-1950",
        )
    ]


def _waves(bow: BowResult) -> list[Finding]:
    """The panel that is nearest to waving, and how many others may."""
    if not bow.risks:
        return []
    judged = []
    for risk in bow.risks:
        if risk.stress_most < risk.waves_from:
            verdict = Verdict.HOLDS
        elif risk.stress_least > risk.waves_for_sure:
            verdict = Verdict.FAILS
        else:
            verdict = Verdict.CLOSE
        judged.append((SEVERITY[verdict], risk.stress_most / risk.waves_from, verdict, risk))
    _, _, verdict, worst = max(judged, key=lambda one: one[:2])
    others = sum(one[2] is not Verdict.HOLDS for one in judged) - 1
    more = f"; {others} more panels may wave too" if others > 0 else ""
    return [
        Finding(
            code="WELD-65",
            verdict=verdict,
            where=worst.panel,
            says="its seams press it with {least} to {most}, and {width} wide it waves from {limit} "
            "(edges that "
            f"turn) to {{sure}} (edges that do not){more}",
            figures=(
                Figure("least", worst.stress_least, "Pa", "stress", 0),
                Figure("most", worst.stress_most, "Pa", "stress", 0),
                length_figure("width", worst.width, 0),
                Figure("limit", worst.waves_from, "Pa", "stress", 0),
                Figure("sure", worst.waves_for_sure, "Pa", "stress", 0),
            ),
            value=worst.stress_most,
            limit=worst.waves_from,
            unit="Pa",
            kind="stress",
            how_sure=_HOW_SURE[bow.doubt] + "; flat panels, pressed evenly",
            do=""
            if verdict is Verdict.HOLDS
            else "tack twice as dense, weld in back-steps with a chill bar behind, press a bead or a fold "
            "into the "
            "panel, or take thicker sheet",
            source="plate-buckling",
        )
    ]
