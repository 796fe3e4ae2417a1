"""One method, three engines: the loops, the plain arrays that they are checked against, and the card."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sumpwright.motion.free_surface import free_surface_run
from sumpwright.motion.free_surface.constants import LIQUID
from sumpwright.motion.free_surface.model import FreeSurfaceError
from tests.motion.free_surface.tanks import G, about_y, box, first_mode, rig, swing
from tests.motion.free_surface.test_run import OIL, inputs, still, two

OTHERS = ("plain arrays", "card")
UP = np.array([0.0, 0.0, 1.0])


@pytest.mark.expected_from("property", "another engine takes the same step of the same oil")
@pytest.mark.parametrize("engine", OTHERS)
@pytest.mark.parametrize("turn", [0.0, 0.3])
def test_engines_move_the_same_oil_alike(engine: str, turn: float) -> None:
    """Cold oil in a tank turned in the grid: cut cells, closed faces and viscosity all take part."""
    r = about_y(turn)
    tanks = [
        rig(box(0.3, 0.1, 0.15, turn), 0.02, 0.3 * 0.1 * 0.06, r @ UP, 5e-4, 9.0, name)
        for name in ("processor", engine)
    ]
    for step in range(12):
        pull = r @ np.array([0.6 * G * np.sin(0.3 * step), 0.2 * G, -G])
        for tank in tanks:
            tank.engine.step(pull, 0.005)
        # The first step differs by rounding and by where the solver stops; then wisps go their own ways.
        off = 1e-3 if step == 0 else 0.05
        assert tanks[1].engine.host("rho") == pytest.approx(tanks[0].engine.host("rho"), abs=0.3)
        liquid = [tank.engine.host("kind") == LIQUID for tank in tanks]
        assert (liquid[0] != liquid[1]).mean() < 0.002
        mean = [tank.places.mean(axis=0) for tank in tanks]
        assert mean[1] == pytest.approx(mean[0], abs=off * 0.02)
    speeds = [np.sqrt((tank.velocities**2).sum(axis=1).mean()) for tank in tanks]
    assert speeds[1] == pytest.approx(speeds[0], rel=0.02)


@pytest.mark.expected_from("property", "what flows into a cell of oil flows out of it")
@pytest.mark.parametrize("engine", ["processor", *OTHERS])
def test_the_solve_leaves_no_squeeze(engine: str) -> None:
    tank = rig(box(0.3, 0.1, 0.15), 0.02, 0.3 * 0.1 * 0.06, UP, 0.0, 9.0, engine)
    for _ in range(4):
        tank.engine.step(np.array([0.8 * G, 0.3 * G, -G]), 0.005)
    u, v, w = tank.engine.faces()
    d = tank.domain
    out = (
        np.diff(u * d.open_x, axis=0) + np.diff(v * d.open_y, axis=1) + np.diff(w * d.open_z, axis=2)
    )  # fmt: skip
    liquid = tank.engine.host("kind") == LIQUID
    # The solve stops at 1e-4 of the squeeze that gravity alone would make in a step.
    assert np.abs(out[liquid]).max() < 0.02 * G / 0.02 * 0.005


@pytest.mark.expected_from("closed form", "first mode of a box, omega^2 = g k tanh(k h), k = pi / L")
def test_the_card_swings_as_linear_theory_has_it() -> None:
    for cells in (6, 12):
        cell = 0.1 / cells
        omega, _ = swing(0.6, 6 * cell, 0.1, cell, engine="card")
        assert omega == pytest.approx(first_mode(0.6, 0.1), rel=0.02 if cells == 6 else 0.01)


@pytest.mark.expected_from("property", "the same run on another engine, oil through a window and back")
@pytest.mark.parametrize("engine", OTHERS)
def test_a_whole_run_is_the_same_on_every_engine(engine: str) -> None:
    from tests.motion.free_surface.tanks import engine_of

    engine_of(engine)
    pan, whole = two(passes=1, is_door=True, lag=0.02, leak_gap=0.0005, overlap=0.005)
    # As short and coarse as lets a tenth of the oil through the door: plain arrays are slow.
    pulls = still(0.14, (0.7 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    given = replace(inputs(pan, whole, pulls, 0.3 * 0.12 * 0.05), oil=replace(OIL, in_pan=0.3 * 0.12 * 0.05))
    given = replace(given, cell=0.02)
    runs = [free_surface_run(given, engine=name) for name in ("processor", engine)]  # type: ignore[arg-type]
    mine, theirs = runs[0].driven, runs[1].driven
    assert mine.volumes[-1, 1] - mine.volumes[0, 1] > 0.05 * given.oil.in_pan
    assert theirs.volumes == pytest.approx(mine.volumes, abs=0.01 * given.oil.in_pan)
    assert theirs.cover == pytest.approx(mine.cover, abs=0.5 * given.cell)
    assert abs(runs[1].oil_error) < 1e-9
    assert runs[1].engine == engine


def test_an_engine_that_there_is_not_is_said() -> None:
    pan, whole = two()
    given = inputs(pan, whole, still(0.1), 0.001)
    with pytest.raises(FreeSurfaceError, match="no engine"):
        free_surface_run(given, engine="steam")  # type: ignore[arg-type]
