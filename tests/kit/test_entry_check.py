"""The chance that all bolts enter the flange's own holes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sumpwright.findings import Verdict
from sumpwright.kit.entry_check import entry_findings, entry_question
from sumpwright.kit.flange_holes import flange_holes
from sumpwright.outputs.words import fill
from tests.kit.made_bodies import bolt, bucket, dowel, kit_inputs, pan_body, pattern, rectangle

RING = [(0.0, 0.0), (0.1, 0.0), (0.2, 0.0), (0.3, 0.0), (0.3, 0.15), (0.2, 0.15), (0.1, 0.15), (0.0, 0.15)]


def made(u=3e-5, dowels=0):
    fasteners = [dowel() if k < dowels else bolt() for k in range(len(RING))]
    return pan_body(pattern(RING, fasteners, u=u), bucket(rectangle(0.02, 0.02, 0.28, 0.13), 0.1), None)


def found(body, holes=None, **changes):
    inputs = kit_inputs(**changes)
    (finding,) = entry_findings(inputs, body, flange_holes(inputs, body) if holes is None else holes)
    for units in ("mm", "in"):
        assert fill(finding.says, finding.figures, units)
        fill(finding.how_sure, finding.figures, units)
    return finding


def test_holes_sized_for_what_may_be_off_let_all_bolts_in():
    finding = found(made())
    assert finding.verdict is Verdict.HOLDS
    assert "more than 99 of 100" in finding.says
    assert "pushed and turned to fit" in finding.says


@pytest.mark.expected_from("property", "smaller holes and surer readings: the chance falls and rises")
def test_holes_too_small_for_the_readings_fail():
    body = made(u=2e-4)
    inputs = kit_inputs()
    tight = tuple(replace(hole, diameter=0.0062) for hole in flange_holes(inputs, body))
    finding = found(body, tight)
    assert finding.verdict is Verdict.FAILS
    assert "the readings' uncertainty" in finding.how_sure
    assert finding.do
    sure = found(made(u=1e-6), tight, temperature_rise=0.0)
    assert sure.value > finding.value


@pytest.mark.expected_from("closed form", "heat alone beyond the clearance: no flange stays free")
def test_a_hot_flange_in_tight_holes_is_pinched():
    body = made(u=1e-6)
    inputs = kit_inputs()
    tight = tuple(replace(hole, diameter=0.0065) for hole in flange_holes(inputs, body))
    finding = found(body, tight, expansion_pan=23.6e-6, expansion_block=11.4e-6, temperature_rise=200.0)
    assert finding.verdict is Verdict.FAILS
    assert finding.value == 0.0
    assert "creep when hot" in finding.how_sure


def test_dowels_hang_the_flange_and_are_not_counted():
    body = made(dowels=2)
    finding = found(body)
    assert "hung on its dowels" in finding.says
    assert len(entry_question(kit_inputs(), body, flange_holes(kit_inputs(), body)).clearance) == 6


def test_dowels_alone_ask_nothing():
    body = made(dowels=len(RING))
    assert entry_findings(kit_inputs(), body, flange_holes(kit_inputs(), body)) == []
