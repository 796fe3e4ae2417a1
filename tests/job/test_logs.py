"""Logged laps named by the job: columns, units and signs, and every slip told in one message."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from sumpwright.job import JobError, read_job
from sumpwright.quantities import STANDARD_GRAVITY

EXAMPLE = Path(__file__).parents[2] / "src" / "sumpwright" / "examples" / "hillclimb-four"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    shutil.copytree(EXAMPLE, folder)
    return folder


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "job.toml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")


def faults(folder: Path) -> str:
    with pytest.raises(JobError) as caught:
        read_job(folder)
    return " / ".join(f"{fault.key}: {fault.rule} {fault.allowed}" for fault in caught.value.faults)


@pytest.mark.expected_from("published", "us-customary-units: bar and km/h; 60 rpm = 1 Hz")
def test_the_log_is_read_in_base_units(job: Path) -> None:
    log = read_job(job).logs[0]
    line = (job / "hill-run.csv").read_text("utf-8").splitlines()[1].split(",")
    assert log.times[0] == float(line[0])
    assert log.forward[0] == pytest.approx(float(line[1]) * STANDARD_GRAVITY)
    assert log.engine_speed is not None
    assert log.speed is not None
    assert log.pressure is not None
    assert log.engine_speed[0] == pytest.approx(float(line[4]) / 60.0)
    assert log.speed[0] == pytest.approx(float(line[6]) / 3.6)
    assert log.pressure[0] == pytest.approx(float(line[7]) * 1e5)
    assert len(log.times) == 900


def test_a_column_that_is_not_there_gets_the_nearest_known_one(job: Path) -> None:
    change(job, 'yaw_rate = "yaw"', 'yaw_rate = "yaww"')
    assert "did you mean 'yaw'" in faults(job)


def test_wrong_axes_and_units_are_refused_with_the_reason(job: Path) -> None:
    change(job, 'left = "ay"\nup = "az"', 'left = "az"\nup = "ay"')
    assert "swapped" in faults(job)
    change(job, 'left = "az"\nup = "ay"', 'left = "ay"\nup = "az"\nleft_means = "right turn"')
    assert "opposite ways" in faults(job)
    change(job, '\nleft_means = "right turn"', "")
    change(job, 'accelerations_in = "g"', 'accelerations_in = "m/s2"')
    assert "the unit is g, not m/s2" in faults(job)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"time,lat,lon\n0,48.1,11.5\n", "no such column"),
        (b"\xff\xfe\x00\x01 binary", "no such column"),
        (b"", "no such column"),
        (b"time,ax,ay,az,rpm,yaw,speed,oil_bar\n", "no lines of numbers"),
        (b"time,ax,ay,az,rpm,yaw,speed,oil_bar\n0,1,2\n", "no row of numbers"),
        (b"time,ax,ay,az,rpm,yaw,speed,oil_bar\n0,nan,0,1,1,0,1,4\n", "no number"),
        (b"time,ax,ay,az,rpm,yaw,speed,oil_bar\n0,zero,0,1,1,0,1,4\n", "no row of numbers"),
    ],
)
def test_logs_that_are_none(job: Path, text: bytes, says: str) -> None:
    (job / "hill-run.csv").write_bytes(text)
    said = faults(job)
    assert says in said or "no text" in said


def test_a_log_elsewhere_is_not_fetched(job: Path) -> None:
    change(job, 'log = "hill-run.csv"', 'log = "../hill-run.csv"')
    assert "only its name" in faults(job)
    change(job, 'log = "../hill-run.csv"', 'log = "gone.csv"')
    with pytest.raises(JobError) as caught:
        read_job(job)
    assert any(fault.file == "gone.csv" for fault in caught.value.faults)


def test_a_long_log_is_read(job: Path) -> None:
    times = np.arange(0.0, 1800.0, 0.01)
    zero = np.zeros_like(times)
    table = np.column_stack([times, zero, zero, zero + 1.0, zero + 5000, zero, zero + 50, zero + 4])
    np.savetxt(
        job / "hill-run.csv",
        table,
        delimiter=",",
        fmt="%.3f",
        header="time,ax,ay,az,rpm,yaw,speed,oil_bar",
        comments="",
    )
    assert len(read_job(job).logs[0].times) == len(times)
