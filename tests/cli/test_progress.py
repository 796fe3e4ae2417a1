"""The line that says what is being done: for eyes only."""

from __future__ import annotations

import io
import sys

from sumpwright.cli.progress import Display
from sumpwright.flow import STAGES, Progress


class Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(monkeypatch, stream: io.StringIO) -> str:
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    with Display(more_steps=1) as display:
        display.says("reading the job")
        display.stage(Progress(0, 4, STAGES[0]))
        display.stage(Progress(4, 4, None))
        display.last_step("Pack: drawing and writing")
    return stream.getvalue()


def test_nothing_where_nobody_looks(monkeypatch):
    assert shown(monkeypatch, io.StringIO()) == ""


def test_steps_are_counted_and_named_on_a_screen(monkeypatch):
    text = shown(monkeypatch, Screen())
    assert "reading the job" in text
    assert "1 of 5  Rail: fitting the readings together" in text
    assert "5 of 5  Pack: drawing and writing" in text
