"""The exit status and the order of the stages."""

from __future__ import annotations

import pytest

from sumpwright.findings import Finding, Verdict
from sumpwright.flow.stages import ALL_STAGES, STAGES, with_needs
from sumpwright.flow.status import exit_status


@pytest.mark.parametrize(
    ("verdicts", "status"),
    [
        ((), 0),
        ((Verdict.HOLDS,), 0),
        ((Verdict.HOLDS, Verdict.CLOSE), 0),
        ((Verdict.CLOSE, Verdict.CANNOT_SAY), 1),
        ((Verdict.FAILS, Verdict.HOLDS), 1),
    ],
)
def test_missing_never_counts_as_holding(verdicts, status):
    assert exit_status(Finding("OIL-01", verdict, "sump", "") for verdict in verdicts) == status


def test_a_stage_brings_what_it_builds_on():
    assert [stage.name for stage in with_needs(("oil",))] == ["rail", "body", "oil"]
    assert [stage.name for stage in with_needs(("kit", "rail"))] == ["rail", "body", "kit"]
    assert [stage.name for stage in with_needs(("rail",))] == ["rail"]


def test_each_stage_names_all_it_builds_on_and_only_earlier_ones():
    for place, stage in enumerate(STAGES):
        assert set(stage.needs) <= set(ALL_STAGES[:place])
        for need in stage.needs:
            assert set(STAGES[ALL_STAGES.index(need)].needs) <= set(stage.needs)


def test_an_unknown_stage_is_a_wrong_call():
    with pytest.raises(ValueError, match="rail, body, oil, motion"):
        with_needs(("sauce",))
