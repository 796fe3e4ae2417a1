"""A change is made to the text of the job file, and nothing else in it moves."""

from __future__ import annotations

import tomllib

import pytest

from sumpwright.findings import Finding, Verdict
from sumpwright.flow.changes import Change, changed_data, changed_text, pair_up, split_target

JOB = """\
# my pan
[pan]
sheet = "3 mm"      # stock
turns = 2

[rail]
datum = "h1"

[[rail.fasteners]]
holes = ["h1"]
blind_depth = "14 mm"

[[rail.fasteners]]
holes = ["h2"]

[[lumps]]
name = "tray"
depth = "60 mm"

[[lumps]]
name = "deep end"
depth = "118 mm"
depth_at = ["300 mm", "-100 mm"]
"""


@pytest.mark.parametrize(
    ("target", "value", "where", "now"),
    [
        ("pan.sheet", "2 mm", ("pan", "sheet"), "2 mm"),
        ("pan.turns", "3", ("pan", "turns"), 3),
        ("pan.flange", "10 mm", ("pan", "flange"), "10 mm"),
        ("lumps.tray.depth", "66 mm", ("lumps", 0, "depth"), "66 mm"),
        ('lumps."deep end".depth', "126 mm", ("lumps", 1, "depth"), "126 mm"),
        ("lumps.2.depth", "126 mm", ("lumps", 1, "depth"), "126 mm"),
        (
            'lumps."deep end".depth_at',
            '["310 mm", "-90 mm"]',
            ("lumps", 1, "depth_at"),
            ["310 mm", "-90 mm"],
        ),
        ("rail.fasteners.2.blind_depth", "18 mm", ("rail", "fasteners", 1, "blind_depth"), "18 mm"),
        ("dipstick.length", "230 mm", ("dipstick", "length"), "230 mm"),
    ],
)
def test_one_key_changes_and_nothing_else(target, value, where, now):
    text = changed_text(JOB, Change(target, value))
    before, after = tomllib.loads(JOB), tomllib.loads(text)
    place = after
    for name in where[:-1]:
        place = place[name]
    assert place.pop(where[-1]) == now
    undone = tomllib.loads(changed_text(text, Change(target, value)))
    assert tomllib.loads(text) == undone
    place = before
    for name in where[:-1]:
        if isinstance(place, dict) and name not in place:
            after.pop(name)
            break
        place = place[name]
    else:
        place.pop(where[-1], None)
    assert before == after
    assert "# my pan" in text
    assert "# stock" in text


@pytest.mark.parametrize(
    ("target", "hint"),
    [
        ("lumps.trey.depth", "did you mean 'tray'"),
        ("lumps.9.depth", "9"),
        ("pan.sheet.more.yet", "below a plain value"),
        ("pan..sheet", "pan.sheet"),
        ("", "pan.sheet"),
        ('lumps."deep end.depth', "quote"),
        ("pan.", "pan.sheet"),
    ],
)
def test_a_wrong_target_says_what_there_is(target, hint):
    with pytest.raises(ValueError, match=hint):
        changed_text(JOB, Change(target, "1 mm"))


def test_target_with_quotes():
    assert split_target('lumps."deep end".depth') == ("lumps", "deep end", "depth")


def finding(code: str, where: str, verdict: Verdict) -> Finding:
    return Finding(code, verdict, where, "")


def test_findings_are_paired_by_code_and_place():
    before = (
        finding("OIL-01", "sump", Verdict.FAILS),
        finding("KIT-01", "h1", Verdict.HOLDS),
        finding("KIT-01", "h2", Verdict.CLOSE),
        finding("BODY-02", "tray", Verdict.FAILS),
    )
    after = (
        finding("OIL-01", "sump", Verdict.HOLDS),
        finding("KIT-01", "h1", Verdict.FAILS),
        finding("KIT-01", "h2", Verdict.CLOSE),
        finding("KIT-09", "flange", Verdict.CANNOT_SAY),
    )
    steps = [(pair.code, pair.where, pair.step) for pair in pair_up(before, after)]
    assert steps == [
        ("OIL-01", "sump", "better"),
        ("KIT-01", "h1", "worse"),
        ("KIT-01", "h2", "same"),
        ("KIT-09", "flange", "new"),
        ("BODY-02", "tray", "gone"),
    ]


def test_the_same_thing_said_twice_is_paired_in_order():
    one, two = finding("KIT-02", "wall", Verdict.FAILS), finding("KIT-02", "wall", Verdict.HOLDS)
    pairs = pair_up((one, two), (one,))
    assert [(p.before, p.after) for p in pairs] == [(one, one), (two, None)]


@pytest.mark.parametrize(
    "change",
    [
        Change("pan.sheet", "2 mm"),
        Change("pan.turns", "3"),
        Change("pan.etched", "true"),
        Change("dipstick.length", "230 mm"),
        Change('lumps."deep end".depth', "126 mm"),
        Change("lumps.2.depth_at", '["310 mm", "-90 mm"]'),
        Change('lumps."deep end".depth_at.1', "310 mm"),
        Change("rail.fasteners.2.blind_depth", "18 mm"),
    ],
)
def test_data_change_as_the_text_does(change):
    data = tomllib.loads(JOB)
    assert changed_data(data, change) == tomllib.loads(changed_text(JOB, change))
    assert data == tomllib.loads(JOB), "the data given stay as they are"


@pytest.mark.parametrize(
    "target",
    ["lumps.spoiler.depth", "pan.sheet.depth", "lumps.tray.depth.2", "lumps.9", "lumps.2.depth_at.3"],
)
def test_a_place_that_is_not_there_is_a_wrong_call_in_text_and_data_alike(target):
    with pytest.raises(ValueError, match=target.split(".")[0]):
        changed_text(JOB, Change(target, "1 mm"))
    with pytest.raises(ValueError, match=target.split(".")[0]):
        changed_data(tomllib.loads(JOB), Change(target, "1 mm"))


@pytest.mark.parametrize("text", [JOB, JOB + '\n[[patch_plates]]\nname = "first"\n'])
def test_one_more_member_of_a_list(text):
    change = Change("patch_plates.+", '{ name = "hatch", at = ["1 mm", "2 mm", "3 mm"] }')
    now = changed_text(text, change)
    before, after = tomllib.loads(text), tomllib.loads(now)
    assert after.pop("patch_plates") == [
        *before.pop("patch_plates", []),
        {"name": "hatch", "at": ["1 mm", "2 mm", "3 mm"]},
    ]
    assert before == after
    assert tomllib.loads(now) == changed_data(tomllib.loads(text), change)
    assert "# stock" in now


def test_one_more_member_of_a_list_inside_a_section():
    change = Change('lumps."deep end".windows.+', '{ name = "gap" }')
    now = tomllib.loads(changed_text(JOB, change))
    assert now["lumps"][1]["windows"] == [{"name": "gap"}]
    assert now == changed_data(tomllib.loads(JOB), change)
    with pytest.raises(ValueError, match="no list"):
        changed_text(JOB, Change("pan.+", '{ name = "gap" }'))
