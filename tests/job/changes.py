"""A job folder to spoil."""

from __future__ import annotations

import shutil
from pathlib import Path

from sumpwright.job import Fault, Job, JobError, read_job
from tests.job.example_readings import EXAMPLES


def lay(folder: Path, like: str = "hillclimb-four") -> Path:
    """A copy of an example."""
    target = folder / like
    shutil.copytree(EXAMPLES / like, target, ignore=shutil.ignore_patterns("pack"))
    return target


def change(folder: Path, old: str, new: str, file: str = "job.toml") -> None:
    """Change one place of a file; the place must be there."""
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def faults_of(folder: Path) -> tuple[Fault, ...]:
    """The faults of a job; none if it reads."""
    try:
        read_job(folder)
    except JobError as error:
        return error.faults
    return ()


def line_of(folder: Path, text: str, file: str = "job.toml") -> int:
    """Line number of the first line that holds the text."""
    lines = (folder / file).read_text(encoding="utf-8").split("\n")
    return next(n for n, line in enumerate(lines, start=1) if text in line)


def read(folder: Path) -> Job:
    """The job."""
    return read_job(folder)
