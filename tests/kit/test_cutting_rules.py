import math

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.geometry import Circle, FlatFrame, Outline
from sumpwright.kit import FlatPart, StockSheet
from sumpwright.kit.cutting_rules import cutting_findings, fits_on
from sumpwright.kit.flange import flange_part
from sumpwright.kit.flange_holes import flange_holes
from sumpwright.quantities.units import frozen_array
from tests.kit.made_bodies import cutter, face_parts, kit_inputs, simple_body

FRAME = FlatFrame(frozen_array([0.1, 0.2, -0.3]), frozen_array([1, 0, 0]), frozen_array([0, -1, 0]))


def outline(points):
    return Outline(frozen_array(points), frozen_array(np.zeros(len(points))))


def plate(points=((0, 0), (0.1, 0), (0.1, 0.06), (0, 0.06)), holes=(), cut_outs=(), name="plate"):
    return FlatPart(
        name, 3, outline(points), tuple(outline(c) for c in cut_outs), holes, (), FRAME, 0.003, "5052-H32"
    )


def judged(*parts, **inputs):
    found = {}
    for finding in cutting_findings(kit_inputs(**inputs), parts):
        found.setdefault(finding.code, []).append(finding)
    return found


def test_a_whole_kit_holds():
    body = simple_body()
    inputs = kit_inputs()
    flange = flange_part(inputs, body, flange_holes(inputs, body))
    found = cutting_findings(inputs, (flange, *face_parts(body.cavity)))
    assert [f.verdict for f in found] == [Verdict.HOLDS] * len(found)
    assert [f.code for f in found] == ["KIT-40", "KIT-41", "KIT-42", "KIT-43"]


@pytest.mark.expected_from("closed form", "1.5 mm hole where 3 mm is the least")
def test_small_hole():
    (finding,) = judged(plate(holes=(Circle(0.03, 0.03, 0.0015, "w1"),)))["KIT-40"]
    assert finding.verdict is Verdict.FAILS
    assert finding.where == "plate, hole w1"
    assert (finding.value, finding.limit) == pytest.approx((0.0015, 0.003))
    # the place is in the engine frame: y down the page is the engine's left
    assert finding.place == pytest.approx((0.13, 0.17, -0.3))


def test_breaches_of_one_part_are_said_together():
    holes = tuple(Circle(0.02 + 0.02 * k, 0.03, 0.0028 - 0.0001 * k, f"w{k}") for k in range(3))
    (finding,) = judged(plate(holes=holes))["KIT-40"]
    assert finding.where == "plate, holes w0, w1, w2"
    assert "hole w2" in finding.says


@pytest.mark.expected_from("closed form", "fibre laser in 3 mm: 3 mm usual, 0.7 x 3 = 2.1 mm possible")
def test_small_holes_are_a_question_before_they_fail():
    assert judged(plate(holes=(Circle(0.03, 0.03, 0.0022),)))["KIT-40"][0].verdict is Verdict.CLOSE
    assert judged(plate(holes=(Circle(0.03, 0.03, 0.0020),)))["KIT-40"][0].verdict is Verdict.FAILS


@pytest.mark.expected_from("closed form", "hole of 6 mm, centre 7 mm from the edge: 4 mm left, 4.5 wanted")
def test_hole_too_near_the_edge():
    (finding,) = judged(plate(holes=(Circle(0.007, 0.03, 0.006),)))["KIT-41"]
    assert finding.verdict is Verdict.FAILS
    assert finding.value == pytest.approx(0.004)


@pytest.mark.expected_from("closed form", "two 6 mm holes 8 mm apart leave 2 mm")
def test_web_between_holes():
    found = judged(plate(holes=(Circle(0.03, 0.03, 0.006, "a"), Circle(0.038, 0.03, 0.006, "b"))))
    (finding,) = found["KIT-42"]
    assert finding.verdict is Verdict.FAILS
    assert finding.value == pytest.approx(0.002, abs=3e-6)
    assert finding.place == pytest.approx((0.134, 0.17, -0.3), abs=2e-4)


