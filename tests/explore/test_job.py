"""A real job: the variants' answers are those of a full run, and what is taken is what was tried."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import pytest

from sumpwright.explore.answers import ANSWERS
from sumpwright.explore.crew import Alone, Processes
from sumpwright.explore.explore import explore
from sumpwright.explore.model import Task
from sumpwright.explore.plan import read_plan
from sumpwright.explore.store import Store
from sumpwright.explore.taking import take, text_of
from sumpwright.flow import run
from sumpwright.flow.alternatives import price_by_boxes
from sumpwright.flow.changes import Change, changed_text
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.job import JobError, read_job, reread_job
from sumpwright.job.read import data_of, reread_data
from tests.jobs.laid_out import laid_out

PLAN = """\
[plan]
way = "grid"
[[vary]]
name = "depth"
keys = ["lumps.sump.depth", "lumps.kick-out.depth"]
least = "110 mm"
most = "126 mm"
step = "16 mm"
[[tie]]
key = "pickup.mouth.3"
follows = "depth"
times = -1
plus = "11 mm"
[[vary]]
name = "screen"
key = "suction.screen_area"
choices = ["30 cm2", "42 cm2"]
"""


def plan_in(folder: Path, text: str, counts: tuple[str, ...] = ()):
    job = laid_out(folder)
    more = "".join(f'[[counts]]\nanswer = "{name}"\n' for name in counts)
    (job / "plan.toml").write_text(text + more, "utf-8")
    return read_plan(job)


@pytest.mark.expected_from("property", "every variant by its text, read and run in full like any other job")
def test_a_grid_is_what_brute_force_finds(tmp_path):
    names = ("capacity", "drain residue", "ground", "cover margin", "suction margin", "clearance")
    plan = plan_in(tmp_path, PLAN, names)
    with Store(None) as store:
        found = explore(plan.question, plan.name, store, Alone())
        rows = list(store.of_plan(plan.name))
    text = dict(plan.job.texts)["job.toml"].decode()
    combinations = itertools.product((110, 126), ("30 cm2", "42 cm2"))
    brute = []
    for (number, says, answers), (depth, screen) in zip(rows, combinations, strict=True):
        assert says == (f"{depth} mm", screen)
        changed = text
        for key, value in (
            ("lumps.sump.depth", f"{depth} mm"),
            ("lumps.kick-out.depth", f"{depth} mm"),
            ("pickup.mouth.3", f"{11 - depth} mm"),
            ("suction.screen_area", screen),
        ):
            changed = changed_text(changed, Change(key, value))
        full = run(reread_job(plan.job, changed), ("suction",))
        wanted = {k.name: k.wanted for k in plan.job.body.surroundings.keep_outs}
        maps = [m for m in (full.motion.accelerations, full.motion.slopes) if m is not None]
        values = (
            full.oil.capacity_to_rail,
            full.oil.drained[0].left_behind,
            full.body.fit.ground.lowest - plan.job.body.surroundings.ground.wanted,
            min(m.cover.min() for m in maps) - full.motion.least_cover,
            min(point.pressure - point.limit for point in full.suction.points),
            min(c.gap - wanted[c.keep_out] for c in full.body.fit.clearances),
        )
        for name, value in zip(names, values, strict=True):
            assert answers[name].value == pytest.approx(value, rel=1e-12, abs=1e-12), name
        brute.append((number, values))
    signs = [1.0 if answer.want == "less" else -1.0 for answer in ANSWERS if answer.name in names]
    costs = {number: tuple(s * v for s, v in zip(signs, values, strict=True)) for number, values in brute}
    unbeaten = {
        n
        for n, c in costs.items()
        if not any(o != c and all(a <= b for a, b in zip(o, c, strict=True)) for o in costs.values())
    }
    assert {one.number for one in found.front.members} == unbeaten


@pytest.mark.expected_from("property", "the kit and the drive of a full run of the same job")
def test_the_dear_answers_are_those_of_a_full_run(tmp_path):
    names = ("weld length", "mass", "price", "reserve", "bow")
    plan = plan_in(tmp_path, PLAN, names)
    levels = (1, 0)
    found = dict(plan.work.open()(Task(levels)).found)
    with Store(None) as store:
        store.ask(plan.name, 3, plan.work.variant(levels), plan.work.words(levels))
        changed = reread_job(plan.job, text_of(plan, store, 3))
    kit = replace(changed.kit, etched=False, nests=False)
    full = run(replace(changed, kit=kit), ("kit", "drive", "bow"))
    assert full.kit is not None
    assert full.drive is not None
    assert found["weld length"].value == pytest.approx(full.kit.weld_length, rel=1e-12)
    assert found["mass"].value == pytest.approx(full.kit.mass, rel=1e-12)
    price, _ = price_by_boxes(changed, full.kit)
    if price is None or price.total is None:
        assert "price" in found["price"].why
    else:
        assert found["price"].value == pytest.approx(price.total, rel=1e-12)
    assert full.bow is not None
    assert found["bow"].value == pytest.approx(full.bow.released[1], rel=1e-9)
    assert found["reserve"].value == pytest.approx(min(r.least_reserve for r in full.drive.runs), rel=1e-12)


def test_two_processes_find_what_one_does(tmp_path):
    plan = plan_in(tmp_path, PLAN, ("capacity", "drain residue", "suction margin"))
    told = []
    for crew in (Alone(), Processes(2)):
        with Store(None) as store:
            explore(plan.question, plan.name, store, crew)
            told.append(list(store.of_plan(plan.name)))
    assert told[0] == told[1]


def test_a_job_read_by_its_data_is_the_job_read_by_its_text(tmp_path):
    plan = plan_in(tmp_path, PLAN, ("capacity",))
    bench = plan.work.open().__self__
    for number, levels in enumerate(itertools.product((0, 1), (0, 1)), start=1):
        by_data = reread_data(data_of(plan.job), bench.changed(levels))
        with Store(None) as store:
            store.ask(plan.name, number, plan.work.variant(levels), plan.work.words(levels))
            by_text = reread_job(plan.job, text_of(plan, store, number))
        for part in ("rail", "body", "oil", "motion", "suction", "kit", "logs"):
            assert fingerprint(getattr(by_data, part)) == fingerprint(getattr(by_text, part)), part


def test_a_broken_hard_limit_stops_a_variant_before_what_is_dearer(tmp_path):
    text = PLAN + '[[counts]]\nanswer = "capacity"\nat_least = "90 L"\n[[counts]]\nanswer = "mass"\n'
    plan = plan_in(tmp_path, text)
    with Store(None) as store:
        found = explore(plan.question, plan.name, store, Alone())
        assert all(set(answers) == {"capacity"} for _, _, answers in store.of_plan(plan.name))
    assert found.dropped == (("capacity", 4),)
    assert not found.front.members


def test_moved_limits_are_applied_to_what_is_known(tmp_path):
    plan = plan_in(tmp_path / "a", PLAN, ("capacity",))
    tighter = plan_in(tmp_path / "b", PLAN + '[[counts]]\nanswer = "capacity"\nat_least = "5.2 L"\n')
    with Store(None) as store:
        before = explore(plan.question, plan.name, store, Alone())
        after = explore(tighter.question, tighter.name, store, Alone())
    assert before.complete == 4
    assert after.tried == 0, "the same pans in another folder are the same pans"
    assert after.complete + sum(count for _, count in after.dropped) == 4


def test_a_comment_in_the_job_file_changes_nothing_and_a_figure_does(tmp_path):
    plan = plan_in(tmp_path / "a", PLAN, ("capacity",))
    other = tmp_path / "b"
    job = laid_out(other, changes={"job.toml": {"# A 2.0 L four": "# My two litre four"}})
    (job / "plan.toml").write_text(PLAN + '[[counts]]\nanswer = "capacity"\n', "utf-8")
    assert read_plan(job).work.job_name == plan.work.job_name
    job = laid_out(tmp_path / "c", changes={"job.toml": {'fill = "4.8 L"': 'fill = "4.7 L"'}})
    (job / "plan.toml").write_text(PLAN + '[[counts]]\nanswer = "capacity"\n', "utf-8")
    assert read_plan(job).work.job_name != plan.work.job_name


def test_no_pan_comes_with_its_reason(tmp_path):
    text = (
        PLAN.replace("126 mm", "190 mm")
        .replace('"16 mm"', '"80 mm"')
        .replace('plus = "11 mm"', 'plus = "-40 mm"')
    )
    plan = plan_in(tmp_path, text, ("cover margin",))
    with Store(None) as store:
        found = explore(plan.question, plan.name, store, Alone())
    assert found.refused == 4
    assert found.reasons[0][0] == "the pickup's mouth lies outside the pan"


@pytest.mark.expected_from("closed form", "the tie of the plan: 11 mm above a floor 126 mm deep")
def test_what_is_taken_reads_back_with_every_value_and_is_never_written_over(tmp_path):
    plan = plan_in(tmp_path, PLAN, ("capacity",))
    with Store(None) as store:
        explore(plan.question, plan.name, store, Alone())
        path = take(plan, store, 3)
        taken = read_job(path)
        assert path.name == "job-3.toml"
        assert taken.body.pickup.mouth[2] == pytest.approx(-0.115)
        assert "# a 2.0 l four" in path.read_text("utf-8").casefold()
        with pytest.raises(JobError, match="there already"):
            take(plan, store, 3)
        with pytest.raises(JobError, match="no variant of this plan has this number"):
            take(plan, store, 99)
