"""Bosses in the job file."""

from __future__ import annotations

from pathlib import Path

import pytest

from sumpwright.job import read_job
from tests.job.changes import faults_of, lay

BOSS = """
[[fittings]]
name = "drain"
kind = "drain"
at = ["245 mm", "-150 mm", "-105 mm"]
thread = "M18x1.5"
outside = "1 1/8 in"
"""


def with_boss(tmp_path: Path, text: str = BOSS) -> Path:
    folder = lay(tmp_path)
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return folder


@pytest.mark.expected_from("closed form", "1 in = 25.4 mm: 1 1/8 in = 28.575 mm")
def test_a_boss_in_base_units(tmp_path: Path) -> None:
    (boss,) = read_job(with_boss(tmp_path)).kit.fittings
    assert boss.boss_diameter == pytest.approx(28.575e-3, rel=1e-12)
    assert boss.at == pytest.approx([0.245, -0.150, -0.105])
    assert (boss.kind, boss.thread, boss.ring) == ("drain", "M18x1.5", True)


def test_a_boss_without_ring_and_one_of_no_known_kind(tmp_path: Path) -> None:
    (boss,) = read_job(with_boss(tmp_path, BOSS + "ring = false\n")).kit.fittings
    assert not boss.ring
    folder = with_boss(tmp_path / "other", BOSS.replace('kind = "drain"', 'kind = "drian"'))
    (fault,) = faults_of(folder)
    assert fault.key == "fittings.drain.kind"
    assert "did you mean" in fault.rule
