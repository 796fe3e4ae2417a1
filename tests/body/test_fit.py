"""Clearances, ground, tool access and the way off, against closed forms and other libraries."""

from __future__ import annotations

import math
from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest

from sumpwright.body import BodyInputs, PanBody
from sumpwright.body.access import free_arc
from sumpwright.body.check import check
from sumpwright.body.clearance import clearances, least_over
from sumpwright.body.formulas import slope_beneath
from sumpwright.body.keep_outs import box as box_out
from sumpwright.body.keep_outs import cylinder, facets_for, in_engine_frame, swept_profile
from sumpwright.body.outside import chorded, outside_parts
from sumpwright.body.solve import solve
from sumpwright.body.surroundings import (
    Clearance,
    DrainPlug,
    EngineMovement,
    Fit,
    Ground,
    KeepOut,
    Lies,
    MovesWith,
    Socket,
    Surroundings,
    Tools,
    Wrench,
)
from sumpwright.findings import Finding, Verdict
from sumpwright.geometry import Outline
from sumpwright.geometry.triangle_distance import LeastGap, open_sides, winding_number
from sumpwright.outputs.words import fill, finding_words
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, inputs_of, pattern_round, plan

TRAY = plan("tray", box(0, 400, 0, 200), 60)
SUMP = plan("sump", box(150, 400, 0, 200), 140)


def mm(*values: float) -> np.ndarray:
    return np.array(values) * MM


def keep(
    name: str,
    triangles: np.ndarray,
    *,
    lies: Lies = "outside the pan",
    moves_with: MovesWith = "vehicle",
    wanted: float = 10.0,
    **more: object,
) -> KeepOut:
    return KeepOut(name, moves_with, lies, frozen_array(triangles), wanted * MM, **more)  # type: ignore[arg-type]


def fitted(around: Surroundings, **more: object) -> tuple[PanBody, Fit]:
    body = body_of(TRAY, SUMP, surroundings=around, **more)
    assert body.fit is not None
    return body, body.fit


def gap_to(out: KeepOut, movement: EngineMovement | None = None) -> Clearance:
    body = body_of(TRAY, SUMP)
    around = Surroundings(keep_outs=(out,), movement=movement)
    body = replace(body, inputs=replace(body.inputs, surroundings=around))
    assert body.cavity is not None
    (found,) = clearances(body, body.cavity)
    return found


def of_code(body: PanBody, code: str) -> list[Finding]:
    return [finding for finding in check(body).findings if finding.code == code]


# --- shapes ----------------------------------------------------------------------------


@pytest.mark.expected_from("closed form", "volume of box, prism and round bar; facets stand out 0.02 mm")
def test_keep_out_shapes() -> None:
    def volume(triangles: np.ndarray) -> float:
        return float(
            np.einsum("ij,ij->i", triangles[:, 0], np.cross(triangles[:, 1], triangles[:, 2])).sum() / 6
        )

    shapes = {
        "box": (box_out(mm(10, 20, 30), mm(40, -20, 50)), 30 * 40 * 20e-9),
        "prism": (
            swept_profile(mm(0, 0, 40, 0, 0, 30).reshape(3, 2), mm(5, 6, 7), np.eye(3), 0.1),
            0.5 * 40 * 30 * 100e-9,
        ),
        "prism the other way round": (
            swept_profile(mm(0, 0, 0, 30, 40, 0).reshape(3, 2), mm(5, 6, 7), np.eye(3), 0.1),
            0.5 * 40 * 30 * 100e-9,
        ),
    }
    for triangles, expected in shapes.values():
        assert open_sides(triangles) == 0
        assert volume(triangles) == pytest.approx(expected, rel=1e-12)
    bar = cylinder(mm(0, 0, 0), mm(30, 40, 0), 0.02)
    assert open_sides(bar) == 0
    n = facets_for(0.02)
    assert volume(bar) == pytest.approx(n * 0.02**2 * math.tan(math.pi / n) * 0.05, rel=1e-9)
    assert 0.02 / math.cos(math.pi / n) - 0.02 <= 0.00002 + 1e-12
    moved = in_engine_frame(bar, np.eye(3), mm(0, 0, 100))
    assert moved[..., 2].min() == pytest.approx(0.1 + bar[..., 2].min(), abs=1e-12)


