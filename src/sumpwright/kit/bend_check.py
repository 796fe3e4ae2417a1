"""What the bends say: what they save, how sure the flat length is, holes too near a fold."""

from __future__ import annotations

import math

from sumpwright.findings import Figure, Finding, Verdict, judge_at_least
from sumpwright.kit import bend_formulas
from sumpwright.kit.bends import bend_setting
from sumpwright.kit.model import FlatPart, Fold, KitInputs, SheetKit
from sumpwright.quantities.units import Metre
from sumpwright.tables.bends import k_factor_elsewhere
from sumpwright.tables.materials import materials


def bend_findings(inputs: KitInputs, kit: SheetKit) -> tuple[Finding, ...]:
    """Everything to say of the bends."""
    if inputs.folder is None:
        return ()
    setting = bend_setting(inputs, kit.body.inputs.sheet)
    if isinstance(setting, str):
        return (_nothing_bent(setting),)
    bent = [part for part in kit.parts if part.folds]
    found = [_saved(kit, bent)]
    if bent:
        found.append(_flat_length(inputs, bent))
        found += [
            _hole(part, fold, *near) for part in bent for fold in part.folds for near in _near(part, fold)
        ]
    return tuple(found)


def _nothing_bent(why: str) -> Finding:
    return Finding(
        "KIT-50",
        Verdict.HOLDS,
        "bends",
        "Nothing is bent, so every corner is welded: " + why + ".",
        how_sure="By the shop file and the table of least radii.",
        do="With another folder, radius or sheet some corners could be bent.",
        source="shop-file",
    )


def _saved(kit: SheetKit, bent: list[FlatPart]) -> Finding:
    saved = math.fsum(joint.length for joint in kit.joints if joint.kind == "bend")
    return Finding(
        "KIT-50",
        Verdict.HOLDS,
        "bends",
        "{bends} bends in {parts} parts save {saved} of weld; {left} are left to weld.",
        (
            Figure("bends", float(sum(len(part.folds) for part in bent)), "1", "count"),
            Figure("parts", float(len(bent)), "1", "count"),
            Figure("saved", saved, "m", "length", 0),
            Figure("left", kit.weld_length, "m", "length", 0),
        ),
        how_sure="The most weld that bends can save within the machine, the sheet and the order of folding.",
        source="shop-file",
    )


def _flat_length(inputs: KitInputs, bent: list[FlatPart]) -> Finding:
    """How far off the flat length of a bend could be, by the spread of the published figures."""
    fold = max((fold for part in bent for fold in part.folds), key=lambda f: f.turn)
    thickness = bent[0].thickness
    if fold.source == "shop-file":
        return Finding(
            "KIT-51",
            Verdict.HOLDS,
            "flat length of bends",
            "Laid out by this shop's own coupon: {allowance} of flat metal in the widest bend.",
            (Figure("allowance", fold.allowance, "m", "length", 2),),
            how_sure="As sure as the coupon was measured.",
            source="shop-file",
        )
    known = next((metal for metal in materials() if metal.id == inputs.material), None)
    other = None if known is None else k_factor_elsewhere(known.family)
    spread = (
        0.0
        if other is None
        else max(abs(other.low - fold.k), abs(other.high - fold.k)) * thickness * fold.turn
    )
    return Finding(
        "KIT-51",
        Verdict.CLOSE,
        "flat length of bends",
        "Laid out by a table: {allowance} of flat metal in the widest bend. Another published table "
        "differs by up to {spread} a bend.",
        (
            Figure("allowance", fold.allowance, "m", "length", 2),
            Figure("spread", spread, "m", "length", 2),
        ),
        spread,
        None,
        "m",
        "length",
        None,
        "Two published tables disagree; neither knows this sheet and this machine.",
        "Bend one strip of this sheet, measure it, and write it into the shop file as a coupon.",
        fold.source,
    )


def _near(part: FlatPart, fold: Fold) -> list[tuple[str, Metre, Metre, tuple[float, float, float]]]:
    """Holes whose edge lies too near a fold: label, distance to the bend's middle, wanted, place."""
    wanted = bend_formulas.hole_to_fold(fold.radius, part.thickness)
    found = []
    for hole in part.holes:
        distance = _to_segment((hole.x, hole.y), fold.start, fold.end) - 0.5 * hole.diameter
        if distance < wanted:
            x, y, z = part.frame.origin + hole.x * part.frame.x_axis + hole.y * part.frame.y_axis
            found.append((hole.label or "a hole", distance, wanted, (float(x), float(y), float(z))))
    return found


def _hole(
    part: FlatPart, fold: Fold, label: str, distance: Metre, wanted: Metre, place: tuple[float, float, float]
) -> Finding:
    return Finding(
        "KIT-52",
        judge_at_least(distance, wanted, 0.0),
        f"{label} in {part.name}".replace("{", "(").replace("}", ")"),
        "The hole's edge is {distance} from the middle of a bend, at least {wanted} is wanted: it would be "
        "drawn oval.",
        (Figure("distance", distance, "m", "length", 1), Figure("wanted", wanted, "m", "length", 1)),
        distance,
        wanted,
        "m",
        "length",
        0.0,
        "From the flat as drawn.",
        "Move the hole, weld this corner instead of bending it, or open the hole after bending.",
        "common practice, no source",
        place,
    )


def _to_segment(point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> Metre:
    along = (end[0] - start[0], end[1] - start[1])
    away = (point[0] - start[0], point[1] - start[1])
    share = (away[0] * along[0] + away[1] * along[1]) / (along[0] ** 2 + along[1] ** 2)
    share = min(1.0, max(0.0, share))
    return math.hypot(away[0] - share * along[0], away[1] - share * along[1])
