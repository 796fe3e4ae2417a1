"""Volume below a level against two mesh libraries, closed forms and properties."""

from __future__ import annotations

import math

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from sumpwright.geometry import Surface
from sumpwright.oil.level import MANY, LevelCurve, carried_up, levels, rail_lowest_level
from sumpwright.quantities import Attitude, EnginePlacement, Load
from sumpwright.quantities.units import frozen_array, frozen_indices
from tests.oil.oil_shapes import LEVEL, box, cavity_of, direction, random_solid, surface_of

WHOLE = 1e-9  # of the whole body, the accuracy asked for


def tilted(angle_deg: float) -> np.ndarray:
    """Up for a body whose +x end is lowered."""
    angle = math.radians(angle_deg)
    return np.array([-math.sin(angle), 0.0, math.cos(angle)])


@pytest.mark.expected_from("published", "manifold3d: trim by plane and volume, an independent solid library")
def test_random_bodies_below_random_planes_as_manifold3d() -> None:
    rng = np.random.default_rng(20)
    for _ in range(60):
        solid = random_solid(rng)
        up = direction(rng)
        curve = LevelCurve.prepare(surface_of(solid), up)
        for share in rng.uniform(-0.05, 1.05, 4):
            level = curve.lowest + share * (curve.highest - curve.lowest)
            expected = solid.trim_by_plane(tuple(-up), -level).volume()
            assert abs(curve.volume_below(level) - expected) <= WHOLE * curve.whole


@pytest.mark.expected_from("published", "trimesh: slice with cap, volume and centre of mass")
def test_random_bodies_below_random_planes_as_trimesh() -> None:
    rng = np.random.default_rng(21)
    tried = 0
    while tried < 12:
        solid = m3.Manifold.hull_points(rng.normal(size=(14, 3)) * rng.uniform(0.05, 1.0, 3))
        surface = surface_of(solid)
        up = direction(rng)
        curve = LevelCurve.prepare(surface, up)
        level = curve.lowest + rng.uniform(0.2, 0.8) * (curve.highest - curve.lowest)
        mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
        cut = trimesh.intersections.slice_mesh_plane(mesh, -up, up * level, cap=True)
        assert abs(curve.volume_below(level) - cut.volume) <= WHOLE * curve.whole
        size = np.max(np.ptp(surface.vertices, axis=0))
        assert np.max(np.abs(curve.centroid_below(level) - cut.center_mass)) < 1e-8 * size
        tried += 1


@pytest.mark.expected_from("property", "level_for undoes volume_below; both paths agree")
def test_level_for_undoes_volume_below_on_both_paths() -> None:
    rng = np.random.default_rng(22)
    for _ in range(40):
        surface = surface_of(random_solid(rng))
        ups = np.array([direction(rng) for _ in range(MANY + 3)])
        shares = rng.uniform(0.0, 1.0, len(ups))
        whole = LevelCurve.prepare(surface, ups[0]).whole
        compiled = levels(surface, ups, shares * whole)
        for up, share, level in zip(ups, shares, compiled, strict=True):
            curve = LevelCurve.prepare(surface, up)
            assert abs(curve.volume_below(level) - share * whole) <= 1e-12 * whole
            assert abs(curve.volume_below(curve.level_for(share * whole)) - share * whole) <= 1e-12 * whole


@pytest.mark.expected_from("property", "volume below the level in steps of the level")
def test_volume_grows_with_level_and_area_is_its_rate() -> None:
    rng = np.random.default_rng(23)
    for _ in range(10):
        curve = LevelCurve.prepare(surface_of(random_solid(rng)), direction(rng))
        span = curve.highest - curve.lowest
        steps = np.linspace(curve.lowest, curve.highest, 200)
        volumes = np.array([curve.volume_below(level) for level in steps])
        assert np.all(np.diff(volumes) >= -1e-14 * curve.whole)
        for level in rng.uniform(curve.lowest, curve.highest, 5):
            step = 1e-6 * span
            rate = (curve.volume_below(level + step) - curve.volume_below(level - step)) / (2 * step)
            assert curve.wetted_area(level) == pytest.approx(rate, rel=1e-3, abs=1e-5 * curve.whole / span)


@pytest.mark.expected_from("property", "turning job and gravity together changes nothing")
def test_turning_body_and_up_together_changes_nothing() -> None:
    rng = np.random.default_rng(24)
    solid = random_solid(rng)
    surface = surface_of(solid)
    up = direction(rng)
    curve = LevelCurve.prepare(surface, up)
    turn = Attitude(0.7, -0.4, 1.1).matrix()
    turned = Surface(frozen_array(surface.vertices @ turn.T), surface.triangles)
    other = LevelCurve.prepare(turned, turn @ up)
    for share in (0.05, 0.3, 0.77):
        assert other.level_for(share * curve.whole) == pytest.approx(
            curve.level_for(share * curve.whole), abs=1e-12
        )


