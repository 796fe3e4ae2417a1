"""A change is made to the text: every other line stays as it was."""

from __future__ import annotations

import difflib
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.toml_edits import add_member, clear_key, remove_section, set_key, toml_text
from tests.jobs.laid_out import EXAMPLES

JOB = (EXAMPLES / "hillclimb-four" / "job.toml").read_text("utf-8")

SMALL = """# A pan.

[oil]                  # what goes in
fill = "4.8 L"         # all of it
grade = "5W-30"

# The first wall.
[[walls]]
name = "rear baffle"
start = [              # its right end
    ["1 mm", "2 mm"],
]

[walls.extra]
note = "kept"

# The second wall.
[[walls]]
name = "front"
count = 3
"""


def changed_lines(old: str, new: str) -> list[str]:
    return [
        line
        for line in difflib.unified_diff(old.splitlines(), new.splitlines(), n=0, lineterm="")
        if line[:1] in "+-" and not line.startswith(("+++", "---"))
    ]


def test_a_value_changes_on_its_own_line_and_keeps_its_remark():
    new = set_key(SMALL, "oil.fill", "5.1 L", False)
    assert changed_lines(SMALL, new) == [
        '-fill = "4.8 L"         # all of it',
        '+fill = "5.1 L"         # all of it',
    ]


def test_a_new_key_stands_in_its_section():
    new = set_key(SMALL, "oil.hold_up", "0.9 L", False)
    assert tomllib.loads(new)["oil"] == {"fill": "4.8 L", "grade": "5W-30", "hold_up": "0.9 L"}
    assert changed_lines(SMALL, new) == ['+hold_up = "0.9 L"']


def test_a_plain_number_stays_plain_and_text_takes_its_place_in_quotes():
    assert "count = 4" in set_key(SMALL, "walls.front.count", "4", True)
    new = set_key(SMALL, "walls.front.count", "4 mm", False)
    assert tomllib.loads(new)["walls"][1]["count"] == "4 mm"
    assert "flag = 7" in set_key(SMALL, "oil.flag", "7", True)


def test_a_key_is_cleared_with_all_its_lines():
    new = clear_key(SMALL, 'walls."rear baffle".start')
    assert "start" not in new
    assert changed_lines(SMALL, new) == [
        "-start = [              # its right end",
        '-    ["1 mm", "2 mm"],',
        "-]",
    ]
    assert clear_key(SMALL, "oil.hot") == SMALL


def test_a_member_goes_with_its_inner_sections_and_the_next_remark_stays():
    new = remove_section(SMALL, 'walls."rear baffle"')
    assert [wall["name"] for wall in tomllib.loads(new)["walls"]] == ["front"]
    assert '# The second wall.\n[[walls]]\nname = "front"' in new
    assert "kept" not in new


def test_the_last_member_goes_too():
    new = remove_section(remove_section(SMALL, "walls.front"), 'walls."rear baffle"')
    assert "walls" not in tomllib.loads(new)
    assert new.startswith("# A pan.\n\n[oil]                  # what goes in")


def test_a_member_is_added_behind_the_last_of_its_kind():
    new = add_member(JOB, "lumps", '{ name = "notch", does = "cuts", depth = "20 mm" }')
    data, old = tomllib.loads(new), tomllib.loads(JOB)
    assert [lump["name"] for lump in data["lumps"]] == ["tray", "sump", "kick-out", "notch"]
    del data["lumps"][-1]
    assert data == old
    assert all(line.startswith("+") for line in changed_lines(JOB, new))
    kick_out, notch, oil = (new.index(f'"{name}"') if name != "oil" else new.index("[oil]")
                            for name in ("kick-out", "notch", "oil"))  # fmt: skip
    assert kick_out < notch < oil


def test_a_first_member_of_an_inner_list_stands_in_its_section():
    new = add_member(JOB, "suction.corners", '{ kind = "mitre", welds = 2 }')
    assert tomllib.loads(new)["suction"]["corners"] == [{"kind": "mitre", "welds": 2}]


@pytest.mark.parametrize(
    ("target", "typed"),
    [
        ("oil", "x"),
        ("oil.fill.deeper", "x"),
        ('walls."no such".name', "x"),
        ('oil."', "x"),
        ("walls.front.start", "[1, "),
        ("walls.front.start", '["1 mm", '),
    ],
)
def test_what_cannot_be_written_is_refused_in_words(target, typed):
    with pytest.raises(EditRefusedError) as refused:
        set_key(SMALL, target, typed, False)
    assert refused.value.fault.rule


TYPED = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=30).filter(
    lambda text: not text.strip().startswith(("[", "{")) and text.strip() not in ("true", "false")
)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(TYPED, st.sampled_from(["oil.grade", "job.name", 'walls."rear baffle".name', "lumps.sump.depth"]))
def test_whatever_is_typed_is_read_back_and_nothing_else_changes(typed, target):
    new = set_key(JOB, target, typed, False)
    lines = changed_lines(JOB, new)
    assert len(lines) in (0, 2)
    place = tomllib.loads(new)
    for name in target.replace('"', "").split("."):
        if isinstance(place, list):
            # A wall that was given another name is the first of its list.
            place = next((one for one in place if one["name"] == name), place[0])
        else:
            place = place[name]
    assert place == typed


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    st.recursive(
        st.one_of(st.booleans(), st.integers(-(10**9), 10**9), st.text(max_size=12)),
        lambda inner: st.one_of(
            st.lists(inner, max_size=3), st.dictionaries(st.text(min_size=1, max_size=8), inner, max_size=3)
        ),
        max_leaves=8,
    )
)
def test_a_value_written_on_one_line_is_read_back(value):
    assert tomllib.loads(f"value = {toml_text(value)}")["value"] == value
