"""Every change goes to the file at once, is never lost, and can be taken back."""

from __future__ import annotations

import os
import stat

import pytest

from sumpwright.job import read_job
from sumpwright.web import job_folder
from sumpwright.web.history import JOURNALS
from tests.jobs.laid_out import everything_below
from tests.web.benches import Bench


@pytest.fixture
def open_job(tmp_path):
    return Bench(tmp_path)


@pytest.mark.expected_from("closed form", "five litres typed are 0.005 m3 read")
def test_an_edit_is_in_the_file_and_in_the_next_run(open_job):
    before = open_job.text()
    answer = open_job.put("oil.fill", "5.0 L", was="4.8 L")
    assert answer.outcome == "taken"
    assert open_job.text() == before.replace('fill = "4.8 L"', 'fill = "5.0 L"')
    assert read_job(open_job.job).oil.fill == pytest.approx(5.0e-3)
    assert [row.key for row in answer.fields] == ["oil.fill"]
    assert open_job.workers.runs == [1, 2]
    assert answer.undo == "oil.fill"


def test_what_cannot_be_read_is_refused_and_the_file_stays(open_job):
    before = everything_below(open_job.job)
    answer = open_job.put("oil.fill", "5 kg")
    assert answer.outcome == "refused"
    assert "mass" in answer.faults[0].rule
    assert answer.faults[0].good == 'fill = "4.8 L"'
    assert everything_below(open_job.job) == before
    assert open_job.workers.runs == [1]


def test_one_of_several_edits_refused_is_none_taken(open_job):
    before = everything_below(open_job.job)
    edits = [
        {"do": "set", "file": "job", "key": "oil.fill", "text": "5 L", "was": None},
        {"do": "set", "file": "job", "key": "oil.fil", "text": "5 L", "was": None},
    ]
    assert open_job.edit(*edits).outcome == "refused"
    assert everything_below(open_job.job) == before


def test_undo_gives_every_byte_back_and_redo_does_it_again(open_job):
    texts = [open_job.text()]
    for fill in ("4.9 L", "5.0 L", "5.1 L"):
        open_job.put("oil.fill", fill)
        texts.append(open_job.text())
    vent = '{ name = "vent", kind = "breather", at = ["1 mm", "2 mm", "30 mm"] }'
    open_job.edit({"do": "add", "file": "job", "list_key": "ports", "member": vent})
    texts.append(open_job.text())
    for text in reversed(texts[:-1]):
        assert open_job.bench.undo().outcome == "taken"
        assert open_job.text() == text
    assert open_job.bench.undo().outcome == "refused"
    for text in texts[1:]:
        assert open_job.bench.redo().outcome == "taken"
        assert open_job.text() == text
    assert open_job.bench.redo().outcome == "refused"


def test_readings_are_edited_the_same_way(open_job):
    rail = open_job.text("rail.csv")
    line = next(at for at, row in enumerate(rail.split("\n"), 1) if row.startswith("inside, h1, h2"))
    edit = {"do": "cell", "line": line, "column": "reading", "text": "54.99", "was": "54.93"}
    assert open_job.edit(edit).outcome == "taken"
    assert "inside, h1, h2, 54.99, caliper" in open_job.text("rail.csv")
    new = {"do": "add reading", "after_line": 0, "kind": "centre", "a": "h1", "b": "h7", "reading": "370 mm",
           "tool": "tape", "u": "", "note": "again"}  # fmt: skip
    assert open_job.edit(new).outcome == "taken"
    assert open_job.text("rail.csv").endswith("centre, h1, h7, 370 mm, tape, , again\n")
    open_job.bench.undo()
    open_job.bench.undo()
    assert open_job.text("rail.csv") == rail
    bad = {"do": "cell", "line": line, "column": "reading", "text": "54,99", "was": None}
    assert open_job.edit(bad).outcome == "refused"
    assert open_job.text("rail.csv") == rail


def test_a_shop_file_comes_with_its_first_key(tmp_path):
    open_job = Bench(tmp_path, "slope-chipper")
    assert not (open_job.job / "shop.toml").exists()
    edit = {"do": "set", "file": "shop", "key": "shop.name", "text": "Back yard", "was": ""}
    assert open_job.edit(edit).outcome == "taken"
    assert 'name = "Back yard"' in open_job.text("shop.toml")
    assert read_job(open_job.job).shop.name == "Back yard"


def test_an_editor_outside_is_heard_and_merged_where_it_wrote_elsewhere(open_job):
    path = open_job.job / "job.toml"
    path.write_text(open_job.text().replace('hold_up = "0.9 L"', 'hold_up = "1.0 L"'), "utf-8")
    answer = open_job.put("oil.fill", "5.0 L", was="4.8 L")
    assert answer.outcome == "taken"
    assert 'hold_up = "1.0 L"' in open_job.text()
    assert 'fill = "5.0 L"' in open_job.text()
    assert [step.by for step in open_job.bench.snapshot().changes] == ["outside", "page"]
    assert open_job.bench.undo().outcome == "taken"
    assert 'hold_up = "1.0 L"' in open_job.text()
    assert 'fill = "4.8 L"' in open_job.text()


def test_the_same_place_changed_by_two_is_asked_about(open_job):
    path = open_job.job / "job.toml"
    path.write_text(open_job.text().replace('fill = "4.8 L"', 'fill = "4.6 L"'), "utf-8")
    answer = open_job.put("oil.fill", "5.0 L", was="4.8 L")
    assert answer.outcome == "asks"
    assert [(one.key, one.was, one.theirs, one.yours) for one in answer.asks] == [
        ("oil.fill", "4.8 L", "4.6 L", "5.0 L")
    ]
    assert 'fill = "4.6 L"' in open_job.text()
    assert open_job.put("oil.fill", "5.0 L", was="4.6 L").outcome == "taken"
    # Two tabs that typed the same agree.
    assert open_job.put("oil.fill", "5.0 L", was="4.6 L").outcome == "taken"


