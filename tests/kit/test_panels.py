"""Outlines from trimmed edges: corners where the lines meet, jogs at shallow turns, holes, thin faces."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.kit.joints import choose_seams
from sumpwright.kit.packing import tidy, usable, without_specks
from sumpwright.kit.panels import face_sheets, trimmed_loop
from tests.kit.hand_bodies import cavity_from_solid, l_plan, tray_and_sump

SQUARE = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])


def area(points):
    x, y = points.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


@pytest.mark.expected_from("closed form", "rectangle with each side moved in by its own amount")
def test_sides_move_by_their_own_trims():
    moved = trimmed_loop(SQUARE, np.array([0.1, 0.2, 0.3, -0.4]))
    assert moved.min(axis=0) == pytest.approx([-0.4, 0.1])
    assert moved.max(axis=0) == pytest.approx([3.8, 2.7])
    assert area(moved) == pytest.approx(4.2 * 2.6)


@pytest.mark.expected_from("closed form", "untrimmed sides keep their corners to the bit")
def test_untrimmed_corners_stay():
    assert np.array_equal(trimmed_loop(SQUARE, np.zeros(4)), SQUARE)


@pytest.mark.expected_from(
    "closed form", "two sides 5 deg apart: a jog on the bisector, where a mitre would run 1 / sin 5 deg off"
)
def test_a_shallow_turn_gets_a_jog():
    turn = math.radians(5.0)
    ring = np.array([[0.0, 0.0], [4.0, 0.0], [8.0, 4.0 * math.tan(turn)], [4.0, 5.0]])
    moved = trimmed_loop(ring, np.array([0.2, 0.0, 0.0, 0.0]))
    assert len(moved) == 5
    jog = moved[np.abs(moved - ring[1]).max(axis=1) < 0.5]
    assert len(jog) == 2
    assert np.linalg.norm(jog[0] - jog[1]) == pytest.approx(0.2 / math.cos(turn / 2), rel=1e-9)


@pytest.mark.expected_from("property", "a tray floor keeps the hole over its sump; walls keep their corners")
def test_a_face_with_a_hole_keeps_it():
    cavity = cavity_from_solid(tray_and_sump())
    thickness = {face.index: 0.003 for face in cavity.faces}
    seams = choose_seams(cavity, thickness, 0.010, 0.0)
    sheets = face_sheets(cavity, seams, thickness)
    floor = next(f for f in cavity.faces if f.role == "floor" and len(f.loops) == 2)
    outline = sheets[floor.index].outline
    assert len(outline.interiors) == 1
    # The floor runs through at its inward edges: outline and hole are the face itself.
    assert outline.area == pytest.approx(floor.area, rel=1e-9)
    # The sump's walls stop on the tray floor's outer skin, 3 mm lower than the face.
    walls = [f for f in cavity.faces if f.role == "wall" and cavity.vertices[f.loops[0]][:, 2].max() < -0.01]
    assert len(walls) == 4
    for wall in walls:
        width = math.sqrt(wall.area**2) / 0.080
        assert sheets[wall.index].outline.area == pytest.approx(width * 0.077, rel=1e-9)


@pytest.mark.expected_from(
    "property", "of two sheets at an inward lap the one with more inward edges runs through"
)
def test_runner_of_a_lap():
    cavity = cavity_from_solid(tray_and_sump())
    thickness = {face.index: 0.003 for face in cavity.faces}
    seams = choose_seams(cavity, thickness, 0.010, 0.0)
    floor = next(f for f in cavity.faces if f.role == "floor" and len(f.loops) == 2)
    laps = [seam for seam in seams.values() if seam.kind == "inward lap"]
    assert len(laps) == 4
    assert {seam.runner for seam in laps} == {floor.index}


@pytest.mark.expected_from(
    "closed form", "L plan: one inward edge, lapped; the stopper begins one thickness off"
)
def test_lap_of_a_square_inward_corner():
    cavity = cavity_from_solid(l_plan())
    thickness = {face.index: 0.003 for face in cavity.faces}
    (lap,) = [s for s in choose_seams(cavity, thickness, 0.010, 0.0).values() if s.kind == "inward lap"]
    assert sorted([lap.trim_a, lap.trim_b]) == pytest.approx([0.0, 0.003], abs=1e-12)
    assert lap.groove_angle == pytest.approx(math.pi / 2)
    assert lap.fill_area == pytest.approx(0.5 * 0.003**2)


@pytest.mark.expected_from("property", "cleaning drops hairs, slits, necks and specks, and nothing else")
def test_cleaning():
    import shapely

    plate = shapely.box(0.0, 0.0, 0.05, 0.03)
    hair = plate.union(shapely.box(0.05, 0.01, 0.06, 0.0100005))
    assert tidy(hair).area == pytest.approx(plate.area, rel=1e-6)
    slit = plate.difference(shapely.box(0.01, 0.01, 0.06, 0.0100005))
    assert tidy(slit).area == pytest.approx(plate.area, rel=1e-6)
    sharp = shapely.Polygon([(0, 0), (0.05, 0), (0.0, 0.01)])
    assert tidy(sharp).symmetric_difference(sharp).area < 1e-9
    necked = plate.union(shapely.box(0.05, 0.01, 0.06, 0.0105)).union(shapely.box(0.06, 0.0, 0.07, 0.02))
    zone = shapely.box(0.04, -0.01, 0.08, 0.04)
    assert usable(necked, 0.001, zone).area == pytest.approx(plate.area, rel=1e-3)
    assert usable(sharp, 0.0005, zone).symmetric_difference(sharp).area < 1e-9
    spurred = shapely.Polygon(
        [(0, 0), (0.02, 0), (0.02, -1e-6), (0.02001, 0), (0.05, 0), (0.05, 0.03), (0, 0.03)]
    )
    assert without_specks(spurred).equals(plate)
