"""Mitred tubes: wrap templates against r tan formulas, and the tube put together again in space."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.body.pickup_line import PickupLine, TubeCorner, TubeSection, bent_length
from sumpwright.kit.pickup_tube import HOLD, SAW, pickup_tube
from sumpwright.kit.tube_formulas import mitre_rise, round_mitre_rise, tangent_length
from sumpwright.quantities.units import frozen_array

MM = 1e-3
ROUND = TubeSection("round", 0.022, 0.022, 0.0015)
BOX = TubeSection("square", 0.020, 0.030, 0.002)


def line(
    path: list[tuple[float, float, float]], *corners: TubeCorner, section: TubeSection = ROUND
) -> PickupLine:
    points = frozen_array(np.array(path, dtype=float) * MM)
    return PickupLine(section, points, corners, points[-1])


MITRE = TubeCorner("mitre", None)


@pytest.mark.expected_from(
    "closed form", "45 deg cut: tan = 1, so the rise at the outside is the radius; 0 at 90 deg round"
)
def test_formulas_at_angles_known_by_heart() -> None:
    assert mitre_rise(0.0125, math.radians(90)) == pytest.approx(0.0125)
    assert mitre_rise(0.0125, 0.0) == 0.0
    assert round_mitre_rise(0.0125, 0.5 * math.pi, math.radians(90)) == pytest.approx(0.0, abs=1e-15)
    assert round_mitre_rise(0.0125, math.pi, math.radians(60)) == pytest.approx(-0.0125 / math.sqrt(3))
    assert tangent_length(0.030, math.radians(90)) == pytest.approx(0.030)


@pytest.mark.expected_from(
    "closed form", "y = r tan(theta/2) (1 + cos(phi)) over the girth 2 pi r, r = 12.5 mm"
)
@pytest.mark.parametrize("degrees", [20.0, 45.0, 90.0, 120.0])
def test_the_round_template_is_a_cosine(degrees: float) -> None:
    turn = math.radians(degrees)
    end = (100 + 80 * math.cos(turn), 0, 80 * math.sin(turn))
    tube = pickup_tube(line([(0, 0, 0), (100, 0, 0), end], MITRE))
    (cut,) = tube.cuts
    assert cut.turn == pytest.approx(turn)
    assert cut.girth == pytest.approx(2 * math.pi * 12.5 * MM)
    around = cut.curve[:, 0] / (12.5 * MM) - math.pi
    np.testing.assert_allclose(
        cut.curve[:, 1], 12.5 * MM * math.tan(turn / 2) * (1 + np.cos(around)), atol=1e-12
    )
    assert cut.rise == pytest.approx(25 * MM * math.tan(turn / 2))
    first, second = tube.pieces
    assert (first.length, second.length) == pytest.approx((100 * MM, 80 * MM))
    assert first.longest == pytest.approx(100 * MM + 12.5 * MM * math.tan(turn / 2))
    assert (first.start_cut, first.end_cut, second.start_cut, second.end_cut) == (
        "square",
        "cut 1",
        "cut 1",
        "square",
    )
    assert tube.stock_length == pytest.approx(first.longest + second.longest + 2 * (SAW + HOLD))


@pytest.mark.expected_from(
    "property", "every point of the cut lies as near to one centre line as to the other"
)
def test_the_cut_lies_in_the_plane_that_halves_the_corner() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        a, corner, b = rng.uniform(-100, 100, (3, 3))
        tube = pickup_tube(line([tuple(a), tuple(corner), tuple(b)], MITRE))
        u = (corner - a) / np.linalg.norm(corner - a)
        v = (b - corner) / np.linalg.norm(b - corner)
        plane = (u + v) / np.linalg.norm(u + v)
        outer = -(v - (v @ u) * u) / np.linalg.norm(v - (v @ u) * u)
        across = np.cross(u, outer)
        cut = tube.cuts[0]
        for s, height in cut.curve:
            around = s / (12.5 * MM) - math.pi
            off = 12.5 * (math.cos(around) * outer + math.sin(around) * across)
            along = (height - cut.rise / 2) / MM
            assert (off + along * u) @ plane == pytest.approx(0.0, abs=1e-9)


@pytest.mark.expected_from(
    "closed form", "box 24 x 34 mm turned 90 deg in the plane of its 24 mm side: 45 deg over 24 mm"
)
def test_the_box_template_has_straight_sides() -> None:
    tube = pickup_tube(line([(0, 0, 0), (100, 0, 0), (100, 0, 80)], MITRE, section=BOX))
    (cut,) = tube.cuts
    assert cut.girth == pytest.approx(116 * MM)
    assert cut.rise == pytest.approx(24 * MM)
    assert sorted(np.diff([0.0, *cut.folds, cut.girth]) / MM) == pytest.approx([24, 24, 34, 34])
    assert sorted(cut.curve[:, 1] / MM) == pytest.approx([0, 0, 0, 24, 24])
    assert cut.curve[0, 1] == pytest.approx(cut.curve[-1, 1])


@pytest.mark.expected_from(
    "closed form", "a 90 deg corner in n cuts: each turns 90/n, all touch one circle of 1.5 D"
)
@pytest.mark.parametrize("welds", [2, 3, 5])
def test_a_corner_of_several_cuts_touches_its_circle(welds: int) -> None:
    tube = pickup_tube(line([(0, 0, 0), (200, 0, 0), (200, 0, 200)], TubeCorner("mitre", None, welds)))
    radius = 1.5 * 25.0
    middle = np.array([200 - radius, 0, radius])
    assert len(tube.cuts) == welds
    for cut in tube.cuts:
        assert math.degrees(cut.turn) == pytest.approx(90 / welds)
        assert np.linalg.norm(cut.place / MM - middle) == pytest.approx(
            radius / math.cos(math.radians(45 / welds))
        )
    for piece in tube.pieces[1:-1]:
        assert piece.length / MM == pytest.approx(2 * radius * math.tan(math.radians(45 / welds)))
        assert piece.twist == pytest.approx(0.0, abs=1e-9)


@pytest.mark.expected_from(
    "closed form", "length through bends: straight less 2 R tan(a/2) more R a, by bent_length"
)
def test_bends_keep_the_tube_whole_and_lie_where_they_begin() -> None:
    bend = TubeCorner("bend", 0.033)
    asked = line([(0, 0, 0), (100, 0, 0), (100, 0, 90), (100, 80, 90)], bend, bend)
    tube = pickup_tube(asked)
    (piece,) = tube.pieces
    assert not tube.cuts
    assert piece.length == pytest.approx(bent_length(asked.runs(), asked.turns(), asked.corners)[0])
    first, second = piece.bends
    assert first.along == pytest.approx((100 - 33) * MM)
    assert second.along == pytest.approx(first.along + 33 * MM * math.pi / 2 + (90 - 66) * MM)
    assert abs(math.degrees(second.twist)) == pytest.approx(90)


@pytest.mark.expected_from(
    "closed form", "two right-angled mitres: U, Z, and a quarter turn out of the plane"
)
@pytest.mark.parametrize(
    ("last", "twist"),
    [((0, 0, 80), 0.0), ((200, 0, 80), 180.0), ((100, 90, 80), 90.0), ((100, -90, 80), -90.0)],
)
def test_the_twist_between_two_cuts(last: tuple[float, float, float], twist: float) -> None:
    tube = pickup_tube(line([(0, 0, 0), (100, 0, 0), (100, 0, 80), last], MITRE, MITRE))
    # Along +z: the outside of the first cut looks to +x; of the second, away from where it goes.
    assert abs(math.degrees(tube.pieces[1].twist)) == pytest.approx(abs(twist), abs=1e-9)
    if abs(twist) == 90.0:
        assert math.degrees(tube.pieces[1].twist) == pytest.approx(-twist)


@pytest.mark.expected_from("property", "a straight line has no cut and one piece")
def test_a_straight_tube_is_one_piece() -> None:
    tube = pickup_tube(line([(0, 0, 0), (50, 0, 0), (100, 0, 0)], MITRE))
    assert len(tube.pieces) == 1
    assert not tube.cuts
    assert tube.pieces[0].length == pytest.approx(0.1)
