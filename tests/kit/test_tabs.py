import math

import numpy as np
import pytest
from manifold3d import CrossSection

from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit import FlatPart, Joint
from sumpwright.kit.metal import chords
from sumpwright.kit.tab_formulas import (
    slot_length_clearance,
    slot_width,
    slot_width_clearance,
    tab_depth,
)
from sumpwright.kit.tabs import LEAST_PITCH, MOST_PITCH, TAB_LENGTH, locate, slot_outline, tab_places
from sumpwright.quantities.units import frozen_array
from tests.kit.made_bodies import cutter, rounded_rectangle


def straight(points):
    return Outline(frozen_array(points), frozen_array(np.zeros(len(points))))


def tee(degrees, length=0.3, thickness=0.003, face=None):
    """A plate in the plane z = 0 (metal 0 to -3 mm) and a wall leaning over it along x."""
    plate = FlatPart(
        "plate", face, straight([(-0.1, -0.1), (length + 0.1, -0.1), (length + 0.1, 0.1), (-0.1, 0.1)]),
        (), (), (),
        FlatFrame(frozen_array([0, 0, 0]), frozen_array([1, 0, 0]), frozen_array([0, 1, 0])),
        thickness, "mild",
    )  # fmt: skip
    lean = math.radians(degrees)
    # Upwards in the wall; its drawn skin looks to -y for an upright wall.
    up = np.array([0.0, math.cos(lean), math.sin(lean)])
    frame = FlatFrame(frozen_array([0, 0, 0]), frozen_array([1, 0, 0]), frozen_array(up))
    # Square-cut edge: the skin that leans towards the plate must not dip into it.
    start = max(0.0, thickness / math.tan(lean)) if degrees < 90 else 0.0
    wall = FlatPart(
        "wall", None, straight([(0, start), (length, start), (length, start + 0.06), (0, start + 0.06)]),
        (), (), (), frame, 0.002, "mild",
    )  # fmt: skip
    joint = Joint(
        None, "wall", "plate", "open corner", lean, length, None, None, (0.0, 0.0, 0.0), (length, 0.0, 0.0)
    )
    return wall, plate, joint


def solid(part):
    rings = [chords(part.outline)] + [chords(cut) for cut in part.cut_outs]
    made = CrossSection([np.array(ring) * 1e3 for ring in rings]).extrude(part.thickness * 1e3)
    n = np.asarray(part.frame.normal)
    turn = np.stack([part.frame.x_axis, part.frame.y_axis, n], axis=1)
    origin = np.asarray(part.frame.origin) * 1e3 - n * part.thickness * 1e3
    return made.transform(np.column_stack([turn, origin]))


@pytest.mark.expected_from("property", "the wall's tabs pass through the plate's slots without touching")
@pytest.mark.parametrize("degrees", [90, 75, 60, 45, 110, 135])
def test_tabs_pass_through_their_slots(degrees):
    wall, plate, joint = tee(degrees)
    made = locate(wall, plate, joint, cutter(1e-4))
    assert made.why_none == ""
    assert len(made.slots) == len(made.plate.cut_outs) >= 3
    bare = (solid(made.wall) ^ solid(plate)).volume()
    assert bare > 0.5 * 20 * 2 * 3 * len(made.slots)  # the tabs do reach into the plate
    assert (solid(made.wall) ^ solid(made.plate)).volume() < 1e-6 * bare


@pytest.mark.expected_from("property", "a slot narrower by its clearance and a tenth more would bind")
@pytest.mark.parametrize("degrees", [90, 60, 135])
def test_slots_are_no_wider_than_they_must(degrees):
    import dataclasses

    wall, plate, joint = tee(degrees)
    made = locate(wall, plate, joint, cutter(1e-4))
    tight = []
    for cut in made.plate.cut_outs:
        middle = chords(cut).mean(axis=0)
        w = slot_width(0.002, 0.003, math.radians(degrees), -1e-4)
        tight.append(slot_outline(middle, np.array([1.0, 0.0]), 0.0202, w, 1e-5))
    narrow = dataclasses.replace(plate, cut_outs=tuple(tight))
    assert (solid(made.wall) ^ solid(narrow)).volume() > 0.1