@pytest.mark.expected_from("closed form", "tangents of an arc's parts meet at r / cos(half a part)")
def test_chords_lie_outside_the_arc() -> None:
    round_it = Outline(frozen_array(mm(50, 0, -50, 0).reshape(2, 2)), frozen_array([1.0, 1.0]))
    points = chorded(round_it)
    distance = np.hypot(*points.T)
    assert distance.min() == pytest.approx(0.05, abs=1e-12)
    assert distance.max() == pytest.approx(0.05 / math.cos(math.radians(2.5)), rel=1e-12)


# --- gaps ------------------------------------------------------------------------------


@pytest.mark.expected_from("closed form", "bar below, boxes beside and off a corner; sheet 2 mm, weld 1 mm")
def test_gaps_by_hand() -> None:
    below = gap_to(keep("axle", cylinder(mm(250, -300, -180), mm(250, 500, -180), 0.015)))
    # The bar crosses the floor's edges, where the weld stands proud; its facets stand out a little.
    assert below.part == "corner welds"
    assert below.gap == pytest.approx((180 - 15 - 140 - 2 - 1) * MM, abs=3e-5)
    assert below.on_pan[2] == pytest.approx(-140 * MM, abs=1e-12)
    assert below.posture == "as it stands"
    beside = gap_to(keep("rack", box_out(mm(430, 80, -120), mm(460, 120, -100))))
    assert (beside.part, beside.gap) == ("sump front wall", pytest.approx(28 * MM, abs=1e-12))
    corner = gap_to(keep("bracket", box_out(mm(430, 240, -200), mm(460, 260, -180))))
    expected = math.sqrt(30**2 + 40**2 + 40**2) - 2 - 1
    assert (corner.part, corner.gap) == ("corner welds", pytest.approx(expected * MM, abs=1e-12))
    flange = gap_to(keep("bell housing", box_out(mm(440, 50, -5), mm(470, 60, 5))))
    # Holes stand 16 mm beside the opening (and one more), the flange 11 mm beyond them.
    assert flange.part == "flange"
    assert flange.gap == pytest.approx((440 - 417 - 11) * MM, abs=1e-9)


@pytest.mark.expected_from("published", "manifold3d: min_gap of the bare cavity and random hulls")
def test_gaps_as_manifold3d() -> None:
    rng = np.random.default_rng(5)
    plain = replace(inputs_of(TRAY, SUMP), sheet=0.002)
    cavity = solve(plain, pattern_round(0, 400, 0, 200)).cavity
    assert cavity is not None
    mesh = m3.Mesh64(np.array(cavity.vertices), np.array(cavity.triangles, dtype=np.uint64))
    bare = m3.Manifold(mesh)
    for _ in range(8):
        points = (
            rng.normal(size=(12, 3)) * 0.04 + mm(275, 100, -140) + np.append(rng.normal(size=2), -1) * 0.2
        )
        hull = m3.Manifold.hull_points(points)
        expected = bare.min_gap(hull, 1.0)
        if expected < 0.02:
            continue
        out = hull.to_mesh64()
        triangles = np.asarray(out.vert_properties)[:, :3][np.asarray(out.tri_verts)]
        found = gap_to(keep("lump", triangles))
        if found.part in ("flange", "corner welds") or found.part.startswith("bolt"):
            assert found.gap <= expected - 0.002 + 1e-12
        else:
            assert found.gap == pytest.approx(expected - 0.002, abs=1e-12)


@pytest.mark.expected_from("closed form", "M6 head: washer 12 mm, 0.7 d high, under 10 mm of flange")
def test_bolt_heads_and_plug_count() -> None:
    body, _ = fitted(
        Surroundings(ground=Ground(0.1), plug=DrainPlug(0.017, 0.014, 0.026)),
        drain=frozen_array(mm(300, 100, 0)),
    )
    assert body.cavity is not None
    parts = {part.name: part for part in outside_parts(body, body.cavity)}
    head = parts["bolt head h1"].triangles.reshape(-1, 3)
    assert head[:, 2].min() == pytest.approx(-(10 + 0.7 * 6) * MM, abs=1e-12)
    # Sixteen sides drawn from outside: 2 % too large at most.
    assert 12 * MM <= np.ptp(head[:, 0]) <= 12 * 1.02 * MM
    plug = parts["drain plug"].triangles.reshape(-1, 3)
    assert plug[:, 2].min() == pytest.approx(-(140 + 2 + 14) * MM, abs=1e-12)
    assert parts["sump floor"].skin == 0.002


