"""Vehicle, keep-outs, inner walls, tools and the lumps' later keys: read as meant, faults told."""

# ruff: noqa: E501

from __future__ import annotations

import math
import re
from pathlib import Path

import numpy as np
import pytest
import trimesh

from sumpwright.geometry.triangle_distance import open_sides
from tests.job.changes import change, faults_of, lay, read

END = 'sweep_radius = "62 mm"'


def with_text(folder: Path, text: str) -> Path:
    """The example with these sections behind the crank's, in place of its own of the same kinds."""
    path = folder / "job.toml"
    own = path.read_text(encoding="utf-8")
    own = re.sub(r"(?ms)^\[\[?(vehicle|keep_outs|walls|roof_baffles)\]\]?.*?(?=^\[|\Z)", "", own)
    path.write_text(own, encoding="utf-8")
    change(folder, END, f"{END}\n\n{text}")
    return folder


VEHICLE = """
[vehicle]
ground_clearance = "90 mm"
bump = "45 mm"
clearance_at_bump = "40 mm"
wheelbase = "2400 mm"
front_axle = "350 mm"
tyre_radius = "290 mm"
crest = "20 deg"
approach = "14 deg"
rock = "2 deg"
mounts_give = "4 mm"
"""

OUTS = """
[[keep_outs]]
name = "rack"
lies = "outside"
moves_with = "vehicle"
axes = "engine"
gap = "12 mm"
off_by = "3 mm"
bar = { start = ["430 mm", "-400 mm", "-150 mm"], end = ["430 mm", "200 mm", "-150 mm"], radius = "20 mm" }
travel = [["0 mm", "0 mm", "30 mm"]]

[[keep_outs]]
name = "cross-member"
lies = "outside"
moves_with = "vehicle"
gap = "10 mm"
hot = true
box = { corner = ["450 mm", "-300 mm", "60 mm"], opposite = ["500 mm", "500 mm", "100 mm"] }

[[keep_outs]]
name = "tray"
lies = "inside"
moves_with = "engine"
gap = "6 mm"
profile = { seen = "front", outline = [["-190 mm", "-4 mm"], ["-30 mm", "-4 mm"], ["-107 mm", "-20 mm"]], between = ["40 mm", "180 mm"] }
"""


@pytest.mark.expected_from("closed form", "vehicle to engine axes by hand, 15 deg of lean")
def test_vehicle_and_keep_outs_in_si(tmp_path: Path) -> None:
    around = read(with_text(lay(tmp_path), VEHICLE + OUTS)).body.surroundings
    ground, movement = around.ground, around.movement
    assert ground is not None
    assert (ground.wanted, ground.bump, ground.wanted_at_bump) == (0.09, 0.045, 0.04)
    assert (ground.wheelbase, ground.front_axle, ground.tyre_radius) == (2.4, 0.35, 0.29)
    assert ground.wanted_crest == pytest.approx(math.radians(20.0))
    assert ground.wanted_approach == pytest.approx(math.radians(14.0))
    assert ground.wanted_departure is None
    assert movement is not None
    assert movement.rock == pytest.approx(math.radians(2.0))
    assert movement.shift == 0.004
    # The crank's axis, from its rear end forwards.
    assert movement.axis_point == pytest.approx([0.025, -0.107, 0.058])
    assert movement.axis == pytest.approx([1.0, 0.0, 0.0])
    rack, member, tray = around.keep_outs
    assert (rack.moves_with, rack.lies, rack.wanted) == ("vehicle", "outside the pan", 0.012)
    assert rack.u == pytest.approx(0.003 / 1.959964, rel=1e-6)
    assert rack.travel == ((0.0, 0.0, 0.03),)
    assert rack.is_convex
    assert rack.triangles[..., 1].min() == pytest.approx(-0.4)
    assert member.is_hot
    assert not tray.is_convex
    assert tray.triangles[..., 0].max() == pytest.approx(0.18)
    assert open_sides(tray.triangles) == 0
    # Vehicle (450, -300, 60) mm, the datum 120 left and 262 up, leaned 15 deg to the right.
    lean = math.radians(15.0)
    y, z = -0.300 - 0.120, 0.060 - 0.262
    by_hand = [0.45, math.cos(lean) * y + math.sin(lean) * z, -math.sin(lean) * y + math.cos(lean) * z]
    corners = member.triangles.reshape(-1, 3)
    assert float(np.abs(corners - by_hand).sum(axis=1).min()) < 1e-12
    assert around.washer == 0.0016
    assert around.studs == 0.024
    assert around.tools is not None
    assert around.tools.is_placeholder


