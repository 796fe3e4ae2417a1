"""A pack written over an earlier one: which files have to be cut anew, and what got worse."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from sumpwright.outputs.earlier_pack import EarlierPack, earlier_pack, since_earlier, told


def written(folder: Path, files: dict[str, str], results: Any) -> Path:
    """A pack with these files (name: check sum) and this in its results."""
    folder.mkdir()
    listed = [{"file": name, "bytes": 1, "sha256": sha} for name, sha in files.items()]
    for name, line in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        text = f"0\nSECTION\n2\nHEADER\n{folder}\n0\nENDSEC\n2\nENTITIES\n{line}\n0\nENDSEC\n"
        (folder / name).write_text(text)
    (folder / "manifest.json").write_text(json.dumps({"schema": "sumpwright-pack-1", "files": listed}))
    (folder / "results.json").write_text(results if isinstance(results, str) else json.dumps(results))
    return folder


def row(code: str, where: str, verdict: str, **more: Any) -> dict[str, Any]:
    return {"code": code, "where": where, "verdict": verdict, **more}


FIRST = {"cut/flange.dxf": "a", "cut/wall.dxf": "b", "cut/r12/flange.dxf": "c", "job-sheet.pdf": "d"}
SECOND = {"cut/flange.dxf": "A", "cut/floor.dxf": "e", "cut/r12/flange.dxf": "C", "job-sheet.pdf": "D"}


def both(tmp_path: Path, first: Any, second: Any) -> tuple[EarlierPack, EarlierPack]:
    packs = (
        earlier_pack(written(tmp_path / "first", FIRST, first)),
        earlier_pack(written(tmp_path / "second", SECOND, second)),
    )
    assert packs[0] is not None
    assert packs[1] is not None
    return packs[0], packs[1]


def test_what_is_cut_by_is_told_and_the_sheets_are_not(tmp_path: Path) -> None:
    since = since_earlier(*both(tmp_path, {"findings": []}, {"findings": []}))
    assert since.changed == ("cut/flange.dxf",)
    assert since.added == ("cut/floor.dxf",)
    assert since.gone == ("cut/wall.dxf",)
    assert "have to be cut anew" in " ".join(told(since))


def test_a_header_of_another_version_is_no_other_part(tmp_path: Path) -> None:
    """The headers name the folder here, so all files differ, and one of them in its lines."""
    first = earlier_pack(written(tmp_path / "first", FIRST, {"findings": []}))
    second = earlier_pack(written(tmp_path / "second", FIRST | {"cut/wall.dxf": "x"}, {"findings": []}))
    assert first is not None
    assert second is not None
    assert since_earlier(first, second).changed == ("cut/wall.dxf",)


def test_verdicts_that_moved_are_told_by_the_worst_of_each_place(tmp_path: Path) -> None:
    first = {"findings": [row("OIL-07", "mouth", "holds"), row("KIT-40", "holes", "fails")]}
    second = {
        "findings": [
            row("OIL-07", "mouth", "holds"),
            row("OIL-07", "mouth", "cannot say"),
            row("KIT-40", "holes", "close"),
            row("X-2", "b", "fails"),
        ]
    }
    since = since_earlier(*both(tmp_path, first, second))
    assert since.worse == (("OIL-07", "mouth", "holds", "cannot say"),)
    assert since.better == (("KIT-40", "holes", "fails", "close"),)


def test_the_same_pack_again_says_nothing(tmp_path: Path) -> None:
    pack = earlier_pack(written(tmp_path / "one", FIRST, {"findings": [row("X-1", "a", "fails")]}))
    assert pack is not None
    assert told(since_earlier(pack, pack)) == []


def test_results_of_an_earlier_version_are_read(tmp_path: Path) -> None:
    """Rows with fewer and with other things than today's, and a verdict that is no longer known."""
    first = {
        "versions": {"schema": "sumpwright-results-0"},
        "findings": [
            row("OIL-07", "mouth", "fails", says="The mouth stands dry."),
            row("OLD-1", "whole pan", "perhaps", hint=3),
        ],
    }
    since = since_earlier(*both(tmp_path, first, {"findings": [row("OIL-07", "mouth", "holds")]}))
    assert since.better == (("OIL-07", "mouth", "fails", "holds"),)
    assert since.is_results_readable


@pytest.mark.parametrize(
    "results", ["{", "[]", '{"findings": 3}', '{"findings": [{"code": "X"}]}', "[" * 100_000]
)
def test_results_that_cannot_be_read_are_said_to_be_so(tmp_path: Path, results: str) -> None:
    since = since_earlier(*both(tmp_path, results, {"findings": []}))
    assert not since.is_results_readable
    assert told(since)[-1] == "What the earlier pack found cannot be read, so it is not compared."


def test_a_folder_without_a_pack_is_none(tmp_path: Path) -> None:
    assert earlier_pack(tmp_path) is None
    assert earlier_pack(tmp_path / "nowhere") is None
