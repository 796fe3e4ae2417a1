"""The as-built record: what is refused, what is kept, and what a power cut leaves."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sumpwright.job import Fault, JobError
from sumpwright.job.fields import Setting
from sumpwright.job.record_files import (
    FOLDER,
    entries,
    is_blank,
    read_form,
    read_record,
    store,
    unknown_seams,
)
from sumpwright.job.record_form import blank_form
from sumpwright.job.record_sections import LISTED, ORDER, SINGLE

JOB = "Test pan"
MM = Setting()
HEAD = f'[record]\njob = "{JOB}"\ndate = "2026-03-14"\n'
EDGE = '[[straight_edge]]\nplace = "left"\nspan = "400 mm"\nfeeler = "0.1 mm"\nstate = "free"\n'


def height(x: float, y: float, z: float, state: str = "free") -> str:
    return f'[[heights]]\nx = "{x} mm"\ny = "{y} mm"\nheight = "{z} mm"\nstate = "{state}"\n'


def leak(**changes: str) -> str:
    keys = {
        "start": "10 kPa",
        "end": "9.9 kPa",
        "time": "5 min",
        "start_temperature": "68 degF",
        "end_temperature": "20 degC",
        "barometer": "1009 hPa",
    } | changes
    return "[leak_test]\n" + "".join(f'{key} = "{value}"\n' for key, value in keys.items() if value)


def faults_of(text: str) -> tuple[Fault, ...]:
    with pytest.raises(JobError) as caught:
        read_form(text, "as-built.toml", JOB, MM)
    return caught.value.faults


@pytest.mark.expected_from("closed form", "units of a form: degF, hPa, minutes, millimetres")
def test_a_form_is_read_in_any_unit() -> None:
    built = read_form(HEAD + EDGE + leak(), "as-built.toml", JOB, MM)
    assert built.decay is not None
    assert built.decay.start_temperature == pytest.approx(293.15, abs=1e-9)
    assert built.decay.barometer == pytest.approx(100_900.0)
    assert built.decay.time == pytest.approx(300.0)
    assert built.edges[0].feeler == pytest.approx(1e-4)


@pytest.mark.expected_from("property", "what cannot be true is told, each with its line")
def test_what_cannot_be_is_told() -> None:
    line = "".join(height(x, 0, 0.01 * x) for x in (0, 100, 200))
    assert "one line" in faults_of(HEAD + line)[0].rule
    assert "place" in faults_of(HEAD + EDGE.replace('place = "left"\n', ""))[0].key
    assert "rises" in faults_of(HEAD + leak(end="12 kPa"))[0].rule
    assert faults_of(HEAD + leak(time="-5 min"))[0].key == "leak_test.time"
    assert "another job" in faults_of(HEAD.replace(JOB, "Other pan"))[0].rule
    assert faults_of(EDGE)[0].key == "record"
    many = faults_of(HEAD.replace(JOB, "Other") + EDGE.replace("0.1 mm", "-0.1 mm") + leak(time="-1 s"))
    assert len(many) == 3


@pytest.mark.expected_from("property", "warming explains a rise; a missing barometer is no fault")
def test_what_may_be_is_kept() -> None:
    built = read_form(HEAD + leak(end="10.6 kPa", end_temperature="22 degC"), "f", JOB, MM)
    assert built.decay is not None
    without = read_form(HEAD + leak(barometer=""), "f", JOB, MM)
    assert without.decay is not None
    assert without.decay.barometer is None


@pytest.mark.expected_from("property", "entries are numbered, whole, and never written over")
def test_entries_are_kept_and_never_written_over(tmp_path: Path) -> None:
    first = store(tmp_path, HEAD + EDGE)
    before = first.read_bytes()
    assert store(tmp_path, HEAD + EDGE) == first  # the same once more is not kept twice
    second = store(tmp_path, HEAD + leak())
    assert [first.name, second.name] == ["0001.toml", "0002.toml"]
    assert first.read_bytes() == before
    built = read_record(tmp_path, JOB, MM)
    assert built is not None
    assert built.entries == ("record/0001.toml", "record/0002.toml")
    assert built.edges
    assert built.decay is not None
    assert not built.trouble
    assert not list((tmp_path / FOLDER).glob("*.part"))


@pytest.mark.expected_from("property", "cut off anywhere, an entry is noticed and named, the others stay")
def test_a_half_written_entry_is_named(tmp_path: Path) -> None:
    store(tmp_path, HEAD + EDGE)
    second = store(tmp_path, HEAD + leak())
    whole = second.read_bytes()
    for cut in (1, len(whole) // 2, len(whole) - 80, len(whole) - 1):
        second.write_bytes(whole[:cut])
        built = read_record(tmp_path, JOB, MM)
        assert built is not None
        assert [name for name, _ in built.trouble] == ["record/0002.toml"]
        assert built.entries == ("record/0001.toml",)
    second.write_bytes(whole.replace(b"9.9", b"9.8"))
    built = read_record(tmp_path, JOB, MM)
    assert built is not None
    assert "changed" in built.trouble[0][1]
    # The damaged file keeps its number: the next entry does not take its place.
    assert store(tmp_path, HEAD + leak(end="9.7 kPa")).name == "0003.toml"
    assert second.read_bytes() == whole.replace(b"9.9", b"9.8")


@pytest.mark.expected_from("property", "a missing entry and one left in the making are named")
def test_a_gap_and_a_part_are_named(tmp_path: Path) -> None:
    store(tmp_path, HEAD + EDGE)
    store(tmp_path, HEAD + leak())
    (tmp_path / FOLDER / "0001.toml").unlink()
    (tmp_path / FOLDER / "77.part").write_bytes(b"[record]")
    _, trouble = entries(tmp_path)
    assert {name for name, _ in trouble} == {"record/0002.toml", "record/77.part"}


@pytest.mark.expected_from("property", "killed at any system call of the writing, no entry is half there")
def test_a_failing_disk_leaves_nothing_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    store(tmp_path, HEAD + EDGE)

    def fails(*_: object) -> None:
        raise OSError(28, "No space left on device")

    for name in ("fsync", "link"):
        with monkeypatch.context() as patched:
            patched.setattr(os, name, fails)
            if name == "link":
                patched.setattr(Path, "rename", fails)
            with pytest.raises(OSError, match="No space"):
                store(tmp_path, HEAD + leak())
        whole, trouble = entries(tmp_path)
        assert [entry.name for entry in whole] == ["record/0001.toml"]
        assert not trouble


@pytest.mark.expected_from(
    "property", "the blank form holds every field in the sheet's order and reads as blank"
)
def test_the_blank_form() -> None:
    text = blank_form(JOB, MM)
    assert is_blank(read_form(text, "as-built.toml", JOB, MM))
    at = [text.index(f"[{name}]") for name in ORDER]
    assert at == sorted(at)
    for name in ORDER:
        model = SINGLE.get(name) or LISTED[(name,)]
        for key in model.model_fields:
            assert f"{key} = " in text
    filled = "\n".join(
        line.removeprefix("# ")
        for line in text.splitlines()
        if " = " in line or line.removeprefix("# ").startswith("[")
    )
    three = filled.replace("[[bubbles]]", height(0, 90, 0.1) + height(90, 0, 0) + "[[bubbles]]")
    assert not is_blank(read_form(three, "as-built.toml", JOB, MM))


@pytest.mark.expected_from(
    "property", "a leak that was mended is still known to the next pan; numbers fall off"
)
def test_leaks_are_not_forgotten(tmp_path: Path) -> None:
    look = '[[bubbles]]\nseam = "{seam}"\ngrowing = {count}\n'
    store(tmp_path, HEAD + look.format(seam="12. floor to left wall", count=2))
    store(tmp_path, HEAD + look.format(seam="Left wall to floor", count=0))
    built = read_record(tmp_path, JOB, MM)
    assert built is not None
    assert [(one.seam, one.growing) for one in built.bubbles] == [("Left wall to floor", 0)]
    assert [(one.seam, one.growing) for one in built.leaks] == [("floor to left wall", 2)]


@pytest.mark.expected_from("property", "a seam that the pan does not have is told, with the nearest one")
def test_unknown_seams() -> None:
    form = HEAD + '[[bubbles]]\nseam = "flor to left wall"\ngrowing = 0\n'
    form += '[[settings]]\nseam = "7"\nwords = "95 A"\n'
    built = read_form(form, "as-built.toml", JOB, MM)
    faults = unknown_seams(built, "as-built.toml", ("left wall to floor", "drain boss in floor"))
    assert [fault.key for fault in faults] == ["bubbles[1].seam", "settings[1].seam"]
    assert "left wall to floor" in faults[0].good
    assert "number" in faults[1].rule


def test_no_record_at_all(tmp_path: Path) -> None:
    assert read_record(tmp_path, JOB, MM) is None
