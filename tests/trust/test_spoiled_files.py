"""Every reader, given files with slips in them: an answer or its own words, quickly, in little memory.

Each reader works in a process of its own that may take 2 GB more than it holds at the start; every file has
10 s; whatever is opened for writing outside the test's folder is an error. 200,000 files in ``make soak``,
a hundredth of them otherwise.
"""

from __future__ import annotations

import io
import json
import multiprocessing
import os
import random
import resource
import signal
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NoReturn

import numpy as np
import pytest

from sumpwright.job import JobError, read_job
from tests.job.changes import lay
from tests.job.spoiled import spoiled

SOAK = os.environ.get("SUMPWRIGHT_SOAK") == "1"
SHARE = 1.0 if SOAK else 0.01
TWO_GB = 2 << 30
SECONDS = 10


@dataclass(frozen=True)
class Reader:
    """What reads a kind of file: whole examples of it, and how many slips in all of soak."""

    files: Callable[[Path], dict[str, bytes]]
    read: Callable[[Path, bytes], None]  # returns, or raises only what is not its own word
    count: int


def _in_words(trouble: Exception) -> None:
    """A reason that can be read aloud, short enough for a screen."""
    said = str(trouble)
    assert len(said) > 10, repr(trouble)
    assert all(letter.isprintable() or letter == "\n" for letter in said), said
    assert "Traceback" not in said


def _scans(_: Path) -> dict[str, bytes]:
    from tests.job.test_seen_files import as_file

    return {ending: as_file(ending) for ending in ("stl", "ascii stl", "ply", "obj", "xyz", "glb")}


def _pictures(_: Path) -> dict[str, bytes]:
    from PIL import Image

    shades = np.indices((60, 90)).sum(axis=0).astype(np.uint8)
    files = {}
    for kind in ("png", "jpeg", "tiff"):
        held = io.BytesIO()
        Image.fromarray(shades).save(held, kind, dpi=(300, 300))
        files[kind] = held.getvalue()
    return files


def _meshes(_: Path) -> dict[str, bytes]:
    return {name: raw for name, raw in _scans(_).items() if name.endswith("stl")}


def _read_scan(name: str, raw: bytes) -> None:
    from sumpwright.job.seen_files import UnusableFileError, scan_points

    try:
        found = scan_points(raw, name.split()[-1])
    except UnusableFileError as trouble:
        _in_words(trouble)
    else:
        assert found.points.shape[1] == 3


def _read_picture(name: str, raw: bytes) -> None:
    from sumpwright.job.seen_files import UnusableFileError, pixels

    try:
        pixels(raw, name)
    except UnusableFileError as trouble:
        _in_words(trouble)


def _read_mesh(_: str, raw: bytes) -> None:
    from sumpwright.geometry.stl import StlError, read_stl

    try:
        assert np.isfinite(read_stl(raw)).all()
    except StlError as trouble:
        _in_words(trouble)


FORM = """
[record]
job = "x"
date = "2026-03-14"

[pan]
weighed = "4.3 kg"
bow = "0.4 mm"

[[straight_edge]]
place = "left rail, h1 to h8"
span = "400 mm"
feeler = "0.10 mm"
state = "free"

[[heights]]
x = "-14 mm"
y = "-14 mm"
height = "0.04 mm"
state = "pulled down"

[leak_test]
start = "10 kPa"
end = "10 kPa"
time = "5 min"
start_temperature = "20 degC"
end_temperature = "20 degC"
barometer = "1013 hPa"

[[pours]]
poured = "3 L"
stick = "412 mm"
"""


def _read_form(_: str, raw: bytes) -> None:
    from sumpwright.job.faults import Fault
    from sumpwright.job.fields import Setting
    from sumpwright.job.files import as_text
    from sumpwright.job.record_files import read_form

    text = as_text(raw, "as-built.toml", "the readings")
    if isinstance(text, Fault):
        return
    try:
        read_form(text, "as-built.toml", "x", Setting())
    except JobError as error:
        _in_words(error)


