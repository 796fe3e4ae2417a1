"""Random whole jobs end in findings with a place, in a pack that its own tests accept, or in named faults."""

from __future__ import annotations

import contextlib
import io
import json
import os
import random
import signal
from pathlib import Path

import pytest

from sumpwright.cli.door import main
from sumpwright.flow import QUICK_STAGES, run
from sumpwright.job import JobError, read_job
from sumpwright.job.model import JobResults
from tests.jobs.laid_out import everything_below
from tests.trust.random_jobs import random_job

SOAK = os.environ.get("SUMPWRIGHT_SOAK") == "1"
LONGEST = 120  # s on a busy machine; a job that hangs is a defect


@contextlib.contextmanager
def _limit(seconds: int):
    def over(*_: object) -> None:
        raise TimeoutError(f"no answer within {seconds} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def _answer(job: Path, number: int) -> JobResults | None:
    """The results of a job, None where it is refused with faults that name their file."""
    try:
        with _limit(LONGEST):
            return run(read_job(job), QUICK_STAGES)
    except JobError as refused:
        if not refused.faults or not all(fault.file and fault.rule for fault in refused.faults):
            raise AssertionError(f"job {number} is refused without a reason") from refused
        return None
    except Exception as trouble:
        raise AssertionError(f"job {number} ends in {type(trouble).__name__}: {trouble}") from trouble


@pytest.mark.soak
@pytest.mark.expected_from("property", "a job is read and answered, or refused with its faults")
def test_any_job_is_answered_or_refused(tmp_path: Path) -> None:
    read = 0
    for number in range(1000 if SOAK else 10):
        job = random_job(tmp_path / str(number), random.Random(71_000 + number))
        results = _answer(job, number)
        if results is None:
            continue
        read += 1
        assert results.findings, number
        assert all(finding.where for finding in results.findings), number
    assert read > (200 if SOAK else 1)


@pytest.mark.soak
@pytest.mark.expected_from("property", "a pack of a random job is whole, or nothing is written")
def test_any_job_ends_in_a_whole_pack_or_in_none(tmp_path: Path) -> None:
    packs = 0
    number = 0
    while packs < (100 if SOAK else 1):
        number += 1
        job = random_job(tmp_path / str(number), random.Random(72_000 + number))
        before = everything_below(job)
        screen = io.StringIO()
        with _limit(5 * LONGEST), contextlib.redirect_stdout(screen), contextlib.redirect_stderr(screen):
            status = main(["pack", str(job)])
        assert status in (0, 1, 2), number
        assert "Traceback" not in screen.getvalue(), number
        after = everything_below(job)
        assert {name: text for name, text in after.items() if not name.startswith("pack/")} == before, number
        if status == 2:
            assert after == before, number
            continue
        packs += 1
        listed = json.loads(after["pack/manifest.json"])["files"]
        assert {f"pack/{entry['file']}" for entry in listed} == set(after) - set(before) - {
            "pack/manifest.json"
        }
        findings = json.loads(after["pack/results.json"])["findings"]
        kit_fails = any(
            f["code"] in ("KIT-02", "KIT-03", "KIT-04") and f["verdict"] == "fails" for f in findings
        )
        cut = [name for name in after if name.startswith("pack/cut/") and name.endswith(".dxf")]
        assert not (kit_fails and cut), number
