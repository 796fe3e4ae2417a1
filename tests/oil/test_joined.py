"""Pools behind inner walls, slots and doors, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from sumpwright.body import PanBody, Pickup
from sumpwright.findings import Verdict
from sumpwright.oil import LevelCurve, OilInputs, carried_up
from sumpwright.oil.check import check
from sumpwright.oil.drain import drained
from sumpwright.oil.joined import nearest_triangle, oil_space
from sumpwright.oil.pools import NO_LINKS, levels_at
from sumpwright.oil.pools_compiled import levels_at_compiled
from sumpwright.oil.solve import solve
from sumpwright.outputs.words import fill
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan
from tests.body.hand_walls import door, roof, slot, upright, window

UP = frozen_array([0.0, 0.0, 1.0])
TRAY = plan("tray", box(0, 400, 0, 200), 60)
SUMP = plan("sump", box(150, 400, 0, 200), 140)
MOUTH = np.array([340, 100, -130]) * MM


def pan(*walls: object, drain: tuple[float, float] | None = (350, 100)) -> PanBody:
    return body_of(
        TRAY,
        SUMP,
        walls=walls,
        pickup=Pickup(frozen_array(MOUTH), 0.0),
        drain=None if drain is None else frozen_array(np.array([*drain, 0.0]) * MM),
    )


@pytest.mark.expected_from("closed form", "a wall 275 mm along: what stands behind its sill, by hand")
@pytest.mark.parametrize(
    ("cut", "left_ml"),
    [
        (window("w", 20, 60, -120, -90), 125 * 200 * 20e-3),  # sill 20 mm above the floor
        (slot("s", 20, 60, -150, -130), 0.0),  # down to the floor
        (door("d", 20, 60, -120, -90, "with normal"), 125 * 200 * 20e-3),  # opens towards the plug
        (door("d", 20, 60, -120, -90, "against normal"), 125 * 200 * 70e-3),  # shut: over the wall's top
    ],
)
def test_oil_behind_a_wall(cut: object, left_ml: float) -> None:
    body = pan(upright("A", (275, 0), (275, 200), cut, top=-70))
    answer = drained(body, None, UP)[0]
    assert answer.left_behind * 1e6 == pytest.approx(left_ml, abs=1e-6)
    if left_ml:
        (pool,) = answer.pools
        assert pool.wall == "A"
        assert pool.face == "sump floor"
        wants = OilInputs(6e-3, 1e-3, None, 0.5e-3, 0.0, UP)
        report = check(wants, body, solve(wants, body))
        (found,) = [f for f in report.findings if f.code == "OIL-08"]
        assert found.verdict is Verdict.FAILS
        assert "drain slot" in found.do
        fill(found.do, found.figures, "mm")


@pytest.mark.expected_from("closed form", "without a plug's place, and with it beyond the wall")
def test_the_side_of_the_plug_decides() -> None:
    wall = upright("A", (275, 0), (275, 200), window("w", 20, 60, -120, -90), top=-70)
    other = drained(pan(wall, drain=(200, 100)), None, UP)[0]
    assert other.left_behind == pytest.approx(125 * 200 * 20e-9)
    assert drained(pan(wall, drain=None), None, UP)[0].left_behind == pytest.approx(125 * 200 * 20e-9)
    # A roof baffle over the sump, with one hole: oil on it runs through.
    baffle = roof("B", 60, window("hole", 250, 280, 90, 120))
    assert drained(pan(baffle), None, UP)[0].left_behind == pytest.approx(0.0, abs=1e-12)


@pytest.mark.expected_from("closed form", "the oil space with walls holds what the cavity holds")
def test_oil_space_keeps_the_volume() -> None:
    body = pan(
        upright("A", (275, 0), (275, 200), window("w", 20, 60, -120, -90)),
        upright("C", (0, 90), (400, 90), slot("s", 20, 60, -150, -40)),
    )
    assert body.cavity is not None
    up = np.array([0.3, -0.2, 1.0]) / np.linalg.norm([0.3, -0.2, 1.0])
    for open_top, plain in ((False, body.cavity.surface()), (True, carried_up(body.cavity))):
        space = oil_space(body, open_top)
        ours, theirs = LevelCurve.prepare(space.surface, up), LevelCurve.prepare(plain, up)
        assert ours.whole == pytest.approx(theirs.whole, rel=1e-12)
        for share in (0.05, 0.3):
            level = theirs.level_for(share * body.cavity.volume)
            assert ours.volume_below(level) == pytest.approx(share * body.cavity.volume, rel=1e-9)


@pytest.mark.expected_from("closed form", "1.2 L in a sump parted in two, 20 mm kept behind the sill")
def test_level_at_the_mouth_behind_a_sill() -> None:
    wall = upright("A", (275, 0), (275, 200), window("w", 20, 60, -120, -90), top=-70)
    body = pan(wall)
    for open_top in (False, True):
        space = oil_space(body, open_top)
        for volume, shared, cut_off in (
            (1.2e-3, -0.116, -0.116),  # above the sill: one surface
            (0.8e-3, -0.124, -0.128),  # 0.5 L stay behind the sill, 0.3 L are left at the mouth
            (0.4e-3, -0.132, -0.140),  # all of it may stay behind
        ):
            plain = levels_at(space.surface, space.neighbours, UP, volume, MOUTH, shared, space.links)
            assert plain is not None
            assert plain.cut_off == pytest.approx(cut_off, abs=1e-9)
            (compiled,) = levels_at_compiled(
                space.surface.vertices,
                space.surface.triangles,
                space.neighbours.starts,
                space.neighbours.others,
                space.neighbours.part_of_triangle,
                space.neighbours.part_of_corner,
                space.links,
                UP[None, :],
                volume,
                frozen_array(MOUTH),
            )
            assert compiled == pytest.approx([shared, cut_off], abs=1e-9)


@pytest.mark.expected_from("closed form", "a wall up to the rail: over its top where the engine is open")
def test_over_the_top_where_the_engine_is_open() -> None:
    wall = upright("A", (275, 0), (275, 200), window("w", 20, 60, -20, -10))
    body = pan(wall)
    space = oil_space(body, open_top=True)
    # 125 x 200 mm beside the sump's wall and the tray's 150 x 200: full up to the window's sill at 20 mm.
    behind = 125 * 200 * 120e-9 + 150 * 200 * 40e-9
    plain = levels_at(space.surface, space.neighbours, UP, behind + 0.5e-3, MOUTH, -0.05, space.links)
    assert plain is not None
    assert plain.cut_off == pytest.approx(-0.14 + 0.5e-3 / 0.025, abs=1e-9)
    # Shut the window: the next way is over the rail.
    shut = oil_space(
        pan(upright("A", (275, 0), (275, 200), door("d", 20, 60, -20, -10, "against normal"))), open_top=True
    )
    behind = 125 * 200 * 140e-9 + 150 * 200 * 60e-9
    plain = levels_at(shut.surface, shut.neighbours, UP, behind + 0.5e-3, MOUTH, -0.05, shut.links)
    assert plain is not None
    assert plain.cut_off == pytest.approx(-0.14 + 0.5e-3 / 0.025, abs=1e-9)


@pytest.mark.expected_from("published", "trimesh.proximity.closest_point: an independent mesh library")
def test_nearest_triangle() -> None:
    rng = np.random.default_rng(71)
    body = pan()
    assert body.cavity is not None
    surface = body.cavity.surface()
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    for point in rng.uniform((-0.1, -0.1, -0.2), (0.5, 0.3, 0.1), (20, 3)):
        triangle, distance = nearest_triangle(surface, point)
        closest = trimesh.triangles.closest_point(mesh.triangles, np.tile(point, (len(mesh.triangles), 1)))
        expected = np.linalg.norm(closest - point, axis=1)
        assert distance == pytest.approx(float(np.min(expected)), abs=1e-12)
        assert expected[triangle] == pytest.approx(distance, abs=1e-12)


def test_without_walls_there_are_no_links() -> None:
    assert oil_space(pan(), True).links is NO_LINKS
