"""What the body stage says about rail holes, drain and the old pan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import OldPan, OldPanDuty, PanBody, Pickup
from sumpwright.body.check import check
from sumpwright.body.solve import solve
from sumpwright.findings import Finding, Verdict
from sumpwright.outputs.words import finding_words
from sumpwright.quantities import Attitude, EnginePlacement
from sumpwright.quantities.units import frozen_array
from sumpwright.rail import HolePattern
from tests.body.hand_lumps import MM, body_of, box, inputs_of, outline, pattern_round, plan
from tests.body.random_bodies import near_real_body

TRAY = plan("tray", box(0, 400, 0, 200), 60)


def of_code(body: PanBody, code: str) -> list[Finding]:
    return [finding for finding in check(body).findings if finding.code == code]


def with_hole_at(pattern: HolePattern, hole: int, x: float, y: float, u: float = 0.0) -> HolePattern:
    xy = pattern.xy.copy()
    xy[hole] = (x * MM, y * MM)
    covariance = pattern.covariance.copy()
    covariance[2 * hole, 2 * hole] = covariance[2 * hole + 1, 2 * hole + 1] = u * u
    return replace(pattern, xy=frozen_array(xy), covariance=frozen_array(covariance))


@pytest.mark.expected_from(
    "published", "ISO 273 medium clearance hole for M6: 6.6 mm, so 16 mm beside the oil side leave 12.7 mm"
)
def test_sealing_land_of_the_narrowest_hole() -> None:
    pattern = pattern_round(0, 400, 0, 200, beside=16.0)
    (finding,) = of_code(solve(inputs_of(TRAY), pattern), "BODY-09")
    assert finding.verdict is Verdict.HOLDS
    assert finding.value == pytest.approx(16 * MM - 3.3 * MM, abs=1e-12)
    assert finding.limit == 5 * MM


@pytest.mark.expected_from("closed form", "a hole 8 mm from the wall: 8 - 3.3 = 4.7 mm of land, u95 = 1.96 u")
def test_narrow_land_with_an_unsure_hole() -> None:
    pattern = pattern_round(0, 400, 0, 200)
    sure = solve(inputs_of(TRAY), with_hole_at(pattern, 2, 150, -8))
    (finding,) = of_code(sure, "BODY-09")
    assert (finding.verdict, finding.where) == (Verdict.FAILS, "hole h3")
    assert finding.value == pytest.approx(4.7 * MM, abs=1e-12)
    unsure = solve(inputs_of(TRAY), with_hole_at(pattern, 2, 150, -8, u=0.2 * MM))
    (finding,) = of_code(unsure, "BODY-09")
    assert finding.verdict is Verdict.CLOSE
    assert finding.u95 == pytest.approx(1.959964 * 0.2 * MM, rel=1e-6)


@pytest.mark.expected_from("closed form", "a hole 12 mm inside the wall")
def test_hole_inside_the_opening() -> None:
    body = solve(inputs_of(TRAY), with_hole_at(pattern_round(0, 400, 0, 200), 3, 150, 12))
    (finding,) = of_code(body, "BODY-10")
    assert finding.verdict is Verdict.FAILS
    assert finding.value == pytest.approx(12 * MM, abs=1e-12)
    assert "h4" in finding.where


@pytest.mark.expected_from("closed form", "an opening that reaches 30 mm beyond the line of holes")
def test_opening_beyond_the_line_of_holes() -> None:
    pattern = pattern_round(0, 400, 0, 200, beside=16.0)
    bulge = plan("bulge", outline((75, -46), (110, -46), (110, 50), (75, 50)), 60)
    body = solve(inputs_of(TRAY, bulge), pattern)
    (finding,) = of_code(body, "BODY-11")
    assert finding.verdict is Verdict.CANNOT_SAY
    assert finding.value == pytest.approx(30 * MM, abs=1e-12)
    assert "measure the block's face" in finding.do
    assert not of_code(solve(inputs_of(TRAY), pattern), "BODY-11")


@pytest.mark.expected_from("closed form", "a floor leaned 10 deg: 100 mm along it rise by 100 sin(10 deg)")
def test_drain_above_the_lowest_point() -> None:
    up = EnginePlacement(Attitude(lean_right=np.radians(10.0))).up_in_engine()
    # Leaned to the right, the right side is low: y = 0.
    low = solve(
        replace(inputs_of(TRAY, drain=frozen_array([0.2, 0.0, 0.0])), up=up), pattern_round(0, 400, 0, 200)
    )
    high = solve(
        replace(inputs_of(TRAY, drain=frozen_array([0.2, 0.1, 0.0])), up=up), pattern_round(0, 400, 0, 200)
    )
    (finding,) = of_code(high, "BODY-14")
    assert finding.verdict is Verdict.FAILS
    assert finding.value == pytest.approx(0.1 * np.sin(np.radians(10.0)), abs=1e-12)
    assert [f.verdict for f in of_code(low, "BODY-14")] == [Verdict.HOLDS]


def test_drain_beside_every_floor() -> None:
    body = body_of(TRAY, drain=frozen_array([0.5, 0.1, 0.0]))
    assert [f.verdict for f in of_code(body, "BODY-14")] == [Verdict.FAILS]


def test_old_pan_duties() -> None:
    duties = (
        OldPanDuty("filter pressure passage", "pressure"),
        OldPanDuty("gearbox brace", "structural"),
        OldPanDuty("cooler passage", "pressure", "adapter plate"),
        OldPanDuty("oil", "storage"),
        OldPanDuty("pickup", "attached"),
        OldPanDuty("tray", "attached"),
        OldPanDuty("level sensor", "attached", "a boss in the sump's rear wall"),
    )
    pickup = Pickup(frozen_array([0.2, 0.1, -0.05]), 0.03)
    body = body_of(TRAY, old_pan=OldPan(duties), pickup=pickup)
    verdicts = {f.where: f.verdict for f in check(body).findings if f.where.startswith("old pan")}
    assert verdicts == {
        "old pan: filter pressure passage": Verdict.FAILS,
        "old pan: gearbox brace": Verdict.FAILS,
        "old pan: cooler passage": Verdict.HOLDS,
        "old pan: pickup": Verdict.HOLDS,
        "old pan: tray": Verdict.CANNOT_SAY,
        "old pan: level sensor": Verdict.HOLDS,
    }
    pressure, structural = (f for f in check(body).findings if f.verdict is Verdict.FAILS)
    assert "adapter" in pressure.do
    assert "remote filter" in pressure.do
    assert pressure.cautions
    assert "brace" in structural.do


def test_old_pan_is_judged_even_without_a_body() -> None:
    body = body_of(
        plan("tray", box(0, 400, 0, 200), -60), old_pan=OldPan((OldPanDuty("brace", "structural"),))
    )
    assert body.cavity is None
    assert of_code(body, "BODY-12")


@pytest.mark.expected_from("property", "counted by hand")
def test_corners_of_four_faces_are_said() -> None:
    # The sump's sloping rear wall begins in the tray's wall line: four faces in each of two corners.
    body = body_of(TRAY, plan("sump", box(100, 300, 0, 200), 120, top=-60, slope_deg=6))
    found = of_code(body, "BODY-08")
    assert len(found) == 4
    assert all(f.verdict is Verdict.CLOSE and f.value == 4.0 and f.place for f in found)


def test_every_sentence_can_be_printed_both_ways() -> None:
    for seed in range(6):
        inputs, pattern = near_real_body(seed)
        for units in ("mm", "in"):
            report = check(solve(inputs, pattern))
            for finding in report.findings:
                words = finding_words(finding, units)  # type: ignore[arg-type]
                assert words.says
                assert "{" not in words.says + words.how_sure + words.do
                assert finding.how_sure
                assert finding.source
