"""The measured bow goes into the shop file, and the next pan is told from it."""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.job import JobError, read_job
from sumpwright.job.shop_lesson import BowLesson, teach_shop
from sumpwright.tables.materials import find_material
from sumpwright.weld.bow import _range_of
from tests.jobs.laid_out import laid_out

LESSON = BowLesson("hillclimb-four", "5052-H32", 0.0004, 0.0016, 0.0011)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return laid_out(tmp_path, "hillclimb-four")


@pytest.mark.expected_from("property", "one section more at the end; every byte before it stays")
def test_all_that_stood_there_stays(job: Path) -> None:
    shop = job / "shop.toml"
    before = shop.read_bytes()
    shop.chmod(0o640)
    assert teach_shop(job, LESSON) == shop
    after = shop.read_bytes()
    assert after.startswith(before)
    assert shop.stat().st_mode & 0o777 == 0o640
    old, new = (tomllib.loads(raw.decode()) for raw in (before, after))
    assert {**old, "pan_records": new["pan_records"]} == new
    assert new["pan_records"][-1]["measured"] == "1.100 mm"
    assert not list(job.glob(".shop*"))


@pytest.mark.expected_from("property", "line ends of another system stay")
def test_other_line_ends_stay(job: Path) -> None:
    shop = job / "shop.toml"
    shop.write_bytes(shop.read_bytes().replace(b"\n", b"\r\n"))
    teach_shop(job, LESSON)
    raw = shop.read_bytes()
    assert raw.count(b"\r\n") == raw.count(b"\n")
    assert read_job(job).bow is not None


@pytest.mark.expected_from("property", "the next job's movement is told by what this pan measured")
def test_the_next_pan_is_told_from_it(job: Path) -> None:
    metal = find_material("5052-H32")
    assert metal is not None

    def told() -> tuple[float, float, str, float | None]:
        inputs = read_job(job).bow
        assert inputs is not None
        least, most, (doubt, trust) = _range_of(replace(inputs, coupons=()), metal, 0.003, (1e5, 2e5), 1e6)
        return least, most, doubt, trust

    least, most, doubt, _ = told()
    assert doubt == "order of magnitude"
    teach_shop(job, LESSON)
    by_record = told()
    # Measured over the middle of what was told, as ratios go: sqrt(0.4 * 1.6) = 0.8.
    assert by_record[2] == "by record"
    assert by_record[3] == pytest.approx(1.1 / 0.8, rel=1e-3)
    assert by_record[1] - by_record[0] < most - least
    assert np.sqrt(by_record[0] * by_record[1]) > np.sqrt(least * most)
    teach_shop(job, replace(LESSON, job="another pan", measured=0.0006))
    assert told()[3] == pytest.approx(np.sqrt(1.1 * 0.6) / 0.8, rel=1e-3)


@pytest.mark.expected_from("property", "what cannot be written is told, and nothing is changed")
def test_what_cannot_be_written(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shop = job / "shop.toml"
    teach_shop(job, LESSON)
    before = shop.read_bytes()
    with pytest.raises(JobError, match="there already"):
        teach_shop(job, LESSON)
    with pytest.raises(JobError, match="metal"):
        teach_shop(job, replace(LESSON, job="other", material="cheese"))
    assert shop.read_bytes() == before
    with monkeypatch.context() as patched:

        def fails(*_: object) -> None:
            raise OSError(28, "No space left on device")

        patched.setattr(os, "fsync", fails)
        with pytest.raises(OSError, match="No space"):
            teach_shop(job, replace(LESSON, job="other"))
    assert shop.read_bytes() == before
    shop.write_text("pan_records = []\n" + before.decode().split("[[pan_records]]")[0], "utf-8")
    with pytest.raises(JobError, match="one line"):
        teach_shop(job, LESSON)
    shop.unlink()
    with pytest.raises(JobError, match="no shop file yet"):
        teach_shop(job, LESSON)
    assert not list(job.glob(".shop*"))
