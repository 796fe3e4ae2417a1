"""The scanned old pan against the new one: what is said, and what it rests on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.oil import OilInputs
from sumpwright.oil.check import check
from sumpwright.oil.solve import solve
from sumpwright.outputs.words import fill
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from sumpwright.rail.scan_model import PanInside
from tests.oil.oil_shapes import LEVEL, body_of, sump_pan
from tests.oil.test_solve import finding

BODY = body_of(sump_pan())
ROOM = 0.04 * 0.08 + 0.09 * 0.06
"""Of the new pan, m3."""


def old_box(depth: float, u: float = 3e-5, told: bool = True, missed: float = 0.0, hidden: float = 0.0):
    """A plain box 450 x 200 mm as columns of a centimetre."""
    x, y = np.meshgrid(np.arange(0.005, 0.45, 0.01), np.arange(0.005, 0.2, 0.01), indexing="ij")
    columns = np.stack((x.ravel(), y.ravel()), axis=1)
    rim = np.array([(0.0, 0.0), (0.45, 0.0), (0.45, 0.2), (0.0, 0.2)])
    n = len(columns)
    return PanInside(
        "inside",
        told,
        columns,
        np.full(n, depth),
        np.full(n, 1e-4),
        rim,
        0.09 * depth,
        u,
        0.09,
        missed,
        hidden,
    )


def asked(inside: PanInside, **more: object) -> OilInputs:
    wants = OilInputs(
        fill=4.8e-3,
        low_below_full=1e-3,
        target_capacity=None,
        hold_up=None,
        trapped=None,
        up=frozen_array(LEVEL),
    )
    return replace(wants, old_inside=inside, **more)


@pytest.mark.expected_from("closed form", "a box 450 x 200 mm against a tray with a sump, by hand")
def test_old_and_new_level_by_level() -> None:
    result = solve(asked(old_box(0.08)), BODY)
    assert result.old_pan is not None
    assert result.old_pan.space == pytest.approx(7.2e-3)
    assert result.target == pytest.approx(7.2e-3)
    assert result.balance_gap == pytest.approx(ROOM - 7.2e-3)
    assert result.old_pan.fill_below_rail == pytest.approx(0.08 - 4.8e-3 / 0.09)
    for row in result.old_pan.rows:
        below = row.below_rail
        assert row.old_volume == pytest.approx(0.09 * max(0.08 - below, 0.0))
        tray, sump = 0.09 * max(0.06 - below, 0.0), 0.04 * min(0.08, max(0.14 - below, 0.0))
        assert row.new_volume == pytest.approx(tray + sump)
    assert result.old_pan.rows[-1].below_rail == 0.0
    assert result.old_pan.rows[0].below_rail == pytest.approx(0.14)


@pytest.mark.expected_from("closed form", "a box on its slope: a wedge is missing, half length times tangent")
def test_the_old_pan_is_counted_as_it_stood() -> None:
    nose_up = np.deg2rad(5.0)
    up = EnginePlacement(attitude=Attitude(nose_up=float(nose_up))).up_in_engine()
    result = solve(asked(old_box(0.08), old_up=up), BODY)
    wedge = 0.5 * 0.45 * np.tan(nose_up) * 0.09
    assert result.old_pan.space == pytest.approx(7.2e-3 - wedge, rel=2e-3)
    words = [a.key for a in check(asked(old_box(0.08), old_up=up), BODY, result).assumptions]
    assert "old_pan.nose_up" not in words
    level = solve(asked(old_box(0.08)), BODY)
    assert "old_pan.nose_up" in [a.key for a in check(asked(old_box(0.08)), BODY, level).assumptions]


@pytest.mark.expected_from("property", "verdict rules of the findings")
@pytest.mark.parametrize(
    ("depth", "u", "verdict"),
    [(0.08, 3e-5, Verdict.HOLDS), (0.0955, 3e-5, Verdict.CLOSE), (0.11, 3e-5, Verdict.FAILS)],
)
def test_the_new_pan_is_held_against_the_scanned_one(depth: float, u: float, verdict: Verdict) -> None:
    inputs = asked(old_box(depth, u))
    said = finding(check(inputs, BODY, solve(inputs, BODY)).findings, "OIL-17")
    assert said.verdict is verdict
    assert said.u95 == pytest.approx(1.96 * u, rel=1e-3)
    assert "{" not in fill(said.says, said.figures, "mm")


@pytest.mark.expected_from("property", "what is not sure is not said to hold")
def test_doubts_are_said() -> None:
    inputs = asked(old_box(0.08, told=False, missed=0.06, hidden=0.1))
    said = finding(check(inputs, BODY, solve(inputs, BODY)).findings, "OIL-17")
    assert said.verdict is Verdict.CLOSE
    for words in ("6 % of the opening", "at least", "scan.side"):
        assert words in said.how_sure
    assert "bench" in said.do


@pytest.mark.expected_from("closed form", "a box of 7.2 L filled with 4.8 L and with 8 L")
def test_what_was_poured_in_is_held_against_the_scan() -> None:
    inputs = replace(asked(old_box(0.08)), target_capacity=4.8e-3)
    report = check(inputs, BODY, solve(inputs, BODY))
    assert finding(report.findings, "OIL-17").verdict is Verdict.HOLDS
    said = finding(report.findings, "OIL-18")
    assert said.verdict is Verdict.HOLDS
    assert "27 mm" in fill(said.says, said.figures, "mm")
    inputs = replace(inputs, target_capacity=8e-3)
    said = finding(check(inputs, BODY, solve(inputs, BODY)).findings, "OIL-18")
    assert said.verdict is Verdict.CLOSE
