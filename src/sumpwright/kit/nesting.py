"""All flat parts on the shop's own sheets and offcuts, metal by metal.

In this order: parts into the big cut-outs of other parts, then the offcuts on the rack, the
smallest first, then whole sheets. For sheets several nests are made, piece by piece into free
corners and by the strip nesting library under several seeds; the one that uses up the least
sheet is kept. The count of tries is fixed, so the same parts always give the same nests.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon

from sumpwright.kit.grain import grain_of
from sumpwright.kit.metal import chords, metal_of
from sumpwright.kit.model import FlatPart, KitInputs, is_flange
from sumpwright.kit.nest_corners import SLACK, Room, fill, put, with_guests
from sumpwright.kit.nest_model import Blank, Nest, NestPlan, NotNested, Placement
from sumpwright.kit.nest_shapes import Piece, pieces_of_part, placed, placed_metal, turned
from sumpwright.kit.strip_nesting import reach_of, strip_nest
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

STRIP_SEEDS = 3
"""So many strips are tried; more gained less than one part in a hundred on the examples."""

LEAST_GAP: Metre = 3e-3
"""Part to part in a nest: common practice, or the thickness where that is more."""

TOLERANCE: Metre = 5e-6
"""Rounding that a gap or a margin may be short by when a finished nest is measured."""

Laid = list[tuple[Piece, Placement]]


@dataclass(frozen=True, slots=True, eq=False)
class _Filled:
    """A blank with what lies on it, in the blank's axes."""

    blank: Blank
    laid: Laid


def part_gap(inputs: KitInputs, part: FlatPart) -> Metre:
    """Metal left between two parts: the thickness or 3 mm, and the kerf where the shop cuts itself."""
    cutter = inputs.flange_cutter if is_flange(part) else inputs.cutter
    return max(part.thickness, LEAST_GAP) + (cutter.kerf or 0.0)


def nest_parts(inputs: KitInputs, parts: Sequence[FlatPart]) -> NestPlan:
    """Every part of the kit on a sheet or offcut of its own metal, as far as there is one."""
    nests: list[Nest] = []
    left: list[NotNested] = []
    gaps: dict[Metre, Metre] = {}
    for material, thickness in dict.fromkeys((part.material, round(part.thickness, 6)) for part in parts):
        group = [p for p in parts if p.material == material and round(p.thickness, 6) == thickness]
        gap = max(part_gap(inputs, part) for part in group)
        gaps[thickness] = gap
        filled, not_nested = _nest_group(inputs, group, gap)
        left += not_nested
        by_name = {part.name: part for part in group}
        nests += [
            _nest(len(nests) + 1 + k, each, by_name, gap, inputs.sheet_margin)
            for k, each in enumerate(filled)
        ]
    return NestPlan(tuple(nests), tuple(left), tuple(gaps.items()), inputs.sheet_margin)


def breaches(nest: Nest, parts: Sequence[FlatPart], gap: Metre, margin: Metre) -> tuple[str, ...]:
    """Where a finished nest breaks its own rules, measured on the parts' true outlines."""
    by_name = {part.name: part for part in parts}
    shapes = [placed_metal(by_name[each.part], each) for each in nest.placements]
    found = []
    free = _free(nest.blank, margin - TOLERANCE)
    for each, shape in zip(nest.placements, shapes, strict=True):
        if not free.covers(shape):
            found.append(f"{each.part} over the margin")
    tree = shapely.STRtree(shapes)
    for k, shape in enumerate(shapes):
        for j in tree.query(shape.buffer(gap - TOLERANCE), predicate="intersects"):
            if int(j) > k:
                found.append(f"{nest.placements[k].part} and {nest.placements[int(j)].part} too close")
    return tuple(found)


def _nest_group(
    inputs: KitInputs, group: Sequence[FlatPart], gap: Metre
) -> tuple[list[_Filled], list[NotNested]]:
    """Nests of one metal in one thickness."""
    margin = inputs.sheet_margin
    sheets = _sheets(inputs, group[0])
    offcuts = _offcuts(inputs, group[0])
    pieces: list[Piece] = []
    left: list[NotNested] = []
    for part in group:
        found = pieces_of_part(part, grain_of(part))
        if not found:
            left.append(NotNested(part.name, "no whole outline", (0.0, 0.0), None))
        pieces += found
    pieces, too_large = _that_fit(pieces, sheets, margin)
    pieces = _into_holes(pieces, {part.name: part for part in group}, gap)
    pieces = sorted([*pieces, *too_large], key=lambda piece: -piece.shape.area)
    filled: list[_Filled] = []
    for blank in offcuts:
        both = [fill(Room(_free(blank, margin), gap), pieces, upwards) for upwards in (False, True)]
        laid, pieces = max(both, key=lambda way: math.fsum(piece.metal for piece, _ in way[0]))
        if laid:
            filled.append(_Filled(blank, laid))
    left += [
        _not_nested(piece, sheets, bool(sheets or offcuts), margin) for piece in pieces if piece in too_large
    ]
    pieces = [piece for piece in pieces if piece not in too_large]
    if pieces:
        filled += _on_sheets(inputs, pieces, sheets, gap, margin, {part.name: part for part in group})
    return filled, left


