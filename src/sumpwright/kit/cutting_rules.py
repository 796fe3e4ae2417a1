"""What the cutter can and cannot do with each part: every breach a finding with its place."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sumpwright.findings import Figure, Finding, Verdict, judge_at_least, judge_at_most
from sumpwright.geometry import Outline
from sumpwright.kit.metal import chords, circle_chords
from sumpwright.kit.model import CutterRules, FlatPart, KitInputs, is_flange
from sumpwright.kit.rule_cases import length_figure
from sumpwright.quantities.units import FloatArray, Metre
from sumpwright.tables.cutting import cutting_practice

if TYPE_CHECKING:
    from shapely import LinearRing

SHEET_MARGIN: Metre = 0.010
"""Kept free along the sheet's edge."""

CORNER_LEFT: Metre = 0.00025
"""Most metal that may stay in an inside corner where another part has to fit."""

_SLIVER = 0.3
"""A remnant thinner than this share of the least web is the rounding of a corner, no neck."""


@dataclass(frozen=True, slots=True, eq=False)
class _Breach:
    """One place of one part that a rule refuses, or the closest that it lets pass."""

    rule: str
    part: FlatPart
    what: str  # "hole h7", "cut-out"
    value: float
    limit: float
    u95: float | None
    verdict: Verdict
    flat: FloatArray  # (2,) m on the part


def cutter_of(inputs: KitInputs, part: FlatPart) -> CutterRules:
    """The rules that hold for a part: the flange's for what is as thick as the flange."""
    return inputs.flange_cutter if is_flange(part) else inputs.cutter


def cutting_findings(inputs: KitInputs, parts: tuple[FlatPart, ...]) -> tuple[Finding, ...]:
    """Every breach of the cutter's rules, and for each rule without a breach one finding that it holds.

    Breaches of one rule in one part are said together: all places by name, the worst by number.
    """
    found: list[Finding] = []
    for rule, judge in (
        ("hole", _holes),
        ("edge", _hole_edges),
        ("web", _webs),
        ("corner", _inside_corners),
        ("size", _sizes),
    ):
        cases = [case for part in parts for case in judge(inputs, part)]
        bad = [case for case in cases if case.verdict is not Verdict.HOLDS]
        for part in parts:
            for verdict in (Verdict.FAILS, Verdict.CLOSE):
                alike = [case for case in bad if case.part is part and case.verdict is verdict]
                if alike:
                    found.append(_finding(alike))
        if cases and not bad:
            found.append(_holds(rule, cases))
    return tuple(found)


def _holes(inputs: KitInputs, part: FlatPart) -> list[_Breach]:
    """Holes against the smallest that the process cuts; a little smaller is a question to the cutter."""
    rules = cutter_of(inputs, part)
    practice = cutting_practice(rules.process, part.thickness)
    is_usual = practice is not None and abs(practice.least_hole - rules.least_hole) < 1e-9
    possible = practice.possible_hole if practice is not None and is_usual else rules.least_hole
    found = []
    for hole in part.holes:
        verdict = judge_at_least(hole.diameter, rules.least_hole - 1e-9, None)
        if verdict is Verdict.FAILS and hole.diameter >= possible - 1e-9:
            verdict = Verdict.CLOSE
        found.append(
            _Breach(
                "hole",
                part,
                f"hole {hole.label}".strip(),
                hole.diameter,
                rules.least_hole,
                None,
                verdict,
                np.array([hole.x, hole.y]),
            )
        )
    return found


def _hole_edges(inputs: KitInputs, part: FlatPart) -> list[_Breach]:
    """Metal between each hole and the part's outer edge or a cut-out."""
    import shapely

    rules = cutter_of(inputs, part)
    lines = [_line(part.outline), *(_line(cut) for cut in part.cut_outs)]
    found = []
    for hole in part.holes:
        centre = shapely.Point(hole.x, hole.y)
        web = min(float(line.distance(centre)) for line in lines) - 0.5 * hole.diameter
        found.append(
            _Breach(
                "edge",
                part,
                f"hole {hole.label}".strip(),
                web,
                rules.least_edge,
                None,
                judge_at_least(web, rules.least_edge - 1e-6, None),
                np.array([hole.x, hole.y]),
            )
        )
    return found


def _webs(inputs: KitInputs, part: FlatPart) -> list[_Breach]:
    """Metal between two cuts: hole to hole, cut-out to cut-out or edge, and necks of the outline."""
    import shapely

    rules = cutter_of(inputs, part)
    least = rules.least_web
    found = []
    cuts = [(f"cut-out {k}", _line(cut)) for k, cut in enumerate(part.cut_outs, start=1)]
    circles: list[tuple[str, LinearRing]] = [
        (f"hole {hole.label}".strip(), shapely.LinearRing(circle_chords(hole, 1e-6))) for hole in part.holes
    ]
    pairs = [(a, b) for k, a in enumerate(circles) for b in circles[k + 1 :]]
    pairs += [(a, b) for k, a in enumerate(cuts) for b in cuts[k + 1 :]]
    pairs += [(cut, ("the outer edge", _line(part.outline))) for cut in cuts]
    for (name, one), (other_name, other) in pairs:
        web = float(one.distance(other))
        near = shapely.get_coordinates(shapely.shortest_line(one, other)).mean(axis=0)
        found.append(
            _Breach(
                "web",
                part,
                f"{name} to {other_name}",
                web,
                least,
                None,
                judge_at_least(web, least - 1e-6, None),
                near,
            )
        )
    for neck in _necks(part, least):
        found.append(_Breach("web", part, "a neck of metal", neck[0], least, None, Verdict.FAILS, neck[1]))
    return found


