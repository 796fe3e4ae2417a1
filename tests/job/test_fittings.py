"""Bosses in the job file."""

from __future__ import annotations

from pathlib import Path

import pytest

from sumpwright.job import read_job
from tests.job.changes import faults_of, lay

BOSS = """
[[fittings]]
name = "drain"
kind = "drain"
at = ["245 mm", "-150 mm", "-105 mm"]
thread = "M18x1.5"
outside = "1 1/8 in"
"""


def with_boss(tmp_path: Path, text: str = BOSS) -> Path:
    folder = lay(tmp_path)
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return folder


@pytest.mark.expected_from("closed form", "1 in = 25.4 mm: 1 1/8 in = 28.575 mm")
def test_a_boss_in_base_units(tmp_path: Path) -> None:
    (boss,) = read_job(with_boss(tmp_path)).body.fittings
    assert boss.boss_diameter == pytest.approx(28.575e-3, rel=1e-12)
    assert boss.at == pytest.approx([0.245, -0.150, -0.105])
    assert (boss.kind, boss.thread, boss.ring) == ("drain", "M18x1.5", True)


def test_a_boss_without_ring_and_one_of_no_known_kind(tmp_path: Path) -> None:
    (boss,) = read_job(with_boss(tmp_path, BOSS + "ring = false\n")).body.fittings
    assert not boss.ring
    folder = with_boss(tmp_path / "other", BOSS.replace('kind = "drain"', 'kind = "drian"'))
    (fault,) = faults_of(folder)
    assert fault.key == "fittings.drain.kind"
    assert "did you mean" in fault.rule


MORE = """
[[fittings]]
name = "suck-out"
kind = "extraction tube"
at = ["300 mm", "-16 mm", "-60 mm"]
thread = "plain"
outside = "12 mm"
inside = [["300 mm", "-40 mm", "-60 mm"], ["300 mm", "-60 mm", "-105 mm"]]
inside_diameter = "10 mm"

[[fittings]]
name = "turbo return"
kind = "return"
at = ["100 mm", "-16 mm", "-30 mm"]
thread = "plain"
outside = "22 mm"
comes_from = ["120 mm", "60 mm", "90 mm"]

[[stand_offs]]
name = "tray post"
at = ["100 mm", "-100 mm", "-60 mm"]
diameter = "14 mm"
length = "20 mm"
thread = "M6"

[stone_guard]
stand_off = "15 mm"
thickness = "4 mm"
feet = [["210 mm", "-180 mm"], ["370 mm", "-180 mm"], ["300 mm", "-40 mm"]]
drain_opening = "45 mm"

[jacking]
way = "load plate"
at = ["300 mm", "-100 mm"]
diameter = "80 mm"
thickness = "5 mm"
load = "2000 N"
"""


@pytest.mark.expected_from("property", "every kind reaches the body's inputs in base units")
def test_everything_that_is_set_on_the_pan_is_read(tmp_path: Path) -> None:
    job = read_job(with_boss(tmp_path, MORE))
    tube, back = job.body.fittings
    assert tube.inside is not None
    assert tube.inside.shape == (2, 3)
    assert back.comes_from == pytest.approx([0.120, 0.060, 0.090])
    assert job.body.stand_offs[0].long == pytest.approx(0.020)
    assert job.body.guard is not None
    assert (job.body.guard.material, job.body.guard.foot_thread) == ("5052-H32", "M8")
    assert job.body.jacking is not None
    assert job.body.jacking.load == pytest.approx(2000.0)
    port = next(port for port in job.oil.ports if port.name == "turbo return")
    assert port.port == "return"
    # Half the boss straight below its middle, the engine leaned by 15 deg.
    assert float(job.oil.up @ (port.lowest - back.at)) == pytest.approx(-0.011)


@pytest.mark.expected_from("property", "each fault is told with its key")
@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('way = "load plate"', 'way = "nowhere"', "jacking.at"),
        ('diameter = "80 mm"\n', "", "jacking.diameter"),
        ('name = "tray post"', 'name = "suck-out"', "stand_offs.suck-out.name"),
        ('inside = [["300 mm", "-40 mm", "-60 mm"], ["300 mm", "-60 mm", "-105 mm"]]\n', "", "inside"),
        ('thread = "M6"', 'thread = "M6"\nmagnet = true', "magnet"),
        ('thickness = "4 mm"', 'thickness = "4 mm"\nmaterial = "unobtainium"', "stone_guard.material"),
    ],
)
def test_faults_of_what_is_set_on(tmp_path: Path, old: str, new: str, key: str) -> None:
    assert old in MORE
    faults = faults_of(with_boss(tmp_path, MORE.replace(old, new)))
    assert any(key in fault.key for fault in faults)


@pytest.mark.expected_from("property", "the drain boss stands where [drain] says, or nowhere else is said")
def test_two_drains_at_two_places(tmp_path: Path) -> None:
    assert not faults_of(with_boss(tmp_path))
    faults = faults_of(with_boss(tmp_path / "b", BOSS.replace('"245 mm"', '"345 mm"')))
    assert [fault.key for fault in faults] == ["fittings.drain.at"]
