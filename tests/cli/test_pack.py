"""Writing over an earlier pack: whole and new, or whole and old, never in between."""

from __future__ import annotations

import contextlib
import errno
import hashlib
import io
import json
import os
import signal
import subprocess
import sys
import time

import pytest

from sumpwright import flow
from sumpwright.cli.door import main
from sumpwright.job import read_job
from sumpwright.outputs import pack as pack_writer
from tests.house.repository import ROOT
from tests.jobs.laid_out import EXAMPLES, everything_below

JOB = EXAMPLES / "slope-chipper-adapter"


@pytest.fixture(scope="module")
def worked_out():
    """The job's results and the files of its pack, worked out once."""
    job = read_job(JOB)
    results = flow.run(job)
    return results, pack_writer.pack_files(job, results)


@pytest.fixture
def old_pack(worked_out, tmp_path, monkeypatch):
    """A pack on the disk, and what is in it; the same would be written again."""
    results, files = worked_out
    monkeypatch.setattr(flow, "run", lambda *arguments, **named: results)
    monkeypatch.setattr(pack_writer, "pack_files", lambda *arguments: files)
    folder = tmp_path / "pack"
    with contextlib.redirect_stdout(io.StringIO()):
        assert main(["pack", str(JOB), "--out", str(folder)]) in (0, 1)
    return folder, everything_below(tmp_path)


def holds_the_old_one(old_pack) -> bool:
    folder, before = old_pack
    return everything_below(folder.parent) == before


@pytest.mark.parametrize("step", ["_write_all", "_swap"])
def test_ctrl_c_while_writing(old_pack, capsys, monkeypatch, step):
    def stop(*arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr(pack_writer, step, stop)
    assert main(["pack", str(JOB), "--out", str(old_pack[0])]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert holds_the_old_one(old_pack)


def test_a_full_disk(old_pack, capsys, monkeypatch):
    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert main(["pack", str(JOB), "--out", str(old_pack[0])]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "no space left on device" in err
    assert "whole" in err
    assert holds_the_old_one(old_pack)


def test_a_folder_that_takes_no_files(old_pack, capsys):
    assert main(["pack", str(JOB), "--out", "/dev/null/pack"]) == 2
    assert "Could not write" in capsys.readouterr().err


def test_a_folder_of_somebody_else(old_pack, tmp_path_factory, capsys):
    tmp_path = tmp_path_factory.mktemp("theirs")
    (tmp_path / "letters.txt").write_text("dear all", "utf-8")
    before = everything_below(tmp_path)
    assert main(["pack", str(JOB), "--out", str(tmp_path)]) == 2
    assert "left alone" in capsys.readouterr().err
    assert everything_below(tmp_path) == before


def test_ctrl_c_from_outside(old_pack):
    """However far it came: one line and 130 (or dead by the signal), or finished with a whole pack."""
    run = subprocess.Popen(
        [sys.executable, "-m", "sumpwright", "pack", str(JOB), "--out", str(old_pack[0])],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    time.sleep(1.0)
    run.send_signal(signal.SIGINT)
    _, err = run.communicate(timeout=400)
    assert run.returncode in (130, -signal.SIGINT, 0, 1)
    assert "Traceback" not in err
    if run.returncode in (0, 1):
        # It was not heard (a shell may have it ignored), and went on to the end: a whole pack.
        manifest = json.loads((old_pack[0] / "manifest.json").read_bytes())
        for entry in manifest["files"]:
            raw = (old_pack[0] / entry["file"]).read_bytes()
            assert hashlib.sha256(raw).hexdigest() == entry["sha256"]
    else:
        assert holds_the_old_one(old_pack)
