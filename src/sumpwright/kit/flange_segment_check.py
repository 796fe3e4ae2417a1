"""What there is to say of a flange in segments, and of one that cannot be had whole."""

from __future__ import annotations

from sumpwright.body import PanBody
from sumpwright.findings import Figure, Finding, Proposal, Verdict, judge_at_least, judge_at_most
from sumpwright.kit.cutting_rules import SHEET_MARGIN, fits_on
from sumpwright.kit.flange import flange_part
from sumpwright.kit.flange_formulas import butt_shrinkage, full_groove_area
from sumpwright.kit.flange_segments import GROOVE, PILOT_LESS, FlangeSplit, SegmentRules, split_flange
from sumpwright.kit.metal import chords
from sumpwright.kit.model import FlangeHole, FlatPart, KitInputs, StockSheet
from sumpwright.kit.rule_cases import length_figure


def flange_in_segments(
    inputs: KitInputs, body: PanBody, holes: tuple[FlangeHole, ...]
) -> tuple[tuple[Finding, ...], tuple[Proposal, ...]]:
    """What to say of segments where they are asked for, or where the whole flange fits no sheet."""
    flange = flange_part(inputs, body, holes) if holes else None
    if flange is None or not (inputs.flange_in_segments or _fits_no_sheet(flange, inputs.stock)):
        return (), ()
    split = split_flange(flange, body.pattern, inputs.flange_cutter, inputs.stock)
    findings = segment_findings(flange, split, inputs.stock)
    if inputs.flange_in_segments:
        if split is None:
            findings = (*findings, _no_split())
        return findings, ()
    if split is None:
        return findings, ()
    return tuple(f for f in findings if f.code == "KIT-60"), (
        Proposal(
            code="KIT-60",
            target="cutting.flange_in_segments",
            value="true",
            effect="the flange is cut in {count} segments that fit the sheet at hand",
            figures=(Figure("count", len(split.parts), "1", "count"),),
        ),
    )


def _no_split() -> Finding:
    return Finding(
        code="KIT-61",
        verdict=Verdict.FAILS,
        where="flange",
        says="the flange was asked for in segments, but no joints are allowed that make it: it is left whole",
        how_sure="by geometry: joints lie on straight stretches, clear of holes, corners and end seals",
        do="give the flange more metal between its bolts, or take it whole",
        source="common-practice",
    )


def segment_findings(
    flange: FlatPart,
    split: FlangeSplit | None,
    stock: tuple[StockSheet, ...] = (),
    rules: SegmentRules | None = None,
) -> tuple[Finding, ...]:
    """Whether the flange needs segments, what they save, and whether their joints are sound."""
    rules = rules or SegmentRules()
    found = list(_whole(flange, split, stock))
    if split is None:
        return tuple(found)
    found.append(_price(split))
    nearest = min(split.cuts, key=lambda cut: cut.hole_distance)
    verdict = judge_at_least(nearest.hole_distance, rules.hole_clear - 1e-9, None)
    place = flange.frame.to_space(nearest.inner[None, :])[0]
    found.append(
        Finding(
            code="KIT-62",
            verdict=verdict,
            where=f"flange joint by {nearest.nearest_hole}",
            says=f"the joint nearest a hole is {{value}} from the edge of {nearest.nearest_hole}, "
            "at least {limit} wanted",
            figures=(
                length_figure("value", nearest.hole_distance),
                length_figure("limit", rules.hole_clear),
            ),
            value=nearest.hole_distance,
            limit=rules.hole_clear,
            unit="m",
            kind="length",
            how_sure="by geometry",
            do="" if verdict is Verdict.HOLDS else "choose another place for this joint",
            source="common-practice",
            place=(float(place[0]), float(place[1]), float(place[2])),
        )
    )
    found.append(_shrinkage(flange, split))
    return tuple(found)


def _whole(flange: FlatPart, split: FlangeSplit | None, stock: tuple[StockSheet, ...]) -> tuple[Finding, ...]:
    """Whether the whole flange fits a sheet, where sheets are named."""
    if not _fits_no_sheet(flange, stock):
        return ()
    return (
        Finding(
            code="KIT-60",
            verdict=Verdict.FAILS if split is None else Verdict.CLOSE,
            where="flange",
            says="the whole flange fits no sheet at hand, and no joints are allowed that would make it fit"
            if split is None
            else "the whole flange fits no sheet at hand; in {count} segments it does",
            figures=() if split is None else (Figure("count", len(split.parts), "1", "count"),),
            how_sure="the sheets' nominal sizes less a margin all round",
            do="order a larger sheet" if split is None else "take the segments, or order a larger sheet",
            source="shop-file",
        ),
    )


def _fits_no_sheet(flange: FlatPart, stock: tuple[StockSheet, ...]) -> bool:
    sizes = [
        (sheet.length - 2 * SHEET_MARGIN, sheet.width - 2 * SHEET_MARGIN)
        for sheet in stock
        if sheet.material == flange.material and abs(sheet.thickness - flange.thickness) < 1e-5
    ]
    return bool(sizes) and not any(fits_on(chords(flange.outline), *size) for size in sizes)


def _price(split: FlangeSplit) -> Finding:
    """The least rectangles against the whole, and which is cheaper."""
    segments_win = split.price < split.whole_price or not split.whole_fits
    return Finding(
        code="KIT-61",
        verdict=Verdict.HOLDS,
        where="flange",
        says="in {count} segments the flange takes {area} of plate and {weld} of joint to weld and grind, "
        "whole it takes {whole}: "
        + ("the segments are cheaper" if segments_win else "whole is cheaper, and stays flatter"),
        figures=(
            Figure("count", len(split.parts), "1", "count"),
            Figure("area", split.sheet_area, "m2", "sheet area"),
            Figure("whole", split.whole_area, "m2", "sheet area"),
            length_figure("weld", sum(cut.length for cut in split.cuts)),
        ),
        how_sure="least rectangles round each piece; what is cut from the middle of a whole flange is not "
        "counted back; joint and plate prices are placeholders until the shop gives its own",
        source="shop-file",
    )


def _shrinkage(flange: FlatPart, split: FlangeSplit) -> Finding:
    """Whether the opened holes swallow their pilots after the welds have drawn the ring together."""
    each = butt_shrinkage(full_groove_area(flange.thickness, GROOVE), flange.thickness)
    # Joints on opposite sides shrink together: each end of the ring moves by half of one side's.
    moved = 0.25 * len(split.cuts) * each
    room = 0.5 * PILOT_LESS
    verdict = judge_at_most(moved, room, None)
    if verdict is Verdict.FAILS:
        verdict = Verdict.CLOSE  # setting the segments apart by the shrinkage cures it
    return Finding(
        code="KIT-63",
        verdict=verdict,
        where="flange joints",
        says="free joints draw together by {each} each, so that holes at the ends may move {moved}; "
        "the pilots leave {room} to open them true",
        figures=(
            length_figure("each", each, 1),
            length_figure("moved", moved, 1),
            length_figure("room", room, 2),
        ),
        value=moved,
        limit=room,
        unit="m",
        kind="length",
        how_sure="an estimate for free plates; bolted to the blanking plate they move less",
        do="bolt all segments to the blanking plate and set them apart by {each} at every joint before the "
        "first tack; open the holes after the last weld is cold",
        source="blodgett-1966",
    )