@pytest.mark.expected_from("property", "a body cut in two holds the same as its halves together")
def test_cutting_a_body_in_two_and_adding_changes_nothing() -> None:
    rng = np.random.default_rng(25)
    for _ in range(10):
        solid = random_solid(rng)
        up, across = direction(rng), direction(rng)
        whole = LevelCurve.prepare(surface_of(solid), up)
        halves = [
            LevelCurve.prepare(surface_of(half), up) for half in solid.split_by_plane(tuple(across), 0.05)
        ]
        for share in (0.2, 0.5, 0.8):
            level = whole.lowest + share * (whole.highest - whole.lowest)
            parts = sum(half.volume_below(level) for half in halves)
            assert parts == pytest.approx(whole.volume_below(level), abs=1e-9 * whole.whole)


@pytest.mark.expected_from("closed form", "shorter depth, greater depth and wetted length of a tilted box")
def test_tilted_box_depths() -> None:
    surface = surface_of(box(0.3, 0.2, 0.5))
    for angle, shallow, deep in ((20.0, 12.07e-3, 121.26e-3),):
        up = tilted(angle)
        level = LevelCurve.prepare(surface, up).level_for(4e-3)
        # Height of the surface above the floor (z = -0.5) on the walls x = 0 and x = 0.3.
        at = [(level - up[0] * x) / up[2] + 0.5 for x in (0.0, 0.3)]
        assert at[0] == pytest.approx(shallow, abs=0.05e-3)
        assert at[1] == pytest.approx(deep, abs=0.05e-3)
    up = tilted(30.0)
    level = LevelCurve.prepare(surface, up).level_for(4e-3)
    wet_length = 0.3 - (level + 0.5 * up[2]) / up[0]
    assert wet_length == pytest.approx(263.21e-3, abs=0.05e-3)
    assert (level - up[0] * 0.3) / up[2] + 0.5 == pytest.approx(151.97e-3, abs=0.05e-3)


@pytest.mark.expected_from(
    "closed form", "0.5 g, a 60 % grade, climbing 20 % at 0.3 g: atan of the acceleration against g"
)
def test_surface_angles() -> None:
    level_engine = EnginePlacement()
    g = 9.80665

    def slope(load: Load) -> tuple[float, float, float]:
        pull = load.effective_gravity(level_engine)
        across = math.hypot(pull[0], pull[1])
        return math.degrees(math.atan2(across, -pull[2])), float(np.linalg.norm(pull)) / g, float(pull[0])

    assert slope(Load(left=0.5 * g))[0] == pytest.approx(26.565, abs=0.01)
    assert slope(Load(slope=Attitude(nose_up=math.atan(0.6))))[0] == pytest.approx(30.964, abs=0.01)
    angle, strength, along = slope(Load(slope=Attitude(nose_up=math.atan(0.2)), forward=0.3 * g))
    assert angle == pytest.approx(26.837, abs=0.01)
    assert strength == pytest.approx(1.0989, abs=0.0001)
    assert along < 0.0  # towards the rear


@pytest.mark.expected_from("closed form", "box, prism and wedge")
def test_box_prism_and_wedge_by_hand() -> None:
    flat = LevelCurve.prepare(surface_of(box(0.3, 0.2, 0.1)), LEVEL)
    assert flat.level_for(4e-3) == pytest.approx(-0.1 + 4e-3 / 0.06, abs=1e-15)
    assert flat.wetted_area(-0.05) == pytest.approx(0.06)
    assert flat.centroid_below(-0.04) == pytest.approx([0.15, 0.1, -0.07])
    # A V trough: side h at depth h, volume h^2 tan(half) * length.
    trough = m3.Manifold.hull_points(
        [[x, y, z] for x in (0.0, 0.4) for y, z in ((0.0, -0.1), (-0.1, 0.0), (0.1, 0.0))]
    )
    curve = LevelCurve.prepare(surface_of(trough), LEVEL)
    for depth in (1e-6, 0.01, 0.05, 0.09):
        assert curve.volume_below(-0.1 + depth) == pytest.approx(0.4 * depth**2, rel=1e-9)
        assert curve.level_for(0.4 * depth**2) == pytest.approx(-0.1 + depth, abs=1e-12)
    # A cone corner: the tetrahedron under the level grows with the third power.
    corner = m3.Manifold.hull_points([[0, 0, -0.3], [0.3, 0, 0], [0, 0.3, 0], [0, 0, 0]])
    curve = LevelCurve.prepare(surface_of(corner), LEVEL)
    assert curve.volume_below(-0.2) == pytest.approx(0.1**3 / 6, rel=1e-12)


