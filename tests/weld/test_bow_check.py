"""What is said of the movement: verdicts at their limits, and what to do."""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.kit.solve import solve
from sumpwright.weld.bow import nothing, solve_bow
from sumpwright.weld.bow_check import check_bow
from sumpwright.weld.bow_model import BowInputs
from sumpwright.weld.model import Strongback
from tests.kit.made_bodies import kit_inputs, simple_body

INPUTS = BowInputs("TIG", True, cell=0.03)


@functools.cache
def kit():
    return solve(kit_inputs(etched=False), simple_body())


@functools.cache
def moved():
    return solve_bow(INPUTS, kit())


def said(bow):
    return {finding.code: finding for finding in check_bow(kit(), bow).findings}


@pytest.mark.expected_from("property", "the sentence's figures are those of the model, the limit the rule's")
def test_every_figure_of_the_movement_is_told():
    findings = said(moved())
    assert set(findings) == {"WELD-60", "WELD-61", "WELD-62", "WELD-63", "WELD-65", "WELD-66"}
    assert findings["WELD-60"].value == moved().released[1]
    assert findings["WELD-61"].value == moved().left_least
    assert "order of magnitude" in findings["WELD-60"].how_sure
    assert "clamped flat" in said(replace(moved(), left_least=0.004))["WELD-61"].do
    assert findings["WELD-66"].verdict is Verdict.HOLDS


@pytest.mark.expected_from(
    "property", "too thin after facing fails and proposes a flange that is left thick enough"
)
def test_a_flange_that_gets_too_thin_is_to_be_thicker():
    report = check_bow(kit(), replace(moved(), facing=(0.001, 0.0034), left_least=0.0066))
    finding = next(f for f in report.findings if f.code == "WELD-61")
    assert finding.verdict is Verdict.FAILS
    (proposal,) = report.proposals
    assert proposal.target == "pan.flange"
    assert proposal.value == "12 mm"


def test_flat_enough_holds_and_needs_no_plate_words():
    flat = said(replace(moved(), released=(0.00002, 0.00008)))["WELD-60"]
    assert flat.verdict is Verdict.HOLDS
    assert not flat.do


@pytest.mark.expected_from("property", "a drawn pattern is judged by the room beside measuring and cutting")
def test_a_drawn_pattern_is_opened_after_welding():
    holes = moved().holes
    far = replace(holes, draw_most=np.full_like(holes.draw_most, 0.002))
    finding = said(replace(moved(), holes=far))["WELD-63"]
    assert finding.verdict is Verdict.CLOSE
    assert "blanking plate" in finding.do


def test_panels_wave_for_sure_or_perhaps():
    risk = moved().risks[0]
    sure = replace(risk, stress_least=2.0 * risk.waves_for_sure, stress_most=3.0 * risk.waves_for_sure)
    assert said(replace(moved(), risks=(sure,)))["WELD-65"].verdict is Verdict.FAILS
    perhaps = replace(risk, stress_least=0.0, stress_most=1.1 * risk.waves_from)
    assert said(replace(moved(), risks=(perhaps,)))["WELD-65"].verdict is Verdict.CLOSE


def test_a_plate_that_is_too_thin_is_told():
    thin = solve_bow(replace(INPUTS, strongback=Strongback(0.010, 0.010, False, 0.010)), kit())
    assert said(thin)["WELD-66"].verdict is Verdict.CLOSE


def test_what_was_not_worked_out_cannot_be_said():
    report = check_bow(kit(), nothing("the pan has two {openings}"))
    assert [finding.verdict for finding in report.findings] == [Verdict.CANNOT_SAY]
    assert "(openings)" in report.findings[0].says
