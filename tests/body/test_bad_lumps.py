"""Lumps that make no pan: each is said, with what and the cure, and nothing is raised."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import BodyInputs, Lump, PanBody
from sumpwright.body.check import check
from sumpwright.body.solve import solve
from sumpwright.findings import Verdict
from sumpwright.geometry import Plane
from sumpwright.outputs.words import finding_words
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import body_of, box, inputs_of, outline, pattern_round, plan, side

TRAY = plan("tray", box(0, 400, 0, 200), 60)


def tilted(lump: Lump, normal: tuple[float, float, float], offset: float) -> Lump:
    unit = np.array(normal) / np.linalg.norm(normal)
    return Lump(lump.name, lump.adds, lump.view, lump.outline, Plane(frozen_array(unit), offset))


BAD: dict[str, tuple[tuple[Lump, ...], str, str]] = {
    "no lump": ((), "no lump", "at least one lump"),
    "only cuts": ((plan("notch", box(0, 10, 0, 10), 20, adds=False),), "every lump cuts", "adds"),
    "two corners": ((plan("tray", outline((0, 0), (10, 0)), 60),), "fewer than three", "three corners"),
    "flat outline": ((plan("tray", outline((0, 0), (10, 0), (20, 0)), 60),), "encloses nothing", "corners"),
    "one point": ((plan("tray", outline((5, 5), (5, 5), (5, 5)), 60),), "encloses nothing", "corners"),
    "bow tie": (
        (plan("tray", outline((0, 0), (100, 100), (100, 0), (0, 100)), 60),),
        "crosses or touches itself",
        "in order",
    ),
    "there and back": (
        (plan("tray", outline((0, 0), (100, 0), (100, 100), (50, 0)), 60),),
        "crosses or touches itself",
        "in order",
    ),
    "not a number": ((plan("tray", outline((0, 0), (math.nan, 0), (0, 100)), 60),), "not a number", "number"),
    "without end": ((plan("tray", box(0, math.inf, 0, 100), 60),), "not a number", "number"),
    "floor above the rail": ((plan("tray", box(0, 100, 0, 100), -20),), "above the rail", "lower the floor"),
    "floor above its top": (
        (TRAY, plan("sump", box(0, 100, 0, 100), 50, top=-80)),
        "lies above its top",
        "lower the floor",
    ),
    "floor on edge": ((tilted(TRAY, (1.0, 0.0, 0.001), 0.1),), "stands on edge", "flatter than 85 degrees"),
    "no floor": (
        (Lump("tray", True, "plan", box(0, 100, 0, 100), None),),
        "has no floor",
        "depth",
    ),
    "side lump inside out": (
        (TRAY, side("notch", outline((10, -90), (50, -90), (50, -20), (10, -20)), 100, 20)),
        "inside out",
        "across_from",
    ),
    "slope eats an edge": (
        (plan("sump", box(0, 200, 0, 60), 100, slope_deg=20),),
        "eats up the edge",
        "slope",
    ),
    "slope over the top": ((plan("sump", box(0, 200, 0, 60), 10, slope_deg=80),), "more than 75", "smaller"),
    "touching in an edge": (
        (TRAY, plan("sump", box(400, 500, 200, 300), 60)),
        "touch only along an edge",
        "overlap",
    ),
    "touching in a point": (
        (TRAY, plan("sump", box(400, 500, 200, 300), 120, top=-60)),
        "touch only along an edge or in a point",
        "overlap",
    ),
    "touching below a common tray": (
        (TRAY, plan("sump", box(100, 200, 50, 100), 120), plan("kick-out", box(200, 300, 100, 150), 120)),
        "touch only along an edge",
        "overlap",
    ),
    "two solids": ((TRAY, plan("sump", box(450, 500, 0, 100), 60)), "2 separate solids", "one oil space"),
    "cut removes everything": (
        (TRAY, plan("notch", box(-10, 500, -10, 300), 100, adds=False)),
        "nothing is left",
        "smaller",
    ),
    "cut parts it in two": (
        (TRAY, plan("notch", box(150, 200, -10, 300), 100, adds=False)),
        "2 separate solids",
        "cut that parts them",
    ),
    "cut floats inside": (
        (TRAY, plan("notch", box(150, 200, 50, 100), 40, top=-20, adds=False)),
        "closed hollow",
        "reach a wall",
    ),
    "does not reach the rail": ((plan("tray", box(0, 100, 0, 100), 60, top=-10),), "open at the rail", "top"),
}


def words_of(body: PanBody) -> str:
    return " ".join(what for what, _ in body.trouble)


@pytest.mark.parametrize("name", BAD)
def test_bad_lumps_are_said_with_their_cure(name: str) -> None:
    lumps, what, cure = BAD[name]
    body = solve(inputs_of(*lumps), pattern_round(0, 400, 0, 200))
    assert body.cavity is None
    assert body.gate == ()
    assert body.flange_outside is None
    said = [pair for pair in body.trouble if what in pair[0]]
    assert said, body.trouble
    assert cure in said[0][1]
    report = check(body)
    findings = [f for f in report.findings if f.code == "BODY-01"]
    assert findings
    assert all(f.verdict is Verdict.FAILS and f.do for f in findings)
    for finding in report.findings:
        assert finding_words(finding, "in").says.endswith(".")


IDLE = {
    "add inside another": (plan("sump", box(50, 100, 50, 100), 40), "adds nothing"),
    "add equal to another": (plan("sump", box(0, 400, 0, 200), 60), "adds nothing"),
    "cut beside all": (plan("notch", box(500, 600, 0, 100), 40, adds=False), "cuts nothing"),
    "cut that only touches": (plan("notch", box(400, 600, 0, 100), 40, adds=False), "cuts nothing"),
}


@pytest.mark.parametrize("name", IDLE)
def test_a_lump_that_does_nothing_is_said(name: str) -> None:
    lump, what = IDLE[name]
    body = body_of(TRAY, lump)
    assert body.cavity is not None
    assert len(body.cavity.faces) == 6
    assert what in words_of(body)
    assert [f.verdict for f in check(body).findings if f.code == "BODY-02"] == [Verdict.FAILS]


def test_two_lumps_of_one_name_are_said() -> None:
    body = body_of(TRAY, plan("tray", box(100, 200, 50, 150), 120))
    assert body.cavity is not None
    assert "both named 'tray'" in words_of(body)


def test_lumps_far_from_the_holes_are_said() -> None:
    body = solve(inputs_of(TRAY), pattern_round(2000, 2400, 0, 200))
    assert body.cavity is not None
    assert body.flange_outside is None
    assert "beside the ring of rail holes" in words_of(body)


def test_holes_named_out_of_order_are_said() -> None:
    pattern = pattern_round(0, 400, 0, 200)
    xy = np.array(pattern.xy)
    xy[[2, 9]] = xy[[9, 2]]
    body = solve(inputs_of(TRAY), replace(pattern, xy=frozen_array(xy)))
    assert body.flange_outside is not None
    assert "crosses itself" in words_of(body)


def test_a_users_own_braces_do_no_harm() -> None:
    body = body_of(plan("tr{ay}", box(0, 400, 0, 200), 60), plan("{x", box(0, 5, 0, 5), 20))
    for finding in check(body).findings:
        finding_words(finding, "mm")


@pytest.mark.parametrize("seed", range(40))
def test_hostile_numbers_never_raise(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lumps = []
    for k in range(int(rng.integers(1, 5))):
        corners = rng.choice([-0.1, 0.0, 0.05, 0.1, 0.1000001, 0.3, 1e-9, 1e6], (int(rng.integers(0, 7)), 2))
        floor = Plane(
            frozen_array(rng.choice([-1.0, 0.0, 0.5, 1.0], 3)), float(rng.choice([-0.1, 0.0, 0.1, 1e9]))
        )
        lumps.append(
            Lump(
                f"l{k}",
                bool(rng.uniform() < 0.7),
                "plan" if rng.uniform() < 0.7 else "side",
                frozen_array(corners),
                floor,
                float(rng.choice([0.0, -0.05, 0.2])),
                float(rng.choice([0.0, 0.1, -0.3, 1.2])),
                float(rng.choice([-1.0, 0.0])),
                float(rng.choice([0.0, 0.1])),
            )
        )
    body = solve(inputs_of(*lumps), pattern_round(0, 300, 0, 200))
    assert body.cavity is not None or body.trouble
    check(body)


def test_inputs_stay_as_they_were() -> None:
    inputs: BodyInputs = inputs_of(TRAY)
    before = np.array(inputs.lumps[0].outline)
    solve(inputs, pattern_round(0, 400, 0, 200))
    assert np.array_equal(before, inputs.lumps[0].outline)