@pytest.mark.expected_from("published", "NIST SP 811: one inch is 25.4 mm; file written by trimesh")
def test_a_surface_from_a_file_in_inches(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    mesh = trimesh.creation.box(bounds=[[10, -5, -8], [12, 5, -7]])
    (folder / "bearer.stl").write_bytes(mesh.export(file_type="stl"))
    text = """
[[keep_outs]]
name = "bearer"
lies = "outside"
moves_with = "engine"
gap = "10 mm"
surface = "bearer.stl"
surface_in = "in"
"""
    job = read(with_text(folder, text))
    (bearer,) = job.body.surroundings.keep_outs
    assert bearer.triangles[..., 0].max() == pytest.approx(12 * 0.0254, rel=1e-6)
    assert "bearer.stl" in dict(job.texts)
    (folder / "bearer.stl").write_bytes(b"nothing of the kind")
    again = read(folder).body.surroundings
    assert again.keep_outs == ()
    assert again.unreadable[0][0] == "bearer"
    (folder / "bearer.stl").unlink()
    (fault,) = faults_of(folder)
    assert "not there" in fault.rule


WALLS = """
[[walls]]
name = "rear wall"
start = ["250 mm", "-198 mm"]
end = ["250 mm", "-16 mm"]
top_below = "60 mm"
thickness = "1.5 mm"
windows = [{ name = "window 1", along = ["20 mm", "60 mm"], below = ["80 mm", "100 mm"] }]
doors = [{ name = "door 1", along = ["90 mm", "130 mm"], below = ["80 mm", "104 mm"], passes = "front", leak_gap = "0.3 mm" }]
slots = [{ name = "slot 1", at = ["10 mm", "110 mm"], diameter = "12 mm" }]

[[roof_baffles]]
name = "lid"
depth = "60 mm"
outline = [["200 mm", "-190 mm"], ["200 mm", "-20 mm"], ["380 mm", "-20 mm"], ["380 mm", "-190 mm"]]
doors = [{ name = "flap", along = ["220 mm", "250 mm"], across = ["-130 mm", "-90 mm"], passes = "down" }]
"""


@pytest.mark.expected_from("closed form", "a wall's own axes: along from its start, up to the rail")
def test_walls_and_roof_baffles_in_si(tmp_path: Path) -> None:
    wall, lid = read(with_text(lay(tmp_path), WALLS)).body.walls
    assert (wall.kind, wall.thickness, len(wall.limits)) == ("wall", 0.0015, 1)
    # From right to left the normal looks to the front: x_axis left, y_axis up.
    assert wall.frame.normal == pytest.approx([1.0, 0.0, 0.0])
    window, door, slot = wall.cuts
    assert window.outline[:, 0].tolist() == pytest.approx([0.02, 0.06, 0.06, 0.02])
    assert window.outline[:, 1].tolist() == pytest.approx([-0.1, -0.1, -0.08, -0.08])
    assert door.door is not None
    assert (door.door.passes, door.door.leak_gap, door.door.overlap) == ("with normal", 0.0003, 0.005)
    assert slot.kind == "drain slot"
    assert slot.diameter == 0.012
    x, y = slot.outline[:, 0], slot.outline[:, 1]
    area = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    assert area == pytest.approx(math.pi * 0.006**2, rel=1e-12)
    assert (lid.kind, lid.thickness) == ("roof baffle", 0.003)
    assert lid.outline is not None
    assert lid.cuts[0].door is not None
    assert lid.cuts[0].door.passes == "against normal"


@pytest.mark.expected_from("closed form", "height above ground, a fall, chords of an arc, a mirror, by hand")
def test_the_lumps_later_keys(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(
        folder,
        'floor = "level with ground"\ndepth = "118 mm"\ndepth_at = ["300 mm", "-100 mm"]\n\n[[lumps]]\nname = "kick-out"',
        'floor = "above ground"\nabove_ground = "110 mm"\ncorner_radius = "30 mm"\n\n[[lumps]]\nname = "kick-out"',
    )
    change(
        folder,
        'depth_at = ["300 mm", "-100 mm"]      # the same floor as the sump\'s',
        'depth_at = ["300 mm", "-100 mm"]\nfall = "2 %"\nmirrored_about = "-107 mm"',
    )
    job = read(folder)
    tray, sump, kick, mirrored = job.body.lumps
    assert sump.floor is not None
    up = np.asarray(job.body.up)
    for y in (-0.19, -0.02):
        z = (sump.floor.offset - sump.floor.normal[1] * y - sump.floor.normal[0] * 0.3) / sump.floor.normal[2]
        assert float(up @ [0.3, y, z]) + 0.262 == pytest.approx(0.11, abs=1e-12)
    assert sump.floor_words == "level, 110 mm above the ground at ride height"
    # 30 mm, a quarter turn: three chords of 15.5 mm, four would be shorter than 12.15 mm.
    assert len(sump.outline) == 4 * 4
    assert mirrored.name == "kick-out mirrored"
    assert np.asarray(mirrored.outline)[:, 1].min() == pytest.approx(-0.214 - 0.062, abs=1e-12)
    assert kick.floor is not None
    fall = -kick.floor.normal - (-kick.floor.normal @ up) * up
    assert float(np.linalg.norm(fall) / (-kick.floor.normal @ up)) == pytest.approx(0.02, rel=1e-9)
    assert len(tray.outline) == 6


@pytest.mark.expected_from("closed form", "a cutting lump in the vehicle's axes: heights above the ground")
def test_a_lump_in_the_vehicles_axes(tmp_path: Path) -> None:
    text = """
[[lumps]]
name = "axle"
does = "cuts"
view = "side"
axes = "vehicle"
outline = [["200 mm", "0 mm"], ["260 mm", "0 mm"], ["260 mm", "140 mm"], ["200 mm", "140 mm"]]
across = ["-2000 mm", "2000 mm"]
"""
    job = read(with_text(lay(tmp_path), text))
    axle = job.body.lumps[-1]
    assert axle.own_axes is not None
    assert axle.own_origin is not None
    # The vehicle's up in engine axes is its third axis; the datum hole lies 262 above its origin.
    assert axle.own_axes[:, 2] == pytest.approx(job.body.up)
    assert float(-axle.own_origin @ job.body.up) == pytest.approx(0.262)


@pytest.mark.expected_from("property", "what the shop file says")
def test_tools_of_the_shop(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    path = folder / "shop.toml"
    tool = '\n[[sockets]]\nacross_flats = "10 mm"\noutside = "13.5 mm"\nlength = "22 mm"\nextension = "8 mm"\nreach = "90 mm"\n'
    path.write_text(path.read_text(encoding="utf-8") + tool, encoding="utf-8")
    tools = read(folder).body.surroundings.tools
    assert tools is not None
    assert not tools.is_placeholder
    assert [socket.outside for socket in tools.sockets] == [0.0135]


SPOILED = [
    (VEHICLE, 'bump = "45 mm"\n', "", "vehicle.bump", "missing"),
    (VEHICLE, 'wheelbase = "2400 mm"\n', "", "vehicle.wheelbase", "crest needs"),
    (VEHICLE, 'tyre_radius = "290 mm"\ncrest = "20 deg"\n', "", "vehicle.tyre_radius", "approach needs"),
    (OUTS, 'name = "cross-member"', 'name = "rack"', "keep_outs.rack.name", "called so already"),
    (OUTS, "hot = true\nbox", 'hot = true\nsurface = "a.stl"\nbox', "keep_outs", "one shape|go together"),
    (OUTS, 'opposite = ["500 mm", "500 mm", "100 mm"]', 'opposite = ["450 mm", "500 mm", "100 mm"]', "keep_outs.cross-member.box", "span no box"),
    (OUTS, 'end = ["430 mm", "200 mm", "-150 mm"]', 'end = ["430 mm", "-400 mm", "-150 mm"]', "keep_outs.rack.bar", "same place"),
    (OUTS, 'between = ["40 mm", "180 mm"]', 'between = ["180 mm", "40 mm"]', "keep_outs.tray.profile", "comes first"),
    (OUTS, '["-107 mm", "-20 mm"]]', '["-110 mm", "-4 mm"]]', "keep_outs.tray.profile", "encloses nothing"),
    (OUTS, 'lies = "inside"', 'lies = "insid"', "keep_outs.tray.lies", "did you mean"),
    (WALLS, 'end = ["250 mm", "-16 mm"]', 'end = ["250 mm", "-198 mm"]', 'walls."rear wall".end', "no direction"),
    (WALLS, 'passes = "front"', 'passes = "left"', 'walls."rear wall".doors."door 1".passes', "along this wall"),
    (WALLS, 'passes = "down"', 'passes = "left"', "roof_baffles.lid.doors.flap.passes", "up or down"),
    (WALLS, 'name = "lid"', 'name = "rear wall"', 'roof_baffles."rear wall".name', "called so already"),
    (WALLS, 'along = ["20 mm", "60 mm"]', 'along = ["60 mm", "20 mm"]', 'walls."rear wall".windows."window 1".along', "lesser end"),
    (WALLS, ', diameter = "12 mm"', "", 'walls."rear wall".slots."slot 1"', "needs 'at' and 'diameter'"),
    (WALLS, 'below = ["80 mm", "100 mm"]', 'across = ["80 mm", "100 mm"]', 'walls."rear wall".windows."window 1"', "meant|needs"),
    (WALLS, 'top_below = "60 mm"', 'top_below = "60 mm"\nbottom_below = "50 mm"', 'walls."rear wall".bottom_below', "deeper"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "old", "new", "key", "rule"), SPOILED)
def test_slips_are_told(tmp_path: Path, text: str, old: str, new: str, key: str, rule: str) -> None:
    assert old in text
    folder = with_text(lay(tmp_path), text.replace(old, new, 1))
    faults = faults_of(folder)
    assert faults
    assert any(fault.key.startswith(key) for fault in faults), [fault.text() for fault in faults]
    assert any(part in fault.rule for fault in faults for part in rule.split("|"))
    assert all(fault.line is not None or not fault.read for fault in faults)


def test_lump_slips_are_told(tmp_path: Path) -> None:
    for at, (old, new, key, rule) in enumerate(
        (
            ('floor = "parallel to rail"', 'floor = "above ground"', "lumps.tray.above_ground", "missing"),
            (
                'floor = "parallel to rail"',
                'fall = "2 %"\nfloor = "parallel to rail"',
                "lumps.tray.fall",
                "falls",
            ),
            (
                'does = "adds"\nrectangle = { rear = "190 mm"',
                'does = "adds"\ncorner_radius = "110 mm"\nrectangle = { rear = "190 mm"',
                "lumps.sump.corner_radius",
                "both fit",
            ),
            ('datum_height = "262 mm"', "", "engine.datum_height", "height"),
        )
    ):
        folder = lay(tmp_path / str(at))
        if key == "engine.datum_height":
            change(
                folder,
                'floor = "parallel to rail"\ndepth = "60 mm"',
                'floor = "above ground"\nabove_ground = "150 mm"',
            )
        change(folder, old, new)
        faults = faults_of(folder)
        assert any(fault.key == key and rule in fault.rule for fault in faults), [f.text() for f in faults]