@pytest.mark.expected_from(
    "closed form", "upright: t + c; 45 degrees, 2 through 3 mm: (2 + 3 cos 45)/sin 45 = 5.828"
)
def test_slot_width():
    assert slot_width(0.002, 0.003, math.pi / 2, 0.00015) == pytest.approx(0.00215)
    assert slot_width(0.002, 0.003, math.pi / 4, 0.0) == pytest.approx(0.0058284, abs=1e-7)
    assert slot_width(0.002, 0.003, 3 * math.pi / 4, 0.0) == pytest.approx(0.0058284, abs=1e-7)


@pytest.mark.expected_from("closed form", "upright through 3 mm, a quarter of 2 mm proud: 3.5 mm")
def test_tab_depth():
    assert tab_depth(0.002, 0.003, math.pi / 2, 0.25) == pytest.approx(0.0035)
    assert tab_depth(0.002, 0.003, math.pi / 6, 0.0) == pytest.approx(0.006 + 0.002 * math.sqrt(3))


@pytest.mark.expected_from("pinned", "common practice: slot wider by 0.1 to 0.2 mm, longer by 0.2 to 0.3 mm")
def test_clearances():
    assert slot_width_clearance(1e-4) == pytest.approx(1.5e-4)
    assert slot_width_clearance(4e-4) == pytest.approx(4e-4)
    assert slot_length_clearance(1e-4) == pytest.approx(2.5e-4)
    assert slot_length_clearance(3e-4) == pytest.approx(6e-4)


@pytest.mark.expected_from("property", "tabs keep clear of the ends and stand 80 to 150 mm apart")
@pytest.mark.parametrize("length", [0.03, 0.06, 0.09, 0.12, 0.2, 0.31, 0.7])
def test_tab_places(length):
    places = tab_places(length, TAB_LENGTH, 0.012)
    for place in places:
        assert 0.012 + 0.5 * TAB_LENGTH - 1e-12 <= place <= length - 0.012 - 0.5 * TAB_LENGTH + 1e-12
    gaps = np.diff(places)
    assert np.all(gaps <= MOST_PITCH + 1e-12)
    if len(places) > 2:
        assert np.all(gaps >= 0.9 * LEAST_PITCH)
    assert (len(places) == 0) == (length < 0.044)


@pytest.mark.expected_from("closed form", "slot area: length x width + four three-quarter rounds")
def test_slot_outline():
    from shapely import Polygon

    slot = slot_outline(np.array([0.1, 0.2]), np.array([0.6, 0.8]), 0.020, 0.0022, 0.0003)
    shape = Polygon(chords(slot, 1e-7))
    assert shape.is_valid
    assert not shape.exterior.is_ccw
    rounds = 4 * 0.75 * math.pi * 0.0003**2
    assert shape.area == pytest.approx(0.020 * 0.0022 + rounds, rel=1e-4)


def test_where_no_tabs_belong():
    wall, plate, joint = tee(90, face=3)
    made = locate(wall, plate, joint, cutter())
    assert made.plate is plate
    assert "leak" in made.why_none
    through = locate(wall, plate, joint, cutter(), through_outer=True)
    assert all(slot.is_leak_site for slot in through.slots)
    short = tee(90, length=0.03)
    assert "short" in locate(*short, cutter()).why_none
    flat = tee(20)
    assert "lean" in locate(*flat, cutter()).why_none
    opening = straight([(0, 0), (0, 0.1), (0.1, 0)])
    flange = FlatPart(
        "flange", None, rounded_rectangle(-0.2, -0.2, 0.6, 0.2, 0.01), (opening,), (), (),
        FlatFrame(frozen_array([0, 0, 0]), frozen_array([1, 0, 0]), frozen_array([0, -1, 0])),
        0.01, "mild",
    )  # fmt: skip
    assert "seals" in locate(wall, flange, joint, cutter()).why_none
