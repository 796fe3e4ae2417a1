"""The findings on the screen."""

from __future__ import annotations

import io

import pytest

from sumpwright.outputs.terminal import print_findings
from sumpwright.outputs.words import finding_words
from tests.outputs import sample


class _Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def _printed(stream: io.StringIO) -> str:
    print_findings(sample.job(), sample.results(), stream)
    return stream.getvalue()


def test_plain_text_of_eighty_columns_where_nobody_looks() -> None:
    text = _printed(io.StringIO())
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_verdict_words_come_first_and_sections_in_the_order_of_the_work() -> None:
    lines = _printed(io.StringIO()).splitlines()
    rows = [line for line in lines if "RAIL-01" in line]
    assert rows[0].startswith("fails")
    headings = [line for line in lines if line in ("Rail", "Shape", "Oil", "Parts")]
    assert headings == ["Rail", "Shape", "Oil", "Parts"]


def test_sentences_are_those_of_the_sheet() -> None:
    text = " ".join(_printed(io.StringIO()).split())
    for finding in sample.findings():
        assert finding_words(finding, "mm").says in text


def test_counts_every_verdict() -> None:
    assert "Altogether: 1 fails, 1 cannot be said, 1 is close, 3 hold." in _printed(io.StringIO())


def test_styled_on_a_screen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert "\x1b[" in _printed(_Screen())


def test_square_brackets_in_names_are_only_letters() -> None:
    import dataclasses

    results = dataclasses.replace(
        sample.results(), findings=(dataclasses.replace(sample.findings()[0], where="hole [bold]h4[/]"),)
    )
    stream = io.StringIO()
    print_findings(sample.job(), results, stream)
    assert "hole [bold]h4[/]" in stream.getvalue()
