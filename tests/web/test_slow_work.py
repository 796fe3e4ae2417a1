"""Slow work tells how far it is, ends with a word, and never leaves half a pack."""

from __future__ import annotations

import pytest

from sumpwright.job import read_job
from sumpwright.outputs import PackError
from sumpwright.web import slow_process
from sumpwright.web.pack_files import pack_file, pack_names
from sumpwright.web.slow_process import PackAsked, SlowDone, SlowStep
from tests.jobs.laid_out import laid_out


class Pipe:
    def __init__(self) -> None:
        self.told = []

    def send(self, told) -> None:
        self.told.append(told)


@pytest.fixture
def asked(tmp_path):
    job = read_job(laid_out(tmp_path))
    return PackAsked(3, job, tmp_path / "pack")


def test_a_disk_that_is_full_is_told_in_words(asked, monkeypatch):
    pipe = Pipe()

    def full(*_):
        raise PackError("Could not write the shop pack: no space left on device.")

    monkeypatch.setattr(slow_process, "run", full)
    with pytest.raises(SystemExit):
        slow_process.work(pipe, asked)
    assert pipe.told == [SlowDone(3, "Could not write the shop pack: no space left on device.")]


def test_every_stage_is_told_before_the_pack_is_written(asked, monkeypatch):
    pipe = Pipe()
    monkeypatch.setattr("sumpwright.outputs.write_pack", lambda *_: ("job-sheet.pdf",))
    monkeypatch.setattr(slow_process, "alternatives", lambda job, results, memory: ())
    monkeypatch.setattr(slow_process, "material_choices", lambda job, results, memory: ())
    monkeypatch.setattr(slow_process, "ALL_STAGES", ("rail",))
    slow_process.work(pipe, asked)
    *steps, done = pipe.told
    assert all(isinstance(step, SlowStep) and step.doing for step in steps)
    assert done == SlowDone(3, files=("job-sheet.pdf",))


def test_only_what_the_packs_own_list_names_is_handed_out(tmp_path):
    pack = tmp_path / "pack"
    assert pack_names(pack) == []
    (pack / "cut").mkdir(parents=True)
    (pack / "manifest.json").write_text(
        '{"files": [{"file": "cut/a.dxf"}, {"file": "../secret"}, {"file": "link"}]}'
    )
    (pack / "cut" / "a.dxf").write_text("0")
    (tmp_path / "secret").write_text("no")
    (pack / "link").symlink_to(tmp_path / "secret")
    assert pack_file(pack, "cut/a.dxf") == b"0"
    for name in ("../secret", "link", "manifest.json", "", "/etc/passwd"):
        assert pack_file(pack, name) is None
    (pack / "manifest.json").write_text("[")
    assert pack_names(pack) == []
