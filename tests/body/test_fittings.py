"""Bosses, tubes, posts, stone guard and jacking plate as shapes, worked by hand on a box."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.body import PanBody
from sumpwright.body.check import check
from sumpwright.body.fittings import Fitting, Jacking, StandOff, StoneGuard, on_face, under
from sumpwright.body.formulas import fall_of_line
from sumpwright.body.guard import guard_shape, guard_triangles
from sumpwright.body.outside import inside_parts, outside_parts
from sumpwright.body.surroundings import DrainPlug, Surroundings
from sumpwright.findings import Finding, Verdict
from sumpwright.geometry.triangle_distance import open_sides
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan
from tests.body.hand_walls import upright

UP = np.array([0.0, 0.0, 1.0])


def mm(*values: float) -> np.ndarray:
    return frozen_array(np.array(values) * MM)


def pan(**more: object) -> PanBody:
    """300 x 200 x 120 mm deep, sheet 2 mm."""
    return body_of(plan("sump", box(0, 300, 0, 200), 120), **more)


def said(body: PanBody, code: str) -> list[Finding]:
    return [finding for finding in check(body).findings if finding.code == code]


@pytest.mark.expected_from("closed form", "a point 10 mm off a face stands on it, one 40 mm off does not")
def test_the_face_that_a_point_is_set_on() -> None:
    body = pan()
    assert body.cavity is not None
    found = on_face(body.cavity, mm(100, 210, -60))
    assert found is not None
    assert found.face.name == "sump left wall"
    assert found.place == pytest.approx(mm(100, 200, -60))
    assert on_face(body.cavity, mm(100, 240, -60)) is None
    low = under(body.cavity, mm(150, 100))
    assert low is not None
    assert low.place[2] == pytest.approx(-0.120)
    assert under(body.cavity, mm(400, 100)) is None


@pytest.mark.expected_from("closed form", "100 mm down on 100 mm across are 45 deg; a level hose has none")
def test_the_fall_of_a_return() -> None:
    assert fall_of_line(mm(0, 0, 100), mm(100, 0, 0), UP) == pytest.approx(math.radians(45.0))
    assert fall_of_line(mm(0, 0, 0), mm(100, 0, 0), UP) == pytest.approx(0.0)
    # Leaned 45 deg the same hose stands upright or lies level.
    leaned = np.array([-math.sqrt(0.5), 0.0, math.sqrt(0.5)])
    assert fall_of_line(mm(0, 0, 100), mm(100, 0, 0), leaned) == pytest.approx(math.radians(90.0))


@pytest.mark.expected_from("property", "a return that climbs fails, one without an upper end cannot be said")
def test_what_is_said_of_a_return() -> None:
    at = mm(100, 200, -40)
    for upper, verdict in (
        (mm(100, 260, 40), Verdict.HOLDS),
        (mm(100, 260, -30), Verdict.FAILS),
        (mm(100, 260, -60), Verdict.FAILS),
        (None, Verdict.CANNOT_SAY),
    ):
        back = Fitting("turbo return", "return", at, "plain", 0.022, comes_from=upper)
        (finding,) = said(pan(fittings=(back,)), "BODY-50")
        assert finding.verdict is verdict


@pytest.mark.expected_from(
    "closed form", "a 10 mm tube 60 mm from a wall in its way has none; ending 15 mm short of it has 10 mm"
)
def test_a_tube_that_meets_an_inner_wall_or_leaves_the_pan() -> None:
    wall = upright("A", (150, 0), (150, 200))

    def tube(*points: tuple[float, float, float]) -> PanBody:
        line = frozen_array(np.array(points) * MM)
        asked = Fitting(
            "tube", "extraction tube", mm(60, 200, -60), "plain", 0.01, inside=line, inside_diameter=0.01
        )
        return pan(walls=(wall,), fittings=(asked,))

    (through,) = said(tube((60, 150, -60), (250, 100, -60)), "BODY-51")
    assert through.verdict is Verdict.FAILS
    assert "inner wall A" in through.says
    (short,) = said(tube((60, 100, -60), (134.25, 100, -60)), "BODY-51")
    assert short.verdict is Verdict.HOLDS
    # The wall is 2 mm thick, the tube's end cut square: 150 - 1 - 134.25 along it, less no skin ahead.
    assert short.value is not None
    assert 0.009 < short.value < 0.016
    (out,) = said(tube((60, 150, -60), (60, 100, -130)), "BODY-51")
    assert out.verdict is Verdict.FAILS
    assert "leaves the oil space" in out.says


def guard(**more: object) -> StoneGuard:
    feet = frozen_array(np.array([[40, 40], [40, 160], [260, 100]]) * MM)
    asked: dict[str, object] = {
        "stand_off": 0.015,
        "guard_thickness": 0.004,
        "material": "mild",
        "beyond": 0.0,
        "feet": feet,
        "foot_diameter": 0.020,
        "foot_thread": "M8",
        "drain_opening": None,
    }
    return StoneGuard(**{**asked, **more})  # type: ignore[arg-type]


@pytest.mark.expected_from(
    "published", "ISO 273: 9 mm for M8; a guard 304 x 204 mm, 2 + 15 + 4 mm under the oil side"
)
def test_the_guard_hangs_under_the_floor_with_its_holes() -> None:
    body = pan(guard=guard(drain_opening=0.050), drain=mm(150, 100, -120))
    assert body.cavity is not None
    shape = guard_shape(body, body.cavity)
    assert shape is not None
    assert np.ptp(np.asarray(shape.outline), axis=0) == pytest.approx([0.304, 0.204])
    assert shape.frame.origin[2] == pytest.approx(-0.141)
    assert sorted(round(hole[2] / MM, 3) for hole in shape.holes) == [9, 9, 9, 50]
    assert [post.long for post in shape.posts] == pytest.approx([0.015] * 3)
    assert shape.shares_covered == 1.0
    assert body.inputs.guard is not None
    triangles = guard_triangles(shape, body.inputs.guard)
    assert open_sides(triangles) == 0
    a, b, c = (triangles[:, k] for k in range(3))
    volume = float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6.0
    sides = 0.5 * 32 * math.sin(2 * math.pi / 32) / 4.0  # area of a drawn hole over its diameter squared
    area = 0.304 * 0.204 - sides * (3 * 0.009**2 + 0.050**2)
    assert volume == pytest.approx(area * 0.004, rel=1e-9)
    low = min(float(part.triangles[:, :, 2].min()) for part in outside_parts(body, body.cavity))
    assert low == pytest.approx(-0.141)


@pytest.mark.expected_from("closed form", "a plug 14 mm long under a guard 15 mm off leaves 1 mm, wanted 5")
def test_what_stands_out_under_a_guard() -> None:
    plug = Surroundings(plug=DrainPlug(0.017, 0.014, 0.026))
    drain = mm(150, 100, -120)
    (shut,) = said(pan(guard=guard(), drain=drain, surroundings=plug), "BODY-52")
    assert shut.verdict is Verdict.FAILS
    assert shut.value == pytest.approx(0.001)
    (through,) = said(pan(guard=guard(drain_opening=0.05), drain=drain, surroundings=plug), "BODY-52")
    assert through.verdict is Verdict.HOLDS


@pytest.mark.expected_from("property", "a foot beside the floor is named, the others stand")
def test_a_foot_that_finds_no_floor() -> None:
    feet = frozen_array(np.array([[40, 40], [295, 100]]) * MM)
    body = pan(guard=guard(feet=feet))
    assert body.cavity is not None
    shape = guard_shape(body, body.cavity)
    assert shape is not None
    assert shape.off_floor == (2,)
    assert len(shape.posts) == 1


@pytest.mark.expected_from("property", "what is set on the pan is met by keep-outs outside or inside it")
def test_everything_set_on_counts_outside_or_inside() -> None:
    post = StandOff("tray post", mm(50, 100, -120), "inside", 0.014, 0.020, "M6")
    sensor = Fitting(
        "sensor",
        "sensor",
        mm(0, 100, -60),
        "M18x1.5",
        0.028,
        stands_out=0.030,
        inside=mm(30, 100, -60)[None],
        inside_diameter=0.012,
    )
    jack = Jacking("load plate", mm(150, 100), 0.080, 0.005, 2000.0)
    body = pan(stand_offs=(post,), fittings=(sensor,), jacking=jack)
    assert body.cavity is not None
    outside = {part.name: part for part in outside_parts(body, body.cavity)}
    inside = {part.name: part for part in inside_parts(body, body.cavity)}
    assert outside["sensor"].triangles[:, :, 0].min() == pytest.approx(-0.032)
    assert outside["jacking plate"].triangles[:, :, 2].min() == pytest.approx(-0.127)
    assert inside["tray post"].triangles[:, :, 2].max() == pytest.approx(-0.100)
    assert inside["sensor"].triangles[:, :, 0].max() == pytest.approx(0.030)
