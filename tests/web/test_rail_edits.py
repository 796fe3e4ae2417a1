"""One line of the readings is written anew; all others keep their every letter."""

from __future__ import annotations

import pytest

from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.rail_edits import add_reading, remove_reading, row_of, set_cell

TEXT = """# Block face cleaned.
kind, a, b, reading, with, u, note
diameter, h1, , 6.69, caliper
inside,   h1, h2, 54.93, caliper, , "worn, but true"

# a second go
inside, h1, h2, 54.95
"""


def test_a_cell_changes_on_its_line():
    new = set_cell(TEXT, 3, "reading", "6.72")
    old_lines, new_lines = TEXT.split("\n"), new.split("\n")
    assert new_lines[2] == "diameter, h1, , 6.72, caliper"
    assert [line for at, line in enumerate(new_lines) if at != 2] == [
        line for at, line in enumerate(old_lines) if at != 2
    ]


def test_a_note_with_a_comma_keeps_its_quotes():
    new = set_cell(TEXT, 4, "u", "0.05 mm")
    assert new.split("\n")[3] == 'inside, h1, h2, 54.93, caliper, 0.05 mm, "worn, but true"'
    assert row_of(new, 4)["note"] == "worn, but true"
    assert set_cell(TEXT, 4, "reading", "54.93") == TEXT


def test_a_line_goes_and_a_line_comes():
    assert "54.95" not in remove_reading(TEXT, 7)
    new = add_reading(TEXT, 3, {"kind": "diameter", "a": "h2", "reading": "6.7", "note": "a, b"})
    assert new.split("\n")[3] == 'diameter, h2, , 6.7, , , "a, b"'
    assert add_reading(TEXT, 0, {"kind": "diameter", "a": "h3", "reading": "8"}).endswith(
        "inside, h1, h2, 54.95\ndiameter, h3, , 8\n"
    )


@pytest.mark.parametrize(
    "edit",
    [
        lambda: set_cell(TEXT, 2, "kind", "x"),  # the column names
        lambda: set_cell(TEXT, 1, "kind", "x"),  # a remark
        lambda: set_cell(TEXT, 5, "kind", "x"),  # blank
        lambda: set_cell(TEXT, 99, "kind", "x"),
        lambda: set_cell(TEXT, 3, "note", "two\nlines"),
        lambda: remove_reading(TEXT, 6),
        lambda: add_reading(TEXT, 1, {"kind": "x"}),  # above the column names
        lambda: add_reading("kind, a, reading\n", 0, {"kind": "x", "u": "1 mm"}),
    ],
)
def test_what_is_no_reading_is_left_alone(edit):
    with pytest.raises(EditRefusedError):
        edit()
