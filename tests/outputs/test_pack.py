"""The pack is written whole or not at all."""

from __future__ import annotations

import csv
import errno
import hashlib
import io
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from sumpwright.outputs import PackError, pack, write_pack
from tests.outputs import sample

ROOT = Path(__file__).parents[2]


def is_whole(folder: Path) -> bool:
    """Every file of the list stands there with its hash, and no other."""
    listed = json.loads((folder / pack.MANIFEST).read_bytes())["files"]
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    return there == {entry["file"] for entry in listed} | {pack.MANIFEST} and all(
        hashlib.sha256((folder / entry["file"]).read_bytes()).hexdigest() == entry["sha256"]
        for entry in listed
    )


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return pack.pack_files(sample.job(), sample.results())


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch, files: dict[str, bytes]) -> dict[str, bytes]:
    """The pack's files without working them out again."""
    monkeypatch.setattr(pack, "pack_files", lambda job, results, replays=None: files)
    return files


def _write(folder: Path) -> None:
    write_pack(sample.job(), sample.results(), folder)


def _left_over(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.parent.iterdir() if path.name != folder.name)


def test_pack_holds_what_the_shop_needs(tmp_path: Path) -> None:
    _write(tmp_path / "pack")
    there = {path.relative_to(tmp_path / "pack").as_posix() for path in (tmp_path / "pack").rglob("*")}
    assert {"job-sheet.pdf", "template.pdf", "parts.csv", "pan.stl", "pan.glb", "results.json"} <= there
    rows = list(csv.DictReader(io.StringIO((tmp_path / "pack" / "parts.csv").read_text())))
    assert all((tmp_path / "pack" / row["file"]).is_file() for row in rows if row["file"])
    assert any(not row["file"] for row in rows) is any(row["seen_from"] == "to buy" for row in rows)
    note = (tmp_path / "pack" / "cut" / "for-the-cutter.txt").read_text("utf-8")
    assert all(Path(row["file"]).name in note for row in rows)
    flats = [row for row in rows if row["file"]]
    drawings = [name for name in there if name.endswith(".dxf") and not name.startswith("cut/r12/")]
    assert len(drawings) == len(flats) == len(sample.parts())
    assert {name.replace("cut/", "cut/r12/") for name in drawings} <= there
    assert is_whole(tmp_path / "pack")
    assert _left_over(tmp_path / "pack") == []


def test_same_job_same_bytes(files: dict[str, bytes]) -> None:
    assert pack.pack_files(sample.job(), sample.results()) == files


def test_refused_kit_gives_no_cut_files_but_a_sheet() -> None:
    names = pack.pack_files(sample.job(), sample.results(refused=True))
    assert not any(name.startswith("cut/") for name in names)
    assert "parts.csv" not in names
    assert "job-sheet.pdf" in names


def test_pack_of_a_job_without_holes_is_written_too(tmp_path: Path) -> None:
    write_pack(sample.job(), sample.nothing(), tmp_path / "pack")
    assert sorted(path.name for path in (tmp_path / "pack").iterdir()) == [
        "job-sheet.pdf",
        "manifest.json",
        "results.json",
    ]


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("can_exchange", [True, False])
def test_earlier_pack_is_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, can_exchange: bool
) -> None:
    if not can_exchange:
        monkeypatch.setattr(pack, "_exchange", lambda one, other: False)
    write_pack(sample.job(), sample.results(), tmp_path / "pack")
    fewer = {name: text for name, text in pack.pack_files(sample.job(), sample.results()).items()}
    del fewer["pan.stl"]
    fewer[pack.MANIFEST] = pack._manifest(
        sample.job(), {name: text for name, text in fewer.items() if name != pack.MANIFEST}
    )
    monkeypatch.setattr(pack, "pack_files", lambda job, results, replays=None: fewer)
    _write(tmp_path / "pack")
    assert not (tmp_path / "pack" / "pan.stl").exists()
    assert is_whole(tmp_path / "pack")
    assert _left_over(tmp_path / "pack") == []


@pytest.mark.usefixtures("quick")
def test_folder_that_is_no_pack_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("mine")
    with pytest.raises(PackError, match="no pack of this program"):
        _write(tmp_path)
    assert (tmp_path / "job.toml").read_text() == "mine"


@pytest.mark.usefixtures("quick")
def test_file_in_the_way_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "pack").write_text("mine")
    with pytest.raises(PackError, match="is a file"):
        _write(tmp_path / "pack")
    assert (tmp_path / "pack").read_text() == "mine"


@pytest.mark.usefixtures("quick")
def test_somebody_elses_file_in_the_pack_is_never_lost(tmp_path: Path) -> None:
    _write(tmp_path / "pack")
    (tmp_path / "pack" / "cut" / "notes.txt").write_text("order two of these")
    with pytest.raises(PackError, match=r"cut/notes\.txt"):
        _write(tmp_path / "pack")
    assert (tmp_path / "pack" / "cut" / "notes.txt").read_text() == "order two of these"


@pytest.mark.usefixtures("quick")
def test_file_changed_by_hand_is_never_lost(tmp_path: Path) -> None:
    _write(tmp_path / "pack")
    (tmp_path / "pack" / "parts.csv").write_text("with my prices")
    with pytest.raises(PackError, match="changed by hand"):
        _write(tmp_path / "pack")
    assert (tmp_path / "pack" / "parts.csv").read_text() == "with my prices"


