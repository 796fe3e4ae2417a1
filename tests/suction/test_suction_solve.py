"""The whole suction side: a line worked by hand, limits in closed form, and what must be so."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.body.pickup_line import PickupLine, Screen, SuctionJoint, TubeCorner, TubeSection
from sumpwright.findings import Verdict
from sumpwright.oil.model import OilChoice, Pump
from sumpwright.oil.properties import properties_of
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.suction.check import check
from sumpwright.suction.formulas import creeping_fill_time, fall_speed
from sumpwright.suction.losses import corner_loss, line_losses, screen_loss
from sumpwright.suction.model import SuctionInputs, SuctionResult
from sumpwright.suction.solve import FedLine, _returned, air_rows

UP = np.array([0.0, 0.0, 1.0])
PAGE = Path(__file__).parents[2] / "docs" / "theory" / "suction.md"


def hand_line() -> PickupLine:
    """The line of docs/theory/suction.md."""
    return PickupLine(
        section=TubeSection("round", 0.020, 0.020, 0.0015),
        path=np.array([[0.0, 0, 0], [0.1, 0, 0], [0.1, 0.1, 0], [0.2, 0.1, 0]]),
        corners=(TubeCorner("bend", 0.030), TubeCorner("bend", 0.030)),
        port=np.array([0.2, 0.1, 0.0]),
    )


def inputs(line: PickupLine | None = None) -> SuctionInputs:
    """A small engine on 5W-30."""
    return SuctionInputs(
        line=hand_line() if line is None else line,
        mouth_diameter=0.030,
        mouth_shape="flush",
        oil=OilChoice("5W-30"),
        pump=Pump(flow=50e-3 / 60, at_speed=100.0, idle_speed=15.0, top_speed=100.0),
        relief_returns_to="pan",
        relief_from=None,
        altitude=0.0,
        coldest_start=258.15,
        hot=393.15,
        start_speed=4.0,
        fed_within=8.0,
        least_hot_pressure=80e3,
        least_cold_pressure=55e3,
        roughness=1.5e-6,
        cylinders=4,
    )


def sight(given: SuctionInputs, level: float) -> FedLine:
    oil = properties_of(given.oil)
    assert oil is not None
    assert given.line is not None
    return FedLine(given, given.line, oil, UP, level, 101_325.0, None)


def result_of(given: SuctionInputs, level: float = -0.05) -> SuctionResult:
    """The result without a body: what the check reads of it."""
    seen = sight(given, level)
    return SuctionResult(
        atmosphere=101_325.0,
        map=seen.map(),
        points=seen.points(),
        coldest_fed=seen.coldest_fed(),
        priming_at_start=None,
        lift=-level,
        mouth_gap=0.010,
        curtain_over_tube=3.0,
        submergence=0.050,
        submergence_wanted=0.100,
        joints_above=(("pump", True),),
        support=None,
        residence=None,
        clearing_bubble=None,
        running_volume=None,
        cold_return_flow=None,
        cures=(),
        port_miss=0.0,
        cannot=(),
    )


def printed(step: str) -> tuple[float, float]:
    """Figure of a step on the page, and half of its last printed digit."""
    for row in PAGE.read_text("utf-8").splitlines():
        if row.startswith(f"| {step}"):
            text = re.findall(r"[\d.]+", row.split("|")[2])[0]
            decimals = len(text.split(".")[1]) if "." in text else 0
            return float(text), 0.5 * 10.0**-decimals
    raise AssertionError(f"no step {step!r} on the page")


@pytest.mark.expected_from(
    "closed form", "docs/theory/suction.md, the line worked by hand, to its last printed digit"
)
def test_the_line_worked_by_hand() -> None:
    lost = line_losses(hand_line(), "flush", 1.5e-6, 6e-3 / 60, 880.0, 0.88)
    figures = {
        "velocity, Q / A": float(lost.speed),
        "velocity head": float(lost.velocity),
        "Re, rho": float(lost.reynolds),
        "tube: 64": float(lost.tube),
        "two bends": float(lost.bends),
        "entrance": float(lost.entrance),
        "inlet pressure": 101_325.0 - float(lost.total) - 880.0 * STANDARD_GRAVITY * 0.050,
    }
    for step, ours in figures.items():
        figure, half = printed(step)
        assert ours == pytest.approx(figure, abs=1.02 * half + 2e-5 * figure), step


@pytest.mark.expected_from("closed form", "t = 16 mu L^2 / (d^2 dp) for a level tube, laminar friction alone")
def test_drawing_thick_oil_into_an_empty_tube() -> None:
    # A long thin tube: friction along it is all that counts. It lies just above the oil.
    line = PickupLine(
        section=TubeSection("round", 0.006, 0.006, 0.001),
        path=np.array([[0.0, 0.0, 0.0], [6.0, 0.0, 0.0]]),
        corners=(),
        port=np.array([6.0, 0.0, 0.0]),
    )
    given = replace(inputs(line), pump=Pump(flow=1.0, at_speed=1.0, top_speed=1.0), start_speed=1.0)
    seen = sight(given, -1e-9)
    temperature = 263.15
    mu = seen.properties.dynamic_viscosity(temperature)
    exact = creeping_fill_time(6.0, 0.006, mu, 101_325.0 - 55e3)
    assert seen.fill_time(temperature) == pytest.approx(exact, rel=0.01)


@pytest.mark.expected_from(
    "property", "the tube's loss does not depend on which way it is turned; more flow costs more"
)
def test_what_must_be_so() -> None:
    flows = np.linspace(1e-5, 1e-3, 40)
    lost = line_losses(hand_line(), "flush", 1.5e-6, flows, 870.0, 0.02).total
    assert np.all(np.diff(lost) > 0.0)
    line = hand_line()
    turned = replace(line, path=line.path[:, [1, 2, 0]], port=line.port[[1, 2, 0]])
    again = line_losses(turned, "flush", 1.5e-6, flows, 870.0, 0.02).total
    np.testing.assert_allclose(again, lost, rtol=1e-12)


@pytest.mark.expected_from(
    "closed form", "a square duct of the same side at the same creeping flow: 128/(pi d^4) against 28.454/a^4"
)
def test_square_tube_in_thick_oil() -> None:
    def tube(shape: str) -> float:
        line = PickupLine(
            section=TubeSection(shape, 0.020, 0.020, 0.0015),  # type: ignore[arg-type]
            path=np.array([[0.0, 0, 0], [0.3, 0, 0]]),
            corners=(),
            port=np.array([0.3, 0, 0]),
        )
        return float(line_losses(line, "flush", 0.0, 1e-4, 880.0, 0.88).tube)

    assert tube("square") / tube("round") == pytest.approx(28.454 / (128.0 / math.pi), rel=1e-3)


@pytest.mark.expected_from(
    "property", "a bypass never raises the loss; with it mesh and notch see one pressure"
)
def test_bypass_takes_what_the_mesh_does_not() -> None:
    mesh = Screen("woven", 20e-4, 0.86e-3, 1.27e-3, 0.41e-3)
    with_notch = replace(mesh, bypass_area=1e-4)
    flow, rho, mu = np.array([5e-5]), np.array([880.0]), np.array([2.0])
    alone = screen_loss(mesh, flow, rho, mu)[0]
    beside = screen_loss(with_notch, flow, rho, mu)[0]
    assert 0.0 < beside[0] < alone[0]
    # What goes through the mesh at that pressure and what goes past add up to the flow.
    from sumpwright.suction.formulas import opening_velocity

    through = beside[0] / alone[0] * flow[0]  # creeping: in proportion
    across = math.sqrt(4e-4 / math.pi)
    past = opening_velocity(float(beside[0]), 880.0, 2.0, across, mesh.thickness) * 1e-4
    assert through + past == pytest.approx(flow[0], rel=0.01)


@pytest.mark.expected_from(
    "property", "two right angles in a row cost as much as one turn back; nothing costs nothing"
)
def test_corners() -> None:
    bend = TubeCorner("bend", 0.033)
    assert float(corner_loss(bend, 0.0, 0.022, np.array(1e4))) == pytest.approx(0.0)
    one = float(corner_loss(bend, math.pi / 2, 0.022, np.array(1e4)))
    assert float(corner_loss(bend, math.pi, 0.022, np.array(1e4))) == pytest.approx(2 * one)


@pytest.mark.expected_from("property", "more speed always costs pressure; two limits, cold and warm")
def test_map_has_its_limit_line_and_says_where_the_oil_is_not_known() -> None:
    found = sight(inputs(), -0.05).map()
    assert found.pressure.shape == (60, 60)
    assert np.all(np.diff(found.pressure, axis=1) < 0.0)
    assert set(np.unique(found.limit)) == {55e3, 80e3}
    assert found.is_extrapolated[0]
    assert not found.is_extrapolated[-1]


@pytest.mark.expected_from("closed form", "flow stops growing where the relief opens")
def test_relief_to_the_inlet_spares_the_tube() -> None:
    plain = sight(inputs(), -0.05)
    eased = sight(replace(inputs(), relief_returns_to="pump inlet", relief_from=50.0), -0.05)
    assert float(eased.demand(100.0)) == pytest.approx(0.5 * float(plain.demand(100.0)))


def _finding(given: SuctionInputs, code: str) -> Verdict:
    return next(f for f in check(given, result_of(given)).findings if f.code == code).verdict


def _joint(**changes: object) -> SuctionInputs:
    joint = SuctionJoint("pump", "O-ring", 0.29, 0.023, **changes)  # type: ignore[arg-type]
    return replace(inputs(), line=replace(hand_line(), joints=(joint,)))


def test_an_untested_joint_above_the_oil_cannot_be_said() -> None:
    assert _finding(_joint(squeeze=0.2), "SUC-12") is Verdict.CANNOT_SAY
    assert _finding(replace(_joint(squeeze=0.2, tested="vacuum"), hot=370.0), "SUC-12") is Verdict.HOLDS
    assert _finding(_joint(squeeze=0.5, tested="vacuum"), "SUC-12") is Verdict.FAILS


def test_a_tube_fixed_at_pump_and_pan_is_refused_unless_one_end_slides() -> None:
    fixed = replace(inputs(), line=replace(hand_line(), held_at=("pump", "pan")))
    assert _finding(fixed, "SUC-13") is Verdict.FAILS
    assert fixed.line is not None
    slides = replace(fixed, line=replace(fixed.line, slides_at=("pan",)))
    assert _finding(slides, "SUC-13") is Verdict.HOLDS


@pytest.mark.expected_from("property", "a narrower tube is fed down to a warmer start only")
def test_a_thread_of_a_tube_starves_the_pump_and_says_what_would_do() -> None:
    thin = replace(hand_line(), section=TubeSection("round", 0.008, 0.008, 0.001))
    given = inputs(thin)
    assert _finding(given, "SUC-02") is Verdict.FAILS
    narrow, wide = sight(given, -0.05).coldest_fed(), sight(inputs(), -0.05).coldest_fed()
    assert narrow is not None
    assert wide is not None
    assert narrow.temperature > wide.temperature + 20.0


def test_a_tube_not_given_is_asked_for_by_its_section() -> None:
    result = replace(result_of(inputs()), cannot=(("the pickup's tube", "suction"),))
    said = next(f for f in check(inputs(), result).findings if f.code == "SUC-01")
    assert said.says == "Whether the pump gets its oil is not known. Not given: the pickup's tube"
    assert said.do == "Enter [suction] in the job file"


def test_an_upper_limit_is_worded_as_one() -> None:
    mesh = Screen("woven", 20e-4, 0.86e-3, 1.27e-3, 0.41e-3)
    given = inputs(replace(hand_line(), screen=mesh))
    screen = next(f for f in check(given, result_of(given)).findings if f.code == "SUC-07")
    assert "at most {limit} wanted" in screen.says


@pytest.mark.expected_from("closed form", "rest = V / Q; the bubble falls with the root of the rest")
def test_a_litre_more_rests_longer_and_clears_finer_bubbles() -> None:
    fed = sight(inputs(), -0.05)
    rows = {row.what: row for row in air_rows(fed, 2e-3, 0.05)}
    now, more = rows["as it is"], rows["one litre more in the pan"]
    assert now.residence == pytest.approx(2e-3 / (50e-3 / 60))
    assert more.residence / now.residence == pytest.approx(1.5)
    assert more.clearing_bubble / now.clearing_bubble == pytest.approx(1.5**-0.5)
    assert rows["cold, at the start speed"].clearing_bubble > now.clearing_bubble
    assert fall_speed(0.05) == pytest.approx(math.sqrt(2 * STANDARD_GRAVITY * 0.05))


@pytest.mark.expected_from(
    "closed form", "hot, 10 mm of oil over a sharp hole: 0.61 sqrt(2 g h) = 0.270 m/s (Torricelli)"
)
def test_open_area_of_the_roof_baffle_is_judged_hot_and_cold() -> None:
    oil = properties_of(OilChoice("5W-30"))
    assert oil is not None
    # 30 cm2 let 0.81 L/s back hot; the pump takes 50 L/min, 0.83 L/s.
    given = replace(inputs(), return_area=30e-4, return_opening=0.050)
    hot = _returned(given, oil, given.hot)
    cold = _returned(given, oil, given.coldest_start)
    assert hot is not None
    assert cold is not None
    torricelli = 0.61 * math.sqrt(2.0 * STANDARD_GRAVITY * 0.010) * 30e-4
    assert 0.93 * torricelli < hot < torricelli
    result = replace(result_of(given), hot_return_flow=hot, cold_return_flow=cold)
    said = {f.where: f for f in check(given, result).findings if f.code == "SUC-15"}
    short = said["roof baffle, hot, top speed"]
    assert short.verdict is Verdict.FAILS
    more = {figure.name: figure.value for figure in short.figures}["more"]
    assert more * hot == pytest.approx(short.limit, rel=1e-12)
    wider = replace(result, hot_return_flow=1.2 * hot)
    assert [f.verdict for f in check(given, wider).findings if f.where == short.where] == [Verdict.HOLDS]
    assert not [f for f in check(given, result_of(given)).findings if f.code == "SUC-15"]