@pytest.mark.expected_from("closed form", "inside, from the oil side: crank over floor, pump beside wall")
def test_gaps_inside() -> None:
    crank = keep(
        "crank",
        cylinder(mm(20, 100, 60), mm(380, 100, 60), 0.09),
        lies="inside the pan",
        moves_with="engine",
    )
    found = gap_to(crank)
    assert not found.swallowed
    # Lowest 30 below the rail, 30 above the tray's floor; its ends stand 20 beside the end walls.
    assert found.gap == pytest.approx(20 * MM, abs=1e-12)
    pump = keep(
        "pump", box_out(mm(170, 20, -100), mm(230, 60, 20)), lies="inside the pan", moves_with="engine"
    )
    assert gap_to(pump).gap == pytest.approx(20 * MM, abs=1e-12)
    outside = keep(
        "pump", box_out(mm(20, 20, -100), mm(60, 60, -70)), lies="inside the pan", moves_with="engine"
    )
    assert gap_to(outside).swallowed


def test_runs_into_swallowed_and_open() -> None:
    body, fit = fitted(
        Surroundings(
            keep_outs=(
                keep("rack", box_out(mm(300, 80, -170), mm(330, 120, -120))),
                keep("tunnel", box_out(mm(-900, -900, -900), mm(1500, 1500, 900))),
                keep("ghost", box_out(mm(300, 80, -100), mm(330, 120, -90))),
                keep("skin", box_out(mm(500, 80, -170), mm(530, 120, -120))[1:]),
            )
        )
    )
    rack, tunnel, ghost, skin = fit.clearances
    assert rack.gap <= 0.0
    assert not rack.swallowed
    assert tunnel.swallowed
    assert ghost.swallowed
    assert skin.open_sides > 0
    verdicts = {f.where.split(",")[0]: f for f in of_code(body, "BODY-30")}
    assert verdicts["rack"].verdict is Verdict.FAILS
    assert verdicts["tunnel"].verdict is Verdict.FAILS
    assert verdicts["ghost"].verdict is Verdict.FAILS
    assert verdicts["skin"].verdict is Verdict.CLOSE
    assert "holes" in verdicts["skin"].how_sure
    assert verdicts["skin"].do.startswith("close the holes")


@pytest.mark.expected_from("closed form", "u95 = 1.96 u against a gap of 12 mm and 10 mm wanted")
def test_doubt_in_the_place_of_a_keep_out() -> None:
    def verdict(u: float | None) -> Verdict:
        out = keep("rack", box_out(mm(414, 80, -120), mm(460, 120, -100)), u=u)
        (finding,) = of_code(fitted(Surroundings(keep_outs=(out,)))[0], "BODY-30")
        assert finding.u95 == (None if u is None else pytest.approx(1.959964 * u, rel=1e-6))
        sure = fill(finding.how_sure, finding.figures, "mm")
        assert ("was not said" if u is None else f"off by {1.959964e3 * u:.3g} mm") in sure
        return finding.verdict

    assert verdict(None) is Verdict.HOLDS
    assert verdict(0.0005) is Verdict.HOLDS
    assert verdict(0.003) is Verdict.CLOSE


# --- postures --------------------------------------------------------------------------


@pytest.mark.expected_from("closed form", "an axle that comes 40 mm up; drawn as a hull and searched along")
def test_travel() -> None:
    bar = box_out(mm(240, -300, -215), mm(260, 500, -185))
    for is_convex in (True, False):
        found = gap_to(keep("axle", bar, travel=((0.0, 0.0, 0.04),), is_convex=is_convex))
        # The search along may stop a quarter millimetre short.
        assert found.gap == pytest.approx((185 - 40 - 143) * MM, abs=1e-12 if is_convex else 2.5e-4)
        assert "over its travel" in found.posture