def _necks(part: FlatPart, least: Metre) -> list[tuple[Metre, FloatArray]]:
    """Places where the bare outline is narrower than ``least``: width and where.

    What is lost when a disk of that width is rolled about inside, less the mere rounding
    of corners.
    """
    import shapely

    shape = shapely.Polygon(chords(part.outline))
    rolled = shape.buffer(-0.499 * least, join_style="mitre").buffer(0.499 * least, join_style="mitre")
    found = []
    for piece in shapely.get_parts(shape.difference(rolled)):
        if not isinstance(piece, shapely.Polygon) or piece.area < (_SLIVER * least) ** 2:
            continue
        widest = shapely.maximum_inscribed_circle(piece, tolerance=0.02 * least)
        width = 2.0 * float(widest.length)
        if width > _SLIVER * least:
            found.append((width, shapely.get_coordinates(widest)[0]))
    return found


def _inside_corners(inputs: KitInputs, part: FlatPart) -> list[_Breach]:
    """Metal that the cut's own radius leaves in sharp inside corners, worst corner of each part.

    r (1 / sin(angle / 2) - 1) is left in a corner of that angle.
    """
    rules = cutter_of(inputs, part)
    practice = cutting_practice(rules.process, part.thickness)
    if practice is None:
        return []
    worst: tuple[Metre, FloatArray] | None = None
    for outline in (part.outline, *part.cut_outs):
        points = np.asarray(outline.points)
        count = len(points)
        for k in range(count):
            if outline.bulges[k - 1] != 0.0 or outline.bulges[k] != 0.0:
                continue
            before, after = points[k] - points[k - 1], points[(k + 1) % count] - points[k]
            turn = math.atan2(
                before[0] * after[1] - before[1] * after[0],
                float(before[0] * after[0] + before[1] * after[1]),
            )
            if turn >= -math.radians(5.0):
                continue  # metal is left of the line: only a turn to the right is an inside corner
            left = practice.inside_radius * (1.0 / math.sin(0.5 * (math.pi + turn)) - 1.0)
            if worst is None or left > worst[0]:
                worst = (left, points[k])
    if worst is None:
        return []
    verdict = judge_at_most(worst[0], CORNER_LEFT, None)
    if verdict is Verdict.FAILS:
        verdict = Verdict.CLOSE  # a file cures it
    return [_Breach("corner", part, "inside corner", worst[0], CORNER_LEFT, None, verdict, worst[1])]


def fits_on(shape: FloatArray, length: Metre, width: Metre) -> bool:
    """Whether a part with these corners (n, 2) can be turned to lie within length x width."""
    import shapely

    hull = np.asarray(
        shapely.get_coordinates(shapely.get_exterior_ring(shapely.convex_hull(shapely.multipoints(shape))))
    )
    sides = np.diff(hull, axis=0)
    along_sides = np.arctan2(sides[:, 1], sides[:, 0])
    angles = np.concatenate([along_sides, along_sides + math.pi / 2, np.linspace(0.0, math.pi, 181)])
    across = np.stack([np.cos(angles), np.sin(angles)])
    up = np.stack([-np.sin(angles), np.cos(angles)])
    wide, high = np.ptp(hull @ across, axis=0), np.ptp(hull @ up, axis=0)
    return bool(np.any((wide <= length + 1e-9) & (high <= width + 1e-9)))


def _sizes(inputs: KitInputs, part: FlatPart) -> list[_Breach]:
    """Whether the part lies within a sheet of its metal and thickness, margins kept."""
    sheets = [
        sheet
        for sheet in inputs.stock
        if sheet.material == part.material and abs(sheet.thickness - part.thickness) < 1e-5
    ]
    if not sheets:
        return []
    corners = chords(part.outline)
    free = [(s.length - 2 * SHEET_MARGIN, s.width - 2 * SHEET_MARGIN) for s in sheets]
    longest = float(max(np.hypot(*(corners - c).T).max() for c in corners))
    room = max(max(length, width) for length, width in free)
    verdict = Verdict.HOLDS if any(fits_on(corners, *size) for size in free) else Verdict.FAILS
    return [_Breach("size", part, "whole part", longest, room, None, verdict, corners.mean(axis=0))]


