"""The cover map against closed forms, an independent solid library and properties."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import PanBody, Pickup
from sumpwright.findings import Verdict
from sumpwright.motion.better_place import best_in_plan
from sumpwright.motion.check import check
from sumpwright.motion.formulas import ellipse_radius, mouth_rise, surface_angle
from sumpwright.motion.loads import (
    acceleration_loads,
    acceleration_words,
    envelope_of,
    one_pull,
    pull_of_accelerations,
    pull_of_slopes,
    rim,
    slope_words,
)
from sumpwright.motion.model import Loads, MotionInputs
from sumpwright.motion.solve import solve
from sumpwright.oil import LevelCurve, OilInputs, carried_up
from sumpwright.oil.model import CrankSweep, Port
from sumpwright.oil.solve import solve as solve_oil
from sumpwright.outputs.words import fill
from sumpwright.quantities import STANDARD_GRAVITY as G
from sumpwright.quantities import Attitude, EnginePlacement, Load
from sumpwright.quantities.units import frozen_array
from sumpwright.tables.uses import use_named, uses
from tests.oil.oil_shapes import LEVEL, body_of, box, cavity_of, sump_pan

UP = frozen_array(LEVEL)
STANDING = EnginePlacement()


def oil_inputs(low: float, hold_up: float | None = 0.0) -> OilInputs:
    """Wants that leave ``low`` less the hold-up in the pan at the low mark."""
    return OilInputs(low + 1e-3, 1e-3, None, hold_up, 0.0, UP)


def run(body: PanBody, wants: OilInputs, loads: Loads, placement: EnginePlacement = STANDING):
    wants = replace(wants, up=placement.up_in_engine())
    oil = solve_oil(wants, body)
    inputs = MotionInputs(placement, loads)
    return inputs, oil, solve(inputs, body, oil)


@pytest.mark.expected_from(
    "closed form", "box 600 x 250 mm, 5 L at 0.5 g: wetted length 282.8 mm, wall height 141.4 mm"
)
def test_wedge_of_oil_over_a_mouth_by_hand() -> None:
    # The oil goes to the right in a left turn: x across the box is y of the engine here.
    body = body_of(box(0.25, 0.6, 0.3), pickup=Pickup(frozen_array([0.1, 0.05, -0.29]), 0.0))
    _, _, result = run(body, oil_inputs(5e-3), Loads(left_turn=0.5 * G, right_turn=1e-9))
    cover = result.accelerations
    assert cover is not None
    rings, headings = cover.shape
    outermost = (rings - 1) * headings + headings // 4
    assert cover.across[outermost] == pytest.approx(0.5 * G)
    assert cover.pull[outermost] == pytest.approx(math.hypot(1.0, 0.5) * G)
    # Depth at the mouth, measured upright, is 141.4 - 0.5 * 50 - 10 mm; along the pull it is that times cos.
    upright = math.sqrt(2 * (5e-3 / 0.25) * 0.5) - 0.5 * 0.05 - 0.01
    assert math.sqrt(2 * (5e-3 / 0.25) * 0.5) == pytest.approx(0.1414, abs=1e-4)
    assert cover.cover[outermost] == pytest.approx(upright * math.cos(math.atan(0.5)), rel=1e-9)


@pytest.mark.expected_from(
    "published", "manifold3d: trim by plane and volume in a bisection, an independent solid library"
)
def test_random_loads_against_a_solid_library() -> None:
    import manifold3d as m3

    rng = np.random.default_rng(51)
    body = body_of(sump_pan(), pickup=Pickup(frozen_array([0.1, 0.1, -0.12]), 0.03))
    placement = EnginePlacement(Attitude(0.3, 0.1, 0.2))
    _, _, result = run(body, oil_inputs(3.5e-3), Loads("slicks", nose_up=0.2, lean_right=0.3), placement)
    assert body.cavity is not None
    open_top = carried_up(body.cavity)
    solid = m3.Manifold(m3.Mesh64(np.array(open_top.vertices), np.array(open_top.triangles, dtype=np.uint64)))
    for cover in (result.accelerations, result.slopes):
        assert cover is not None
        for k in rng.integers(0, len(cover.cover), 8):
            up = cover.up[k]
            low, high = -1.0, 6.0
            for _ in range(60):
                level = 0.5 * (low + high)
                if solid.trim_by_plane(tuple(-up), -level).volume() < 3.5e-3:
                    low = level
                else:
                    high = level
            axis = placement.up_in_engine()
            rise = 0.015 * math.sqrt(1.0 - float(up @ axis) ** 2)
            expected = level - float(up @ np.array([0.1, 0.1, -0.12])) - rise
            assert cover.cover_shared[k] == pytest.approx(expected, abs=1e-9)
            assert cover.cover[k] <= cover.cover_shared[k]


@pytest.mark.expected_from(
    "property", "the lid of a closed cavity holds oil at the mouth that an open top lets go"
)
def test_the_lid_is_optimistic() -> None:
    body = body_of(box(0.3, 0.3, 0.1), pickup=Pickup(frozen_array([0.1, 0.15, -0.09]), 0.0))
    _, _, result = run(body, oil_inputs(7.5e-3), Loads(braking=1.4 * G, accelerating=1e-9))
    cover = result.accelerations
    assert cover is not None
    worst = int(np.argmin(cover.cover))
    assert body.cavity is not None
    closed = LevelCurve.prepare(body.cavity, cover.up[worst]).level_for(7.5e-3)
    assert closed - float(cover.up[worst] @ body.inputs.pickup.mouth) > 0.0 > cover.cover[worst]
    assert cover.above_rail[worst] > 0.0


@pytest.mark.expected_from("property", "mirroring pan and loads mirrors the map")
def test_left_and_right_mirror() -> None:
    mirrored = sump_pan().mirror((0.0, 1.0, 0.0))
    loads = Loads(left_turn=0.9 * G, right_turn=0.6 * G, braking=0.8 * G, accelerating=0.4 * G)
    other = replace(loads, left_turn=loads.right_turn, right_turn=loads.left_turn)
    _, _, one = run(
        body_of(sump_pan(), pickup=Pickup(frozen_array([0.1, 0.05, -0.12]), 0.03)), oil_inputs(3e-3), loads
    )
    _, _, two = run(
        body_of(mirrored, pickup=Pickup(frozen_array([0.1, -0.05, -0.12]), 0.03)), oil_inputs(3e-3), other
    )
    assert one.tightest_acceleration is not None
    assert two.tightest_acceleration is not None
    assert one.tightest_acceleration.cover == pytest.approx(two.tightest_acceleration.cover, abs=1e-12)
    assert one.tightest_acceleration.words.replace(
        "left", "right"
    ) == two.tightest_acceleration.words.replace("left", "right")


@pytest.mark.expected_from("property", "turning engine and pan in the vehicle together changes nothing")
def test_turned_engine_sees_the_same_world() -> None:
    """A pan made for an engine turned a quarter left, its attitude undone by the placement."""
    turn = EnginePlacement(Attitude(turned_left=math.pi / 2))
    matrix = turn.attitude.matrix()
    cavity = cavity_of(sump_pan())
    loads = Loads(left_turn=0.9 * G, right_turn=0.6 * G, braking=0.8 * G, accelerating=0.4 * G, nose_up=0.3)
    mouth = np.array([0.1, 0.05, -0.12])
    plain = body_of(sump_pan(), pickup=Pickup(frozen_array(mouth), 0.03))
    in_engine = replace(cavity, vertices=frozen_array(cavity.vertices @ matrix))
    turned = body_of(sump_pan(), pickup=Pickup(frozen_array(mouth @ matrix), 0.03), cavity=in_engine)
    _, _, one = run(plain, oil_inputs(3e-3), loads)
    _, _, two = run(turned, oil_inputs(3e-3), loads, turn)
    assert one.accelerations is not None
    assert two.accelerations is not None
    assert two.accelerations.cover == pytest.approx(one.accelerations.cover, abs=1e-12)


@pytest.mark.expected_from("closed form", "the frames' own matrices, one slope at a time")
def test_slope_pulls_are_those_of_the_frames() -> None:
    placement = EnginePlacement(Attitude(0.4, -0.2, 0.26))
    nose, lean = np.array([0.3, -0.1, 0.0]), np.array([0.2, 0.4, -0.5])
    up, strength = pull_of_slopes(nose, lean, placement)
    for k in range(3):
        expected = one_pull(float(nose[k]), float(lean[k]), placement)
        assert -up[k] * strength[k] == pytest.approx(expected, abs=1e-12)
    up, strength = pull_of_accelerations(np.array([3.0]), np.array([-2.0]), placement)
    expected = Load(forward=3.0, left=-2.0).effective_gravity(placement)
    assert -up[0] * strength[0] == pytest.approx(expected, abs=1e-12)


@pytest.mark.expected_from(
    "closed form", "friction ellipse by quarters; 0.5 g turns the surface 26.57 degrees, 1 g 45"
)
def test_ellipse_and_angles() -> None:
    envelope = envelope_of(Loads(left_turn=12.0, right_turn=9.0, braking=10.0, accelerating=5.0))
    assert rim(envelope, 0.0) == pytest.approx(5.0)
    assert rim(envelope, math.pi) == pytest.approx(10.0)
    assert rim(envelope, math.pi / 2) == pytest.approx(12.0)
    assert rim(envelope, -math.pi / 2) == pytest.approx(9.0)
    forward, left = acceleration_loads(envelope)
    ahead = np.where(forward > 0, 5.0, 10.0)
    aside = np.where(left > 0, 12.0, 9.0)
    assert np.max((forward / ahead) ** 2 + (left / aside) ** 2) == pytest.approx(1.0)
    assert ellipse_radius(0.5, 0.0, 5.0) == 0.0
    assert ellipse_radius(math.pi / 2, 0.0, 5.0) == pytest.approx(5.0)
    assert math.degrees(surface_angle(0.5 * G, G)) == pytest.approx(26.565, abs=0.001)
    assert math.degrees(surface_angle(G, G)) == pytest.approx(45.0)
    assert mouth_rise(0.03, math.cos(0.4)) == pytest.approx(0.015 * math.sin(0.4))
    # Steady circle of 30.48 m radius, lap in 11.5 s.
    assert (2 * math.pi / 11.5) ** 2 * 30.48 / G == pytest.approx(0.928, abs=0.001)


@pytest.mark.expected_from(
    "published",
    "ship classification rules, inclination of ship: roll 22.5, pitch 7.5; emergency 22.5, 10 degrees",
)
def test_marine_inclinations() -> None:
    marine, emergency = use_named("marine"), use_named("marine emergency")
    assert marine is not None
    assert emergency is not None
    assert math.degrees(marine.lean_right) == pytest.approx(22.5)
    assert math.degrees(marine.nose_up) == pytest.approx(7.5)
    assert math.degrees(emergency.lean_left) == pytest.approx(22.5)
    assert math.degrees(emergency.nose_down) == pytest.approx(10.0)
    off_road = use_named("off-road")
    assert off_road is not None
    assert math.degrees(off_road.nose_up) == pytest.approx(math.degrees(math.atan(0.6)), abs=1e-3)
    assert math.degrees(off_road.lean_left) == pytest.approx(math.degrees(math.atan(0.4)), abs=1e-3)
    assert use_named("flying") is None
    assert len({use.use for use in uses()}) == len(uses())


def test_words() -> None:
    assert acceleration_words(0.0, 5.0) == "left turn"
    assert acceleration_words(-5.0, -5.0) == "right turn while braking"
    assert acceleration_words(5.0, 0.1) == "accelerating"
    assert acceleration_words(0.0, 0.0) == "standing still"
    assert slope_words(0.1, -0.2) == "nose up and leaned to the left"
    assert slope_words(0.0, 0.0) == "standing level"


def sentences(report) -> None:
    for found in (*report.findings,):
        for sentence in (found.says, found.how_sure, found.do):
            for units in ("mm", "in"):
                fill(sentence, found.figures, units)
    for assumption in report.assumptions:
        fill(assumption.says, assumption.figures, "mm")


@pytest.mark.expected_from(
    "closed form", "a deep square sump with the mouth in its middle holds small loads, not great ones"
)
def test_findings_hold_and_fail() -> None:
    body = body_of(box(0.2, 0.2, 0.14), pickup=Pickup(frozen_array([0.1, 0.1, -0.125]), 0.03))
    mild = Loads("road")
    inputs, oil, result = run(body, oil_inputs(3e-3), mild)
    report = check(inputs, body, oil, result)
    assert {f.verdict for f in report.findings if f.code in ("MOT-01", "MOT-02", "MOT-03")} == {Verdict.HOLDS}
    assert "loads" in [a.key for a in report.assumptions]
    sentences(report)
    inputs, oil, result = run(body, oil_inputs(1.2e-3), Loads("slicks with wings", nose_up=0.9))
    report = check(inputs, body, oil, result)
    assert {f.verdict for f in report.findings if f.code in ("MOT-01", "MOT-02", "MOT-03")} == {Verdict.FAILS}
    sentences(report)
    assert all(not one.is_all for one in result.held_to if one.asked > G)


@pytest.mark.expected_from(
    "closed form",
    "box 200 mm, 80 mm of oil, mouth in the middle 10 mm up: holds 20 mm to (70 - 20 sqrt(1+a^2) = 15 a)",
)
def test_how_far_a_direction_is_held() -> None:
    body = body_of(box(0.2, 0.2, 0.3), pickup=Pickup(frozen_array([0.1, 0.1, -0.29]), 0.03))
    _, _, result = run(
        body,
        oil_inputs(0.04 * 0.08),
        Loads(left_turn=4 * G, right_turn=4 * G, braking=4 * G, accelerating=4 * G),
    )
    # While the floor stays wet everywhere (slope below 80/100) the depth at the middle stays 80 mm.
    by_words = {one.words: one for one in result.held_to}
    held = by_words["left turn"]
    # Beyond it a wedge: depth at the middle is sqrt(2 A t) - 0.1 t with A = 0.2 * 0.08 and t the slope.
    t = held.acceleration / G
    depth = math.sqrt(2 * 0.016 * t) - 0.1 * t if t > 0.8 else 0.08
    cover = (depth - 0.01) / math.hypot(1.0, t) - 0.015 * t / math.hypot(1.0, t)
    assert cover == pytest.approx(0.02, abs=3e-4)
    assert by_words["right turn"].acceleration == pytest.approx(held.acceleration)


@pytest.mark.expected_from("closed form", "two pockets joined by a tray: the other pocket keeps the oil")
def test_a_hump_keeps_oil_from_the_mouth() -> None:
    solid = box(0.1, 0.2, 0.14) + box(0.1, 0.2, 0.14).translate((0.3, 0.0, 0.0)) + box(0.4, 0.2, 0.04)
    body = body_of(solid, pickup=Pickup(frozen_array([0.05, 0.1, -0.12]), 0.01))
    # 1.6 L: 40 mm in each pocket if shared; the far pocket alone takes 2 L to the hump.
    inputs, oil, result = run(body, oil_inputs(1.6e-3), Loads(nose_up=1e-6))
    assert result.slopes is not None
    assert bool(np.all(result.slopes.is_cut_off))
    assert result.tightest_slope is not None
    assert result.tightest_slope.cover_shared == pytest.approx(0.02, abs=1e-5)
    assert result.tightest_slope.cover == pytest.approx(-0.02, abs=1e-5)
    report = check(inputs, body, oil, result)
    (found,) = [f for f in report.findings if f.code == "MOT-02"]
    assert found.verdict is Verdict.FAILS
    assert "hump" in found.do
    assert "ran over freely 20 mm of oil would stand over it" in fill(found.how_sure, found.figures, "mm")
    sentences(report)


@pytest.mark.expected_from(
    "property",
    "missing never counts as holding; a mouth outside is refused; a band of hold-up may be undecided",
)
def test_missing_outside_and_band() -> None:
    body = body_of(box(0.2, 0.2, 0.14))
    inputs, oil, result = run(body, oil_inputs(3e-3), Loads())
    (found,) = check(inputs, body, oil, result).findings
    assert found.verdict is Verdict.CANNOT_SAY
    assert "loads.use" in found.do
    assert "pickup.mouth" in found.do
    outside = body_of(box(0.2, 0.2, 0.14), pickup=Pickup(frozen_array([0.1, 0.1, -0.2]), 0.03))
    inputs, oil, result = run(outside, oil_inputs(3e-3), Loads("road"))
    (found,) = check(inputs, outside, oil, result).findings
    assert found.verdict is Verdict.FAILS
    body = body_of(box(0.2, 0.2, 0.14), pickup=Pickup(frozen_array([0.1, 0.1, -0.085]), 0.0))
    # Fill 4 L: 3 L at the low mark less 0.4 to 1 L leaves 65 or 50 mm; the mouth stands 55 mm up.
    inputs, oil, result = run(body, oil_inputs(3.2e-3, None), Loads(nose_up=0.001))
    report = check(inputs, body, oil, result)
    found = report.findings[0]
    assert found.verdict is Verdict.FAILS
    inputs, oil, result = run(
        body_of(box(0.2, 0.2, 0.14), pickup=Pickup(frozen_array([0.1, 0.1, -0.1]), 0.0)),
        oil_inputs(3e-3, None),
        Loads(nose_up=0.001),
    )
    found = check(inputs, body, oil, result).findings[0]
    assert found.verdict is Verdict.CANNOT_SAY
    assert "oil.hold_up" in found.do


@pytest.mark.expected_from(
    "closed form",
    "the surface of a box turns about its middle: heights of crank and breather on a slope by hand",
)
def test_what_a_slope_drowns() -> None:
    body = body_of(box(0.3, 0.2, 0.3), pickup=Pickup(frozen_array([0.15, 0.1, -0.29]), 0.02))
    crank = CrankSweep(frozen_array([0.02, 0.1, 0.0]), frozen_array([0.28, 0.1, 0.0]), 0.07)
    breather = Port("breather", "breather", frozen_array([0.01, 0.1, -0.13]))
    wants = replace(
        oil_inputs(8e-3, 0.6e-3),
        crank=crank,
        ports=(breather,),
        placement=STANDING,
        poured_at=300.0,
        hot=300.0,
    )
    angle = math.radians(12.0)
    inputs, oil, result = run(body, wants, Loads(nose_up=angle))
    by_kind = {one.kind: one for one in result.nearest}
    surface = {"crank": -0.3 + 8.4e-3 / 0.06, "breather": -0.3 + 9e-3 / 0.06}
    # Nose up the rear goes down: the crank's rear end and the breather at x = 10 mm come nearest.
    c, s = math.cos(angle), math.sin(angle)
    expected = (0.0 - surface["crank"]) * c + (0.02 - 0.15) * s - 0.07 * c
    assert by_kind["crank"].height_left == pytest.approx(expected)
    expected = (-0.13 - surface["breather"]) * c + (0.01 - 0.15) * s
    assert by_kind["breather"].height_left == pytest.approx(expected)
    assert by_kind["breather"].words == "nose up"
    report = check(inputs, body, oil, result)
    drowned = [f for f in report.findings if f.code == "MOT-05"]
    assert [f.verdict for f in drowned] == [Verdict.HOLDS, Verdict.FAILS]
    sentences(report)


@pytest.mark.expected_from("published", "scipy.optimize.linprog (HiGHS): the same search as a linear program")
def test_best_place_against_a_linear_program() -> None:
    from scipy.optimize import linprog

    rng = np.random.default_rng(52)
    for _ in range(5):
        slopes, covers = 0.8 * rng.normal(size=(300, 2)), 0.05 + 0.02 * rng.normal(size=300)
        low, high = np.array([-0.1, -0.2]), np.array([0.4, 0.1])
        place = best_in_plan(slopes, covers, low, high)
        answer = linprog(
            c=[0.0, 0.0, -1.0],
            A_ub=np.column_stack([slopes, np.ones(300)]),
            b_ub=covers,
            bounds=[(low[0], high[0]), (low[1], high[1]), (None, None)],
        )
        reached = float(np.min(covers - slopes @ place))
        # A millimetre off on a slope of at most 3.
        assert reached == pytest.approx(-answer.fun, abs=0.003)
        assert reached <= -answer.fun + 1e-12


@pytest.mark.expected_from("closed form", "a mouth off the middle of a box, held both ways")
def test_the_mouth_is_proposed_into_the_middle() -> None:
    body = body_of(box(0.3, 0.2, 0.2), pickup=Pickup(frozen_array([0.15, 0.04, -0.17]), 0.02))
    inputs, oil, result = run(
        body, oil_inputs(5e-3), Loads(lean_left=0.5, lean_right=0.5, nose_up=0.2, nose_down=0.2)
    )
    assert result.better is not None
    assert result.better.mouth == pytest.approx((0.15, 0.1, -0.17), abs=0.0025)
    report = check(inputs, body, oil, result)
    (proposal,) = report.proposals
    assert proposal.target == "pickup.mouth"
    assert proposal.value == '["150 mm", "100 mm", "-170 mm"]'
    fill(proposal.effect, proposal.figures, "in")
    moved = body_of(box(0.3, 0.2, 0.2), pickup=Pickup(frozen_array(result.better.mouth), 0.02))
    _, _, after = run(moved, oil_inputs(5e-3), inputs.loads)
    assert after.tightest_slope is not None
    assert after.tightest_slope.cover == pytest.approx(result.better.cover)
