"""The examples read, and say in SI what their files say."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.job import examples, read_job
from tests.job.example_readings import EXAMPLES, RAILS, readings_text

NAMES = ("hillclimb-four", "motor-sailer", "slope-chipper", "slope-chipper-adapter")


def test_all_examples_are_known() -> None:
    assert examples() == NAMES


@pytest.mark.parametrize("name", NAMES)
def test_every_example_reads(name: str) -> None:
    job = read_job(EXAMPLES / name)
    assert job.job_file == EXAMPLES / name / "job.toml"
    assert {file for file, _ in job.texts} >= {"job.toml", "rail.csv"}
    assert len(job.rail.holes) == len(RAILS[name].holes)
    assert all(math.isfinite(reading.value) and reading.u > 0 for reading in job.rail.readings)


@pytest.mark.parametrize("name", NAMES)
def test_the_readings_are_those_of_the_simulated_day(name: str) -> None:
    assert (EXAMPLES / name / "rail.csv").read_text(encoding="utf-8") == readings_text(name)


@pytest.mark.expected_from("closed form", "rotation about the engine's own x by 15 deg, by hand")
def test_the_hillclimb_job_in_si() -> None:
    job = read_job(EXAMPLES / "hillclimb-four")
    assert job.units == "mm"
    assert job.slug == "hill-climb-four-leaned-15-degrees"
    lean = math.radians(15)
    # Leaned to the right, the engine's left side rises: up has a part to the left.
    assert job.body.up == pytest.approx([0.0, math.sin(lean), math.cos(lean)], abs=1e-15)
    assert job.placement.datum_height == 0.262
    tray, sump, kick = job.body.lumps
    assert tray.floor is not None
    assert tray.floor.normal.tolist() == [0.0, 0.0, -1.0]
    assert tray.floor.offset == 0.06
    assert sump.floor is not None
    assert sump.floor.normal @ [0.3, -0.1, -0.118] == pytest.approx(sump.floor.offset, abs=1e-15)
    # Two places at one height above level ground lie on the floor together.
    across = np.array([0.0, math.cos(lean), -math.sin(lean)])
    assert sump.floor.normal @ ([0.3, -0.1, -0.118] + 0.05 * across) == pytest.approx(
        sump.floor.offset, abs=1e-15
    )
    assert sump.floor_words == "level with the ground, 118 mm below the rail at x 300 mm, y -100 mm"
    assert kick.top == -0.065
    assert job.oil.fill == 0.0048
    assert job.oil.pump.flow == pytest.approx(54e-3 / 60, rel=1e-12)
    assert job.oil.pump.at_speed == pytest.approx(7000 / 60, rel=1e-12)
    assert job.kit.temperature_rise == pytest.approx(90.0)
    assert job.kit.expansion_pan == pytest.approx(23.8e-6)
    assert job.kit.cutter.tolerance == 0.00035  # ISO 9013 class 1: 3 mm, 315 to 1000 mm
    assert job.kit.flange_cutter.tolerance == 0.00045  # 10 mm, 315 to 1000 mm
    assert job.kit.cutter.least_web == pytest.approx(1.5 * 0.003)
    assert job.kit.cutter.kerf is None


@pytest.mark.expected_from("closed form", "going round the rail by hand")
def test_the_ring_always_goes_anticlockwise_seen_from_above() -> None:
    job = read_job(EXAMPLES / "hillclimb-four")
    names = [hole.name for hole in job.rail.holes]
    assert names[:3] == ["h1", "h20", "h19"]
    places = np.array([RAILS["hillclimb-four"].holes[name] for name in names])
    x, y = places.T
    assert float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) > 0.0
    arch = job.rail.lands[1]
    assert (arch.from_hole, arch.to_hole) == ("h10", "h9")
    assert {hole.land for hole in job.rail.holes} == {"main"}


@pytest.mark.expected_from("closed form", "inch, quart and gauge figures by hand")
def test_the_chipper_is_written_in_inches() -> None:
    job = read_job(EXAMPLES / "slope-chipper")
    assert (job.units, job.paper) == ("in", "Letter")
    assert job.body.sheet == pytest.approx(0.0747 * 0.0254, rel=1e-9)  # 14 ga mild
    assert job.oil.fill == pytest.approx(2.5 * 0.946352946e-3, rel=1e-9)
    assert job.rail.lands[1].height == pytest.approx(-15 / 32 * 0.0254, rel=1e-12)
    assert {hole.name for hole in job.rail.holes if hole.land == "rear"} == {"h11", "h12"}
    assert [duty.name for duty in job.body.old_pan.duties if duty.kind == "pressure"] == [
        "pressure passage",
        "filter",
    ]
    first = next(reading for reading in job.rail.readings if reading.kind == "inside")
    assert 0.08 < first.value < 0.1
    assert min(job.rail.new_bolt_lengths) == pytest.approx(0.0127)


def test_the_adapter_takes_the_pressure_passage() -> None:
    first = read_job(EXAMPLES / "slope-chipper").body.old_pan
    second = read_job(EXAMPLES / "slope-chipper-adapter").body.old_pan
    assert {duty.moved_to for duty in first.duties if duty.kind == "pressure"} == {None}
    assert {duty.moved_to for duty in second.duties if duty.kind == "pressure"} == {
        "adapter",
        "remote filter",
    }


@pytest.mark.expected_from("closed form", "attitude by hand: 11 deg nose up, stick 35 deg off the vertical")
def test_the_sailer_stands_nose_up_and_its_stick_aslant() -> None:
    job = read_job(EXAMPLES / "motor-sailer")
    nose = math.radians(11)
    assert job.body.up == pytest.approx([math.sin(nose), 0.0, math.cos(nose)], abs=1e-15)
    stick = job.body.dipstick
    assert stick is not None
    off = math.degrees(math.acos(float(-stick.axis @ job.body.up)))
    assert off == pytest.approx(35.0, abs=0.5)


def test_what_was_not_said_is_told() -> None:
    told = {item.key for item in read_job(EXAMPLES / "slope-chipper").assumptions}
    assert {
        "shop.toml",
        "pan.washer",
        "rail.hole_off_at_most",
        "measuring.caliper",
        "cutting.tolerance",
    } <= told
    told = {item.key for item in read_job(EXAMPLES / "motor-sailer").assumptions}
    assert {"measuring.tape", "stock.1.price", "pan.seam_overlap"} <= told
    assert "shop.toml" not in told


@pytest.mark.parametrize("name", NAMES)
def test_every_sentence_has_its_figures(name: str) -> None:
    for item in read_job(EXAMPLES / name).assumptions:
        gaps = {part.split("}")[0] for part in item.says.split("{")[1:]}
        assert gaps == {figure.name for figure in item.figures}, item


def test_reading_twice_gives_the_same() -> None:
    one, two = read_job(EXAMPLES / "motor-sailer"), read_job(EXAMPLES / "motor-sailer")
    assert repr(one) == repr(two)
