"""The strongback plate: holes of the rail, room for everything, marks inside its metal."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest
from shapely import LineString, Polygon

from sumpwright.kit.metal import chords
from sumpwright.kit.solve import solve
from sumpwright.outputs.cut_files import dxf_bytes
from sumpwright.weld.model import Strongback
from sumpwright.weld.strongback import strongback_gear
from sumpwright.weld.strongback_formulas import bolt_pull, bolt_torque, stress_area
from tests.kit.made_bodies import kit_inputs, simple_body

PLATE = Strongback(0.020, 0.010, False, 0.010)


@functools.cache
def kit():
    return solve(kit_inputs(etched=False), simple_body())


@functools.cache
def gear(plate=PLATE):
    return strongback_gear(plate, kit())


@pytest.mark.expected_from("property", "every rail hole is there, seen from below, with room for its bolt")
def test_every_hole_of_the_rail_is_there():
    pattern = kit().body.pattern
    holes = {hole.label: hole for hole in gear().plate.holes}
    assert set(pattern.names) <= set(holes)
    for name, (x, y), fastener in zip(pattern.names, pattern.xy, pattern.fasteners, strict=True):
        assert (holes[name].x, holes[name].y) == pytest.approx((x, -y))
        assert holes[name].diameter >= fastener.diameter
    assert "vent" in holes


@pytest.mark.expected_from(
    "property", "the plate reaches beyond the flange all round and holds all that is on it"
)
def test_the_plate_reaches_beyond_the_flange():
    plate = Polygon(chords(gear().plate.outline))
    assert plate.is_valid
    assert gear().plate.outline.bulges.any() is np.False_
    from sumpwright.kit.metal import mirrored

    flange = Polygon(chords(mirrored(kit().body.flange_outside)))
    assert plate.buffer(1e-4).contains(flange.buffer(0.009))
    for mark in gear().plate.marks:
        for stroke in mark.strokes:
            assert plate.contains(LineString(stroke.points))
    assert {mark.kind for mark in gear().plate.marks} >= {"side", "front"}


@pytest.mark.expected_from("property", "an open plate keeps its rim inside the pan's opening and has no vent")
def test_an_open_plate_lets_the_torch_in():
    closed, opened = gear(), gear(replace(PLATE, is_open=True))
    assert len(opened.plate.cut_outs) == 1
    assert all(hole.label != "vent" for hole in opened.plate.holes)
    assert opened.mass < 0.8 * closed.mass


@pytest.mark.expected_from(
    "closed form", "E t3 of 20 mm steel over 10 mm aluminium: 207/69 x 8 = 24 times as stiff"
)
def test_how_much_stiffer_than_the_flange():
    assert gear().stiffness == pytest.approx(207.0 / 69.0 * 8.0, rel=1e-6)


@pytest.mark.expected_from(
    "property", "clamps stand between bolts that lie far apart, chill bars at long seams"
)
def test_clamps_and_chill_bars():
    assert len(gear().clamps) == len(gear().between)
    lengths = [bar.length for bar in gear().chills]
    assert lengths == sorted(lengths, reverse=True)
    assert all(length > 0.0999 for length in lengths)


@pytest.mark.expected_from(
    "closed form", "each bar in whole steps of 10 mm below its seam's free length, counted once"
)
def test_every_chill_bar_has_its_drawing():
    made = gear()
    by_name = {bar.name: bar for bar in made.bars}
    assert sum(bar.quantity for bar in made.bars) == len(made.chills)
    for chill in made.chills:
        points = np.asarray(by_name[chill.bar].outline.points)
        length, width = np.ptp(points, axis=0)
        assert chill.length - 0.010 < length <= chill.length + 1e-9
        assert length / 0.010 == pytest.approx(round(length / 0.010))
        assert width == pytest.approx(0.025)
    # Steel bars behind aluminium seams, aluminium ones behind steel: never the pan's own metal.
    assert {bar.material for bar in made.bars} == {"mild"}
    assert all(b"LWPOLYLINE" in dxf_bytes(bar) for bar in made.bars)
    assert len({round(float(np.ptp(np.asarray(bar.outline.points)[:, 0])), 6) for bar in made.bars}) == len(
        made.bars
    )


def test_the_plate_can_be_cut():
    assert b"LWPOLYLINE" in dxf_bytes(gear().plate)
    assert strongback_gear(PLATE, replace(kit(), parts=())) is None


@pytest.mark.expected_from(
    "published", "M6: stress area 20.1 mm2; 75 % of 600 MPa at K 0.2 is 10.85 N m; M8 26.4, M10 52.2"
)
@pytest.mark.parametrize(("size", "pitch", "torque"), [(6, 1.0, 10.85), (8, 1.25, 26.4), (10, 1.5, 52.2)])
def test_how_hard_its_bolts_are_drawn(size, pitch, torque):
    area = stress_area(size * 1e-3, pitch * 1e-3)
    drawn = bolt_torque(bolt_pull(area, 600e6, 0.75), size * 1e-3, 0.2)
    assert drawn == pytest.approx(torque, abs=0.05)
    if size == 6:
        assert area * 1e6 == pytest.approx(20.1, abs=0.05)
        assert dict(gear().torques)["M6"] == pytest.approx(torque, abs=0.05)