@pytest.mark.expected_from("closed form", "a pan corner turned about the crank by 3 deg, 4 mm of mount")
def test_engine_rock() -> None:
    axis = EngineMovement(
        frozen_array(mm(0, 100, 80)), frozen_array([1.0, 0.0, 0.0]), math.radians(3.0), 0.004
    )
    wall = box_out(mm(200, 220, -400), mm(300, 240, -80))
    found = gap_to(keep("frame rail", wall), axis)
    still = gap_to(keep("frame rail", wall))
    angle = math.radians(3.0)
    # Oil-side corner at the left of the sump floor: 100 left of the axis, 220 below it.
    leftmost = 100 + 100 * math.cos(angle) + 220 * math.sin(angle)
    by_hand = 220 - leftmost - 2 - 1 - 4  # sheet, weld, mounts
    assert found.gap == pytest.approx(by_hand * MM, abs=2.6e-4)
    assert found.gap < still.gap
    # Its top goes over to the right, and what hangs below it swings out to the left.
    assert found.posture == "engine rocked to the right"
    with_engine = replace(keep("starter", wall), moves_with="engine")
    assert gap_to(with_engine, axis).gap == pytest.approx(still.gap, abs=1e-12)


@pytest.mark.expected_from("property", "search by bounds finds the least of a wavy function to its step")
def test_search_by_bounds() -> None:
    def gap_at(at: tuple[float, ...]) -> LeastGap:
        value = 0.05 + 0.02 * math.sin(7.0 * at[0]) + 0.01 * math.cos(11.0 * at[1])
        return LeastGap(value, np.zeros(3), np.zeros(3), 0, 0)

    found, at = least_over(gap_at, ((-1.0, 1.0, 0.14), (0.0, 1.0, 0.11)))
    assert found.gap == pytest.approx(0.02, abs=2.6e-4)
    assert gap_at(at).gap == found.gap
    single, _ = least_over(gap_at, ((0.3, 0.3, 0.14), (0.2, 0.2, 0.11)))
    assert single.gap == gap_at((0.3, 0.2)).gap


# --- ground ----------------------------------------------------------------------------


@pytest.mark.expected_from("closed form", "262 mm less 140 of sump, 2 of sheet, 1 of weld; 45 of bump")
def test_ground_level() -> None:
    placement = EnginePlacement(Attitude(), 0.0, 0.0, 0.262)
    ground = Ground(0.11, 0.045, 0.08)
    body, fit = fitted(Surroundings(placement=placement, ground=ground))
    assert fit.ground is not None
    assert fit.ground.lowest == pytest.approx(0.262 - 0.142 - 0.001, abs=1e-12)  # a weld stands 1 mm proud
    assert fit.ground.at_bump == pytest.approx(0.262 - 0.143 - 0.045, abs=1e-12)
    assert [f.verdict for f in of_code(body, "BODY-33")] == [Verdict.HOLDS]
    assert [f.verdict for f in of_code(body, "BODY-34")] == [Verdict.FAILS]
    unknown, _ = fitted(Surroundings(ground=ground))
    assert [f.verdict for f in of_code(unknown, "BODY-33")] == [Verdict.CANNOT_SAY]
    assert "engine.datum_height" in of_code(unknown, "BODY-33")[0].do


@pytest.mark.expected_from("closed form", "leaned 15 deg to the right, by the rotation of ISO 8855")
def test_ground_leaned() -> None:
    lean = math.radians(15.0)
    placement = EnginePlacement(Attitude(lean_right=lean), 0.0, 0.0, 0.30)
    _, fit = fitted(Surroundings(placement=placement, ground=Ground(0.11)))
    assert fit.ground is not None
    # Right side down: the corner y = 0, z = -140 lies lowest.
    expected = 0.30 - 0.140 * math.cos(lean) - 0.003
    assert fit.ground.lowest == pytest.approx(expected, abs=1e-12)
    assert fit.ground.place[1] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.expected_from("closed form", "each side asin(r/D) - atan((r - h)/run), tangents to the tyres")
