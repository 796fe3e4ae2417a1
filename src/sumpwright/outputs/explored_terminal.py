"""An exploration on the screen: one short block a variant, as wide as the screen."""

from __future__ import annotations

import textwrap
from shutil import get_terminal_size
from typing import TextIO

from sumpwright.outputs.explored_model import ExploredSheet, VariantRow
from sumpwright.outputs.explored_words import (
    NOT_CHECKED,
    answer_words,
    best_words,
    give_up_words,
    limit_words,
    miss_words,
    row_name,
    same_words,
    setting_words,
    share_words,
    tally_lines,
    unbeaten_heading,
)
from sumpwright.outputs.terminal import WIDTH

_INDENT = "    "


def print_explored(sheet: ExploredSheet, stream: TextIO) -> None:
    """What was tried, what nothing beats with what each gives up, and what matters."""
    width = min(get_terminal_size((WIDTH, 24)).columns, 110) if stream.isatty() else WIDTH

    def say(words: str, indent: str = "") -> None:
        # A number stays with its unit: the blank between them does not break.
        for line in textwrap.wrap(words, width, initial_indent=indent, subsequent_indent=indent + "  "):
            print(line, file=stream)

    say(sheet.job_name)
    for line in tally_lines(sheet):
        say(line.strip(), "  " if line.startswith(" ") else "")
    print(file=stream)
    say("What counts:")
    for column in sheet.columns:
        limit = limit_words(column, sheet.units)
        want = "" if column.want == "only the limit" else f"{column.want} is better"
        say(f"{column.name}: {', '.join(part for part in (want, limit) if part)}", _INDENT)
    if sheet.way != "matters":
        print(file=stream)
        say(unbeaten_heading(sheet))
        for row in sheet.rows:
            _block(sheet, row, say)
        say(same_words(sheet))
    if sheet.as_it_stands is not None:
        say("The job as it stands")
        say(answer_words(sheet, sheet.as_it_stands), _INDENT)
        missed = miss_words(sheet, sheet.as_it_stands)
        if missed:
            say(f"misses its limit: {missed}", _INDENT)
    if sheet.shares:
        print(file=stream)
        say("What matters: how much of each answer's spread an input causes, alone and with others")
        for share in sheet.shares:
            say(f"{share.answer}: {share_words(share, sheet.axes)}", _INDENT)
    if sheet.rows:
        print(file=stream)
        say(NOT_CHECKED)


def _block(sheet: ExploredSheet, row: VariantRow, say: object) -> None:
    assert callable(say)
    say(f"{row_name(row)}: {setting_words(sheet, row)}")
    say(answer_words(sheet, row), _INDENT)
    best, gives_up, missed = best_words(sheet, row), give_up_words(sheet, row), miss_words(sheet, row)
    if best:
        say(f"best in {best}", _INDENT)
    if gives_up:
        say(f"gives up {gives_up}", _INDENT)
    if missed:
        say(f"misses a soft limit: {missed}", _INDENT)
    if row.is_checked:
        said = f"worse: {'; '.join(row.worse)}" if row.worse else "nothing is worse"
        cured = f"; cured: {'; '.join(row.better)}" if row.better else ""
        say(f"checked in full against the job as it stands: {said}{cured}", _INDENT)
