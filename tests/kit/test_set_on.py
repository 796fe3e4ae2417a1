"""Posts, stone guard and jacking plate as parts: holes, places, seams, and what a jack does to a floor."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sumpwright.body import PanBody
from sumpwright.body.fittings import Jacking, StandOff, StoneGuard
from sumpwright.findings import Verdict
from sumpwright.kit.check import check
from sumpwright.kit.jacking_formulas import centre_load_stress
from sumpwright.kit.model import KitInputs, SheetKit
from sumpwright.kit.solve import solve
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, plan
from tests.kit.nest_parts_by_hand import kit_inputs


def pan(**more: object) -> PanBody:
    body = body_of(plan("sump", box(0, 300, 0, 200), 120))
    return replace(body, inputs=replace(body.inputs, **more))  # type: ignore[arg-type]


def made(body: PanBody, inputs: KitInputs | None = None) -> SheetKit:
    kit = solve(kit_inputs() if inputs is None else inputs, body)
    assert kit.parts, kit.rebuild.why
    return kit


def post(x: float, y: float) -> StandOff:
    return StandOff("tray post", frozen_array(np.array([x, y, -120]) * MM), "inside", 0.014, 0.020, "M6")


def guard(*feet: tuple[float, float]) -> StoneGuard:
    return StoneGuard(0.015, 0.004, "mild", 0.0, frozen_array(np.array(feet) * MM), 0.020, "M8", None)


@pytest.mark.expected_from("closed form", "a post at 50, 100 stands on the oil side and is etched there")
def test_a_post_is_etched_and_bought_and_pierces_nothing() -> None:
    kit = made(pan(stand_offs=(post(50, 100), replace(post(296, 100), name="too near"))))
    assert kit.internals is not None
    (placed,) = kit.internals.posts
    assert placed.face == "sump floor"
    assert placed.place == pytest.approx(np.array([50, 100, -120]) * MM)
    floor = next(part for part in kit.parts if part.name == "sump floor")
    (cross,) = [mark for mark in floor.marks if mark.kind == "place"]
    flat = np.concatenate([np.asarray(stroke.points) for stroke in cross.strokes]).mean(axis=0)
    assert floor.frame.to_space(flat[None])[0][:2] == pytest.approx([0.050, 0.100])
    assert not floor.holes
    assert [trouble.where for trouble in kit.internals.trouble] == ["too near"]
    assert any(bought.name == "tray post" for bought in kit.internals.bought)


@pytest.mark.expected_from("published", "ISO 273: 9 mm for M8")
def test_the_guard_is_a_part_with_its_posts() -> None:
    kit = made(pan(guard=guard((40, 40), (40, 160), (260, 100), (298, 20))))
    plate = next(part for part in kit.parts if part.name == "stone guard")
    assert [hole.diameter for hole in plate.holes] == pytest.approx([0.009] * 3)
    assert plate.thickness == 0.004
    assert plate.material == "mild"
    assert kit.internals is not None
    assert not kit.internals.clashes
    assert [trouble.where for trouble in kit.internals.trouble] == ["guard post 4"]
    for hole, placed in zip(plate.holes, kit.internals.posts, strict=True):
        middle = plate.frame.to_space(np.array([[hole.x, hole.y]]))[0]
        assert middle[:2] == pytest.approx(placed.place[:2])
        assert placed.place[2] == pytest.approx(-0.122)  # outside the sheet
    bolts = next(bought for bought in kit.internals.bought if bought.name == "stone guard bolts")
    assert bolts.quantity == "3"


@pytest.mark.expected_from("property", "'nowhere' is etched on every floor and on nothing else")
def test_no_jack_here_is_etched_on_floors() -> None:
    kit = made(pan(jacking=Jacking("nowhere")))
    told = [part.name for part in kit.parts if any(mark.words == "no jack here" for mark in part.marks)]
    assert told == ["sump floor"]


@pytest.mark.expected_from(
    "published", "Roark table 11.4 case 1b: beta 0.435 for a square, 0.958 for 2 to 1, 1.000 without end"
)
def test_stress_under_a_small_circle() -> None:
    for ratio, beta in ((1.0, 0.435), (1.5, 0.832), (2.0, 0.958), (9.0, 1.0)):
        spread = 1.3 * math.log(2 * 200 / (math.pi * 40)) + beta
        expected = 3 * 2000 / (2 * math.pi * 2**2) * spread * 1e6
        found = centre_load_stress(2000.0, 0.002, 0.200, 0.200 * ratio, 0.040, 0.3)
        assert found == pytest.approx(expected, rel=1e-3)
    tiny = math.sqrt(1.6 * 0.5**2 + 4.0) - 0.675 * 2.0
    found = centre_load_stress(100.0, 0.002, 0.2, 0.2, 0.0005, 0.3)
    assert found == pytest.approx(
        300 / (2 * math.pi * 4) * (1.3 * math.log(400 / (math.pi * tiny)) + 0.435) * 1e6, rel=1e-9
    )


@pytest.mark.expected_from("closed form", "2 kN on a plate of 80 mm press with 0.398 MPa")
def test_a_jacking_plate() -> None:
    asked = Jacking("load plate", frozen_array(np.array([150, 100]) * MM), 0.080, 0.005, 2000.0)
    inputs = replace(kit_inputs(), material="mild")
    kit = made(pan(jacking=asked), inputs)
    plate = next(part for part in kit.parts if part.name == "jacking plate")
    assert np.ptp(np.asarray(plate.outline.points)[:, 0]) == pytest.approx(0.080)
    assert plate.frame.origin[2] == pytest.approx(-0.120 - 0.002 - 0.005)
    (finding,) = [each for each in check(inputs, kit).findings if each.code == "KIT-85"]
    pressure = next(figure for figure in finding.figures if figure.name == "pressure")
    assert pressure.value == pytest.approx(2000 / (math.pi * 0.04**2))
    assert finding.verdict is Verdict.CANNOT_SAY  # a bound beyond the yield tells nothing
    light = made(pan(jacking=replace(asked, load=300.0)), inputs)
    (finding,) = [each for each in check(inputs, light).findings if each.code == "KIT-85"]
    assert finding.verdict is Verdict.HOLDS
    both = made(pan(jacking=asked, guard=guard((40, 40), (40, 160), (260, 100))), inputs)
    (finding,) = [each for each in check(inputs, both).findings if each.code == "KIT-85"]
    assert finding.verdict is Verdict.FAILS