@dataclass(frozen=True, slots=True)
class _Wording:
    """How a rule speaks: of a breach, or of the tightest place where all hold."""

    code: str
    says: str
    how_sure: str
    source: str
    where: str = ""  # of a rule that holds throughout
    do: str = ""


_OWN_FIGURE = "the shop's own figure for this process, or the usual one"


def _breach_wording() -> dict[str, _Wording]:
    return {
        "hole": _Wording(
            code="KIT-40",
            says="{what} of {part} is {value}; in this thickness the cutter makes {limit} and larger",
            how_sure=_OWN_FIGURE,
            source="shop-file",
            do="ask the cutter; else have them marked only and drill them, or cut by another process",
        ),
        "edge": _Wording(
            code="KIT-41",
            says="{what} of {part} leaves {value} to the edge, {limit} wanted",
            how_sure=_OWN_FIGURE,
            source="shop-file",
            do="move the hole or give the part more metal there",
        ),
        "web": _Wording(
            code="KIT-42",
            says="{what} of {part} leaves {value} of metal, {limit} wanted",
            how_sure=_OWN_FIGURE,
            source="shop-file",
            do="move the two cuts apart, or leave one for the drill",
        ),
        "corner": _Wording(
            code="KIT-43",
            says="an inside corner of {part} keeps {value} of metal from the cut's own radius, "
            "{limit} may stay",
            how_sure="the usual radius of this process; look at a sample cut",
            source="common-practice",
            do="file these inside corners out before fitting",
        ),
        "size": _Wording(
            code="KIT-44",
            says="{part} is {value} long and fits no sheet at hand, of which the longest has {limit} free",
            how_sure="the sheet's nominal size less a margin all round",
            source="shop-file",
            do="order a larger sheet, or have the part made in two with a seam",
        ),
    }


def _holding_wording() -> dict[str, _Wording]:
    return {
        "hole": _Wording(
            code="KIT-40",
            where="holes",
            says="every hole can be cut; the smallest is {value} where {limit} can be made",
            how_sure=_OWN_FIGURE,
            source="shop-file",
        ),
        "edge": _Wording(
            code="KIT-41",
            where="hole edges",
            says="every hole keeps enough metal to the edge; the least is {value}, {limit} wanted",
            how_sure=_OWN_FIGURE,
            source="shop-file",
        ),
        "web": _Wording(
            code="KIT-42",
            where="webs",
            says="between any two cuts enough metal is left; the least is {value}, {limit} wanted",
            how_sure=_OWN_FIGURE,
            source="shop-file",
        ),
        "corner": _Wording(
            code="KIT-43",
            where="inside corners",
            says="inside corners come out sharp enough; at most {value} stays, {limit} may",
            how_sure="the usual radius of this process; look at a sample cut",
            source="common-practice",
        ),
        "size": _Wording(
            code="KIT-44",
            where="part sizes",
            says="every part fits a sheet at hand; the longest is {value}, {limit} free",
            how_sure="the sheet's nominal size less a margin all round",
            source="shop-file",
        ),
    }


def _finding(alike: list[_Breach]) -> Finding:
    """Breaches of one rule in one part, told by the worst of them."""
    case = max(alike, key=lambda each: abs(each.value - each.limit))
    place = case.part.frame.to_space(case.flat[None, :])[0]
    words = _breach_wording()[case.rule]
    places = _places([each.what for each in alike])
    return Finding(
        words.code,
        case.verdict,
        f"{case.part.name}, {places}",
        words.says.replace("{what}", case.what).replace("{part}", case.part.name),
        _figures(case),
        value=case.value,
        limit=case.limit,
        unit="m",
        kind="length",
        u95=case.u95,
        how_sure=words.how_sure,
        do=words.do,
        source=words.source,
        place=(float(place[0]), float(place[1]), float(place[2])),
    )


def _places(names: list[str]) -> str:
    """Names in a row, each once: "holes h1, h2" for "hole h1" and "hole h2"."""
    once = list(dict.fromkeys(names))
    if len(once) > 1 and all(name.startswith("hole ") for name in once):
        return "holes " + ", ".join(name.removeprefix("hole ") for name in once)
    return ", ".join(once)


def _holds(rule: str, cases: list[_Breach]) -> Finding:
    upper = rule in ("corner", "size")
    tight = min(cases, key=lambda case: (case.limit - case.value) * (1.0 if upper else -1.0))
    words = _holding_wording()[rule]
    return Finding(
        words.code,
        Verdict.HOLDS,
        words.where,
        words.says,
        _figures(tight),
        value=tight.value,
        limit=tight.limit,
        unit="m",
        kind="length",
        u95=tight.u95,
        how_sure=words.how_sure,
        source=words.source,
    )


def _figures(case: _Breach) -> tuple[Figure, ...]:
    digits = 2 if case.rule == "corner" else None
    return length_figure("value", case.value, digits), length_figure("limit", case.limit, digits)


def _line(outline: Outline) -> LinearRing:
    import shapely

    return shapely.LinearRing(chords(outline))
