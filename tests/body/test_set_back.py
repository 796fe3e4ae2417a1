"""Walls set back for the tools: by hand, and cured once applied to the job file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.body.check import check
from sumpwright.body.set_back import with_sides_in
from sumpwright.body.solve import solve
from sumpwright.body.surroundings import Socket, Surroundings, Tools
from sumpwright.flow import run, try_change
from sumpwright.job import read_job
from tests.body.hand_lumps import MM, box, inputs_of, outline, pattern_round, plan
from tests.jobs.laid_out import laid_out

ONE_SOCKET = """
[[sockets]]
across_flats = "10 mm"
outside = "13.5 mm"
length = "22 mm"
extension = "8 mm"
reach = "60 mm"
"""
SOCKET = Socket(0.010, 0.014, 0.025, 0.0128, 0.08)


@pytest.mark.expected_from(
    "closed form", "a 3-4-5 triangle with its long side moved in by 1: similar, 5/6 as large"
)
def test_a_side_moved_in() -> None:
    corners = np.array([[0.0, 0.0], [8.0, 0.0], [0.0, 6.0]])
    # The inscribed radius is 2; the moved triangle keeps its right angle at the origin.
    moved = with_sides_in(corners, {1: 0.8})
    assert moved is not None
    np.testing.assert_allclose(moved, [[0.0, 0.0], [8.0 - 0.8 * 10 / 6, 0.0], [0.0, 6.0 - 0.8 * 10 / 8]])
    assert with_sides_in(corners, {1: 5.0}) is None


@pytest.mark.expected_from(
    "closed form", "7 mm of socket and 2 of sheet beside a wall 7 mm off: 2 mm back, 3 past a weld"
)
@pytest.mark.parametrize(("slope", "beside"), [(0.0, 7.0), (20.0, 4.0)])
def test_set_back_is_proposed_and_known_to_cure(slope: float, beside: float) -> None:
    lump = replace(plan("tray", box(0, 400, 0, 200), 60, slope_deg=slope), drawn_as="rectangle")
    inputs = inputs_of(lump, surroundings=Surroundings(tools=Tools((SOCKET,), (), False)))
    pattern = pattern_round(0, 400, 0, 200, beside=beside)
    body = solve(inputs, pattern)
    report = check(body)
    assert any(f.code == "BODY-42" for f in report.findings)
    (proposal,) = report.proposals
    assert proposal.target == "lumps.tray.rectangle"
    assert proposal.code == "BODY-42"
    back = {figure.name: figure.value for figure in proposal.figures}["back"]
    # Straight down the weld round the floor counts too, 1 mm proud of the sheet; leaning walls save some.
    assert slope > 0.0 or 2.0 * MM - 1e-9 <= back <= 3.0 * MM
    assert back / 0.0005 == pytest.approx(round(back / 0.0005), abs=1e-6)
    unkeyed = solve(replace(inputs, lumps=(replace(lump, drawn_as=""),)), pattern)
    assert check(unkeyed).proposals == ()


@pytest.mark.expected_from("property", "what is proposed cures the finding once it stands in the job file")
def test_applied_to_a_job_the_bolts_are_reached(tmp_path: Path) -> None:
    front = {
        '["436 mm", "-168 mm"]': '["443 mm", "-168 mm"]',
        '["436 mm", "-46 mm"]': '["443 mm", "-46 mm"]',
    }
    folder = laid_out(tmp_path, changes={"job.toml": front})
    shop = folder / "shop.toml"
    shop.write_text(shop.read_text("utf-8") + ONE_SOCKET, "utf-8")
    job = read_job(folder)
    results = run(job, ("rail", "body"))
    before = {f.where for f in results.findings if f.code == "BODY-42"}
    (proposal,) = [one for one in results.proposals if one.code == "BODY-42" and one.target != "lumps.+"]
    assert proposal.target == "lumps.tray.outline"
    compared = try_change(job, proposal, stages=("rail", "body"), before=results)
    after = {f.where for f in compared.after.findings if f.code == "BODY-42"}
    # The front wall alone moves; what hangs under a kick-out's roof stays out of reach.
    assert before - after == {"hole h9", "hole h10"}
    assert not after - before
    assert "reaches h10, h9:" in proposal.effect
    assert not [pair for pair in compared.worse if pair.code.startswith("BODY")]


@pytest.mark.expected_from(
    "closed form",
    "a socket of 7 mm radius, 2 mm of sheet and 1 to spare: 10 mm either side of the hole at 200",
)
def test_a_recess_beside_a_lump_of_any_outline() -> None:
    # A kick-out hangs under hole h13; its corners are no key of the job file, so no side can be moved.
    corners = outline((160, 150), (240, 150), (240, 199), (225, 214), (175, 214), (160, 199))
    bulge = replace(plan("bulge", corners, 60), top=-0.030)
    tray = plan("tray", box(0, 400, 0, 200), 60)
    pattern = pattern_round(0, 400, 0, 200, beside=16)
    inputs = inputs_of(tray, bulge, surroundings=Surroundings(tools=Tools((SOCKET,), (), False)))
    body = solve(inputs, pattern)
    assert [f.where for f in check(body).findings if f.code == "BODY-42"] == ["hole h13"]
    (proposal,) = check(body).proposals
    assert proposal.target == "lumps.+"
    assert 'rear = "190 mm", front = "210 mm"' in proposal.value
    cut = plan("recess", box(190, 210, 191.5, 226), 80, adds=False)
    cured = solve(replace(inputs, lumps=(tray, bulge, cut)), pattern)
    assert not [f for f in check(cured).findings if f.code == "BODY-42"]
    assert len(cured.gate) <= len(body.gate)
    assert cured.cavity is not None
    assert body.cavity is not None
    less = {figure.name: figure.value for figure in proposal.figures}["less"]
    assert body.cavity.volume - cured.cavity.volume == pytest.approx(less, rel=1e-9)