def _in_a_folder(name: str) -> Callable[[str, bytes], None]:
    """Read the whole job with this one of its files spoiled."""

    def read(folder: str, raw: bytes) -> None:
        path = Path(folder) / name
        path.write_bytes(raw)
        try:
            read_job(Path(folder))
        except JobError as error:
            _in_words(error)

    return read


def _job_files(*names: str, like: str) -> Callable[[Path], dict[str, bytes]]:
    def files(place: Path) -> dict[str, bytes]:
        folder = lay(place, like)
        return {str(folder): (folder / names[0]).read_bytes()}

    return files


def _kept_record(place: Path) -> dict[str, bytes]:
    from sumpwright.job.record_files import store

    folder = lay(place, "motor-sailer")
    kept = store(folder, FORM.replace('"x"', json.dumps(read_job(folder).name)))
    return {str(kept): kept.read_bytes()}


def _read_kept_record(path: str, raw: bytes) -> None:
    from sumpwright.job.fields import Setting
    from sumpwright.job.record_files import read_record

    Path(path).write_bytes(raw)
    built = read_record(Path(path).parents[1], None, Setting())
    assert built is not None
    assert bool(built.trouble) != bool(built.entries)


def _read_plan(folder: str, raw: bytes) -> None:
    from sumpwright.explore.plan import read_plan

    (Path(folder) / "plan.toml").write_bytes(raw)
    try:
        read_plan(Path(folder))
    except JobError as error:
        _in_words(error)


def _manifest(place: Path) -> dict[str, bytes]:
    from tests.outputs import sample

    folder = place / "pack"
    from sumpwright.outputs.pack import MANIFEST, write_pack

    write_pack(sample.job(), sample.results(), folder)
    return {str(folder / MANIFEST): (folder / MANIFEST).read_bytes()}


def _read_manifest(path: str, raw: bytes) -> None:
    from sumpwright.outputs.pack import _own_files

    Path(path).write_bytes(raw)
    _own_files(Path(path).parent)


def _journal(place: Path) -> dict[str, bytes]:
    from sumpwright.web.history import JOURNALS, History, Rewritten, Step

    history = History(place)
    history.begin()
    for number in range(3):
        change = Rewritten("job", "job.toml", f"depth = {number}", f"depth = {number + 1}")
        history.add(Step(0, "depth", "80 mm", "90 mm", "page", (change,)))
    history.undo(history.steps[-1])
    return {str(place / JOURNALS[0]): (place / JOURNALS[0]).read_bytes()}


def _read_journal(path: str, raw: bytes) -> None:
    from sumpwright.web.history import History

    Path(path).write_bytes(raw)
    history = History(Path(path).parent)
    history.begin()
    history.close()


def _store(place: Path) -> dict[str, bytes]:
    from sumpwright.explore.store import Answer, Store

    path = place / "answers.sqlite"
    with Store(path) as store:
        for number in range(20):
            store.ask("plan", number, f"v{number}", ("1 mm", str(number)))
            store.add(f"v{number}", ("1 mm", str(number)), {"mass": Answer(1.0, "")})
    return {str(path): path.read_bytes()}


def _read_store(path: str, raw: bytes) -> None:
    from sumpwright.explore.store import Store, StoreError

    for beside in Path(path).parent.glob("answers.sqlite-*"):
        beside.unlink()
    Path(path).write_bytes(raw)
    try:
        with Store(Path(path)) as store:
            list(store.of_plan("plan"))
            store.says("plan", 3)
    except StoreError as trouble:
        _in_words(trouble)


def _replay(place: Path) -> dict[str, bytes]:
    from sumpwright.motion.free_surface.domain import make_domain
    from sumpwright.motion.free_surface.replay import ReplayWriter
    from tests.motion.free_surface.tanks import box

    path = place / "run.replay"
    domain = make_domain(box(0.05, 0.04, 0.04), 0.01)
    with ReplayWriter(path, domain) as writer:
        for number in range(3):
            writer.add(0.04 * number, np.full(domain.shape, 0.5), 0.02)
    return {str(path): path.read_bytes()}