def test_crest_between_two_slopes() -> None:
    placement = EnginePlacement(Attitude(), 1.0, 0.0, 0.25)
    ground = Ground(0.1, None, None, 2.5, 2.525, 0.3, math.radians(30.0))
    # Sump of 150..400 mm at X = 1.15..1.40; midway is X = 1.275: both ends are equally far from it.
    body, fit = fitted(Surroundings(placement=placement, ground=ground))
    assert fit.ground is not None
    assert fit.ground.crest is not None
    h = 0.25 - 0.143
    total = 0.0
    for run in (2.525 - 1.4, 1.4 - 0.025):
        total += math.asin(0.3 / math.hypot(run, 0.3 - h)) - math.atan2(0.3 - h, run)
    assert fit.ground.crest.angle == pytest.approx(total, rel=1e-9)
    (finding,) = of_code(body, "BODY-35")
    assert finding.verdict is Verdict.FAILS
    assert fit.ground.approach is fit.ground.departure is None


@pytest.mark.expected_from(
    "closed form",
    "a 3-4-5 triangle: point 0.5 m from the axle, tyre 0.3 m, so asin(0.6) - atan2(0.3, 0.4) = 0",
)
@pytest.mark.expected_from(
    "closed form", "ISO 612 (from memory): plane on the tyre through the first point touched"
)
def test_ramps_ahead_and_behind() -> None:
    assert slope_beneath(np.array([0.4]), np.array([0.3]), 0.3)[0] == pytest.approx(0.0, abs=1e-15)
    asked = {"wanted_approach": math.radians(20.0), "wanted_departure": math.radians(20.0)}
    # Sump of 150..400 mm at X = 1.15..1.40 ends 1 m ahead of the front axle, 0.107 above the ground.
    ahead = EnginePlacement(Attitude(), 1.0, 0.0, 0.25)
    body, fit = fitted(
        Surroundings(placement=ahead, ground=Ground(0.1, None, None, 2.5, 0.401, 0.3, **asked))
    )
    assert fit.ground is not None
    assert fit.ground.approach is not None
    run, drop = 1.4 + 0.001 - 0.401, 0.3 - 0.107
    theta = fit.ground.approach.angle
    # The point lies on the plane r below the axle, turned by theta: drop cos + run sin = r.
    on_plane = fit.ground.approach.place[0] + 1.0 - 0.401
    assert on_plane == pytest.approx(run, abs=2e-3)
    assert drop * math.cos(theta) + on_plane * math.sin(theta) == pytest.approx(0.3, abs=1e-9)
    assert fit.ground.departure is fit.ground.crest is None
    (finding,) = of_code(body, "BODY-36")
    assert finding.verdict is Verdict.FAILS
    assert theta == pytest.approx(math.radians(6.4), abs=math.radians(0.5))
    (finding,) = of_code(body, "BODY-37")
    assert finding.verdict is Verdict.HOLDS
    # The same the other way about: the rear axle ahead of the whole pan by as much.
    behind = EnginePlacement(Attitude(), 0.0, 0.0, 0.25)
    _, fit = fitted(Surroundings(placement=behind, ground=Ground(0.1, None, None, 2.5, 3.65, 0.3, **asked)))
    assert fit.ground is not None
    assert fit.ground.departure is not None
    left = fit.ground.departure
    assert drop * math.cos(left.angle) + (1.15 - left.place[0]) * math.sin(left.angle) == pytest.approx(
        0.3, abs=1e-9
    )
    unknown, _ = fitted(Surroundings(ground=Ground(0.1, None, None, 2.5, 0.4, 0.3, **asked)))
    assert [f.verdict for f in of_code(unknown, "BODY-36")] == [Verdict.CANNOT_SAY]


# --- tools -----------------------------------------------------------------------------

SHORT = Socket(0.010, 0.014, 0.025, 0.0128, 0.08)
LONG_WRENCH = Wrench(0.010, 0.022, 0.006, 0.13, 0.012, math.radians(30.0))


