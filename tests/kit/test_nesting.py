"""Nests whose best answer can be worked out by hand, and rules that every nest must keep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely

from sumpwright.findings import Verdict
from sumpwright.geometry import Circle
from sumpwright.kit.model import CutterRules, FlatPart, Fold, KitInputs
from sumpwright.kit.nest_check import nest_findings
from sumpwright.kit.nest_model import Nest, NestPlan, Offcut
from sumpwright.kit.nest_shapes import ways_to_turn
from sumpwright.kit.nesting import nest_parts
from sumpwright.quantities.units import frozen_array
from tests.kit.nest_parts_by_hand import MM, flat, line, nest_inputs, rectangle, ring, wall_like

GAP = 3.0  # mm: the greater of 2 mm sheet and 3 mm
MARGIN = 10.0


def metal_at(part: FlatPart, angle: float, dx: float, dy: float) -> shapely.Polygon:
    """The part's straight-sided metal as it lies, worked out apart from the program's own code."""
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    rings = [np.asarray(o.points) @ turn.T + (dx, dy) for o in (part.outline, *part.cut_outs)]
    return shapely.Polygon(rings[0], rings[1:])


def lies_well(
    nest: Nest, parts: Sequence[FlatPart], gap: float = GAP * MM, margin: float = MARGIN * MM
) -> bool:
    """Every pair at least the gap apart, everything inside the margin; to 5 um."""
    by_name = {part.name: part for part in parts}
    shapes = [metal_at(by_name[p.part], p.angle, p.dx, p.dy) for p in nest.placements]
    free = shapely.Polygon(nest.blank.outline).buffer(-margin + 5e-6, join_style="mitre")
    apart = all(a.distance(b) >= gap - 5e-6 for k, a in enumerate(shapes) for b in shapes[:k])
    return apart and all(free.covers(shape) for shape in shapes)


def pieces_in(plan: NestPlan) -> list[tuple[str, int]]:
    return sorted((p.part, p.copy) for nest in plan.nests for p in nest.placements)


def one_nest(inputs: KitInputs, parts: Sequence[FlatPart]) -> Nest:
    plan = nest_parts(inputs, parts)
    assert not plan.left_over
    assert len(plan.nests) == 1
    assert lies_well(plan.nests[0], parts)
    return plan.nests[0]


@pytest.mark.expected_from(
    "closed form", "4 by 3 rectangles of 97 x 47 mm, 3 mm apart, fill 397 x 147 mm exactly"
)
def test_rectangles_that_tile_the_sheet_take_one_and_one_more_takes_another() -> None:
    inputs = nest_inputs((397 + 2 * MARGIN, 147 + 2 * MARGIN))
    nest = one_nest(inputs, [rectangle("r", 97, 47, 12)])
    assert nest.used_share == pytest.approx(12 * 97 * 47 / (410 * 167), rel=1e-4)
    more = nest_parts(inputs, [rectangle("r", 97, 47, 13)])
    assert [len(nest.placements) for nest in more.nests] == [12, 1]


@pytest.mark.expected_from(
    "closed form",
    "two right triangles a x b with their long sides g apart fill a box (a + g sqrt(a^2 + b^2) / b) x b",
)
def test_triangles_pair_up_to_rectangles() -> None:
    a, b = 100.0, 60.0
    pair = a + GAP * math.hypot(a, b) / b
    length = 3 * pair + 2 * GAP + 2 * MARGIN
    inputs = nest_inputs((length, b + 2 * MARGIN))
    nest = one_nest(inputs, [flat("t", [(0, 0), (a, 0), (0, b)], 6)])
    assert len(nest.placements) == 6


@pytest.mark.expected_from(
    "closed form", "a square fits a round hole when its diagonal is the hole less two gaps"
)
@pytest.mark.parametrize(("diagonal", "is_inside"), [(143.8, True), (144.2, False)])
def test_a_part_goes_into_the_hole_that_just_takes_it(diagonal: float, is_inside: bool) -> None:
    side = diagonal / math.sqrt(2.0)
    parts = [ring("ring", 200, 150), rectangle("square", side, side)]
    plan = nest_parts(nest_inputs((400, 220)), parts)
    placements = {p.part: p for nest in plan.nests for p in nest.placements}
    assert (placements["square"].inside == "ring") is is_inside
    assert len(plan.nests) == 1
    if is_inside:
        host, guest = placements["ring"], placements["square"]
        square = metal_at(parts[1], guest.angle, guest.dx, guest.dy)
        centre = shapely.Point(host.dx, host.dy)
        assert shapely.hausdorff_distance(centre, square) <= 72 * MM + 5e-6
        assert plan.nests[0].used_length == pytest.approx(213 * MM, abs=1e-4)


@pytest.mark.expected_from("property", "what lies in a hole turns and moves with the part round it")
def test_a_frame_carries_its_guest_when_it_is_turned() -> None:
    frame = flat(
        "frame",
        [(0, 0), (180, 0), (180, 400), (0, 400)],
        cut_outs=(line([(20, 20), (20, 380), (160, 380), (160, 20)]),),
    )
    parts = [frame, rectangle("strip", 130, 350)]
    nest = one_nest(nest_inputs((1000, 200)), parts)
    assert {p.part: p.inside for p in nest.placements} == {"frame": "", "strip": "frame"}
    assert nest.used_length == pytest.approx(413 * MM, abs=1e-5)


@pytest.mark.expected_from(
    "property", "no two parts nearer than the gap, none over the margin, none lost or doubled"
)
def test_thirty_unlike_parts_lie_apart_and_none_is_lost() -> None:
    parts = [wall_like(k) for k in range(30)]
    plan = nest_parts(nest_inputs((1000, 500)), parts)
    assert pieces_in(plan) == sorted((part.name, 1) for part in parts)
    assert all(lies_well(nest, parts) for nest in plan.nests)
    metal = sum(metal_at(part, 0, 0, 0).area for part in parts)
    used = sum(nest.used_length * nest.blank.size[1] for nest in plan.nests)
    assert metal / used > 0.7


@pytest.mark.expected_from("property", "the same parts give the same nests")
def test_the_same_parts_lie_the_same_way_again() -> None:
    parts = [wall_like(k) for k in range(12)]
    first, again = (nest_parts(nest_inputs((1000, 500)), parts) for _ in range(2))
    assert [nest.placements for nest in first.nests] == [nest.placements for nest in again.nests]


@pytest.mark.expected_from(
    "closed form", "an L of two 200 x 100 mm legs takes two 177 x 77 mm parts, a box of it three"
)
def test_an_offcut_with_its_own_outline_is_used_first_and_not_over_its_edge() -> None:
    legs = [(0, 0), (200, 0), (200, 100), (100, 100), (100, 280), (0, 280)]
    offcut = Offcut("rack-3", "mild", 2 * MM, frozen_array(np.array(legs, dtype=float) * MM))
    parts = [rectangle("p", 177, 77, 3)]
    plan = nest_parts(nest_inputs((500, 300), offcuts=(offcut,)), parts)
    assert [(nest.blank.name, len(nest.placements)) for nest in plan.nests] == [("rack-3", 2), ("sheet", 1)]
    assert all(lies_well(nest, parts) for nest in plan.nests)


@pytest.mark.expected_from(
    "closed form", "3 mm and 4 mm sheet: the gap is the thickness from 3 mm on, plus the kerf"
)
@pytest.mark.parametrize(("thickness", "kerf", "gap"), [(2.0, None, 3.0), (4.0, None, 4.0), (4.0, 1.5, 5.5)])
def test_the_gap_follows_thickness_and_own_kerf(thickness: float, kerf: float | None, gap: float) -> None:
    side = 100.0
    inputs = nest_inputs((2 * side + gap + 20, side + 20), thickness=thickness)
    rules = CutterRules("plasma", 1e-4, 3e-3, 3e-3, 4.5e-3, None if kerf is None else kerf * MM)
    inputs = replace(inputs, cutter=rules, flange_cutter=rules)
    parts = [rectangle("s", side, side, 2, thickness)]
    plan = nest_parts(inputs, parts)
    assert len(plan.nests) == 1
    assert lies_well(plan.nests[0], parts, gap * MM)
    narrower = replace(inputs, stock=(replace(inputs.stock[0], length=inputs.stock[0].length - 1e-4),))
    assert len(nest_parts(narrower, parts).nests) == 2


@pytest.mark.expected_from("closed form", "a 10 x 300 mm strip lies in a 250 x 250 mm square only aslant")
def test_a_long_strip_lies_aslant_where_it_fits_no_other_way() -> None:
    nest = one_nest(nest_inputs((270, 270)), [rectangle("strip", 300, 10)])
    assert abs(math.sin(2.0 * nest.placements[0].angle)) > 0.9


@pytest.mark.expected_from("property", "the grain of a bent part runs along the sheet, either way round")
def test_grain_leaves_two_ways_to_turn() -> None:
    shape = shapely.box(0, 0, 0.3, 0.1)
    ways = ways_to_turn(shape, math.radians(30.0))
    for way in ways:
        assert abs(math.sin(way + math.radians(30.0))) < 1e-12
    assert len(ways) == 2
    assert len(ways_to_turn(shape, None)) == 4


@pytest.mark.expected_from("property", "a part larger than any sheet is named, all others are nested")
def test_a_part_larger_than_any_sheet_is_named_and_the_rest_is_nested() -> None:
    parts = [rectangle("plank", 3000, 50), rectangle("clip", 100, 50)]
    plan = nest_parts(nest_inputs((2000, 1000)), parts)
    assert [(left.part, left.why) for left in plan.left_over] == [("plank", "larger than any sheet")]
    assert pieces_in(plan) == [("clip", 1)]
    findings = nest_findings(plan, parts)
    assert [(f.code, f.verdict, f.where) for f in findings] == [
        ("KIT-70", Verdict.FAILS, "plank"),
        ("KIT-71", Verdict.HOLDS, "nests"),
    ]
    assert findings[0].value == pytest.approx(3.0)
    assert findings[0].limit == pytest.approx(1.98)


@pytest.mark.expected_from("property", "without stock nothing is nested, and the missing section is named")
def test_zero_stock_cannot_be_nested() -> None:
    parts = [rectangle("clip", 100, 50)]
    plan = nest_parts(nest_inputs(), parts)
    assert not plan.nests
    findings = nest_findings(plan, parts)
    assert [(f.code, f.verdict) for f in findings] == [("KIT-72", Verdict.CANNOT_SAY)]
    assert "[[stock]]" in findings[0].do


@pytest.mark.expected_from(
    "property", "pieces for a sheet of another size each find the size that takes them"
)
def test_sizes_are_mixed_where_no_size_takes_all() -> None:
    parts = [rectangle("long", 900, 60, 2), rectangle("wide", 350, 350, 2)]
    plan = nest_parts(nest_inputs((1000, 100), (400, 400)), parts)
    assert pieces_in(plan) == [("long", 1), ("long", 2), ("wide", 1), ("wide", 2)]
    assert all(lies_well(nest, parts) for nest in plan.nests)


@pytest.mark.expected_from(
    "property", "random rectangles with holes: no overlap, none over the margin, none lost"
)
@pytest.mark.parametrize("seed", range(6))
def test_random_sets_keep_the_rules(seed: int) -> None:
    draw = np.random.default_rng(seed)
    parts = []
    for k in range(8):
        a, b = draw.uniform(30, 260, 2)
        lean = draw.uniform(-20, 20)
        part = flat(f"p{k}", [(0, 0), (a, 0), (a + lean, b), (lean, b)], int(draw.integers(1, 3)))
        parts.append(replace(part, holes=(Circle(a / 2 * MM, b / 2 * MM, 8 * MM),)))
    plan = nest_parts(nest_inputs((600, 320)), parts)
    assert not plan.left_over
    assert pieces_in(plan) == sorted((p.name, c + 1) for p in parts for c in range(p.quantity))
    assert all(lies_well(nest, parts) for nest in plan.nests)


@pytest.mark.expected_from(
    "property", "a bent part's grain runs square to its longest bend, along the sheet in its nest"
)
@pytest.mark.parametrize("degrees", [0.0, 90.0, 30.0])
def test_a_bent_part_lies_with_its_bend_across_the_sheet(degrees: float) -> None:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    plate = flat(
        "bent", [(0, 0), (200 * c, 200 * s), (200 * c - 90 * s, 200 * s + 90 * c), (-90 * s, 90 * c)]
    )
    start, end = (100 * c * MM, 100 * s * MM), ((100 * c - 90 * s) * MM, (100 * s + 90 * c) * MM)
    fold = Fold(0, 0, 1, start, end, math.pi / 2, 2 * MM, 4 * MM, True)
    bent = replace(plate, folds=(fold,))
    (nest,) = nest_parts(nest_inputs((800, 400)), [bent]).nests
    (at,) = nest.placements
    along = np.array(end) - np.array(start)
    line = np.array([math.cos(at.angle) * along[0] - math.sin(at.angle) * along[1]])
    assert abs(line[0]) < 1e-12
