"""Laying out a job."""

from __future__ import annotations

import pytest

from sumpwright.cli.door import main
from sumpwright.job import examples
from tests.jobs.laid_out import everything_below


@pytest.mark.parametrize("like", examples())
def test_what_is_laid_out_can_be_read(tmp_path, capsys, like):
    assert main(["new", str(tmp_path / "pan"), "--like", like]) == 0
    assert "sumpwright check" in capsys.readouterr().out
    assert main(["rail", str(tmp_path / "pan")]) in (0, 1)


def test_nothing_is_ever_written_over(tmp_path, capsys):
    (tmp_path / "mine.txt").write_text("years of work", "utf-8")
    before = everything_below(tmp_path)
    assert main(["new", str(tmp_path)]) == 2
    assert "not empty" in capsys.readouterr().err
    assert main(["new", str(tmp_path / "mine.txt")]) == 2
    assert everything_below(tmp_path) == before


def test_an_example_that_there_is_not(tmp_path, capsys):
    assert main(["new", str(tmp_path / "pan"), "--like", "hillclimb-for"]) == 2
    assert "hillclimb-four" in capsys.readouterr().err
    assert not (tmp_path / "pan").exists()