def test_undo_never_runs_over_what_was_written_since(open_job):
    open_job.put("oil.fill", "5.0 L")
    path = open_job.job / "job.toml"
    path.write_text(open_job.text().replace('fill = "5.0 L"', 'fill = "5.2 L"'), "utf-8")
    answer = open_job.bench.undo()
    assert answer.outcome == "refused"
    assert "changed on the same lines" in answer.faults[0].rule
    assert 'fill = "5.2 L"' in open_job.text()


def test_a_file_broken_outside_is_told_and_can_be_mended_from_the_page(open_job):
    path = open_job.job / "job.toml"
    good = open_job.text()
    path.write_text(good.replace('fill = "4.8 L"', 'fill = "4.8 m"'), "utf-8")
    assert open_job.bench.notice_outside()
    now = open_job.bench.snapshot()
    assert [fault.key for fault in now.faults] == ["oil.fill"]
    assert open_job.put("oil.hold_up", "0.8 L").outcome == "kept"
    assert open_job.put("oil.hold_up", "lots").outcome == "refused"
    assert open_job.put("oil.fill", "4.8 L").outcome == "taken"
    assert open_job.bench.snapshot().faults == ()


def test_a_file_no_program_can_read_is_never_written_over(open_job):
    path = open_job.job / "job.toml"
    path.write_text(open_job.text().replace("[oil]", "[oil"), "utf-8")
    broken = open_job.text()
    answer = open_job.put("oil.fill", "5.0 L")
    assert answer.outcome == "refused"
    assert open_job.text() == broken


def test_a_look_costs_nothing_while_nothing_changes(open_job, monkeypatch):
    monkeypatch.setattr(type(open_job.bench.folder), "read", lambda self: pytest.fail("read again"))
    assert not open_job.bench.notice_outside()


def test_a_crash_loses_nothing_and_the_list_of_changes_goes_on(tmp_path):
    first = Bench(tmp_path)
    original = first.text()
    first.put("oil.fill", "5.0 L")
    first.put("oil.hold_up", "0.8 L")
    first.bench.undo()
    first.die()
    second = Bench(tmp_path)
    now = second.bench.snapshot()
    assert [step.key for step in now.changes] == ["oil.fill"]
    assert (now.undo, now.redo) == ("oil.fill", "oil.hold_up")
    assert second.bench.redo().outcome == "taken"
    second.bench.undo()
    second.bench.undo()
    assert second.text() == original
    second.bench.close()
    assert not (second.job / JOURNALS[0]).exists()
    assert Bench(tmp_path).bench.snapshot().changes == ()


@pytest.mark.parametrize("keep", [0.3, 0.9, 0.999])
def test_a_torn_journal_is_read_as_far_as_it_goes(tmp_path, keep):
    first = Bench(tmp_path)
    for fill in ("4.9 L", "5.0 L", "5.1 L"):
        first.put("oil.fill", fill)
    journal = first.job / JOURNALS[0]
    raw = journal.read_bytes()
    journal.write_bytes(raw[: int(len(raw) * keep)])
    text = first.text()
    first.die()
    second = Bench(tmp_path)
    assert second.text() == text
    while second.bench.undo().outcome == "taken":
        read_job(second.job)


def test_a_crash_between_writing_and_naming_leaves_the_old_file(open_job, monkeypatch):
    before = open_job.text()

    def dies(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(job_folder.Path, "replace", dies)
    answer = open_job.put("oil.fill", "5.0 L")
    assert answer.outcome == "refused"
    assert "no space" in answer.faults[0].rule
    monkeypatch.undo()
    assert open_job.text() == before
    assert not [name for name in os.listdir(open_job.job) if name.endswith(".new")]
    assert open_job.bench.snapshot().undo == ""
    assert open_job.put("oil.fill", "5.0 L").outcome == "taken"


def test_line_ends_and_permissions_stay(tmp_path):
    first = Bench(tmp_path)
    first.bench.close()
    path = first.job / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    path.chmod(0o640)
    second = Bench(tmp_path)
    raw = path.read_bytes()
    assert second.put("oil.fill", "5.0 L").outcome == "taken"
    assert path.read_bytes() == raw.replace(b'fill = "4.8 L"', b'fill = "5.0 L"')
    second.edit({"do": "remove", "file": "job", "key": 'walls."rear baffle"'})
    new = path.read_bytes()
    assert new.count(b"\r\n") == new.count(b"\n")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_drafts_of_one_key_are_one_step(open_job):
    before = open_job.text()
    for depth in ("119 mm", "120 mm", "121 mm"):
        open_job.put("lumps.sump.depth", depth, draft=True, by="drag")
    assert [step.after for step in open_job.bench.snapshot().changes] == ["121 mm"]
    open_job.bench.undo()
    assert open_job.text() == before


def test_a_drag_of_a_floor_writes_its_depth(open_job):
    answer = open_job.edit({"do": "drag", "name": "floor of sump", "to_mm": 121.5}, by="drag", draft=True)
    assert answer.outcome == "taken"
    assert 'depth = "121.5 mm"' in open_job.text()
    answer = open_job.edit({"do": "drag", "name": "mouth, up", "to_mm": -109.0}, by="drag")
    assert 'mouth = ["300 mm", "-100 mm", "-109 mm"]' in open_job.text()
    assert open_job.edit({"do": "drag", "name": "floor of nothing", "to_mm": 1.0}).outcome == "refused"
