"""The suction section: what is read, and each slip told with a good example."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from sumpwright.job import JobError, read_job

EXAMPLE = Path(__file__).parents[2] / "src" / "sumpwright" / "examples" / "hillclimb-four"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    shutil.copytree(EXAMPLE, folder)
    return folder


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "job.toml"
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def faults(folder: Path) -> str:
    with pytest.raises(JobError) as caught:
        read_job(folder)
    return " / ".join(f"{fault.key}: {fault.rule}" for fault in caught.value.faults)


@pytest.mark.expected_from("published", "us-customary-units: 16 meshes to the inch stand 25.4 / 16 mm apart")
def test_the_line_reaches_body_and_suction(job: Path) -> None:
    read = read_job(job)
    assert read.suction is not None
    assert read.body.pickup is not None
    line = read.body.pickup.line
    assert line is not None
    assert read.suction.line is line
    assert len(line.path) == 4
    assert line.screen is not None
    assert line.screen.pitch == pytest.approx(0.0254 / 16)
    assert line.screen.opening == pytest.approx(0.0254 / 16 - 0.45e-3)
    assert line.corners[0].radius == pytest.approx(0.033)


def test_what_the_job_does_not_say_is_told(job: Path) -> None:
    keys = {told.key for told in read_job(job).assumptions}
    assert {"suction.fed_within", "suction.least_hot", "suction.least_cold", "suction.altitude"} <= keys


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('screen_wire = "0.45 mm"', 'screen_wire = "1.55 mm"', "fill the mesh"),
        ("screen_count = 16 ", "# ", "a woven screen needs it"),
        ('["402 mm", "-104 mm", "-38 mm"]', '["300 mm", "-100 mm", "-70 mm"]', "no run here"),
        ('screen = "woven"', 'screen = "perforated"', "a perforated screen needs it"),
        ('relief_returns_to = "pan"', 'relief_from = "4000 rpm"', "belongs to the speed"),
        ('grade = "5W-30"', 'grade = "7W-33"', "no engine oil grade"),
        (
            'grade = "5W-30"',
            'viscosity_40 = "10 cSt"\nviscosity_100 = "60 cSt"',
            "thicker when it is warmed",
        ),
        ('bore = "22 mm"', 'bore = "22 mm"\nheight = "20 mm"', "no height of its own"),
    ],
)
def test_each_slip_is_told(job: Path, old: str, new: str, says: str) -> None:
    change(job, old, new)
    assert says in faults(job)


def test_a_bend_needs_its_radius_and_no_more_corners_than_there_are(job: Path) -> None:
    corners = "".join('\n[[suction.corners]]\nkind = "bend"\n' for _ in range(3))
    path = job / "job.toml"
    path.write_text(path.read_text("utf-8") + corners, "utf-8")
    said = faults(job)
    assert "a bend needs its radius" in said
    assert "more corners named" in said
