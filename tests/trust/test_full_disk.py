"""A disk that fills up while a pack is written: the old pack stands whole."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import resource
import signal
from pathlib import Path

import pytest

from sumpwright.outputs import pack
from tests.outputs import sample


def _contents(word: str) -> dict[str, bytes]:
    """Files of a made-up pack, big enough that writing them takes some milliseconds."""
    files = {f"cut/{word}-{k}.dxf": f"{word} {k} ".encode() * 40_000 for k in range(12)}
    files["results.json"] = b'{"of": "' + word.encode() + b'"}'
    files[pack.MANIFEST] = pack._manifest(sample.job(), dict(files))
    return files


def _write(target: Path, word: str) -> None:
    files = _contents(word)
    real = pack.pack_files
    pack.pack_files = lambda *_: files  # type: ignore[assignment]
    try:
        pack.write_pack(sample.job(), sample.results(), target)
    finally:
        pack.pack_files = real


def _whose(target: Path) -> str | None:
    """Whose pack stands there, every file as its list says; None where there is none."""
    if not target.exists():
        return None
    listed = json.loads((target / pack.MANIFEST).read_bytes())["files"]
    for entry in listed:
        assert hashlib.sha256((target / entry["file"]).read_bytes()).hexdigest() == entry["sha256"]
    there = {p.relative_to(target).as_posix() for p in target.rglob("*") if p.is_file()}
    assert there == {entry["file"] for entry in listed} | {pack.MANIFEST}
    return str(json.loads((target / "results.json").read_bytes())["of"])


def _write_on_a_full_disk(target: Path, most: int, answer: Path) -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, resource.RLIM_INFINITY))
    try:
        _write(target, "second")
    except pack.PackError as error:
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        answer.write_text(str(error))


@pytest.mark.expected_from("property", "the system itself refuses to write on: the earlier pack stands")
def test_no_room_to_write(tmp_path: Path) -> None:
    fork = multiprocessing.get_context("fork")
    target, answer = tmp_path / "pack", tmp_path / "answer"
    _write(target, "first")
    for most in (0, 1, 1000, 100_000, 300_000):
        answer.unlink(missing_ok=True)
        child = fork.Process(target=_write_on_a_full_disk, args=(target, most, answer))
        child.start()
        child.join()
        assert "Nothing was changed" in answer.read_text(), most
        assert _whose(target) == "first", most
        assert sorted(p.name for p in tmp_path.iterdir()) == ["answer", "pack"]
