"""Dipstick truth, drained pockets and heights on pans whose answers can be worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import DipstickTube
from sumpwright.findings import Verdict
from sumpwright.oil import LevelCurve, OilInputs
from sumpwright.oil.check import check
from sumpwright.oil.dipstick import StickPath, mark_on_stick, reading_at
from sumpwright.oil.drain import drained, up_at
from sumpwright.oil.heights import lowest_of_sweep
from sumpwright.oil.model import CrankSweep, Port
from sumpwright.oil.properties import swelling
from sumpwright.oil.reading import surface_middle
from sumpwright.oil.solve import solve
from sumpwright.outputs.words import fill
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.oil.oil_shapes import LEVEL, body_of, box, stick, sump_pan, surface_of

UP = frozen_array(LEVEL)
STANDING = EnginePlacement()
WANTS = OilInputs(4e-3, 1e-3, None, 0.5e-3, 0.0, UP, placement=STANDING)


@pytest.mark.expected_from(
    "closed form", "a box 300 x 200 mm: a stick d from the middle moves d tan(slope) / cos on a sloping floor"
)
def test_sloping_floor_by_hand() -> None:
    tube = stick((0.05, 0.1, 0.1), (0.05, 0.1, -0.1), 0.19)
    result = solve(WANTS, body_of(box(0.3, 0.2, 0.1), tube))
    truth = result.stick_truth
    assert truth is not None
    assert truth.best_place == pytest.approx((0.15, 0.1, result.level_full), abs=1e-9)
    assert truth.off_best == pytest.approx(0.1)
    # Nose up: the oil runs to the rear (x small), where the stick is; it reads too full by 100 mm x tan.
    assert truth.per_degree_nose == pytest.approx(0.1 * math.tan(math.radians(1.0)), rel=1e-6)
    assert truth.per_degree_lean == pytest.approx(0.0, abs=1e-12)
    shifts = {
        (round(math.degrees(s.nose_up)), round(math.degrees(s.lean_right))): s.shift for s in truth.slopes
    }
    assert shifts[(4, 0)] == pytest.approx(0.1 * math.tan(math.radians(4.0)), rel=1e-6)
    assert shifts[(-2, 0)] == pytest.approx(-0.1 * math.tan(math.radians(2.0)), rel=1e-6)
    assert shifts[(0, 0)] == 0.0
    # Running oil still up: 0.5 L on 0.06 m2.
    assert truth.drains_in == pytest.approx(0.5e-3 / 0.06)


@pytest.mark.expected_from(
    "closed form",
    "1 L between marks is 16.7 mm in the box; 2 degrees move it 3.5 mm at 100 mm from the middle",
)
def test_slope_finding() -> None:
    for stop, wants, verdict in (
        (0.05, WANTS, Verdict.HOLDS),
        (0.01, replace(WANTS, low_below_full=0.3e-3), Verdict.FAILS),
    ):
        body = body_of(box(0.3, 0.2, 0.1), stick((stop, 0.1, 0.1), (stop, 0.1, -0.1), 0.19))
        report = check(wants, body, solve(wants, body))
        (found,) = [f for f in report.findings if f.code == "OIL-11"]
        assert found.verdict is verdict
        fill(found.says, found.figures, "mm")
        fill(found.do, found.figures, "in")


@pytest.mark.expected_from("closed form", "a tube with one bend: level leg lengths added up by hand")
def test_bent_tube() -> None:
    # 100 mm straight down from z = 200, then 45 degrees forward and down.
    axis = np.array([1.0, 0.0, -1.0]) / math.sqrt(2.0)
    tube = DipstickTube(
        stop=frozen_array([0.05, 0.1, 0.2]),
        axis=frozen_array(axis),
        stick_length=0.35,
        bends=frozen_array([[0.05, 0.1, 0.1]]),
    )
    path = StickPath.of(tube)
    assert path.at(0.1) == pytest.approx([0.05, 0.1, 0.1])
    assert path.at(0.1 + 0.05 * math.sqrt(2)) == pytest.approx([0.1, 0.1, 0.05])
    assert reading_at(0.15, tube, UP) == pytest.approx(0.05)
    assert reading_at(-0.04, tube, UP) == pytest.approx(0.1 + 0.14 * math.sqrt(2))
    mark = mark_on_stick("full", 1e-3, -0.04, tube, surface_of(box(0.3, 0.2, 0.1)), UP)
    assert mark.place == pytest.approx((0.19, 0.1, -0.04))
    assert mark.from_tip == pytest.approx(0.35 - 0.1 - 0.14 * math.sqrt(2))
    straight = stick((0.05, 0.1, 0.2), (0.05, 0.1, 0.0), 0.35)
    assert reading_at(-0.04, straight, UP) == pytest.approx(0.24)


@pytest.mark.expected_from(
    "closed form", "litres poured at 15 degC, read at 100 degC: 6.6 % more on 0.06 m2 (API MPMS 11.1)"
)
def test_read_hot() -> None:
    tube = stick((0.15, 0.1, 0.1), (0.15, 0.1, -0.1), 0.19)
    body = body_of(box(0.3, 0.2, 0.1), tube)
    cold, hot = solve(WANTS, body), solve(replace(WANTS, read_at=373.15), body)
    rise = 4e-3 * (swelling(870.0, 288.15, 373.15) - 1.0) / 0.06
    assert hot.swell_to_reading == pytest.approx(1.0665, abs=1e-4)
    assert cold.marks[0].from_stop - hot.marks[0].from_stop == pytest.approx(rise)
    assert hot.marks[0].volume == cold.marks[0].volume == pytest.approx(4e-3)


@pytest.mark.expected_from(
    "property", "the middle of the surface is where a small turn moves the level least"
)
def test_surface_middle_of_an_odd_section() -> None:
    rng = np.random.default_rng(61)
    surface = surface_of(sump_pan())
    up = np.array([0.1, -0.05, 1.0])
    curve = LevelCurve.prepare(surface, up / np.linalg.norm(up))
    level = curve.level_for(4.2e-3)
    middle = surface_middle(curve, level)
    assert float(middle @ curve.up) == pytest.approx(level)
    for _ in range(5):
        turned = curve.up + 1e-5 * rng.normal(size=3)
        turned /= np.linalg.norm(turned)
        other = LevelCurve.prepare(surface, turned).level_for(4.2e-3)
        assert float(turned @ middle) == pytest.approx(other, abs=1e-9)


@pytest.mark.expected_from(
    "closed form",
    "a 100 x 80 x 10 mm pocket holds 80 mL; 10 mm over the run to its crest is the fall that empties it",
)
def test_drained_pocket_by_hand() -> None:
    solid = box(0.3, 0.2, 0.1) + box(0.1, 0.08, 0.11).translate((0.15, 0.05, 0.0)) + box(0.05, 0.05, 0.14)
    answers = drained(body_of(solid, drain=(0.02, 0.02, 0.0)), STANDING, UP)
    level, nose_up, nose_down = answers
    assert level.words == "level"
    assert level.left_behind == pytest.approx(80e-6)
    (pool,) = level.pools
    assert pool.pool_depth == pytest.approx(0.01)
    assert not pool.at_plug
    assert pool.cure_fall is not None
    run = math.dist(pool.deepest[:2], pool.crest[:2])
    assert pool.cure_fall == pytest.approx(math.atan2(0.01, run))
    # Nose up by 10 degrees: a wedge against the pocket's rear wall, 10 mm deep there; and one behind
    # the plug, 20 mm from the deep corner's rear wall.
    ramp = math.tan(math.radians(10.0))
    assert nose_up.left_behind == pytest.approx(
        0.08 * 0.01**2 / (2 * ramp) + 0.05 * 0.02**2 * ramp / 2, rel=1e-9
    )
    assert nose_down.left_behind > level.left_behind  # the whole floor runs away from the plug
    # Without a place the plug sits at the lowest point; a plug in the pocket leaves the corner full.
    assert drained(body_of(solid), STANDING, UP)[0].left_behind == pytest.approx(80e-6)
    other = drained(body_of(solid, drain=(0.2, 0.09, 0.0)), STANDING, UP)[0]
    assert other.left_behind == pytest.approx(0.05 * 0.05 * 0.04)
    assert drained(body_of(solid, drain=(0.5, 0.1, 0.0)), STANDING, UP) == ()
    assert [one.words for one in drained(body_of(solid), None, UP)] == ["level"]


@pytest.mark.expected_from("closed form", "a plug 20 mm above the deepest floor of its own sloping pocket")
def test_plug_above_the_deepest_point() -> None:
    import manifold3d as m3

    wedge = m3.Manifold.hull_points(
        [[x, y, z] for y in (0.0, 0.2) for x, z in ((0.0, 0.0), (0.3, 0.0), (0.0, -0.1), (0.3, -0.07))]
    )
    body = body_of(wedge, drain=(0.2, 0.1, 0.0))
    (pool,) = drained(body, None, UP)[0].pools
    assert pool.at_plug
    assert pool.pool_depth == pytest.approx(0.02)
    assert pool.pool_volume == pytest.approx(0.2 * 0.2 * 0.02 / 2)
    report = check(WANTS, body, solve(WANTS, body))
    (found,) = [f for f in report.findings if f.code == "OIL-08"]
    assert found.verdict is Verdict.FAILS
    assert found.do.startswith("Put the plug")
    fill(found.says, found.figures, "mm")
    fill(found.do, found.figures, "in")


@pytest.mark.expected_from(
    "closed form",
    "a cylinder along x: lowest line a radius below its axis; pitched: at its lower end",
)
def test_lowest_of_a_swept_cylinder() -> None:
    crank = CrankSweep(frozen_array([0.0, 0.0, 0.1]), frozen_array([0.4, 0.0, 0.1]), 0.06)
    assert lowest_of_sweep(crank, UP)[2] == pytest.approx(0.04)
    lean = up_at(STANDING, 0.0, 0.3)
    assert float(lean @ lowest_of_sweep(crank, lean)) == pytest.approx(0.1 * math.cos(0.3) - 0.06)
    pitch = up_at(STANDING, 0.2, 0.0)
    expected = 0.1 * math.cos(0.2) - 0.06 * math.cos(0.2)
    assert float(pitch @ lowest_of_sweep(crank, pitch)) == pytest.approx(expected)
    assert up_at(EnginePlacement(Attitude(0.3, 0.1, 0.2)), 0.0, 0.0) == pytest.approx(
        EnginePlacement(Attitude(0.3, 0.1, 0.2)).up_in_engine()
    )


@pytest.mark.expected_from("closed form", "3.5 L hot on 0.06 m2 against a crank and ports by hand")
def test_heights_by_hand() -> None:
    body = body_of(box(0.3, 0.2, 0.1))
    crank = CrankSweep(frozen_array([0.0, 0.1, 0.05]), frozen_array([0.3, 0.1, 0.05]), 0.06)
    ports = (
        Port("rear seal", "rear seal", frozen_array([0.0, 0.1, 0.0])),
        Port("front return", "return", frozen_array([0.3, 0.1, -0.06])),
    )
    wants = replace(WANTS, crank=crank, ports=ports, hot=373.15)
    result = solve(wants, body)
    swell = swelling(870.0, 288.15, 373.15)
    sweep, seal, back = result.heights
    assert sweep.height_left == pytest.approx(-0.01 - (-0.1 + 3.5e-3 * swell / 0.06))
    assert seal.height_left == pytest.approx(0.1 - 4e-3 * swell / 0.06)
    assert back.height_left == pytest.approx(0.04 - 3.5e-3 * swell / 0.06)
    report = check(wants, body, result)
    (found,) = [f for f in report.findings if f.code == "OIL-09"]
    assert found.verdict is Verdict.HOLDS
    verdicts = [f.verdict for f in report.findings if f.code == "OIL-10"]
    assert verdicts == [Verdict.HOLDS, Verdict.FAILS]
    deeper = replace(wants, crank=replace(crank, sweep_radius=0.09))
    (found,) = [f for f in check(deeper, body, solve(deeper, body)).findings if f.code == "OIL-09"]
    assert found.verdict is Verdict.FAILS
    for one in report.findings:
        for sentence in (one.says, one.how_sure, one.do):
            fill(sentence, one.figures, "in")
