"""A code has one meaning and one home."""

from __future__ import annotations

from collections import defaultdict

from sumpwright.flow.stages import STAGES
from tests.house.finding_codes import SECTIONS, code_uses, sentences_by_code


def test_each_code_is_spoken_in_one_file_of_its_own_stage():
    homes = defaultdict(set)
    for use in code_uses():
        homes[use.code].add(use.path)
    assert homes, "no finding codes found: the reader is blind"
    strays = [f"{code}: {', '.join(sorted(paths))}" for code, paths in homes.items() if len(paths) > 1]
    assert not strays, "a code spoken in two files means two things:\n" + "\n".join(strays)
    wrong = [
        f"{use.path}:{use.line} {use.code}"
        for use in code_uses()
        if not use.code.endswith("-00")
        and f"/sumpwright/{SECTIONS.get(use.code.partition('-')[0], '?')[0]}/" not in f"/{use.path}"
    ]
    assert not wrong, "a code belongs to the folder of its stage:\n" + "\n".join(wrong)


def test_the_sections_are_those_of_flow():
    for stage in STAGES:
        # Driving is the motion stage again, second by second: one section, one prefix. So are
        # fillers and movement of the weld stage, each worked out by itself.
        name = {"drive": "motion", "filler": "weld", "bow": "weld"}.get(stage.name, stage.name)
        assert SECTIONS[stage.code] == (name, stage.section)


def test_number_00_is_kept_for_a_stage_that_could_not_run():
    assert {use.path for use in code_uses() if use.code.endswith("-00")} <= {
        "src/sumpwright/flow/sequence.py"
    }


def test_each_code_says_something():
    said = sentences_by_code()
    mute = sorted({use.code for use in code_uses()} - set(said))
    assert not mute, "no sentence can be read for: " + ", ".join(mute)
