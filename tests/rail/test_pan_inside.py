"""Scans of an old pan of known inside: does its room come back, within what is stated?"""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.oil.level import LevelCurve
from sumpwright.oil.old_pan import OldCurve
from sumpwright.rail.hole_names import best_similarity
from sumpwright.rail.pan_inside import MOST_MISSED, in_engine
from sumpwright.rail.scan import see_scan
from tests.rail.old_pans import inside_skin, oil_space, outside, scanned
from tests.rail.scans import HOLES, MM, NAMES, flange_points, known, mesh

SPACE = LevelCurve.prepare(oil_space(), np.array([0.0, 0.0, 1.0])).whole


def laid_in_engine(seen):
    named = [hole for hole in seen.holes if hole.name]
    true = np.array([HOLES[NAMES.index(hole.name)] for hole in named])
    at = np.array([(hole.x, hole.y) for hole in named])
    return in_engine(seen.inside, best_similarity(true, at, np.ones(len(at))), 1e-4)


@pytest.mark.expected_from("closed form", "signed tetrahedra of the body the points were strewn over")
@pytest.mark.parametrize(("spacing", "scale"), [(0.6, 1.0), (0.9, 1.02), (1.5, 1.0)])
def test_room_of_a_strewn_pan_comes_back_at_every_level_and_lean(spacing, scale):
    inside = laid_in_engine(see_scan(scanned(3, spacing * MM, scale=scale), known()))
    assert inside.skin == "inside"
    assert not inside.is_skin_told
    assert inside.space == pytest.approx(SPACE, abs=2.5 * inside.space_u)
    assert inside.space_u < 0.015 * SPACE
    for up in ([0.0, 0.0, 1.0], [0.1, 0.05, 1.0], [-0.2, 0.25, 1.0]):
        old = OldCurve.prepare(inside, np.array(up))
        true = LevelCurve.prepare(oil_space(), np.array(up))
        rail = float((oil_space().vertices[:4] @ old.up).min())
        assert old.level_rail == pytest.approx(rail, abs=max(1.5, 2.0 * spacing) * MM)
        assert old.lowest == pytest.approx(true.lowest, abs=max(1.5, 2.0 * spacing) * MM)
        for below in (0.0, 0.02, 0.045, 0.07):
            expected = true.volume_below(rail - below)
            assert old.volume_below(rail - below) == pytest.approx(expected, abs=3.0 * inside.space_u)
        half = 0.5 * old.volume_below(old.level_rail)
        assert old.volume_below(old.level_for(half)) == pytest.approx(half, rel=1e-6)
        assert old.level_for(1.01 * old.volume_below(old.level_rail)) is None


@pytest.mark.expected_from("closed form", "a plain box; its outside is parallel to it")
@pytest.mark.parametrize("metal", [0.8, 1.5, 3.0, 6.0])
def test_an_outside_gives_the_inside_once_its_metal_is_off(metal):
    scan, room = outside(metal * MM, seed=1)
    inside = see_scan(scan, known()).inside
    assert inside.skin == "outside"
    assert inside.metal == metal * MM
    assert inside.space == pytest.approx(room, abs=2.5 * inside.space_u)
    assert inside.space_u < 0.02 * room


@pytest.mark.expected_from("closed form", "triangles of the body turned over or not")
def test_triangles_tell_which_side_was_scanned():
    made = mesh(seed=4)
    assert see_scan(made, known()).inside.skin == "inside"
    from dataclasses import replace

    turned_over = replace(made, faces=made.faces[:, ::-1])
    seen = see_scan(turned_over, known())
    assert seen.inside is None
    assert [t.kind for t in seen.troubles if t.kind == "no metal"]
    with_metal = see_scan(replace(turned_over, metal=1.5 * MM), known())
    assert with_metal.inside.skin == "outside"
    assert with_metal.inside.is_skin_told


@pytest.mark.expected_from("closed form", "the body the points were strewn over")
def test_a_bridged_place_costs_what_it_may_be_off_by():
    whole = see_scan(scanned(1), known()).inside
    lost = see_scan(
        scanned(1, away=lambda p: (np.hypot(p[:, 0] - 0.165, p[:, 1] + 0.1) < 0.03) & (p[:, 2] < -0.03)),
        known(),
    ).inside
    assert whole.missed < 0.001
    assert 0.02 < lost.missed < 0.06
    assert lost.space_u > 1.5 * whole.space_u
    assert lost.space == pytest.approx(SPACE, abs=2.5 * lost.space_u)


@pytest.mark.expected_from("property", "half of a pan is no pan")
def test_half_an_inside_and_a_bare_flange_give_no_room():
    half = see_scan(scanned(1, away=lambda p: (p[:, 0] > 0.16) & (p[:, 2] < -0.02)), known())
    assert half.inside is None
    (trouble,) = [t for t in half.troubles if t.kind == "inside missed"]
    assert trouble.value > MOST_MISSED
    assert not trouble.is_fatal
    assert sum(hole.name is not None for hole in half.holes) == len(NAMES)


@pytest.mark.expected_from("property", "what a scanner's line of sight from the rail does not meet")
def test_what_is_not_seen_from_the_rail_is_said():
    rng = np.random.default_rng(5)
    scan = scanned(2)
    from sumpwright.rail.pan_inside import pan_inside
    from tests.rail.old_pans import strewn

    points, faces = inside_skin()
    shelf = rng.uniform((0.345, -0.2, -0.07), (0.4, -0.02, -0.07), (30_000, 3))
    p = np.concatenate((flange_points(rng, 0.8 * MM), strewn(rng, points, faces, 0.8 * MM)))
    plain = pan_inside(p[:, :2], p[:, 2], "inside", None)
    p = np.concatenate((p, shelf))
    beside = pan_inside(p[:, :2], p[:, 2], "inside", None)
    assert plain.hidden < 0.01 < 0.03 < beside.hidden
    assert beside.space == pytest.approx(SPACE, abs=3.0 * beside.space_u)
    assert scan.of == "old pan"
