"""Files that are not what they should be: a message each, quickly, and nothing else."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from sumpwright.job import Job, JobError, read_job
from tests.job.changes import change, faults_of, lay
from tests.job.spoiled import spoiled

SOAK = os.environ.get("SUMPWRIGHT_SOAK") == "1"


def test_a_job_that_is_not_there(tmp_path: Path) -> None:
    (fault,) = faults_of(tmp_path / "nowhere")
    assert "no such job folder" in fault.rule
    (fault, *_) = faults_of(tmp_path)
    assert (fault.file, fault.key) == ("job.toml", "")
    assert "is not there" in fault.rule


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        (b"", "is empty"),
        (b"\n \t\n", "is empty"),
        (b"# only a remark\n", "needed and is missing"),
        ("[job]\nname = 'x'\n".encode("utf-16"), "UTF-16"),
        ("[job]\nname = 'Kühler'\n".encode("latin-1"), "not plain UTF-8"),
        (b"[job]\nname = \x00\n", "bytes that are no text"),
        (b"%PDF-1.4\n%\xe2\xe3\xcf\xd3", "not plain UTF-8"),
        (b"this is a letter, not a job\n", "cannot be read"),
        (b"[job\n", "cannot be read"),
        (b'[job]\nname = "x\n', "cannot be read"),
        (b'[job]\nname = """x\n', "ends too early"),
        (b"[job]\nname = 'x'\nname = 'y'\n", "second time"),
        (b"[job]\n[job]\n", "second time"),
        (b"[pan]\nsheet = 3 mm\n", "stand in quotes"),
        (b"[pan]\nmaterial = mild\n", "stand in quotes"),
        (b"a = " + b"[" * 3000, "nested deeper|cannot be read"),
        (b"a = [" + b"[" * 20 + b"]" * 20 + b"]", "nested deeper"),
        (b"a = " + b"{a=" * 900 + b"1" + b"}" * 900, "nested deeper"),
        (b"[" + b"a." * 1900 + b"a]\n", "nested deeper"),
        (b"x" * 5000, "too long"),
        (b"a = " + b"9" * 3900 + b"\n", "number or date|no section|stands in no section"),
        (b"a = 2000-13-40\n", "cannot be read|number or date"),
    ],
)
def test_what_is_no_job_file(tmp_path: Path, raw: bytes, says: str) -> None:
    (tmp_path / "job.toml").write_bytes(raw)
    faults = [fault for fault in faults_of(tmp_path) if fault.file == "job.toml"]
    assert faults
    assert any(word in fault.rule for fault in faults for word in says.split("|")), [f.rule for f in faults]


def test_forgotten_quotes_are_told_along_with_the_rest(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, 'sheet = "3 mm"', "sheet = 3 mm   # as bought")
    change(folder, 'units = "mm"', "units = mm")
    change(folder, 'washer = "1.6 mm"', 'washer = "1.6"')
    found = {fault.key: fault for fault in faults_of(folder)}
    assert set(found) == {"sheet", "units", "pan.washer"}
    assert found["sheet"].good == 'sheet = "3 mm"'
    assert found["sheet"].read.startswith("sheet = 3 mm")


def test_ten_megabytes_of_braces_are_not_even_read(tmp_path: Path) -> None:
    for file in ("job.toml", "shop.toml", "rail.csv"):
        folder = lay(tmp_path / file)
        (folder / file).write_bytes(b"{" * 10_000_000)
        (fault,) = faults_of(folder)
        assert (fault.file, fault.rule.endswith("too big to be one")) == (file, True)


def test_half_a_megabyte_of_braces_is_answered(tmp_path: Path) -> None:
    for raw in (
        b"a = " + b"[\n" * 250_000,
        b"{\n" * 250_000,
        b"[[a]]\n" * 80_000,
        b"[a.b]\n[a.c]\n" * 40_000,
    ):
        (tmp_path / "job.toml").write_bytes(raw)
        assert faults_of(tmp_path)


def test_a_byte_order_mark_and_foreign_line_ends_do_no_harm(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    for file in ("job.toml", "rail.csv", "shop.toml"):
        path = folder / file
        path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    assert faults_of(folder) == ()
    change(folder, 'washer = "1.6 mm"', 'washer = "1.6"')
    (fault,) = faults_of(folder)
    text = (folder / "job.toml").read_text(encoding="utf-8-sig").split("\n")
    assert fault.line is not None
    assert "washer" in text[fault.line - 1]


def test_the_readings_file_is_missing(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    (folder / "rail.csv").unlink()
    (fault,) = faults_of(folder)
    assert (fault.file, fault.line) == ("rail.csv", None)
    assert "stand beside the job file" in fault.rule


def test_links_that_lead_out_of_the_folder_are_refused(tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text("kind,a,b,reading\n", encoding="utf-8")
    folder = lay(tmp_path)
    for file in ("rail.csv", "shop.toml"):
        (folder / file).unlink()
        (folder / file).symlink_to(secret)
    rules = {fault.file: fault.rule for fault in faults_of(folder)}
    assert set(rules) == {"rail.csv", "shop.toml"}
    assert all("leads out of the job's folder" in rule for rule in rules.values())
    (folder / "rail.csv").unlink()
    (folder / "rail.csv").symlink_to(folder / "gone.csv")
    assert any("link that leads nowhere" in fault.rule for fault in faults_of(folder))


def test_a_job_folder_may_be_reached_by_a_link(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    (tmp_path / "shortcut").symlink_to(folder)
    assert faults_of(tmp_path / "shortcut") == ()


def test_folders_and_pipes_are_no_files(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    (folder / "shop.toml").unlink()
    (folder / "shop.toml").mkdir()
    (folder / "rail.csv").unlink()
    os.mkfifo(folder / "rail.csv")  # opening it would wait for ever
    assert {(fault.file, "no ordinary file" in fault.rule) for fault in faults_of(folder)} == {
        ("shop.toml", True),
        ("rail.csv", True),
    }


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    (folder / "rail.csv").chmod(0)
    (fault,) = faults_of(folder)
    assert "cannot be read" in fault.rule


def test_two_thousand_readings(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    path = folder / "rail.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "inside, h1, h2, 55.00, caliper\n" * 2000, encoding="utf-8")
    assert len(read_job(folder).rail.readings) == 2091
    path.write_text(text + "inside, h1, h2, 55.00, caliper\n" * 4500, encoding="utf-8")
    (fault,) = faults_of(folder)
    assert "more than 4000 readings" in fault.rule


def outcome(folder: Path) -> Job | JobError:
    try:
        return read_job(folder)
    except JobError as error:
        return error


@pytest.mark.soak
@pytest.mark.expected_from("property", "any bytes are a whole job or a JobError")
def test_spoiled_files_are_read_or_refused(tmp_path: Path) -> None:
    dice = random.Random(20_26)
    for name in ("hillclimb-four", "slope-chipper"):
        folder = lay(tmp_path, name)
        for path in sorted(folder.iterdir()):
            whole = path.read_bytes()
            for _ in range(6000 if SOAK else 60):
                path.write_bytes(spoiled(whole, dice))
                found = outcome(folder)
                if isinstance(found, JobError):
                    assert found.faults
                    assert str(found)
                else:
                    assert "nan" not in repr(found.body).replace("nance", "")
            path.write_bytes(whole)
