"""Joints of single edges, bends and the fixing of baffles, as the job file says them."""

from __future__ import annotations

from pathlib import Path

from sumpwright.kit import JointChoice
from tests.job.changes import change, faults_of, lay, read

JOINT = """[[joints]]
part = "tray front wall"
other = "tray left wall"
joint = "full lap"

[oil]
"""


def test_a_joint_is_asked_for(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, "[oil]\n", JOINT)
    job = read(folder)
    assert job.kit.joint_choices == (JointChoice("tray front wall", "tray left wall", "full lap"),)
    assert job.kit.baffle_fixing == "bolted"


def test_nothing_is_bent_where_the_job_says_so(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, "[oil]\n", '[cutting]\nbends = false\nbaffle_fixing = "tacked"\n\n[oil]\n')
    job = read(folder)
    assert job.kit.folder is None
    assert job.kit.baffle_fixing == "tacked"


def test_a_joint_that_is_none_is_told(tmp_path: Path) -> None:
    folder = lay(tmp_path)
    change(folder, "[oil]\n", JOINT.replace("full lap", "glued"))
    (fault,) = faults_of(folder)
    assert "joint" in fault.key
