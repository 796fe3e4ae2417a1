"""A job through its stages, with and without memory, with and without ground under a stage."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sumpwright.findings import Proposal, Verdict
from sumpwright.flow import Change, Memory, run, try_change
from sumpwright.job import JobError, read_job
from tests.jobs.laid_out import EXAMPLES, everything_below

UP_TO_OIL = ("rail", "body", "oil")


@pytest.fixture(scope="module")
def job():
    return read_job(EXAMPLES / "hillclimb-four")


@pytest.fixture(scope="module")
def memory():
    return Memory()


@pytest.fixture(scope="module")
def results(job, memory):
    return run(job, UP_TO_OIL, memory=memory)


def test_findings_come_in_the_order_of_the_work(results):
    order = [finding.code.partition("-")[0] for finding in results.findings]
    assert order == sorted(order, key=["RAIL", "BODY", "OIL"].index)
    assert set(order) == {"RAIL", "BODY", "OIL"}


def test_progress_names_each_stage_and_the_end(job, memory):
    seen = []
    run(job, UP_TO_OIL, on_progress=seen.append, memory=memory)
    assert [step.stage.name if step.stage else None for step in seen] == [*UP_TO_OIL, None]
    assert [step.done for step in seen] == [0, 1, 2, 3]
    assert {step.of for step in seen} == {3}


def test_the_same_job_is_not_worked_out_twice(job, memory, results):
    again = run(job, UP_TO_OIL, memory=memory)
    assert again.body is results.body
    assert again.oil is results.oil
    assert again.findings == results.findings


def test_with_and_without_memory_the_same_is_said(job, results):
    assert run(job, UP_TO_OIL).findings == results.findings


def test_assumptions_of_the_job_come_first(job, results):
    assert results.assumptions[: len(job.assumptions)] == job.assumptions


def test_versions_name_the_program_and_what_its_numbers_rest_on(results):
    names = [name for name, _ in results.versions]
    assert names[0] == "sumpwright"
    assert {"python", "numpy", "scipy", "manifold3d"} <= set(names)


def test_without_readings_every_later_stage_says_why_it_cannot(job):
    bare = replace(job, rail=replace(job.rail, readings=()))
    results = run(bare)
    assert results.rail is not None
    assert results.body is results.oil is results.kit is None
    for code in ("BODY-00", "OIL-00", "MOT-00", "SUC-00", "KIT-00"):
        (finding,) = [f for f in results.findings if f.code.partition("-")[0] == code[:-3]]
        assert finding.code == code
        assert finding.verdict is Verdict.CANNOT_SAY
        assert "holes of the rail" in finding.says
        assert "Rail" in finding.do


def test_lumps_that_make_no_solid_leave_oil_and_kit_without_ground(job):
    lumps = tuple(replace(lump, adds=False) for lump in job.body.lumps)
    results = run(replace(job, body=replace(job.body, lumps=lumps)))
    assert results.body is not None
    assert results.oil is results.kit is None
    for code in ("OIL-00", "MOT-00", "SUC-00", "KIT-00"):
        (finding,) = [f for f in results.findings if f.code == code]
        assert "lumps" in finding.says
        assert "Shape" in finding.do


def test_a_fault_inside_a_stage_is_not_hidden(job, monkeypatch):
    from sumpwright.rail import solve

    def broken(inputs):
        raise FloatingPointError("fault")

    monkeypatch.setattr(solve, "solve", broken)
    with pytest.raises(FloatingPointError):
        run(job, ("rail",))


def test_only_what_a_change_reaches_is_worked_out_again(job, memory, results, monkeypatch):
    from sumpwright.body import solve as body_solve
    from sumpwright.rail import solve as rail_solve

    def never(*inputs):
        raise AssertionError("worked out again without need")

    monkeypatch.setattr(rail_solve, "solve", never)
    monkeypatch.setattr(body_solve, "solve", never)
    comparison = try_change(job, Change("oil.fill", "5.2 L"), memory, UP_TO_OIL, before=results)
    assert comparison.after.body is results.body
    assert comparison.after.oil is not results.oil


def test_a_change_is_compared_before_and_after(job, memory, results):
    too_much = try_change(job, Change("oil.fill", "7 L"), memory, UP_TO_OIL, before=results)
    assert "OIL-01" in {pair.code for pair in too_much.worse}
    assert not too_much.cures("OIL-01")
    back = try_change(
        too_much.changed_job, Proposal("OIL-01", "oil.fill", "4.8 L", "holds again"), memory, UP_TO_OIL
    )
    assert "OIL-01" in {pair.code for pair in back.better}
    assert back.cures("OIL-01")
    assert back.after.findings == results.findings


def test_a_deeper_sump_holds_more(job, memory, results):
    deeper = try_change(job, Change("lumps.sump.depth", "126 mm"), memory, UP_TO_OIL, before=results)
    assert deeper.after.oil.whole_volume > results.oil.whole_volume


def test_a_value_that_cannot_be_read_is_told_like_a_faulty_file(job, memory):
    with pytest.raises(JobError, match=r"pan\.sheet"):
        try_change(job, Change("pan.sheet", "thick"), memory, UP_TO_OIL)
    with pytest.raises(JobError, match=r"pan\.shet"):
        try_change(job, Change("pan.shet", "3 mm"), memory, UP_TO_OIL)


def test_the_files_stay_as_they_are(job, memory):
    before = everything_below(job.folder)
    try_change(job, Change("oil.fill", "5 L"), memory, UP_TO_OIL)
    assert everything_below(job.folder) == before


def test_comments_with_windows_line_ends_and_a_byte_order_mark_survive(tmp_path):
    raw = (EXAMPLES / "hillclimb-four" / "job.toml").read_bytes()
    for name in ("rail.csv", "shop.toml", "hill-run.csv"):
        (tmp_path / name).write_bytes((EXAMPLES / "hillclimb-four" / name).read_bytes())
    (tmp_path / "job.toml").write_bytes(b"\xef\xbb\xbf" + raw.replace(b"\n", b"\r\n"))
    job = read_job(tmp_path)
    comparison = try_change(job, Change("oil.fill", "5 L"), stages=("rail",))
    assert comparison.changed_job.oil.fill != job.oil.fill
