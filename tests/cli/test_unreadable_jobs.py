"""Files that cannot be read: status 2, one message with all faults, nothing written."""

from __future__ import annotations

import pytest

from sumpwright.cli.door import main
from tests.jobs.laid_out import everything_below, laid_out

UNREADABLE_FILES = {
    "empty": b"",
    "only spaces": b"  \n\n\t\n",
    "not toml": b"[job\nname = hello world\n",
    "a picture": bytes(range(256)) * 40,
    "utf-16": '[job]\nname = "pan"\n'.encode("utf-16"),
    "latin-1": '[job]\nname = "K\u00e4sten"\n'.encode("latin-1"),
    "ten megabytes of braces": b"{" * 10_000_000,
    "ten megabytes of brackets in a key": b"a = " + b"[" * 10_000_000,
    "deep": b"a = " + b"[" * 2000 + b"]" * 2000,
    "a number without end": b"a = " + b"9" * 3900,
    "every key twice": b'[job]\nname = "a"\nname = "b"\n',
}
FIRST_READING = r"re:^inside, h1, h2, [0-9.]+"


def refused(capsys, job, command: str = "pack") -> str:
    """The message of a command that must end with 2 and leave the folder as it was."""
    before = everything_below(job.parent)
    assert main([command, str(job)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert "fault of the program" not in err
    assert everything_below(job.parent) == before
    assert len(err) < 20_000, "a message nobody reads"
    return err


@pytest.mark.parametrize("name", UNREADABLE_FILES)
def test_a_job_file_that_is_none(tmp_path, capsys, name):
    job = laid_out(tmp_path)
    (job / "job.toml").write_bytes(UNREADABLE_FILES[name])
    assert "job.toml" in refused(capsys, job)


@pytest.mark.parametrize("file", ["shop.toml", "rail.csv"])
@pytest.mark.parametrize("name", UNREADABLE_FILES)
def test_a_shop_or_readings_file_that_is_none(tmp_path, capsys, name, file):
    if name == "every key twice" and file == "rail.csv":
        name = "a picture"
    job = laid_out(tmp_path)
    (job / file).write_bytes(UNREADABLE_FILES[name])
    assert file in refused(capsys, job)


@pytest.mark.parametrize(
    "value",
    [
        "nan mm",
        "NaN",
        "inf mm",
        "-inf mm",
        "1e999 mm",
        "-3 mm",
        "0 mm",
        "3",
        "3 litres",
        "",
        "3 mm 4",
        "\u0663 mm",
    ],
)
def test_a_length_that_is_none(tmp_path, capsys, value):
    job = laid_out(tmp_path, changes={"job.toml": {'sheet = "3 mm"': f'sheet = "{value}"'}})
    err = refused(capsys, job, "check")
    assert "pan.sheet" in err
    assert "line" in err


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "3", "true", "[]", "{}", "1979-05-27"])
def test_a_length_that_is_no_text(tmp_path, capsys, value):
    job = laid_out(tmp_path, changes={"job.toml": {'sheet = "3 mm"': f"sheet = {value}"}})
    assert "pan.sheet" in refused(capsys, job, "check")


@pytest.mark.parametrize("value", ["nan", "inf", "-55.01", "1e400", "", "x", "55.01 litres"])
def test_a_reading_that_is_none(tmp_path, capsys, value):
    job = laid_out(tmp_path, changes={"rail.csv": {FIRST_READING: f"inside, h1, h2, {value}"}})
    err = refused(capsys, job, "rail")
    assert "rail.csv, line" in err


def test_all_faults_come_in_one_message(tmp_path, capsys):
    job = laid_out(
        tmp_path,
        changes={
            "job.toml": {
                'sheet = "3 mm"': 'sheet = "3 metres"',
                'lean_right = "15 deg"': 'lean_rihgt = "15 deg"',
                'fill = "4.8 L"': 'fill = "-4.8 L"',
            },
            "rail.csv": {FIRST_READING: "inside, h1, h99, 55.01"},
            "shop.toml": {'price = "6.50 EUR/kg"': 'price = "cheap"'},
        },
    )
    err = refused(capsys, job)
    for words in ("pan.sheet", "lean_rihgt", "lean_right", "oil.fill", "h99", "price"):
        assert words in err


def test_a_hole_that_nobody_named(tmp_path, capsys):
    job = laid_out(tmp_path, changes={"rail.csv": {"inside, h1, h2,": "inside, h1, h22,"}})
    assert "h22" in refused(capsys, job)


def test_one_name_for_two_holes(tmp_path, capsys):
    job = laid_out(tmp_path, changes={"job.toml": {'ring = ["h1", "h2", "h3"': 'ring = ["h1", "h2", "h2"'}})
    assert "h2" in refused(capsys, job)


def test_a_floor_above_the_rail(tmp_path, capsys):
    job = laid_out(tmp_path, changes={"job.toml": {'depth = "60 mm"': 'depth = "-60 mm"'}})
    assert "depth" in refused(capsys, job)


def test_no_such_job(tmp_path, capsys):
    (tmp_path / "empty").mkdir()
    for path in (tmp_path / "nowhere", tmp_path / "empty"):
        assert main(["check", str(path)]) == 2
        err = capsys.readouterr().err
        assert "job" in err
        assert "Traceback" not in err


def test_a_job_file_that_leads_somewhere_else(tmp_path, capsys):
    job = laid_out(tmp_path)
    (job / "rail.csv").unlink()
    (job / "rail.csv").symlink_to("/etc/hostname")
    assert "rail.csv" in refused(capsys, job)


def test_a_folder_in_place_of_the_readings(tmp_path, capsys):
    job = laid_out(tmp_path)
    (job / "rail.csv").unlink()
    (job / "rail.csv").mkdir()
    assert "rail.csv" in refused(capsys, job)
