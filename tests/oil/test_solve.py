"""Capacity, levels, dipstick marks and findings on pans whose answers can be worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import Pickup
from sumpwright.findings import Finding, Verdict
from sumpwright.oil import OilInputs
from sumpwright.oil.check import check
from sumpwright.oil.dipstick import crossings, is_inside
from sumpwright.oil.formulas import (
    hold_up_from_flow,
    stick_length_per_volume,
    stick_reading,
    volume_correction,
)
from sumpwright.oil.model import CrankSweep, Port
from sumpwright.oil.solve import solve
from sumpwright.outputs.words import fill
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from tests.oil.oil_shapes import (
    LEVEL,
    body_of,
    box,
    cavity_of,
    direction,
    random_solid,
    stick,
    sump_pan,
    surface_of,
)

UP = frozen_array(LEVEL)
WANTS = OilInputs(
    fill=4.8e-3,
    low_below_full=1e-3,
    target_capacity=4.8e-3,
    hold_up=0.9e-3,
    trapped=0.2e-3,
    up=UP,
    placement=EnginePlacement(),
    crank=CrankSweep(frozen_array([0.05, 0.1, 0.06]), frozen_array([0.4, 0.1, 0.06]), 0.07),
    ports=(
        Port("rear seal", "rear seal", frozen_array([0.0, 0.1, 0.02])),
        Port("breather", "breather", frozen_array([0.2, 0.0, 0.3])),
        Port("front return", "return", frozen_array([0.44, 0.1, -0.02])),
    ),
)
STICK = stick((0.1, 0.1, 0.08), (0.1, 0.1, -0.1), 0.2)
PICKUP = Pickup(frozen_array([0.1, 0.1, -0.125]), 0.032)


def finding(report_findings: tuple[Finding, ...], code: str) -> Finding:
    (found,) = [f for f in report_findings if f.code == code]
    return found


@pytest.mark.expected_from("closed form", "tray 450 x 200 x 60 over a sump 200 x 200 x 80 mm, by hand")
def test_levels_and_marks_of_a_stepped_pan() -> None:
    body = body_of(sump_pan(), STICK, PICKUP)
    result = solve(WANTS, body)
    # Sump 40 mm2 x 1000 per mm below -60; tray 90 mm2 x 1000 per mm above.
    assert result.capacity_to_rail == pytest.approx(0.04 * 0.08 + 0.09 * 0.06)
    assert result.level_full == pytest.approx(-0.06 + (4.6e-3 - 3.2e-3) / 0.09)
    assert result.level_low == pytest.approx(-0.06 + (3.6e-3 - 3.2e-3) / 0.09)
    assert result.level_running == pytest.approx(-0.06 + (3.7e-3 - 3.2e-3) / 0.09)
    assert result.level_lowest_running == pytest.approx(-0.14 + 2.7e-3 / 0.04)
    assert result.level_poured == pytest.approx(-0.06 + 1.6e-3 / 0.09)
    full, low = result.marks
    assert full.from_stop == pytest.approx(0.08 - result.level_full)
    assert full.from_tip == pytest.approx(0.2 - full.from_stop)
    assert low.from_stop == pytest.approx(0.08 - result.level_low)
    assert result.stick_mm_per_litre == pytest.approx(1.0 / 0.09)
    assert result.balance_gap == pytest.approx(8.6e-3 - 4.8e-3)
    assert result.mouth_cover == pytest.approx(result.level_lowest_running + 0.125)
    assert result.table[-1].volume == pytest.approx(result.capacity_to_rail)
    assert result.table[-1].below_rail == pytest.approx(0.0, abs=1e-15)
    assert np.all(np.diff([row.volume for row in result.table]) > 0.0)
    report = check(WANTS, body, result)
    assert {f.verdict for f in report.findings} == {Verdict.HOLDS}
    for found in report.findings:
        for sentence in (found.says, found.how_sure, found.do):
            fill(sentence, found.figures, "mm")
            fill(sentence, found.figures, "in")


@pytest.mark.expected_from(
    "closed form", "a tube 30 degrees off upright: 12 mm of level is 13.86 mm of stick"
)
def test_marks_on_a_slanting_tube() -> None:
    angle = math.radians(30.0)
    tube = stick((0.05, 0.1, 0.1), (0.05 + math.sin(angle), 0.1, 0.1 - math.cos(angle)), 0.3)
    inputs = replace(WANTS, trapped=0.0, low_below_full=0.09 * 0.012)
    result = solve(inputs, body_of(sump_pan(), tube))
    full, low = result.marks
    assert low.from_stop - full.from_stop == pytest.approx(0.012 / math.cos(angle))
    assert stick_reading(-0.012, 0.0, math.cos(angle)) == pytest.approx(13.856e-3, abs=1e-6)


@pytest.mark.expected_from("property", "turning the whole job changes no litre and no millimetre")
def test_turning_the_job_changes_nothing() -> None:
    placement = EnginePlacement(Attitude(0.0, 0.05, 0.26))
    up = placement.up_in_engine()
    tube = stick((0.15, 0.1, 0.08), (0.12, 0.1, -0.1), 0.2)
    inputs = replace(WANTS, up=up)
    plain = solve(inputs, body_of(sump_pan(), tube))
    turn = Attitude(0.9, 0.0, 0.0).matrix()
    cavity = cavity_of(sump_pan())
    cavity = replace(cavity, vertices=frozen_array(cavity.vertices @ turn.T))
    turned_tube = replace(tube, stop=frozen_array(turn @ tube.stop), axis=frozen_array(turn @ tube.axis))
    turned = solve(
        replace(inputs, up=frozen_array(turn @ up)), body_of(sump_pan(), turned_tube, cavity=cavity)
    )
    assert turned.capacity_to_rail == pytest.approx(plain.capacity_to_rail, rel=1e-12)
    for one, other in zip(plain.marks, turned.marks, strict=True):
        assert one.from_stop == pytest.approx(other.from_stop, abs=1e-12)


@pytest.mark.expected_from("property", "each kind of stick trouble is named, never a mark in the wrong place")
@pytest.mark.parametrize(
    ("tube", "trouble", "words"),
    [
        (stick((0.4, 0.1, 0.08), (0.4, 0.1, -0.1), 0.1), "tip does not reach", "longer"),
        (stick((0.6, 0.1, 0.08), (0.6, 0.1, -0.1), 0.3), "outside the oil space", "inside the pan"),
        (stick((0.1, 0.1, -0.1), (0.1, 0.1, -0.13), 0.03), "above the shoulder", "Raise"),
        (stick((-0.1, 0.1, -0.05), (0.3, 0.1, -0.05), 0.3), "lies along the surface", "steeper"),
    ],
)
def test_stick_trouble(tube: object, trouble: str, words: str) -> None:
    body = body_of(sump_pan(), tube, PICKUP)  # type: ignore[arg-type]
    result = solve(WANTS, body)
    assert result.marks[0].trouble == trouble
    found = finding(check(WANTS, body, result).findings, "OIL-04")
    assert found.verdict is Verdict.FAILS
    assert words in found.do
    fill(found.says, found.figures, "mm")
    fill(found.do, found.figures, "mm")


@pytest.mark.expected_from("closed form", "a stick that runs into the tray's floor at 60 mm depth")
def test_stick_meets_the_floor() -> None:
    body = body_of(sump_pan(), stick((0.4, 0.1, 0.08), (0.4, 0.1, -0.1), 0.2), PICKUP)
    result = solve(WANTS, body)
    assert result.stick is not None
    assert result.stick.free_length == pytest.approx(0.14)
    assert not result.stick.tip_is_inside
    assert finding(check(WANTS, body, result).findings, "OIL-06").verdict is Verdict.FAILS


@pytest.mark.expected_from("closed form", "8.6 L pan asked to hold 9 L: level carried on above the rail")
def test_more_oil_than_the_pan_holds() -> None:
    inputs = replace(WANTS, fill=9e-3, trapped=0.0)
    body = body_of(sump_pan(), STICK, PICKUP)
    result = solve(inputs, body)
    assert result.level_full == pytest.approx(0.4e-3 / 0.09)
    report = check(inputs, body, result)
    first = finding(report.findings, "OIL-01")
    assert first.verdict is Verdict.FAILS
    assert "reaches the rail" in first.says
    assert finding(report.findings, "OIL-02").verdict is Verdict.FAILS


@pytest.mark.expected_from("property", "missing never counts as holding")
def test_missing_inputs_cannot_be_said() -> None:
    bare = OilInputs(None, None, None, None, None, UP)
    body = body_of(sump_pan())
    result = solve(bare, body)
    report = check(bare, body, result)
    # What needs nothing but the shape can be said: here the pockets that hold oil back.
    assert {f.code for f in report.findings if f.verdict is not Verdict.CANNOT_SAY} == {"OIL-08"}
    for found in report.findings:
        assert found.code == "OIL-08" or found.do.startswith("Enter ")


@pytest.mark.expected_from(
    "closed form", "hold-up not given: between 10 and 25 % of the fill decides the mouth"
)
def test_hold_up_band() -> None:
    # Low mark less 25 % of 4.8 L leaves 2.4 L, 60 mm deep; less 10 % leaves 3.12 L, 78 mm.
    inputs = replace(WANTS, hold_up=None, trapped=0.0, low_below_full=1.2e-3)
    for mouth, verdict in ((-0.125, Verdict.HOLDS), (-0.09, Verdict.CANNOT_SAY), (-0.07, Verdict.FAILS)):
        body = body_of(sump_pan(), STICK, Pickup(frozen_array([0.1, 0.1, mouth]), 0.032))
        report = check(inputs, body, solve(inputs, body))
        found = finding(report.findings, "OIL-07")
        assert found.verdict is verdict
        if verdict is Verdict.CANNOT_SAY:
            assert "oil.hold_up" in found.do
        assert "oil.hold_up" in [a.key for a in report.assumptions]


@pytest.mark.expected_from("property", "a mouth below the floor or beside the wall has no oil over it")
def test_a_mouth_outside_the_pan_never_holds() -> None:
    for mouth in ([0.1, 0.1, -0.5], [-0.2, 0.1, -0.1]):
        body = body_of(sump_pan(), STICK, Pickup(frozen_array(mouth), 0.032))
        result = solve(WANTS, body)
        assert result.mouth_cover is None
        found = finding(check(WANTS, body, result).findings, "OIL-07")
        assert found.verdict is Verdict.FAILS
        assert "outside" in found.says


def test_no_cavity_is_a_wrong_call() -> None:
    body = replace(body_of(sump_pan()), cavity=None)
    with pytest.raises(ValueError, match="no cavity"):
        solve(WANTS, body)


@pytest.mark.expected_from("published", "API MPMS 11.1 lubricating-oil group, 870 kg/m3 at 100 degC")
def test_volume_correction() -> None:
    factor = volume_correction(870.0, 373.15)
    assert factor == pytest.approx(0.93768, abs=1e-5)
    assert 870.0 * factor == pytest.approx(815.78, abs=0.01)
    assert 4.5 / factor == pytest.approx(4.80, abs=0.005)


@pytest.mark.expected_from(
    "closed form", "60 L/min returning in 1 s; 1 L on 0.09 m2 under a stick at 60 degrees"
)
def test_small_formulas() -> None:
    assert hold_up_from_flow(1e-3, 1.0) == pytest.approx(1e-3)
    assert stick_length_per_volume(0.09, 0.5) * 1e-3 == pytest.approx(22.222e-3, rel=1e-4)


@pytest.mark.expected_from(
    "published", "manifold3d: an independent solid library's intersection of tiny boxes"
)
def test_inside_and_crossings_of_random_bodies() -> None:
    rng = np.random.default_rng(31)
    import manifold3d as m3

    for _ in range(6):
        solid = random_solid(rng)
        surface = surface_of(solid)
        for point in rng.uniform(-0.8, 0.8, (12, 3)):
            probe = m3.Manifold.cube((2e-4, 2e-4, 2e-4), True).translate(tuple(point))
            share = (solid ^ probe).volume() / 8e-12
            if 1e-3 < share < 1.0 - 1e-3:
                continue
            assert is_inside(surface, point) == (share > 0.5)
            beyond = [length for length, _ in crossings(surface, point, direction(rng)) if length > 0.0]
            assert len(beyond) % 2 == (share > 0.5)


@pytest.mark.expected_from("closed form", "a box: the line down its middle meets top and floor")
def test_crossings_of_a_box() -> None:
    found = sorted(
        crossings(surface_of(box(0.3, 0.2, 0.1)), np.array([0.11, 0.07, 0.5]), np.array([0, 0, -1.0]))
    )
    assert [length for length, _ in found] == pytest.approx([0.5, 0.6])


@pytest.mark.expected_from("closed form", "8.6 L to the rail; leaned and nose down its front right is lowest")
def test_where_it_runs_over_and_how_much_fits() -> None:
    inputs = replace(WANTS, fill=9e-3, trapped=0.0)
    body = body_of(sump_pan(), STICK, PICKUP)
    report = check(inputs, body, solve(inputs, body))
    first = finding(report.findings, "OIL-01")
    assert "first" not in first.says  # a level rail runs over all round
    figures = {figure.name: figure.value for figure in first.figures}
    # A quarter of the way up only the sump is there: 0.4 L on 0.04 m2.
    assert figures["deeper"] == pytest.approx(0.01)
    (proposal,) = report.proposals
    swell = volume_correction(870.0, 288.15) / volume_correction(870.0, 373.15)
    assert proposal.target == "oil.fill"
    assert proposal.value == f"{math.floor(8.6 / swell / 0.05) * 0.05:.4g} L"
    fill(proposal.effect, proposal.figures, "in")
    tilted = replace(inputs, up=EnginePlacement(Attitude(0.0, -0.1, 0.2)).up_in_engine())
    first = finding(check(tilted, body, solve(tilted, body)).findings, "OIL-01")
    assert "first at its front right" in first.says
    assert first.place == pytest.approx((0.45, 0.0, 0.0))


@pytest.mark.expected_from("closed form", "an engine on its side holds nothing below the rail's lowest edge")
@pytest.mark.parametrize("up", [(0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (1.0, 0.0, 1e-9), (0.0, -0.999, 0.03)])
def test_engine_on_its_side_or_upside_down(up: tuple[float, float, float]) -> None:
    inputs = replace(WANTS, up=frozen_array(np.array(up) / np.linalg.norm(up)))
    body = body_of(sump_pan(), STICK, PICKUP)
    result = solve(inputs, body)
    assert result.capacity_to_rail == pytest.approx(0.0, abs=1e-3)
    report = check(inputs, body, result)
    assert finding(report.findings, "OIL-01").verdict is Verdict.FAILS
    for found in report.findings:
        for sentence in (found.says, found.how_sure, found.do):
            fill(sentence, found.figures, "mm")
