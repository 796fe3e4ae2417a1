"""The second process of a pack: started where there is a core for it, never missed where it is lost."""

from __future__ import annotations

import multiprocessing
from pathlib import Path
from typing import Any

import pytest

from sumpwright.flow import beside, fingerprint
from sumpwright.job import lay_out, read_job
from sumpwright.job.model import Job

HERE = beside.OtherWays((), ())


@pytest.fixture
def job(tmp_path: Path) -> Job:
    lay_out(tmp_path / "job", "slope-chipper-adapter")
    return read_job(tmp_path / "job")


@pytest.fixture
def done_here(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """The jobs that were worked out in this process, which takes no time in these tests."""
    asked: list[Any] = []

    def work_out(job: Job, memory: object = None) -> beside.OtherWays:
        asked.append(job)
        return HERE

    monkeypatch.setattr(beside, "work_out", work_out)
    monkeypatch.delenv(beside.ALONE, raising=False)
    monkeypatch.setattr(beside, "cores", lambda: 2)
    return asked


def test_one_core_does_it_here(job: Job, done_here: list[Any], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beside, "cores", lambda: 1)
    with beside.Beside(job) as other:
        assert not multiprocessing.active_children()
        assert other.answer() is HERE
    assert done_here == [job]


def test_a_process_that_is_lost_is_made_up_for(job: Job, done_here: list[Any]) -> None:
    with beside.Beside(job) as other:
        (child,) = multiprocessing.active_children()
        child.kill()
        assert other.answer() is HERE
    assert done_here == [job]


def test_the_process_ends_with_the_block_whatever_happens(job: Job, done_here: list[Any]) -> None:
    def stopped() -> None:
        with beside.Beside(job):
            (child,) = multiprocessing.active_children()
            assert child.is_alive()
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert not multiprocessing.active_children()
    assert not done_here


def test_the_process_hands_back_what_it_found(job: Job) -> None:
    near, far = multiprocessing.Pipe(duplex=False)
    far.send(HERE)
    other = beside.Beside(job)
    other._pipe = near
    assert other.answer() == HERE
    far.close()
    near.close()


@pytest.mark.soak
def test_the_second_process_finds_the_same_to_the_last_bit(job: Job, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(beside.ALONE, raising=False)
    monkeypatch.setattr(beside, "cores", lambda: 2)
    with beside.Beside(job) as other:
        assert fingerprint(other.answer()) == fingerprint(beside.work_out(job))
