"""Line numbers of keys."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from sumpwright.job.lines import LineMap
from tests.job.example_readings import EXAMPLES

TEXT = '''# head
title = "a # b"   # remark with "quotes" and [brackets]
[job]
name = 'x'
"odd key" = 1
note = """
not.a = "key"
[nor.a.section]
\\""" still inside """
dotted.inner = 2

[[lumps]]
name = "one"
outline = [
    ["0 mm", "1 mm"],  # first
    ["2 mm",
     "3 mm"],
]
[lumps.box]
left = "1"

[[lumps]]
box = { left = "]", right = [1, { deep = "}" }] }

[rail]
[[rail.lands]]
kind = "flat"
[[rail.lands]]
kind = "arch"
'''


def test_every_key_has_its_line() -> None:
    lines = LineMap(TEXT)
    assert tomllib.loads(TEXT)  # the text is what it seems
    assert lines.line(("title",)) == 2
    assert lines.line(("job",)) == 3
    assert lines.line(("job", "odd key")) == 5
    assert lines.line(("job", "note")) == 6
    assert lines.line(("job", "dotted", "inner")) == 10
    assert lines.line(("lumps", 0, "name")) == 13
    assert lines.line(("lumps", 0, "outline", 0, 1)) == 15
    assert lines.line(("lumps", 0, "outline", 1, 0)) == 16
    assert lines.line(("lumps", 0, "outline", 1, 1)) == 17
    assert lines.line(("lumps", 0, "box", "left")) == 20
    assert lines.line(("lumps", 1)) == 22
    assert lines.line(("lumps", 1, "box", "right", 1, "deep")) == 23
    assert lines.line(("rail", "lands", 1, "kind")) == 29
    assert lines.line(("rail", "lands", 1, "missing")) == 28
    assert lines.line(("nowhere",)) is None


def paths(data: Any, front: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    found = [front] if front else []
    for key, value in inner:
        found += paths(value, (*front, key))
    return found


@pytest.mark.parametrize("name", ["hillclimb-four", "motor-sailer", "slope-chipper", "slope-chipper-adapter"])
@pytest.mark.expected_from("property", "the line of a key holds the key; that of a text holds the text")
def test_lines_of_the_examples_hold_what_they_should(name: str) -> None:
    text = (EXAMPLES / name / "job.toml").read_text(encoding="utf-8")
    data, written = tomllib.loads(text), text.split("\n")
    lines = LineMap(text)
    for path in paths(data):
        line = lines.line(path)
        assert line is not None
        value = data
        for part in path:
            value = value[part]
        if isinstance(value, str):
            assert f'"{value}"' in written[line - 1]
        elif isinstance(path[-1], str):
            assert path[-1] in written[line - 1]