def _read_replay(path: str, raw: bytes) -> None:
    from sumpwright.motion.free_surface.replay import Replay

    Path(path).write_bytes(raw)
    try:
        replay = Replay(Path(path))
        for number in range(len(replay.times)):
            assert replay.frame(number).shape == replay.shape
    except ValueError as trouble:
        _in_words(trouble)


READERS = {
    "scans": Reader(_scans, _read_scan, 60_000),
    "pictures": Reader(_pictures, _read_picture, 45_000),
    "keep-out meshes": Reader(_meshes, _read_mesh, 20_000),
    "as-built form": Reader(lambda _: {"as-built.toml": FORM.encode()}, _read_form, 40_000),
    "kept record": Reader(_kept_record, _read_kept_record, 15_000),
    "drive log": Reader(
        _job_files("hill-run.csv", like="hillclimb-four"), _in_a_folder("hill-run.csv"), 4_000
    ),
    "gasket picture": Reader(
        _job_files("gasket.png", like="slope-chipper-adapter"), _in_a_folder("gasket.png"), 2_000
    ),
    "plan": Reader(_job_files("plan.toml", like="hillclimb-four"), _read_plan, 4_000),
    "manifest": Reader(_manifest, _read_manifest, 5_000),
    "answers": Reader(_store, _read_store, 2_000),
    "journal": Reader(_journal, _read_journal, 2_000),
    "replay": Reader(_replay, _read_replay, 1_000),
}


@pytest.mark.soak
@pytest.mark.expected_from(
    "property", "any bytes are an answer or a reason, within 10 s, 2 GB and the folder"
)
@pytest.mark.parametrize("name", READERS)
def test_spoiled_files_never_break_a_reader(name: str, tmp_path: Path) -> None:
    fork = multiprocessing.get_context("fork")
    ours, theirs = fork.Pipe()
    child = fork.Process(target=_work, args=(READERS[name], tmp_path, theirs))
    child.start()
    theirs.close()
    told = ours.recv() if ours.poll(3600 if SOAK else 600) else "it said nothing"
    child.join(30)
    assert told is None, told


def _work(reader: Reader, place: Path, answer: Connection) -> None:
    dice = random.Random(20_27)
    raw = b""
    try:
        whole = reader.files(place)
        for name, good in whole.items():  # also loads what is loaded once
            reader.read(name, good)
        _limits(place)
        for raw, name in _slips(whole, round(reader.count * SHARE), dice):
            signal.alarm(SECONDS)
            reader.read(name, raw)
            signal.alarm(0)
        answer.send(None)
    except BaseException:
        signal.alarm(0)
        answer.send(f"{traceback.format_exc()}\nthe file: {raw[:600]!r}")
    finally:
        os._exit(0)


def _slips(whole: dict[str, bytes], count: int, dice: random.Random) -> Iterator[tuple[bytes, str]]:
    names = list(whole)
    for number in range(count):
        name = names[number % len(names)]
        yield spoiled(whole[name], dice), name


def _limits(place: Path) -> None:
    """Memory, time and places to write, for this process alone."""

    def too_slow(*_: Any) -> NoReturn:
        raise AssertionError(f"one file took more than {SECONDS} s")

    def watch(event: str, args: tuple[Any, ...]) -> None:
        if event == "open" and isinstance(args[0], str) and any(c in str(args[1]) for c in "wax+"):
            path = Path(args[0]).resolve()
            if not path.is_relative_to(place.resolve()) and path != Path("/dev/null"):
                raise AssertionError(f"{path} was opened for writing")

    signal.signal(signal.SIGALRM, too_slow)
    held = int(Path("/proc/self/statm").read_text("ascii").split()[0]) * os.sysconf("SC_PAGE_SIZE")
    resource.setrlimit(resource.RLIMIT_AS, (held + TWO_GB, resource.RLIM_INFINITY))
    sys.addaudithook(watch)
