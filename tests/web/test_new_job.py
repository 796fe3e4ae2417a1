"""A new job by a few questions."""

from __future__ import annotations

import pytest

from sumpwright.job import read_job
from sumpwright.web.messages import NewRequest
from sumpwright.web.new_job import lay_out_job, questions
from sumpwright.web.workbench import Workbench
from tests.web.benches import IdleWorkers

ANSWERS = {
    "name": ["Yard tractor"], "units": ["mm"], "carries": ["pickup"], "clears": ["ground", "axle"],
    "fill": ["4.5 L"], "use": ["road"], "along": ["front lowered", "5 deg"], "datum_height": ["300 mm"],
}  # fmt: skip


def answered(folder, **changes):
    bench = Workbench(folder, lambda what, it: None, IdleWorkers())  # type: ignore[arg-type]
    bench.open()
    given = {**ANSWERS, **changes}
    answers = [{"key": key, "words": words} for key, words in given.items() if words is not None]
    return bench, lay_out_job(bench, NewRequest.model_validate({"answers": answers}))


@pytest.mark.parametrize("use", ["road", "slicks", "marine", "sailing hull"])
@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.expected_from("property", "what was answered is what the job then holds")
def test_the_answers_are_in_a_job_that_can_be_read(tmp_path, use, units):
    bench, answer = answered(tmp_path / "new", use=[use], units=[units], carries=["pickup", "gearbox brace"])
    assert answer.laid_out, answer.faults
    job = read_job(tmp_path / "new")
    assert (job.name, job.units, job.motion.loads.use) == ("Yard tractor", units, use)
    assert job.oil.fill == pytest.approx(4.5e-3)
    assert job.placement.attitude.nose_up == pytest.approx(-0.0872665, abs=1e-6)
    assert job.placement.attitude.lean_right == 0.0
    assert [duty.name for duty in job.body.old_pan.duties] == ["pickup", "gearbox brace"]
    assert any("carried load" in note for note in answer.notes)
    assert any("still that example's" in note for note in answer.notes)
    assert bench.snapshot().job is not None


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"fill": None}, "fill"),
        ({"fill": ["five"]}, "fill"),
        ({"fill": ["5 kg"]}, "fill"),
        ({"use": ["flying"]}, "use"),
        ({"name": ["{x}"]}, "name"),
        ({"along": ["front raised"]}, "along"),
        ({"along": ["level", "3 deg"]}, "along"),
        ({"along": ["front raised", "front lowered"]}, "along"),
        ({"across": ["upside down", "3 deg"]}, "across"),
        ({"across": ["top over to the left", "much"]}, "across"),
        ({"units": ["mm", "in"]}, "units"),
        ({"datum_height": ["-3 mm"]}, "datum_height"),
    ],
)
def test_an_answer_that_cannot_be_read_lays_nothing_out(tmp_path, changes, key):
    folder = tmp_path / "new"
    folder.mkdir()
    _, answer = answered(folder, **changes)
    assert not answer.laid_out
    assert key in [fault.key for fault in answer.faults]
    assert list(folder.iterdir()) == []


def test_a_job_that_lies_there_is_never_written_over(tmp_path):
    _, first = answered(tmp_path / "new")
    assert first.laid_out
    before = (tmp_path / "new" / "job.toml").read_bytes()
    _, second = answered(tmp_path / "new", name=["Other"])
    assert not second.laid_out
    assert (tmp_path / "new" / "job.toml").read_bytes() == before


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "holiday.txt").write_text("x")
    _, answer = answered(tmp_path)
    assert not answer.laid_out
    assert "not empty" in answer.faults[0].rule
    assert [path.name for path in tmp_path.iterdir()] == ["holiday.txt"]


def test_every_question_says_why_it_is_asked():
    for question in questions().questions:
        assert question.asks.endswith("?")
        assert question.why.endswith(".")
