"""Shapes that make no pan: a finding says what is wrong with them, and nothing falls over."""

from __future__ import annotations

import re

import pytest

from sumpwright.cli.door import main
from sumpwright.findings import Verdict
from sumpwright.flow import run
from sumpwright.job import read_job
from tests.jobs.laid_out import laid_out

RECTANGLE = 'rectangle = { rear = "16 mm", front = "200 mm", right = "-198 mm", left = "-100 mm" }'
TRAY = f"""
[[lumps]]
name = "tray"
does = "adds"
{RECTANGLE}
floor = "parallel to rail"
depth = "60 mm"
"""


def outline(*corners: tuple[int, int]) -> str:
    return "outline = [" + ", ".join(f'["{x} mm", "{y} mm"]' for x, y in corners) + "]"


def lump(rear: int, front: int, right: int, left: int, depth: int = 60, more: str = "") -> str:
    return f"""
[[lumps]]
name = "other"
does = "adds"
rectangle = {{ rear = "{rear} mm", front = "{front} mm", right = "{right} mm", left = "{left} mm" }}
floor = "parallel to rail"
depth = "{depth} mm"
{more}
"""


ODD = {
    "apart": TRAY + lump(230, 400, -198, -100),
    "touching in an edge": TRAY + lump(200, 400, -100, -16),
    "touching in a point": TRAY + lump(200, 400, -100, -16, depth=120, more='top_below = "60 mm"'),
    "one under the other, touching in a face": TRAY
    + lump(16, 200, -198, -100, depth=120, more='top_below = "60 mm"'),
    "one under the other, a hair apart": TRAY
    + lump(16, 200, -198, -100, depth=120, more='top_below = "60.01 mm"'),
    "all cut away": TRAY + lump(0, 300, -250, 0, depth=90).replace('"adds"', '"cuts"'),
    "nothing adds": TRAY.replace('"adds"', '"cuts"'),
    "clockwise outline": TRAY.replace(
        RECTANGLE,
        outline((16, -198), (16, -100), (200, -100), (200, -198)),
    ),
    "crossing itself": TRAY.replace(
        RECTANGLE,
        outline((16, -198), (200, -100), (200, -198), (16, -100)),
    ),
    "all corners on one line": TRAY.replace(
        RECTANGLE,
        outline((16, -198), (100, -198), (200, -198)),
    ),
    "one corner twice": TRAY.replace(
        RECTANGLE,
        outline((16, -198), (200, -198), (200, -198), (16, -100)),
    ),
    "a floor that rises above the rail": TRAY.replace(
        'floor = "parallel to rail"\ndepth = "60 mm"',
        'floor = "level with ground"\ndepth = "2 mm"\ndepth_at = ["100 mm", "-150 mm"]',
    ),
    "walls that meet above the floor": TRAY + 'wall_slope = "60 deg"\n',
    "thinner than the sheet": TRAY.replace('left = "-100 mm"', 'left = "-197.5 mm"'),
    "holes inside the oil": TRAY.replace(
        'right = "-198 mm", left = "-100 mm"', 'right = "-260 mm", left = "60 mm"'
    ),
    "far away": TRAY.replace('rear = "16 mm", front = "200 mm"', 'rear = "900 mm", front = "1200 mm"'),
    "as big as a house": TRAY.replace('depth = "60 mm"', 'depth = "9 m"'),
}
MAKES_A_PAN = {
    "one under the other, touching in a face",
    "clockwise outline",
}


@pytest.mark.parametrize("name", ODD)
def test_an_odd_shape_is_answered(tmp_path, capsys, name):
    job = laid_out(tmp_path)
    text = (job / "job.toml").read_text("utf-8")
    text = re.sub(r"\[\[lumps\]\].*?(?=\n\[oil\])", lambda _: ODD[name], text, count=1, flags=re.DOTALL)
    text = re.sub(r"\[drain\].*", "", text, flags=re.DOTALL)
    (job / "job.toml").write_text(text, "utf-8")
    status = main(["check", str(job)])
    out, err = capsys.readouterr()
    assert status in (1, 2), err
    assert "Traceback" not in err
    if status == 2:
        assert "lumps" in err
        assert ("crosses" in err) == (name in ("crossing itself", "one corner twice"))
        return
    results = run(read_job(job), ("body",))
    open_ones = {
        finding.code
        for finding in results.findings
        if finding.verdict in (Verdict.FAILS, Verdict.CANNOT_SAY)
        and finding.code.startswith("BODY")
        and finding.code != "BODY-13"
    }
    if name in MAKES_A_PAN:
        assert results.body is not None
        assert results.body.cavity is not None
    else:
        assert open_ones, out


def test_a_mouth_beside_the_pan_is_told_and_not_driven(tmp_path):
    job = laid_out(
        tmp_path,
        "motor-sailer",
        {"job.toml": {r"re:^mouth = \[.*\]": 'mouth = ["-300 mm", "0 mm", "-60 mm"]'}},
    )
    results = run(read_job(job), ("drive",))
    assert results.drive is not None
    assert results.drive.runs == ()
    said = [finding for finding in results.findings if finding.code == "MOT-10"]
    assert any("pickup.mouth" in finding.do for finding in said)