@pytest.mark.expected_from(
    "closed form", "a box turned by hair-fine angles and stretched to extreme proportions"
)
def test_nearly_level_faces_and_extreme_proportions() -> None:
    rng = np.random.default_rng(26)
    for angle in (0.0, 1e-300, 1e-18, 1e-16, 1e-15, 1e-13, 1e-10, 1e-8, 1e-5):
        up = np.array([math.sin(angle), 0.3 * math.sin(angle), math.cos(angle)])
        curve = LevelCurve.prepare(surface_of(box(0.3, 0.2, 0.1)), up)
        for depth in (0.0, 1e-12, 1e-6, 0.05, 0.1 - 1e-12):
            got = curve.volume_below(-0.1 + depth)
            # The tilt moves the floor's corners by less than angle * 0.36 m.
            assert got == pytest.approx(0.06 * depth, abs=6e-12 + 0.06 * 0.36 * angle)
        ups = np.tile(up, (MANY, 1))
        volumes = rng.uniform(0.0, curve.whole, MANY)
        for volume, level in zip(volumes, levels(surface_of(box(0.3, 0.2, 0.1)), ups, volumes), strict=True):
            assert curve.volume_below(level) == pytest.approx(volume, abs=1e-12 * curve.whole)
    for size in ((1.0, 1.0, 1e-6), (1e-5, 3.0, 1e-3), (1e3, 1.0, 1.0)):
        solid = box(*size)
        for _ in range(5):
            up = direction(rng)
            curve = LevelCurve.prepare(surface_of(solid), up)
            assert curve.whole == pytest.approx(size[0] * size[1] * size[2], rel=1e-9)
            for share in (0.01, 0.5, 0.99):
                level = curve.level_for(share * curve.whole)
                expected = solid.trim_by_plane(tuple(-up), -level).volume()
                assert expected == pytest.approx(share * curve.whole, abs=1e-7 * curve.whole)


@pytest.mark.expected_from("property", "a body far from the origin and the same body at it")
def test_far_from_the_origin() -> None:
    rng = np.random.default_rng(27)
    solid = random_solid(rng)
    up = direction(rng)
    shift = np.array([40.0, -25.0, 11.0])
    near = LevelCurve.prepare(surface_of(solid), up)
    surface = surface_of(solid)
    far = LevelCurve.prepare(Surface(frozen_array(surface.vertices + shift), surface.triangles), up)
    for share in (0.1, 0.6):
        level = near.level_for(share * near.whole)
        assert far.level_for(share * near.whole) - up @ shift == pytest.approx(level, abs=1e-12)


@pytest.mark.expected_from("property", "no level for more than the body holds; the deepest point for none")
def test_more_than_it_holds_and_none() -> None:
    surface = surface_of(box(0.3, 0.2, 0.1))
    curve = LevelCurve.prepare(surface, LEVEL)
    assert math.isnan(curve.level_for(6.1e-3))
    assert math.isnan(curve.level_for(float("nan")))
    assert curve.level_for(6e-3) == pytest.approx(0.0, abs=1e-15)
    assert curve.level_for(0.0) == -0.1
    found = levels(surface, np.tile(LEVEL, (MANY, 1)), np.array([6.1e-3, 6e-3, 0.0, -1.0] * (MANY // 4)))
    assert math.isnan(found[0])
    assert found[1:4] == pytest.approx([0.0, -0.1, -0.1], abs=1e-15)


@pytest.mark.expected_from("closed form", "a wedge of oil in a box with its walls carried on upwards")
def test_walls_carried_up_hold_what_the_lid_would_not() -> None:
    cavity = cavity_of(box(0.3, 0.2, 0.1))
    open_top = carried_up(cavity)
    mesh = trimesh.Trimesh(open_top.vertices, open_top.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0.0
    # 3 L at 60 degrees: wedge in the corner, wetted length sqrt(2 A / tan), wall depth sqrt(2 A tan).
    up = tilted(60.0)
    level = LevelCurve.prepare(open_top, up).level_for(3e-3)
    area = 3e-3 / 0.2
    assert (level - up[0] * 0.3) / up[2] + 0.1 == pytest.approx(
        math.sqrt(2 * area * math.tan(math.radians(60.0))), rel=1e-12
    )
    assert rail_lowest_level(cavity, up) == pytest.approx(-math.sin(math.radians(60.0)) * 0.3)
    closed = LevelCurve.prepare(cavity, up).level_for(3e-3)
    assert closed > rail_lowest_level(cavity, up)  # the oil reaches the rail


@pytest.mark.expected_from("property", "the carried-up walls close around a rail opening that is not convex")
def test_carried_up_around_an_odd_rail() -> None:
    solid = box(0.4, 0.2, 0.06) + box(0.2, 0.35, 0.12) - box(0.05, 0.05, 0.5).translate((0.3, 0.08, 0.0))
    open_top = carried_up(cavity_of(solid), 1.0)
    mesh = trimesh.Trimesh(open_top.vertices, open_top.triangles, process=False)
    assert mesh.is_watertight
    area = 0.4 * 0.2 + 0.2 * 0.15 - 0.05 * 0.05
    assert mesh.volume == pytest.approx(solid.volume() + area * 1.0, rel=1e-12)


def test_frozen_arrays_stay_frozen() -> None:
    curve = LevelCurve.prepare(Surface(*_tetrahedron()), LEVEL)
    with pytest.raises(ValueError, match="read-only"):
        curve.volumes[0] = 1.0


def _tetrahedron() -> tuple[np.ndarray, np.ndarray]:
    return (
        frozen_array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]]),
        frozen_indices([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]]),
    )
