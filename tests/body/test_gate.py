"""The feature gate: each rule broken once by hand, and kept by a hair."""

from __future__ import annotations

import numpy as np
import pytest

from sumpwright.body import GateBreach, PanBody
from sumpwright.body.check import check
from sumpwright.findings import Verdict
from tests.body.hand_lumps import MM, body_of, box, outline, plan


def of_rule(body: PanBody, rule: str) -> list[GateBreach]:
    return [breach for breach in body.gate if breach.rule == rule]


@pytest.mark.expected_from("closed form", "a step of 7 mm under sheet of 2 mm: four thicknesses are 8 mm")
def test_short_edges() -> None:
    tray = plan("tray", box(0, 400, 0, 200), 60)
    body = body_of(tray, plan("sump", box(100, 300, -50, 150), 67))
    found = of_rule(body, "edge")
    assert found
    for breach in found:
        assert breach.value == pytest.approx(7 * MM, abs=1e-12)
        assert breach.limit == pytest.approx(8 * MM, abs=1e-15)
        assert "sump" in breach.where
        assert breach.cure
    thin = body_of(tray, plan("sump", box(100, 300, -50, 150), 67), sheet=1.75)
    assert not of_rule(thin, "edge")


@pytest.mark.expected_from("closed form", "strips of 6 mm beside the sump and of 5 mm between two")
def test_narrow_strips() -> None:
    tray = plan("tray", box(0, 400, 0, 200), 60)
    beside = of_rule(body_of(tray, plan("sump", box(100, 300, 6, 150), 120)), "face")
    assert [breach.value for breach in beside] == pytest.approx([6 * MM], abs=1e-12)
    assert beside[0].where == "strip of tray floor between sump right wall and tray right wall"
    assert beside[0].place[1] == pytest.approx(3 * MM, abs=1e-12)
    assert beside[0].place[2] == pytest.approx(-60 * MM, abs=1e-12)
    two = body_of(tray, plan("sump", box(50, 150, 50, 150), 120), plan("well", box(155, 300, 50, 150), 130))
    assert [breach.value for breach in of_rule(two, "face")] == pytest.approx([5 * MM], abs=1e-12)
    wide = body_of(tray, plan("sump", box(100, 300, 8, 150), 120))
    assert not wide.gate


@pytest.mark.expected_from("closed form", "a notch in the outline whose sides meet at 2 atan(w/2h)")
def test_tight_inward_corners() -> None:
    def notched(half: float) -> PanBody:
        corners = outline(
            (0, 0), (150 - half, 0), (150, 100), (150 + half, 0), (300, 0), (300, 200), (0, 200)
        )
        return body_of(plan("tray", corners, 80))

    tight = of_rule(notched(40.0), "angle")
    assert len(tight) == 1
    assert tight[0].value == pytest.approx(2 * np.arctan(40 / 100), abs=1e-12)
    assert not of_rule(notched(47.0), "angle")  # 50.3 degrees
    assert of_rule(notched(46.0), "angle")  # 49.4 degrees


@pytest.mark.expected_from("closed form", "a triangle's corner of 14 and of 16 degrees")
def test_needle_corners() -> None:
    def needle(degrees: float) -> PanBody:
        return body_of(plan("tray", outline((0, 0), (400, 0), (400, 400 * np.tan(np.radians(degrees)))), 80))

    found = of_rule(needle(14.0), "corner")
    assert {breach.where for breach in found} == {
        "needle corner of tray floor",
        "needle corner of rail opening",
    }
    assert found[0].value == pytest.approx(np.radians(14.0), abs=1e-12)
    assert not of_rule(needle(16.0), "corner")


@pytest.mark.expected_from("closed form", "15 degrees and four thicknesses, in places that round either way")
@pytest.mark.parametrize("aside", [0.0, 0.1, 0.3, 33.7, 211.9])
def test_what_stands_right_at_the_limit_is_not_refused_for_its_rounding(aside: float) -> None:
    rise = 400 * np.tan(np.radians(15.0))
    corners = outline((aside, aside), (400 + aside, aside), (400 + aside, rise + aside))
    assert not of_rule(body_of(plan("tray", corners, 80)), "corner")
    tray = plan("tray", box(aside, 400 + aside, aside, 200 + aside), 60 + aside / 10)
    sump = plan("sump", box(100 + aside, 300 + aside, aside - 50, 150 + aside), 72 + aside / 10)
    assert not of_rule(body_of(tray, sump, sheet=3.0), "edge")
    beside = plan("sump", box(100 + aside, 300 + aside, 12 + aside, 150 + aside), 120 + aside / 10)
    assert not of_rule(body_of(tray, beside, sheet=3.0), "face")


@pytest.mark.expected_from("property", "counted by hand")
def test_island_and_second_opening_at_the_rail() -> None:
    tray = plan("tray", box(0, 400, 0, 200), 60)
    island = body_of(tray, plan("post", box(150, 250, 50, 150), 80, adds=False))
    assert [breach.rule for breach in island.gate] == ["solid"]
    assert "island" in island.gate[0].where
    two = body_of(
        plan("tank", box(0, 400, 0, 200), 100, top=-50),
        plan("front mouth", box(50, 150, 50, 150), 60),
        plan("rear mouth", box(250, 350, 50, 150), 60),
    )
    assert two.cavity is not None
    assert [breach.value for breach in of_rule(two, "solid")] == [2.0]


def test_a_sound_body_passes_and_says_so() -> None:
    body = body_of(plan("tray", box(0, 400, 0, 200), 60), plan("sump", box(200, 400, 0, 200), 130))
    assert body.gate == ()
    verdicts = {f.code: f.verdict for f in check(body).findings}
    for code in ("BODY-01", "BODY-03", "BODY-04", "BODY-05", "BODY-06"):
        assert verdicts[code] is Verdict.HOLDS


def test_every_breach_is_a_finding_with_place_and_cure() -> None:
    tray = plan("tray", box(0, 400, 0, 200), 60)
    body = body_of(tray, plan("sump", box(100, 300, 5, 150), 65))
    findings = [f for f in check(body).findings if f.code in ("BODY-03", "BODY-04")]
    assert len(findings) == len(body.gate)
    for finding in findings:
        assert finding.verdict is Verdict.FAILS
        assert finding.place is not None
        assert finding.do