@pytest.mark.usefixtures("quick")
def test_empty_folder_and_viewers_litter_are_fine(tmp_path: Path) -> None:
    (tmp_path / "pack").mkdir()
    (tmp_path / "pack" / ".DS_Store").write_text("")
    _write(tmp_path / "pack")
    assert is_whole(tmp_path / "pack")


@pytest.mark.usefixtures("quick")
def test_link_to_a_pack_stays_a_link(tmp_path: Path) -> None:
    _write(tmp_path / "real")
    (tmp_path / "pack").symlink_to(tmp_path / "real")
    _write(tmp_path / "pack")
    assert (tmp_path / "pack").is_symlink()
    assert is_whole(tmp_path / "real")


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("after", [0, 3, 11, 17])
@pytest.mark.parametrize(
    "trouble", [OSError(errno.ENOSPC, "No space left on device"), KeyboardInterrupt()], ids=["full", "ctrl-c"]
)
def test_trouble_while_writing_leaves_the_earlier_pack(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, after: int, trouble: BaseException
) -> None:
    _write(tmp_path / "pack")
    before = (tmp_path / "pack" / pack.MANIFEST).read_bytes()
    real, left = os.fsync, [after]

    def failing(handle: int) -> None:
        left[0] -= 1
        if left[0] < 0:
            raise trouble
        real(handle)

    monkeypatch.setattr(pack.os, "fsync", failing)
    with pytest.raises(PackError if isinstance(trouble, OSError) else KeyboardInterrupt) as caught:
        _write(tmp_path / "pack")
    monkeypatch.undo()
    if isinstance(trouble, OSError):
        assert "no space left on device" in str(caught.value)
        assert "\n" not in str(caught.value)
    assert is_whole(tmp_path / "pack")
    assert (tmp_path / "pack" / pack.MANIFEST).read_bytes() == before
    assert _left_over(tmp_path / "pack") == []


@pytest.mark.usefixtures("quick")
def test_swap_that_fails_half_way_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _write(tmp_path / "pack")
    monkeypatch.setattr(pack, "_exchange", lambda one, other: False)
    real = Path.rename

    def failing(self: Path, target: Any) -> Path:
        if ".new-" in self.name:
            raise OSError(errno.EIO, "Input/output error")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(PackError, match="input/output error"):
        _write(tmp_path / "pack")
    monkeypatch.undo()
    assert is_whole(tmp_path / "pack")
    assert _left_over(tmp_path / "pack") == []


@pytest.mark.usefixtures("quick")
def test_pack_put_aside_by_a_killed_run_is_brought_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _write(tmp_path / "pack")
    (tmp_path / "pack").rename(tmp_path / ".pack.before")
    monkeypatch.setattr(pack.os, "fsync", lambda handle: (_ for _ in ()).throw(OSError(errno.ENOSPC, "full")))
    with pytest.raises(PackError):
        _write(tmp_path / "pack")
    assert is_whole(tmp_path / "pack")


@pytest.mark.usefixtures("quick")
def test_place_that_cannot_be_written_says_so_in_one_line() -> None:
    with pytest.raises(PackError) as caught:
        _write(Path("/proc/self/pack"))
    assert "\n" not in str(caught.value)
    assert "Could not write the shop pack" in str(caught.value)


_FULL = """
import resource, signal, sys
from pathlib import Path
from sumpwright.outputs import PackError, write_pack
from tests.outputs import sample
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
folder = Path(sys.argv[1])
write_pack(sample.job(), sample.results(), folder)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))
try:
    write_pack(sample.job(), sample.results(), folder)
except PackError as error:
    print(error)
"""


def test_disk_that_takes_no_more_leaves_the_earlier_pack(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", _FULL, str(tmp_path / "pack")],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=True,
    )
    assert run.stdout.startswith("Could not write the shop pack")
    assert is_whole(tmp_path / "pack")
    assert _left_over(tmp_path / "pack") == []


_FOREVER = """
import sys
from pathlib import Path
from sumpwright.outputs import pack
from tests.outputs import sample
files = pack.pack_files(sample.job(), sample.results())
pack.pack_files = lambda job, results, replays=None: files
if sys.argv[2] == "0":
    pack._exchange = lambda one, other: False
pack.write_pack(sample.job(), sample.results(), Path(sys.argv[1]))
print("ready", flush=True)
while True:
    pack.write_pack(sample.job(), sample.results(), Path(sys.argv[1]))
"""

KILLS = 100 if os.environ.get("SUMPWRIGHT_SOAK") == "1" else 2


@pytest.mark.soak
@pytest.mark.skipif(os.name != "posix", reason="kills by signal")
@pytest.mark.parametrize("can_exchange", ["1", "0"])
def test_run_killed_anywhere_leaves_a_whole_pack(tmp_path: Path, can_exchange: str) -> None:
    rng = random.Random(7)
    for _ in range(KILLS):
        child = subprocess.Popen(
            [sys.executable, "-c", _FOREVER, str(tmp_path / "pack"), can_exchange],
            stdout=subprocess.PIPE,
            cwd=ROOT,
            text=True,
        )
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        time.sleep(0.05 + rng.random() * 0.1)
        child.send_signal(signal.SIGKILL)
        child.wait()
        child.stdout.close()
        # What the next run does first.
        pack._bring_back(tmp_path / "pack")
        assert is_whole(tmp_path / "pack")
    _write(tmp_path / "pack")
    assert _left_over(tmp_path / "pack") == []
