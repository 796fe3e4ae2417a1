"""Laying out a new job."""

from __future__ import annotations

from pathlib import Path

import pytest

from sumpwright.job import JobError, examples, lay_out, read_job, reread_job
from tests.job.example_readings import EXAMPLES


@pytest.mark.parametrize("like", examples())
def test_a_laid_out_job_is_the_example_and_reads(tmp_path: Path, like: str) -> None:
    written = lay_out(tmp_path / "deep" / "my pan", like)
    assert {path.name for path in written} >= {"job.toml", "rail.csv"}
    for path in written:
        assert path.read_bytes() == (EXAMPLES / like / path.name).read_bytes()
    job, model = read_job(tmp_path / "deep" / "my pan"), read_job(EXAMPLES / like)
    assert (job.rail.readings, job.name) == (model.rail.readings, model.name)


def test_an_empty_folder_will_do(tmp_path: Path) -> None:
    lay_out(tmp_path, "motor-sailer")
    assert read_job(tmp_path).name.startswith("Motor-sailer")


def test_what_is_there_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine", encoding="utf-8")
    with pytest.raises(JobError, match="not empty"):
        lay_out(tmp_path, "motor-sailer")
    assert [path.name for path in tmp_path.iterdir()] == ["job.toml"]
    assert (tmp_path / "job.toml").read_text(encoding="utf-8") == "mine"


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "pan").write_text("", encoding="utf-8")
    with pytest.raises(JobError, match="no folder"):
        lay_out(tmp_path / "pan", "motor-sailer")
    with pytest.raises(JobError, match="cannot be written"):
        lay_out(tmp_path / "pan" / "inner", "motor-sailer")


def test_an_unknown_example_names_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(JobError, match="did you mean 'motor-sailer'"):
        lay_out(tmp_path / "new", "motor-sailor")
    assert not (tmp_path / "new").exists()
    with pytest.raises(JobError, match="no such example"):
        lay_out(tmp_path / "new", "../hillclimb-four")


@pytest.mark.expected_from("closed form", "66 mm in metres")
def test_the_same_job_with_another_text(tmp_path: Path) -> None:
    lay_out(tmp_path, "hillclimb-four")
    job = read_job(tmp_path)
    text = dict(job.texts)["job.toml"].decode("utf-8")
    (tmp_path / "rail.csv").unlink()  # the readings as they were read are used, not the file
    deeper = reread_job(job, text.replace('depth = "60 mm"', 'depth = "66 mm"'))
    assert deeper.body.lumps[0].floor is not None
    assert deeper.body.lumps[0].floor.offset == 0.066
    assert deeper.rail == job.rail
    with pytest.raises(JobError, match="too big"):
        reread_job(job, text.replace('depth = "60 mm"', 'depth = "66 m"'))


def test_a_job_without_a_shop_file_stays_without_one(tmp_path: Path) -> None:
    lay_out(tmp_path, "slope-chipper")
    job = read_job(tmp_path)
    (tmp_path / "shop.toml").write_text("nonsense", encoding="utf-8")
    again = reread_job(job, dict(job.texts)["job.toml"].decode("utf-8"))
    assert again.shop == job.shop