def access_with(pattern_beside: float, tools: Tools, sump_slope: float = 0.0, **more: object) -> PanBody:
    tray = plan("tray", box(0, 400, 0, 200), 60)
    sump = plan("sump", box(150, 400, 0, 200), 140, slope_deg=sump_slope)
    inputs = inputs_of(tray, sump, surroundings=Surroundings(tools=tools), **more)
    return solve(inputs, pattern_round(0, 400, 0, 200, beside=pattern_beside))


@pytest.mark.expected_from("closed form", "14 mm socket 16 mm beside the oil side, 2 mm sheet: 7 mm")
def test_socket_beside_a_wall() -> None:
    body = access_with(16.0, Tools((SHORT,), (), False))
    assert body.fit is not None
    rooms = {one.name: one for one in body.fit.access}
    # On the near sides the pattern stands 16 mm off, on the far sides 17.
    assert rooms["hole h4"].room == pytest.approx(7 * MM, abs=1e-9)
    assert rooms["hole h4"].tool == "socket"
    (finding,) = of_code(body, "BODY-40")
    assert finding.verdict is Verdict.HOLDS


@pytest.mark.expected_from("closed form", "8 mm beside the wall a 14 mm socket lacks 1 mm")
def test_set_back_and_wrench() -> None:
    tight = access_with(8.0, Tools((SHORT,), (), False))
    failed = of_code(tight, "BODY-42")
    assert failed
    assert all("set the wall back" in finding.do for finding in failed)
    assert tight.fit is not None
    third = next(one for one in tight.fit.access if one.name == "hole h3")
    # 6.4 mm of extension pass the weld round the tray's floor, which stands 3 mm out.
    assert third.room == pytest.approx((8 - 6.4 - 3) * MM, abs=1e-9)
    assert third.set_back == pytest.approx(1.4 * MM, abs=1e-9)
    assert third.blocked_by == "corner welds"
    narrow = replace(LONG_WRENCH, head_width=0.012)
    both = access_with(8.0, Tools((SHORT,), (narrow,), False))
    assert not of_code(both, "BODY-42")
    assert both.fit is not None
    assert {one.tool for one in both.fit.access} >= {"wrench"}


def test_missing_tool_and_drain_plug() -> None:
    body = access_with(16.0, Tools((replace(SHORT, across_flats=0.013),), (), False))
    found = of_code(body, "BODY-41")
    assert found
    assert all(finding.verdict is Verdict.CANNOT_SAY for finding in found)
    around = Surroundings(
        tools=Tools((replace(SHORT, across_flats=0.017, outside=0.024),), (), True),
        plug=DrainPlug(0.017, 0.014, 0.026),
        keep_outs=(keep("cross-member", box_out(mm(200, -200, -230), mm(400, 400, -200))),),
    )
    body, fit = fitted(around, drain=frozen_array(mm(300, 100, 0)))
    plug = next(one for one in fit.access if one.name == "drain plug")
    assert plug.tool == ""
    assert plug.blocked_by == "cross-member"


# --- the way off -----------------------------------------------------------------------


@pytest.mark.expected_from("closed form", "a cross-member that the sump has to go behind")
def test_the_way_off() -> None:
    free = keep("bearer", box_out(mm(-300, -200, -200), mm(900, -60, -60)))
    _, fit = fitted(Surroundings(keep_outs=(free,)))
    assert fit.withdrawal is not None
    assert fit.withdrawal.is_clear
    blocked = keep("cross-member", box_out(mm(200, -500, -260), mm(300, 700, -200)))
    body, fit = fitted(Surroundings(keep_outs=(blocked,)))
    assert fit.withdrawal is not None
    assert not fit.withdrawal.is_clear or fit.withdrawal.way[1][0].startswith("to the")
    both = (
        keep("front cross-member", box_out(mm(380, -500, -260), mm(480, 700, -200))),
        keep("stub", box_out(mm(-200, 60, -260), mm(-150, 140, -100))),
    )
    body, fit = fitted(Surroundings(keep_outs=both, studs=0.02))
    assert fit.withdrawal is not None
    assert fit.withdrawal.is_clear
    words = [word for word, _ in fit.withdrawal.way]
    assert words[0] == "straight off the rail"
    assert "to the rear" in words
    (finding,) = of_code(body, "BODY-45")
    assert finding.verdict is Verdict.HOLDS
    assert "to the rear" in finding_words(finding, "mm").says


