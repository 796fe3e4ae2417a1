"""Two changes of one text come together where they touch different lines."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from sumpwright.web.merging import merged

BASE = "a\nb\nc\nd\ne\nf\n"


def test_changes_apart_are_both_kept():
    assert merged(BASE, BASE.replace("b", "B"), BASE.replace("e", "E\nE2")) == "a\nB\nc\nd\nE\nE2\nf\n"


def test_changes_of_one_line_are_nobodys():
    assert merged(BASE, BASE.replace("b", "B"), BASE.replace("b", "X")) is None
    assert merged(BASE, BASE.replace("b\n", ""), BASE.replace("b", "X")) is None


def test_the_same_change_twice_is_one():
    new = BASE.replace("b", "B")
    assert merged(BASE, new, new) == new


LINES = st.lists(st.sampled_from(["x", "y", "z"]), max_size=4)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(LINES, LINES, LINES, LINES)
def test_taking_a_change_back_leaves_what_came_elsewhere(before, after, above, below):
    """With lines between that nobody touches, undo gives just the other change."""

    def text(middle: list[str], top: list[str], end: list[str]) -> str:
        return "\n".join(["top", *top, "m1", "m2", *middle, "m3", "m4", *end, "end"])

    base, mine = text(after, [], []), text(before, [], [])
    theirs = text(after, above, below)
    assert merged(base, mine, theirs) == text(before, above, below)
