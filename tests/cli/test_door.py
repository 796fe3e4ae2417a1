"""Whatever happens inside, the reader gets plain words and a status."""

from __future__ import annotations

import errno

import pytest

from sumpwright.cli import door
from sumpwright.cli.commands import COMMANDS


def going_wrong(monkeypatch, fault: BaseException) -> None:
    def run(argv: list[str]) -> int:
        raise fault

    monkeypatch.setattr(door, "_run", run)


def test_ctrl_c_is_one_line(monkeypatch, capsys):
    going_wrong(monkeypatch, KeyboardInterrupt())
    assert door.main(["pack", "x"]) == 130
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "whole" in err


def test_a_fault_of_the_program_is_not_blamed_on_the_job(monkeypatch, capsys):
    monkeypatch.delenv(door.DEBUG, raising=False)
    going_wrong(monkeypatch, ZeroDivisionError("division by zero"))
    assert door.main([]) == 3
    err = capsys.readouterr().err
    assert err.startswith("This is a fault of the program")
    assert "ZeroDivisionError" in err
    assert "report" in err
    assert "Traceback" not in err


def test_the_whole_way_there_is_printed_on_request(monkeypatch, capsys):
    monkeypatch.setenv(door.DEBUG, "1")
    going_wrong(monkeypatch, ZeroDivisionError("division by zero"))
    assert door.main([]) == 3
    assert "Traceback" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (["chek", "pan"], f"There is no command 'chek'. The commands are: {', '.join(COMMANDS)}."),
        (["check"], "missing"),
        (["check", "a", "b"], "too much"),
        (["pack", "a", "--ot", "b"], "--out"),
        (["pack", "a", "--out"], "missing"),
    ],
)
def test_a_wrong_command_line_says_what_would_be_right(capsys, argv, words):
    assert door.main(argv) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert "Traceback" not in err


@pytest.mark.parametrize("argv", [[], ["--help"], ["pack", "--help"], ["--version"]])
def test_help_and_version_are_answers(capsys, argv):
    assert door.main(argv) == 0
    out, err = capsys.readouterr()
    assert out.strip()
    assert err == ""


def test_only_what_works_is_listed(capsys):
    door.main(["--help"])
    out = capsys.readouterr().out
    listed = {line.strip().partition(":")[0] for line in out.splitlines() if line.startswith("  ")}
    assert {name for name in listed if name.isalpha()} == set(COMMANDS)


def test_a_full_disk_is_said_in_one_line():
    words = door._trouble_with_a_file(OSError(errno.ENOSPC, "No space left on device", "pack/x.pdf"))
    assert words is not None
    assert "no space left on device" in words
    assert "pack/x.pdf" in words
    assert "\n" not in words