def test_unreadable_surface_and_nothing_known() -> None:
    body, _ = fitted(Surroundings(unreadable=(("turbo", "the file holds no triangle"),)))
    (finding,) = of_code(body, "BODY-31")
    assert finding.verdict is Verdict.CANNOT_SAY
    assert body_of(TRAY).fit is None
    inputs: BodyInputs = inputs_of(TRAY)
    assert inputs.surroundings.keep_outs == ()


def test_every_sentence_of_the_fit_can_be_printed() -> None:
    around = Surroundings(
        placement=EnginePlacement(Attitude(lean_right=0.2), 1.0, 0.0, 0.3),
        keep_outs=(
            keep("ax{le}", cylinder(mm(250, -300, -180), mm(250, 500, -180), 0.015), travel=((0, 0, 0.03),)),
            keep("rack", box_out(mm(300, 80, -170), mm(330, 120, -120)), u=0.002, is_hot=True),
        ),
        movement=EngineMovement(frozen_array(mm(0, 100, 80)), frozen_array([1.0, 0.0, 0.0]), 0.03, 0.004),
        ground=Ground(0.1, 0.04, 0.05, 2.4, 2.0, 0.3, 0.4),
        tools=Tools((SHORT,), (LONG_WRENCH,)),
        plug=DrainPlug(0.017, 0.014, 0.026),
    )
    body, _ = fitted(around, drain=frozen_array(mm(300, 100, 0)))
    report = check(body)
    assert {"BODY-30", "BODY-33", "BODY-34", "BODY-35", "BODY-45"} <= {f.code for f in report.findings}
    for finding in report.findings:
        for units in ("mm", "in"):
            words = finding_words(finding, units)  # type: ignore[arg-type]
            assert "{" not in words.says + words.do + words.how_sure
    assert any(one.key == "shop.tools" for one in report.assumptions)


@pytest.mark.expected_from("published", "a box: inside is known by its six planes")
def test_winding_number_both_loops() -> None:
    triangles = box_out(mm(0, 0, 0), mm(100, 100, 100))
    points = np.random.default_rng(1).uniform(-0.05, 0.15, (40, 3))
    inside = ((points > 0.0) & (points < 0.1)).all(axis=1)
    np.testing.assert_allclose(winding_number(points, triangles), inside.astype(float), atol=1e-9)
    for point, expected in zip(points[:5], inside[:5], strict=True):
        assert winding_number(point[None], triangles)[0] == pytest.approx(float(expected), abs=1e-9)


# --- the ratchet's handle ---------------------------------------------------------------


@pytest.mark.expected_from("closed form", "free directions in a row of k at 5 deg swing (k - 1) times 5 deg")
def test_free_arc_runs_round_the_start() -> None:
    ring = [False] * 72
    assert free_arc(ring) == 0.0
    for k in (70, 71, 0, 1, 30):
        ring[k] = True
    assert free_arc(ring) == pytest.approx(math.radians(15.0))
    assert free_arc([True] * 72) == pytest.approx(2 * math.pi)