@pytest.mark.expected_from("closed form", "cut-out 2 mm inside the edge")
def test_web_beside_a_cut_out():
    window = ((0.02, 0.002), (0.02, 0.03), (0.05, 0.03), (0.05, 0.002))
    (finding,) = judged(plate(cut_outs=(window,)))["KIT-42"]
    assert finding.value == pytest.approx(0.002)


@pytest.mark.expected_from("closed form", "a neck 2 mm wide between two notches")
def test_neck_of_the_outline():
    waist = (
        (0, 0), (0.04, 0), (0.04, 0.029), (0.06, 0.029), (0.06, 0), (0.1, 0),
        (0.1, 0.06), (0.06, 0.06), (0.06, 0.031), (0.04, 0.031), (0.04, 0.06), (0, 0.06),
    )  # fmt: skip
    (finding,) = judged(plate(waist))["KIT-42"]
    assert finding.value == pytest.approx(0.002, rel=0.05)
    assert finding.place == pytest.approx((0.15, 0.17, -0.3), abs=0.011)


@pytest.mark.expected_from("property", "corners of 30 degrees and more are no necks")
@pytest.mark.parametrize("degrees", [30, 60, 90, 120])
def test_plain_corners_are_no_necks(degrees):
    a = math.radians(degrees)
    tip = ((0, 0), (0.1, 0), (0.1 * math.cos(a), 0.1 * math.sin(a)))
    assert "KIT-42" not in judged(plate(tip))


@pytest.mark.expected_from("closed form", "square inside corner, radius r: r (sqrt 2 - 1) of metal stays")
@pytest.mark.parametrize(
    ("process", "left", "verdict"),
    [("fibre laser", 0.1, Verdict.HOLDS), ("waterjet", 0.5, Verdict.HOLDS), ("plasma", 0.8, Verdict.CLOSE)],
)
def test_inside_corners(process, left, verdict):
    ell = ((0, 0), (0.1, 0), (0.1, 0.03), (0.05, 0.03), (0.05, 0.06), (0, 0.06))
    (finding,) = judged(plate(ell), cutter=cutter(process=process))["KIT-43"]
    assert finding.value == pytest.approx(left * 1e-3 * (math.sqrt(2) - 1))
    assert finding.verdict is verdict
    assert "KIT-43" not in judged(plate(), cutter=cutter(process=process))


@pytest.mark.expected_from(
    "closed form", "100 x 60 part on a 110 x 90 sheet with 10 mm margins: 90 x 70 free"
)
def test_part_larger_than_the_sheet():
    small = (StockSheet("5052-H32", 0.003, 0.110, 0.090),)
    (finding,) = judged(plate(), stock=small)["KIT-44"]
    assert finding.verdict is Verdict.FAILS
    assert finding.where == "plate, whole part"
    larger = (*small, StockSheet("5052-H32", 0.003, 0.080, 0.120))
    assert judged(plate(), stock=larger)["KIT-44"][0].verdict is Verdict.HOLDS
    assert "KIT-44" not in judged(plate(), stock=(StockSheet("mild", 0.003, 0.01, 0.01),))


@pytest.mark.expected_from(
    "closed form", "a 100 x 5 strip in a square of side s fits diagonally from (100 + 5)/sqrt 2"
)
def test_fits_on_turned():
    strip = np.array([(0, 0), (100, 0), (100, 5), (0, 5)]) / 1000
    side = 0.105 / math.sqrt(2)
    assert fits_on(strip, side * 1.0001, side * 1.0001)
    assert not fits_on(strip, side * 0.999, side * 0.999)


def test_findings_are_complete():
    parts = (plate(holes=(Circle(0.007, 0.03, 0.002, "x"),)),)
    for finding in cutting_findings(kit_inputs(), parts):
        gaps = {figure.name for figure in finding.figures}
        for text in (finding.says, finding.how_sure, finding.do):
            assert all(piece.split("}")[0] in gaps for piece in text.split("{")[1:])
        assert finding.verdict is Verdict.HOLDS or finding.do
