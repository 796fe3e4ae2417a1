"""The depth that holds what is wanted: in closed form, and tried on a job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.body.surroundings import Ground, Surroundings
from sumpwright.flow import run, try_change
from sumpwright.job import read_job
from sumpwright.oil.deeper import depth_that_fits
from sumpwright.oil.model import OilInputs
from sumpwright.oil.solve import solve
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import body_of, box, plan
from tests.jobs.laid_out import laid_out

STAGES = ("rail", "body", "oil")
UP = frozen_array(np.array([0.0, 0.0, 1.0]))


def test_nothing_is_proposed_where_the_pan_holds_enough(tmp_path: Path) -> None:
    results = run(read_job(laid_out(tmp_path)), STAGES)
    assert not [one for one in results.proposals if one.target.endswith(".depth")]


@pytest.mark.expected_from(
    "property", "the depth that is proposed holds the fill, and one step less does not"
)
def test_the_depth_that_is_proposed_cures_the_fill(tmp_path: Path) -> None:
    changes = {"job.toml": {'fill = "4.8 L"': 'fill = "6.6 L"'}}
    job = read_job(laid_out(tmp_path, changes=changes))
    results = run(job, STAGES)
    short = [one for one in results.proposals if one.target == "lumps.sump.depth"]
    assert short
    proposal = short[0]
    assert proposal.code in ("OIL-01", "OIL-02")
    compared = try_change(job, proposal, stages=STAGES, before=results)
    assert compared.cures(proposal.code)
    said = {figure.name: figure.value for figure in proposal.figures}
    assert compared.after.oil is not None
    assert compared.after.oil.capacity_to_rail == pytest.approx(said["capacity"], rel=1e-9)
    assert compared.after.body is not None
    assert compared.after.body.fit is not None
    assert compared.after.body.fit.ground is not None
    assert compared.after.body.fit.ground.lowest == pytest.approx(said["ground"], abs=1e-9)
    assert ("but stands only" in proposal.effect) == (said["ground"] < said["asked"])


@pytest.mark.expected_from(
    "closed form", "a box of 400 x 200 mm, 60 deep, holds 4.8 L; 6.05 L need 75.6 mm, so 76"
)
def test_depth_of_a_box_in_closed_form() -> None:
    tray = replace(plan("deep end", box(0, 400, 0, 200), 60), drawn_depth=0.06)
    asked = Surroundings(placement=EnginePlacement(Attitude(), 0.0, 0.0, 0.17), ground=Ground(0.093))
    body = body_of(tray, surroundings=asked)
    inputs = OilInputs(None, None, 6.05e-3, None, None, UP)
    (proposal,) = depth_that_fits(inputs, body, solve(inputs, body))
    assert (proposal.code, proposal.target, proposal.value) == ("OIL-03", 'lumps."deep end".depth', "76 mm")
    said = {figure.name: figure.value for figure in proposal.figures}
    assert said["capacity"] == pytest.approx(0.4 * 0.2 * 0.076, rel=1e-9)
    # 170 less 76 of depth, 2 of sheet, 1 of weld.
    assert said["ground"] == pytest.approx(0.091, abs=1e-9)
    assert "but stands only" in proposal.effect
    enough = replace(inputs, target_capacity=4.7e-3)
    assert depth_that_fits(enough, body, solve(enough, body)) == []
    unkeyed = body_of(replace(tray, drawn_depth=None))
    assert depth_that_fits(inputs, unkeyed, solve(inputs, unkeyed)) == []
