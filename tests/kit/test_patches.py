"""Patch plates: the opening, the plate over it, the proof that nothing leaks, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from sumpwright.body.fittings import Fitting
from sumpwright.findings import Verdict
from sumpwright.kit.check import check
from sumpwright.kit.metal import metal_of
from sumpwright.kit.patch_model import PatchPlate
from sumpwright.kit.patches import apart_of, overlap_of, rounded_rectangle
from sumpwright.kit.price import outline_length
from sumpwright.kit.rebuild import measure
from sumpwright.kit.solve import solve
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan
from tests.body.hand_walls import upright
from tests.kit.made_bodies import kit_inputs as made_inputs
from tests.kit.nest_parts_by_hand import kit_inputs
from tests.kit.test_bends import BRAKE

T = 2.0
FLOOR = "sump floor"


def inputs(*plates, **more):
    return replace(kit_inputs(), etched=False, nests=False, patch_plates=plates, **more)


def box_body(*walls, **more):
    return body_of(plan("sump", box(0, 300, 0, 200), 120), sheet=T, walls=walls, **more)


def patch(panel=FLOOR, at=(150, 100, -120), width=90, height=60, corner=15, fit="lapped", name="hatch"):
    return PatchPlate(name, panel, frozen_array(np.array(at) * MM), width * MM, height * MM, corner * MM, fit)


def part(kit, name):
    return next(each for each in kit.parts if each.name == name)


@pytest.mark.expected_from(
    "closed form", "a rectangle with round corners: area w h - (4 - pi) r2, girth 2 (w + h) - (8 - 2 pi) r"
)
@pytest.mark.parametrize(("w", "h", "r"), [(90, 60, 15), (60, 60, 30), (40, 120, 3)])
def test_rounded_rectangle(w, h, r):
    outline = rounded_rectangle(0.1, -0.2, w * MM, h * MM, r * MM)
    girth = 2 * (w + h) - (8 - 2 * math.pi) * r
    assert outline_length(outline) / MM == pytest.approx(girth, abs=1e-9)
    from sumpwright.kit.metal import chords

    shape = shapely.Polygon(chords(outline, 1e-8))
    assert shape.area / MM**2 == pytest.approx(w * h - (4 - math.pi) * r * r, abs=0.01)
    assert shapely.is_ccw(shape.exterior)


@pytest.mark.expected_from(
    "closed form", "opening 90 x 60 R15 and a plate 12 mm larger all round lying on the floor's outer skin"
)
def test_a_lapped_plate_on_the_floor():
    plain, kit = solve(inputs(), box_body()), solve(inputs(patch()), box_body())
    over = overlap_of(T * MM)
    assert over == pytest.approx(12 * MM)
    floor, plate = part(kit, FLOOR), part(kit, "hatch")
    opening = 90 * 60 - (4 - math.pi) * 15**2
    lost = (metal_of(part(plain, FLOOR)).area - metal_of(floor).area) / MM**2
    assert lost == pytest.approx(opening, abs=2.0)  # arcs as chords
    covered = 114 * 84 - (4 - math.pi) * 27**2
    assert metal_of(plate).area / MM**2 == pytest.approx(covered, abs=3.0)
    # The plate's drawn side is one more thickness down.
    assert plate.frame.origin[2] / MM == pytest.approx(-120 - 2 * T, abs=1e-9)
    seam = kit.patches.placed[0]
    girth = 2 * (114 + 84) - (8 - 2 * math.pi) * 27
    assert seam.length / MM == pytest.approx(girth, abs=0.05)
    assert kit.weld_length - plain.weld_length == pytest.approx(seam.length, abs=1e-9)
    grown = kit.mass - plain.mass
    assert grown == pytest.approx((covered - opening) * MM**2 * T * MM * inputs().density, rel=1e-3)


@pytest.mark.expected_from("property", "closed with the plate on, open without it, and never overlapping")
@pytest.mark.parametrize("fit", ["lapped", "let in"])
def test_the_rebuilt_pan_closes_with_its_plate_and_not_without(fit):
    body = box_body()
    kit = solve(inputs(patch(fit=fit)), body)
    assert not kit.rebuild.refused, kit.rebuild.why
    assert kit.rebuild.escapes == 0
    assert kit.rebuild.overlap < 1e-15
    bare = [each for each in kit.parts if each.name != "hatch"]
    report = measure(body, bare, 1, rays=20_000)
    assert report.refused
    assert report.escapes > 0


@pytest.mark.expected_from("property", "no opening nearer to a seam, a boss or a wall than the rule says")
@pytest.mark.parametrize(
    ("plate", "walls", "fittings", "word"),
    [
        (patch(at=(60, 100, -120)), (), (), "too near"),
        (patch(panel="no such wall"), (), (), "no panel called"),
        (patch(at=(150, 100, -60)), (), (), "does not lie on"),
        (patch(), (upright("A", (150, 0), (150, 200)),), (), "inner wall"),
        (
            patch(),
            (),
            (Fitting("drain", "drain", frozen_array(np.array([0.215, 0.1, -0.12])), "M18x1.5", 0.028),),
            "too near",
        ),
    ],
)
def test_what_has_no_room_is_not_drawn(plate, walls, fittings, word):
    made = inputs(plate)
    kit = solve(made, box_body(*walls, fittings=fittings))
    assert not kit.patches.placed
    assert all(each.name != "hatch" for each in kit.parts)
    assert all(not each.cut_outs for each in kit.parts if each.name == FLOOR)
    failing = [f for f in check(made, kit).findings if f.code == "KIT-95"]
    assert [f.verdict for f in failing] == [Verdict.FAILS]
    assert word in failing[0].says


@pytest.mark.expected_from(
    "closed form", "half of 90, 12 of lap and 10 bare: 67 mm from the edge fits, less does not"
)
def test_the_room_is_measured_from_the_plates_own_edge():
    # The floor is 300 mm long; half of 90, 12 of lap and 10 bare leave 67 mm from the edge.
    assert apart_of(T * MM) == pytest.approx(10 * MM)
    fits = solve(inputs(patch(at=(67.1, 100, -120))), box_body())
    not_so = solve(inputs(patch(at=(66.4, 100, -120))), box_body())
    assert fits.patches.placed
    assert not_so.patches.trouble


@pytest.mark.expected_from("property", "a panel that is bent with others keeps its opening, with true arcs")
def test_an_opening_in_a_bent_panel():
    body = box_body()
    bent = made_inputs(etched=False, folder=BRAKE, patch_plates=(patch(),))
    kit = solve(bent, body)
    panel = next(each for each in kit.parts if each.folds and FLOOR in each.name)
    assert kit.patches.placed[0].panel == panel.name
    assert not kit.rebuild.refused, kit.rebuild.why
    assert len(panel.cut_outs) == 1
    assert np.count_nonzero(panel.cut_outs[0].bulges) == 4
    girth = 2 * (90 + 60) - (8 - 2 * math.pi) * 15
    assert outline_length(panel.cut_outs[0]) / MM == pytest.approx(girth, abs=0.05)
    assert any(joint.part_a == panel.name and joint.kind == "patch plate" for joint in kit.joints)


@pytest.mark.expected_from("property", "the plate and its panel carry the same number at their seam")
def test_match_marks_on_plate_and_panel():
    kit = solve(replace(inputs(patch()), etched=True), box_body())
    number = str(1 + next(k for k, joint in enumerate(kit.joints) if joint.kind == "patch plate"))
    for name in (FLOOR, "hatch"):
        assert number in {mark.words for mark in part(kit, name).marks if mark.kind == "match"}
    assert any(mark.kind == "name" for mark in part(kit, "hatch").marks)


@pytest.mark.expected_from("property", "same input, same parts")
def test_it_repeats():
    one, other = solve(inputs(patch()), box_body()), solve(inputs(patch()), box_body())
    for a, b in zip(one.parts, other.parts, strict=True):
        assert np.array_equal(a.outline.points, b.outline.points)
