"""Bends: book values, developments worked by hand, unfolding undone by folding, choice and order."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from sumpwright.body.solve import solve as solve_body
from sumpwright.findings import Verdict
from sumpwright.kit import bend_formulas
from sumpwright.kit.bend_check import bend_findings
from sumpwright.kit.bend_choice import _best
from sumpwright.kit.bends import bend_setting, possible_bends
from sumpwright.kit.flange import flange_part
from sumpwright.kit.fold_order import order_of_folds
from sumpwright.kit.joints import choose_seams
from sumpwright.kit.marks import marks_findings
from sumpwright.kit.model import BendCoupon, Folder
from sumpwright.kit.rebuild import sheet_of
from sumpwright.kit.shell import folded_together, make_shell
from sumpwright.kit.solve import solve
from sumpwright.kit.unfolding import folded, oil_frame
from tests.body.random_bodies import near_real_body
from tests.kit.hand_bodies import body_of, box, drawn, l_plan, tray_and_sump
from tests.kit.made_bodies import kit_inputs

R = 0.0045
BRAKE = Folder("press brake", R, 0.004, 1.5, 0.012, math.radians(135.0), 0.03, 0.06)


def bent_inputs(**changes):
    return kit_inputs(folder=replace(BRAKE, **changes))


def shell_of(body, **changes):
    return make_shell(bent_inputs(**changes), body, body.cavity, flange_part(kit_inputs(), body, ()))


def parts_of(body, shell):
    return folded_together(body.cavity, shell.flats, shell.bends, bent_inputs())


@pytest.mark.expected_from(
    "published", "BA = beta (r + K t), trade formula: t 2, r 2, K 0.42, 90 deg: 4.461; BD 3.539 mm"
)
def test_allowance_and_deduction_of_a_right_angle():
    half_turn = math.pi / 2
    assert bend_formulas.bend_allowance(half_turn, 0.002, 0.42, 0.002) == pytest.approx(0.004461, abs=5e-7)
    assert bend_formulas.bend_deduction(half_turn, 0.002, 0.42, 0.002) == pytest.approx(0.003539, abs=5e-7)


@pytest.mark.expected_from("published", "trade example: 50 x 40 outside, t 2, r 2, K 0.42: flat 86.461 mm")
def test_flat_length_of_an_angle():
    flat = 0.050 + 0.040 - bend_formulas.bend_deduction(math.pi / 2, 0.002, 0.42, 0.002)
    assert flat == pytest.approx(0.086461, abs=5e-7)


@pytest.mark.expected_from("closed form", "tangent of half the turn")
@pytest.mark.parametrize("turn", np.radians([20.0, 75.0, 90.0, 120.0]))
def test_setbacks(turn):
    r, t = 0.003, 0.002
    inside = bend_formulas.outward_setback(turn, r)
    assert inside == pytest.approx(r * math.sin(turn) / (1.0 + math.cos(turn)))
    assert bend_formulas.inward_setback(turn, r, t) == pytest.approx((r + t) * math.tan(turn / 2))
    # Outside corner: the same legs, measured to where the outer skins meet.
    outside = bend_formulas.outside_leg(0.040, turn, t) - 0.040
    assert outside + inside == pytest.approx((r + t) * math.tan(turn / 2))


@pytest.mark.expected_from("closed form", "the coupon's K gives its own allowance back")
def test_coupon():
    allowance = bend_formulas.bend_allowance(1.2, 0.004, 0.44, 0.003)
    assert bend_formulas.k_of_coupon(allowance, 1.2, 0.004, 0.003) == pytest.approx(0.44)


@pytest.mark.expected_from("published", "trade text: leg 0.7 V, never below 2 t + r; hole to fold 2 t + r")
def test_least_leg_and_hole():
    assert bend_formulas.least_leg(0.016, 0.002, 0.002) == pytest.approx(0.0112)
    assert bend_formulas.least_leg(0.004, 0.003, 0.002) == pytest.approx(0.007)
    assert bend_formulas.hole_to_fold(0.003, 0.002) == pytest.approx(0.007)


@pytest.mark.expected_from("closed form", "channel of 80 + 200 + 80 mm inside, two right angles, by hand")
def test_development_of_a_channel():
    body = body_of(box())
    (part,) = [p for p in parts_of(body, shell_of(body)) if p.folds]
    allowance = math.pi / 2 * (R + 0.40 * 0.003)
    width = 0.080 + 0.200 + 0.080 - 2 * (2 * R - allowance)
    box_of = np.ptp(part.outline.points, axis=0)
    assert sorted(box_of) == pytest.approx(sorted([0.300, width]), abs=2e-6)
    assert sheet_of(part).outline.area == pytest.approx(0.300 * width, rel=1e-5)
    assert {round(fold.allowance, 9) for fold in part.folds} == {round(allowance, 9)}
    assert not any(fold.towards_viewer for fold in part.folds)


@pytest.mark.expected_from("closed form", "hopper, walls lean 20 deg: slant height, turn of 70 deg, by hand")
def test_development_of_a_hopper():
    lean = math.radians(20.0)
    body = body_of(drawn([(0, 0), (300, 0), (300, 220), (0, 220)], 100.0, 20.0), flange=0.006)
    (part,) = [p for p in parts_of(body, shell_of(body)) if len(p.folds) == 2]
    turn = math.pi / 2 - lean
    floor = 0.220 - 2 * 0.100 * math.tan(lean)
    # Walls end where their square top meets the flange's lower inner edge.
    slant = 0.100 / math.cos(lean) - 0.006 * math.cos(lean)
    allowance = turn * (R + 0.40 * 0.003)
    setback = R * math.tan(turn / 2)
    width = floor + 2 * slant - 2 * (2 * setback - allowance)
    along = np.subtract(part.folds[0].end, part.folds[0].start)
    across = np.array([-along[1], along[0]]) / np.linalg.norm(along)
    assert np.ptp(part.outline.points @ across) == pytest.approx(width, abs=5e-6)
    assert [fold.turn for fold in part.folds] == pytest.approx([turn, turn])


SHAPES = {
    "box": box,
    "L": l_plan,
    "tray and sump": tray_and_sump,
    "sump with draft": lambda: tray_and_sump(7.0),
}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.expected_from("property", "folding undoes unfolding: every face comes back to its place")
def test_folding_undoes_unfolding(name):
    body = body_of(SHAPES[name]())
    shell = shell_of(body)
    flats = {part.face: part for part in shell.flats if part.face is not None}
    bent = [part for part in parts_of(body, shell) if part.folds]
    assert bent
    for part in bent:
        for sheet in folded(part, with_facets=False):
            flat = flats[sheet.face]
            frame = oil_frame(flat)
            assert sheet.frame.normal == pytest.approx(frame.normal, abs=1e-12)
            ring = np.asarray(sheet.outline.exterior.coords)
            away = (sheet.frame.to_space(ring) - frame.origin) @ frame.normal
            assert np.abs(away).max() < 1e-12
            place = sheet.frame
            back = shapely.transform(sheet.outline, lambda xy, p=place, f=frame: f.to_flat(p.to_space(xy)))
            there = sheet_of(flat).outline
            assert back.symmetric_difference(there).area < 1e-5 * there.area


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.expected_from("property", "a bent kit passes the very checks of a welded one, and saves weld")
def test_bent_kits_close(name):
    body = body_of(SHAPES[name]())
    kit, plain = solve(bent_inputs(), body), solve(kit_inputs(), body)
    assert not kit.rebuild.refused, kit.rebuild
    assert kit.rebuild.worst_gap <= 0.00025
    assert kit.weld_length < 0.8 * plain.weld_length
    bends = sum(joint.length for joint in kit.joints if joint.kind == "bend")
    assert kit.weld_length + bends == pytest.approx(plain.weld_length)
    names = {part.name for part in kit.parts}
    assert all({joint.part_a, joint.part_b} <= names for joint in kit.joints)


@pytest.mark.expected_from("property", "pans like real ones close when bent as well")
@pytest.mark.parametrize("seed", [2, 8])
def test_bent_kits_like_real_pans_close(seed):
    body = solve_body(*near_real_body(seed))
    t = body.inputs.sheet
    folder = replace(BRAKE, radius=1.5 * t + 1e-9, least_leg=8 * t, thickest=0.006)
    kit = solve(kit_inputs(folder=folder), body)
    assert not kit.rebuild.refused, kit.rebuild
    assert any(part.folds for part in kit.parts)
    if seed == 2:
        assert any(fold.towards_viewer for part in kit.parts for fold in part.folds)


@pytest.mark.expected_from("closed form", "sector between r and r + t; facets of angle d: sin(d)/d of it")
def test_metal_of_a_bend():
    body = body_of(box())
    (part,) = [p for p in parts_of(body, shell_of(body)) if p.folds]
    facets = [sheet for sheet in folded(part) if sheet.face is None]
    count = len(facets) // 2
    step = math.pi / 2 / count
    sector = 0.5 * math.pi / 2 * ((R + 0.003) ** 2 - R**2)
    metal = sum(float(sheet.solid().volume()) for sheet in facets) / 2
    # The strip is cut 1 um long at each end so that it surely cuts through.
    assert metal == pytest.approx(sector * math.sin(step) / step * 0.300, rel=1e-5)


@pytest.mark.expected_from("property", "of all sets with one bend a corner, none saves more weld")
@pytest.mark.parametrize("name", SHAPES)
def test_choice_is_the_best_of_all(name):
    body = body_of(SHAPES[name]())
    cavity = body.cavity
    thickness = {face.index: 0.003 for face in cavity.faces}
    seams = choose_seams(cavity, thickness, 0.010, 0.0)
    possible = possible_bends(cavity, seams, bend_setting(bent_inputs(), 0.003), BRAKE, 0.010)
    barred = [frozenset(sorted(possible)[:2])]
    chosen = _best(cavity, possible, barred)
    best = 0.0
    for size in range(len(possible) + 1):
        for some in itertools.combinations(sorted(possible), size):
            corners = [v for e in some for v in (cavity.edges[e].start, cavity.edges[e].end)]
            if len(set(corners)) == len(corners) and not any(bar <= set(some) for bar in barred):
                best = max(best, sum(cavity.edges[e].length for e in some))
    assert sum(cavity.edges[e].length for e in chosen) == pytest.approx(best, abs=1e-6)


@pytest.mark.expected_from("property", "a clamp wider than the channel cannot make the second fold")
def test_order_needs_room_for_the_machine():
    body = body_of(drawn([(0, 0), (300, 0), (300, 60), (0, 60)], 90.0))
    shell = shell_of(body)
    (part,) = [p for p in parts_of(body, shell) if len(p.folds) == 2]
    assert sorted(order_of_folds(part, BRAKE)) == sorted(fold.edge for fold in part.folds)
    assert {fold.order for fold in part.folds} == {1, 2}
    assert order_of_folds(part, replace(BRAKE, behind=0.08, above=0.07)) is None
    # The choice finds other bends, which this machine can make.
    narrow = replace(BRAKE, behind=0.08, above=0.07)
    both = {fold.edge for fold in part.folds}
    for other in parts_of(body, shell_of(body, behind=0.08, above=0.07)):
        assert not both <= {fold.edge for fold in other.folds}
        assert order_of_folds(other, narrow) is not None


@pytest.mark.expected_from("property", "what the machine cannot do is not bent")
@pytest.mark.parametrize(
    ("changes", "bends"),
    [
        ({}, True),
        ({"thickest": 0.002}, False),
        ({"longest": 0.05}, False),
        ({"least_leg": 0.5}, False),
        ({"radius": 0.001}, False),
        ({"sharpest": math.radians(45.0)}, False),
    ],
)
def test_limits_of_the_machine(changes, bends):
    shell = shell_of(body_of(box()), **changes)
    assert bool(shell.bends) is bends
    assert not shell.report.refused


@pytest.mark.expected_from("property", "a folder for right angles only leaves a wall with draft welded")
def test_only_square():
    body = body_of(tray_and_sump(7.0))
    assert any(abs(bend.turn - math.pi / 2) > 0.05 for bend in shell_of(body).bends)
    square = shell_of(body, only_square=True).bends
    assert square
    assert all(abs(bend.turn - math.pi / 2) < math.radians(0.5) for bend in square)


@pytest.mark.expected_from("property", "the shop's coupon beats the table")
def test_coupon_beats_the_table():
    coupon = BendCoupon("5052-H32", 0.003, R, 0.37)
    setting = bend_setting(kit_inputs(folder=BRAKE, coupons=(coupon,)), 0.003)
    assert (setting.k, setting.source) == (0.37, "shop-file")
    assert bend_setting(bent_inputs(), 0.003).k == pytest.approx(0.40)


@pytest.mark.expected_from("property", "findings: the saving, the spread of tables, a hole at a fold")
def test_bend_findings():
    from sumpwright.geometry import Circle

    body = body_of(box())
    inputs = bent_inputs()
    kit = solve(inputs, body)
    assert [f.code for f in bend_findings(inputs, kit)] == ["KIT-50", "KIT-51"]
    (part,) = [p for p in kit.parts if p.folds]
    fold = part.folds[0]
    middle = 0.5 * (np.array(fold.start) + np.array(fold.end))
    holed = replace(part, holes=(Circle(middle[0] + 0.004, middle[1] + 0.004, 0.006, "drain"),))
    spoilt = replace(kit, parts=tuple(holed if p is part else p for p in kit.parts))
    near = [f for f in bend_findings(inputs, spoilt) if f.code == "KIT-52"]
    assert [f.verdict for f in near] == [Verdict.FAILS]
    thick = replace(inputs, folder=replace(BRAKE, thickest=0.001))
    (none,) = bend_findings(thick, solve(thick, body))
    assert none.code == "KIT-50"
    assert bend_findings(kit_inputs(), solve(kit_inputs(), body)) == ()


@pytest.mark.expected_from("property", "words beside each fold: number, angle, way; nothing leaves the metal")
def test_words_beside_the_folds():
    body = body_of(box())
    kit = solve(bent_inputs(), body)
    (part,) = [p for p in kit.parts if p.folds]
    words = sorted(mark.words for mark in part.marks if mark.kind == "fold")
    assert words == ["1: 90 deg away from you", "2: 90 deg away from you"]
    metal = sheet_of(part).outline
    for mark in part.marks:
        for stroke in mark.strokes:
            assert metal.contains(shapely.LineString(stroke.points))
    names = [mark.words for mark in part.marks if mark.kind == "name"]
    assert len(names) == 3
    assert not [f for f in marks_findings(kit.parts, kit.joints) if f.verdict is not Verdict.HOLDS]