def _into_holes(pieces: Sequence[Piece], parts: dict[str, FlatPart], gap: Metre) -> list[Piece]:
    """Pieces with others laid into their cut-outs, the largest cut-out first."""
    free = list(pieces)
    holes = {name: _holes(part) for name, part in parts.items()}
    hosts = [piece for piece in pieces if holes[piece.part]]
    hosts.sort(key=lambda piece: -max(hole.area for hole in holes[piece.part]))
    done: list[Piece] = []
    for host in hosts:
        if not any(piece is host for piece in free):
            continue  # it lies in another's hole itself
        free = [piece for piece in free if piece is not host]
        candidates = sorted(free, key=lambda piece: -piece.shape.area)
        filled, left = with_guests(host, holes[host.part], gap, candidates)
        done.append(filled)
        kept = {id(piece) for piece in left}
        free = [piece for piece in free if id(piece) in kept]
    return done + free


def _holes(part: FlatPart) -> list[Polygon]:
    """Cut-outs and round holes as plane shapes, none larger than the true hole."""
    found = [Polygon(chords(cut)) for cut in part.cut_outs]
    for hole in part.holes:
        angles = 2.0 * math.pi * np.arange(96) / 96
        rim = np.stack([np.cos(angles), np.sin(angles)], 1) * (0.5 * hole.diameter) + (hole.x, hole.y)
        found.append(Polygon(rim))
    return [hole for hole in found if hole.is_valid and hole.area > 1e-4]


def _sheets(inputs: KitInputs, part: FlatPart) -> list[Blank]:
    return [
        Blank(
            "sheet",
            sheet.material,
            part.thickness,
            frozen_array([[0, 0], [sheet.length, 0], [sheet.length, sheet.width], [0, sheet.width]]),
            False,
        )
        for sheet in inputs.stock
        if sheet.material == part.material and abs(sheet.thickness - part.thickness) < 1e-5
    ]


def _offcuts(inputs: KitInputs, part: FlatPart) -> list[Blank]:
    """Offcuts of the part's metal, the smallest first."""
    found = []
    for offcut in inputs.offcuts:
        if offcut.material != part.material or abs(offcut.thickness - part.thickness) >= 1e-5:
            continue
        outline = np.asarray(offcut.outline)
        found.append(
            Blank(
                offcut.name,
                offcut.material,
                part.thickness,
                frozen_array(outline - outline.min(axis=0)),
                True,
            )
        )
    return sorted(found, key=lambda blank: (blank.area, blank.name))


def _free(blank: Blank, margin: Metre) -> Polygon:
    """What a blank offers inside its margin; of an outline that falls apart, the largest piece."""
    inner = Polygon(blank.outline).buffer(-margin, join_style="mitre", mitre_limit=5.0)
    pieces = [piece for piece in shapely.get_parts(inner) if isinstance(piece, Polygon)]
    return max(pieces, key=lambda piece: float(piece.area), default=Polygon())


def _fits(piece: Piece, blank: Blank, margin: Metre) -> bool:
    length, width = (side - 2.0 * margin for side in blank.size)
    return any(x <= length + SLACK and y <= width + SLACK for x, y in map(piece.box, piece.angles))


def _that_fit(
    pieces: Sequence[Piece], sheets: Sequence[Blank], margin: Metre
) -> tuple[list[Piece], list[Piece]]:
    """Pieces that lie on at least one sheet, turned aslant if need be, and those that do not."""
    fitting: list[Piece] = []
    too_large: list[Piece] = []
    for piece in pieces:
        for way in (piece, _aslant(piece)):
            if any(_fits(way, blank, margin) for blank in sheets):
                fitting.append(way)
                break
        else:
            too_large.append(piece)
    return fitting, too_large


def _not_nested(piece: Piece, sheets: Sequence[Blank], has_metal: bool, margin: Metre) -> NotNested:
    """Why a piece lies on no blank."""
    largest = max((blank.size for blank in sheets), key=lambda size: size[0] * size[1], default=None)
    free = None if largest is None else (largest[0] - 2.0 * margin, largest[1] - 2.0 * margin)
    return NotNested(
        piece.part,
        "larger than any sheet" if has_metal else "no such metal in the stock list",
        piece.least_box(),
        free,
    )


def _aslant(piece: Piece) -> Piece:
    """The piece free to lie at any whole degree, where its grain leaves that open."""
    if piece.grain is not None:
        return piece
    first = piece.angles[0]
    return replace(piece, angles=tuple(first + math.radians(degree) for degree in range(0, 360, 1)))


