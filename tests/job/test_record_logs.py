"""Pressure logs that the record names: read, left to the job's drives, or told why not."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.job import read_job
from sumpwright.job.record_files import store
from sumpwright.motion.drive_check import _steady
from sumpwright.motion.drives import DriveInputs
from sumpwright.motion.logs import dips_of, trace_of
from tests.jobs.laid_out import laid_out

COLUMNS = (
    'time = "t"\nforward = "ax"\nleft = "ay"\nup = "az"\naccelerations_in = "g"\ngravity = "in the log"\n'
    'engine_speed = "rpm"\npressure = "oil"\npressure_in = "bar"\n'
)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = laid_out(tmp_path, "hillclimb-four")
    t = np.arange(0.0, 12.0, 0.05)
    corner = np.where((t > 4.0) & (t < 7.0), 1.2, 0.0)
    oil = np.where((t > 5.0) & (t < 6.0), 1.0, 4.0)
    table = np.column_stack([t, 0.0 * t, corner, 1.0 + 0.0 * t, 5000.0 + 0.0 * t, oil])
    lines = [",".join(f"{value:.3f}" for value in row) for row in table]
    (folder / "run.csv").write_text("\n".join(["t,ax,ay,az,rpm,oil", *lines]) + "\n", "utf-8")
    return folder


def written(job: Path, columns: str, file: str = "run.csv") -> None:
    name = read_job(job).name
    store(job, f'[record]\njob = "{name}"\ndate = "2026-03-14"\n[[logs]]\nfile = "{file}"\n{columns}')


@pytest.mark.expected_from("property", "the record's log is driven like a log of the job, in base SI")
def test_a_log_of_the_record_is_read(job: Path) -> None:
    before = len(read_job(job).logs)
    written(job, COLUMNS)
    read = read_job(job)
    assert len(read.logs) == before + 1
    log = read.logs[-1]
    assert log.name == "run.csv"
    assert log.pressure is not None
    assert log.pressure.max() == pytest.approx(4e5)
    assert log.engine_speed is not None
    assert log.engine_speed[0] == pytest.approx(5000.0 / 60.0)
    dips = dips_of(log)
    assert [(round(dip.start, 1), round(dip.end, 1)) for dip in dips] == [(5.0, 5.9)] or len(dips) == 1
    assert trace_of(log, read.placement, 80.0).name == "run.csv"
    assert DriveInputs(read.motion, read.oil, read.logs).logs[-1] is log
    assert read.proof is not None
    assert read.proof.record is not None
    assert not read.proof.record.unread_logs


@pytest.mark.expected_from("property", "what cannot be read is a finding that says why, never silence")
@pytest.mark.parametrize(
    ("columns", "says"),
    [
        ("", "which column is what"),
        (COLUMNS.replace('pressure = "oil"\n', ""), "oil pressure"),
        (COLUMNS.replace('"ay"', '"sideways"'), "no such column"),
        (COLUMNS.replace('gravity = "in the log"', 'gravity = "taken off"'), "gravity"),
    ],
)
def test_what_cannot_be_read_is_told(job: Path, columns: str, says: str) -> None:
    written(job, columns)
    proof = read_job(job).proof
    assert proof is not None
    assert proof.record is not None
    assert says in proof.record.unread_logs[0][1]


@pytest.mark.expected_from("property", "no dip and none told holds; bare stretches without a dip are close")
def test_a_log_without_a_dip_speaks() -> None:
    assert _steady("run", 0).verdict is Verdict.HOLDS
    assert _steady("run {1}", 3).verdict is Verdict.CLOSE