@pytest.mark.expected_from(
    "closed form",
    "bars 24 mm apart: a handle 10 mm wide and 100 long swings asin(7 / 95) = 4.2 deg either way, no click",
)
def test_a_handle_between_bars() -> None:
    ratchet = replace(SHORT, handle_length=0.100, handle_width=0.010, click=math.radians(5.0))
    _, fit = fitted(Surroundings(tools=Tools((ratchet,), (), False)))
    far = min(fit.access, key=lambda one: (one.place[0], one.place[1]))
    # Its handle passes 20 mm under the tray and ends before the sump: all round.
    assert far.free_swing == pytest.approx(2 * math.pi)
    low, high = np.asarray(far.place) - mm(200, 100, 90), np.asarray(far.place) + mm(200, 100, -70)
    right, left = far.place[1] - 12 * MM, far.place[1] + 12 * MM
    bars = (
        keep("left bar", box_out(np.array([low[0], left, low[2]]), high)),
        keep("right bar", box_out(low, np.array([high[0], right, high[2]]))),
    )
    body, fit = fitted(Surroundings(tools=Tools((ratchet,), (), False), keep_outs=bars))
    one = next(each for each in fit.access if each.name == far.name)
    assert one.tool == ""
    assert one.blocked_by in ("left bar", "right bar")
    assert [f for f in of_code(body, "BODY-42") if f.where == far.name]
    fine = replace(ratchet, handle_length=0.050)
    body, fit = fitted(Surroundings(tools=Tools((fine,), (), False), keep_outs=bars))
    one = next(each for each in fit.access if each.name == far.name)
    # asin(7 / 45) = 8.9 deg either way: 10 deg free on the 5 deg grid, two clicks a stroke.
    assert one.free_swing == pytest.approx(math.radians(10.0))
    (said,) = of_code(body, "BODY-40")
    figures = {figure.name: figure.value for figure in said.figures}
    assert (figures["clicks"], figures["strokes"]) == (2.0, 36.0)


# --- bad surfaces, and many triangles ---------------------------------------------------


def ball(rings: int, middle: tuple[float, float, float], radius: float) -> np.ndarray:
    """4 rings^2 triangles of a ball, millimetres."""
    down, round_ = np.linspace(0, np.pi, rings + 1), np.linspace(0, 2 * np.pi, 2 * rings + 1)
    around, across = np.outer(np.sin(down), np.cos(round_)), np.outer(np.sin(down), np.sin(round_))
    flat = np.stack([around, across, np.outer(np.cos(down), np.ones_like(round_))], axis=-1)
    points = (np.array(middle) + radius * flat) * MM
    a, b, c, d = points[:-1, :-1], points[1:, :-1], points[1:, 1:], points[:-1, 1:]
    return np.concatenate(
        [np.stack([a, b, c], 2).reshape(-1, 3, 3), np.stack([a, c, d], 2).reshape(-1, 3, 3)]
    )


@pytest.mark.expected_from(
    "closed form",
    "two balls that run through each other: the gap is that of the nearer one; none is swallowed",
)
def test_a_surface_that_crosses_itself_keeps_its_gap() -> None:
    near, far = ball(24, (300, -150, -100), 30), ball(24, (330, -160, -100), 30)
    alone, both = gap_to(keep("ball", near)), gap_to(keep("balls", np.concatenate([near, far])))
    # The middle is 150 mm beside the right wall, sheet 2 mm: 150 - 30 - 2, facets inside the ball.
    assert alone.gap == pytest.approx(118 * MM, abs=0.3 * MM)
    assert both.gap == pytest.approx(alone.gap, abs=1e-12)
    assert not both.swallowed
    assert both.open_sides == 0
    assert gap_to(keep("open ball", near[40:])).open_sides > 0


@pytest.mark.expected_from("property", "what lies in the oil space of a pan, or round the whole pan, is told")
def test_swallowed_either_way() -> None:
    assert gap_to(keep("pebble", ball(8, (300, 100, -100), 20))).swallowed
    assert gap_to(keep("house", ball(8, (200, 100, -60), 900))).swallowed


@pytest.mark.expected_from("property", "equal rows of corners are one corner, whatever their number")
def test_open_sides_of_many_triangles() -> None:
    many = ball(120, (0, 0, 0), 100)
    assert len(many) == 4 * 120**2
    assert open_sides(many) == 0
    assert open_sides(many[1:]) == 3 or open_sides(many[1:]) == 2  # a triangle at the pole has two sides


@pytest.mark.expected_from(
    "closed form", "a pan 142 mm deep, its datum 100 mm up, stands 42 mm in the ground"
)
def test_a_pan_in_the_ground_is_said_so() -> None:
    placement = EnginePlacement(datum_height=0.100)
    body, _ = fitted(Surroundings(placement=placement, ground=Ground(0.050, 0.030, 0.020)))
    for code in ("BODY-33", "BODY-34"):
        (finding,) = of_code(body, code)
        assert finding.verdict is Verdict.FAILS
        assert "-" not in fill(finding.says, finding.figures, "mm")
        assert "ground" in finding.says
