"""Ways round a seam out of reach, taken from the sheet and tried on the whole job."""

from __future__ import annotations

from importlib import resources

import pytest

from sumpwright.flow import Memory, run, try_change
from sumpwright.flow.changes import Change, changed_text
from sumpwright.job import read_job, reread_job

WELD = ("weld",)


def out(results):
    plan = results.weld.plan
    by_number = {seam.number: seam.where for seam in results.weld.seams}
    return {by_number[n] for n in plan.left_over}


@pytest.fixture(scope="module")
def memory():
    return Memory()


@pytest.fixture(scope="module")
def chipper(memory):
    job = read_job(resources.files("sumpwright") / "examples" / "slope-chipper-adapter")
    return job, memory, run(job, WELD, memory=memory)


@pytest.mark.expected_from("property", "what is proposed for a seam out of reach, done, brings it into reach")
def test_each_proposal_brings_seams_into_reach(chipper):
    plain, memory, _ = chipper
    text = plain.job_file.read_text("utf-8")
    for side in ("front", "left", "rear", "right"):
        row = f'{{ part = "sump floor", other = "sump {side} wall", joint = "full lap" }}'
        text = changed_text(text, Change("joints.+", row))
    job = reread_job(plain, text)
    before = run(job, WELD, memory=memory)
    # The inner beads of a closed corner all round cannot be laid behind a shut plate.
    assert out(before)
    asked = [proposal for proposal in before.proposals if proposal.code == "WELD-01"]
    assert asked
    for proposal in asked:
        tried = try_change(job, proposal, memory, WELD, before)
        assert out(tried.after) < out(before), proposal.target
        assert tried.after.weld.replay.holds


@pytest.mark.expected_from(
    "property", "a patch plate asked for is drawn, welded in its turn and costs no other seam"
)
def test_a_patch_plate_by_a_change(chipper):
    job, memory, before = chipper
    floor = next(face for face in before.body.cavity.faces if face.role == "floor" and face.area > 0.02)
    middle = before.body.cavity.vertices[floor.loops[0]].mean(axis=0) * 1e3
    at = ", ".join(f'"{value:.1f} mm"' for value in middle)
    row = f'{{ name = "hatch", panel = "{floor.name}", at = [{at}], width = "50 mm", height = "50 mm" }}'
    tried = try_change(job, Change("patch_plates.+", row), memory, WELD, before)
    kit = tried.after.kit
    assert kit.patches is not None
    assert kit.patches.trouble == (), kit.patches.trouble
    assert not kit.rebuild.refused
    assert any(seam.kind == "patch plate" for seam in tried.after.weld.seams)
    assert out(tried.after) <= out(before)
    assert tried.after.weld.replay.holds
    assert any(a.key == "patch_plates.corner" for a in tried.after.assumptions)


def test_a_patch_plate_that_cannot_be_read(chipper):
    from sumpwright.job import JobError

    job, memory, before = chipper
    row = '{ name = "flange hatch", panel = "x", at = ["1 mm", "1 mm", "1 mm"], width = "50 mm" }'
    with pytest.raises(JobError) as trouble:
        try_change(job, Change("patch_plates.+", row), memory, WELD, before)
    assert any("patch_plates" in fault.key for fault in trouble.value.faults)