def _on_sheets(
    inputs: KitInputs,
    pieces: list[Piece],
    sheets: Sequence[Blank],
    gap: Metre,
    margin: Metre,
    parts: dict[str, FlatPart],
) -> list[_Filled]:
    """The cheapest of several ways to lay the pieces on whole sheets."""
    filled: list[_Filled] = []
    while pieces:
        whole = [blank for blank in sheets if all(_fits(piece, blank, margin) for piece in pieces)]
        if whole:
            tries = [way for blank in whole for way in _ways(inputs, pieces, blank, gap, margin, parts)]
            return filled + min(tries, key=lambda way: _metal_used(way, gap))
        # No size takes all: one sheet of the smallest size that takes the largest piece.
        first = max(pieces, key=lambda piece: piece.shape.area)
        blank = min((b for b in sheets if _fits(first, b, margin)), key=lambda blank: blank.area)
        laid, pieces = fill(Room(_free(blank, margin), gap), [first, *(p for p in pieces if p is not first)])
        filled.append(_Filled(blank, laid))
    return filled


def _ways(
    inputs: KitInputs,
    pieces: Sequence[Piece],
    blank: Blank,
    gap: Metre,
    margin: Metre,
    parts: dict[str, FlatPart],
) -> list[list[_Filled]]:
    """Complete nests of the pieces on sheets of one size, made in different ways."""
    orders: list[Callable[[Piece], tuple[float, ...]]] = [
        lambda piece: (-piece.shape.area,),
        lambda piece: (-max(piece.least_box()), -piece.shape.area),
    ]
    ways = []
    for order in orders:
        left = sorted(pieces, key=order)
        way: list[_Filled] = []
        while left:
            laid, left = fill(Room(_free(blank, margin), gap), left)
            way.append(_Filled(blank, laid))
        ways.append(way)
    # One piece alone lies best where it reaches least far: no strip is shorter.
    seeds = range(inputs.seed, inputs.seed + STRIP_SEEDS) if len(pieces) > 1 else ()
    for seed in seeds:
        cut_off = _strips(pieces, blank, gap, margin, seed)
        if cut_off is not None and not any(
            breaches(_nest(1, each, parts, gap, margin), list(parts.values()), gap, margin)
            for each in cut_off
        ):
            ways.append(cut_off)
    return ways


def _strips(
    pieces: Sequence[Piece], blank: Blank, gap: Metre, margin: Metre, seed: int
) -> list[_Filled] | None:
    """Sheets cut off a densely nested strip, each topped up; None where the strip cannot be made."""
    length, width = (side - 2.0 * margin for side in blank.size)
    left = sorted(pieces, key=lambda piece: -piece.shape.area)
    way: list[_Filled] = []
    while left:
        strip = strip_nest(left, width, gap, seed)
        if strip is None:
            return None
        room = Room(_free(blank, margin), gap)
        laid: Laid = []
        for piece, at in strip:
            if reach_of(piece, at) <= length + SLACK:
                moved = replace(at, dx=at.dx + margin, dy=at.dy + margin)
                laid.append((piece, moved))
                ring = turned(shapely.get_coordinates(piece.shape.exterior)[:-1], at.angle)
                room.take(Polygon(ring + np.array([moved.dx, moved.dy])))
        if not laid:
            return None
        done = {id(piece) for piece, _ in laid}
        rest: list[Piece] = []
        for piece in left:
            if id(piece) in done:
                continue
            placement = put(room, piece)
            if placement is None:
                rest.append(piece)
            else:
                laid.append((piece, placement))
        way.append(_Filled(blank, laid))
        left = rest
    return way


def _metal_used(way: Sequence[_Filled], gap: Metre) -> float:
    """Area of sheet that is cut off (m2, rounded, so that equal nests count as equal)."""
    whole = sum(each.blank.area for each in way[:-1])
    last = way[-1]
    used = _used_length(last, gap) * last.blank.size[1]
    return round(whole + used, 7)


def _used_length(filled: _Filled, gap: Metre) -> Metre:
    """Length of sheet that is cut off: to the last piece and one gap beyond it."""
    reach = max(reach_of(piece, at) for piece, at in filled.laid)
    return min(filled.blank.size[0], reach + gap)


def _nest(number: int, filled: _Filled, parts: dict[str, FlatPart], gap: Metre, margin: Metre) -> Nest:
    """The nest with every guest at its own place on the blank."""
    placements: list[Placement] = []
    for piece, at in filled.laid:
        placements.append(at)
        placements += [_carried(guest, at) for guest in piece.guests]
    metal = math.fsum(float(metal_of(parts[each.part]).area) for each in placements)
    if filled.blank.is_offcut:
        return Nest(number, filled.blank, tuple(placements), filled.blank.size[0], metal / filled.blank.area)
    used = _used_length(filled, gap)
    return Nest(number, filled.blank, tuple(placements), used, metal / (used * filled.blank.size[1]))


def _carried(guest: Placement, host: Placement) -> Placement:
    """A piece that lies in another's hole, as the other is turned and moved."""
    at: FloatArray = placed(np.array([[guest.dx, guest.dy]]), host)
    return replace(guest, angle=guest.angle + host.angle, dx=float(at[0, 0]), dy=float(at[0, 1]))
