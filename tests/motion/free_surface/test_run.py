"""A whole run: figures, walls that never leak, doors, pump, checkpoint, replay, bad input."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.geometry import Surface
from sumpwright.motion.driven import drive
from sumpwright.motion.driven_model import Chambers, DrivenOil, PumpDemand, Trace
from sumpwright.motion.free_surface import (
    FreeSurfaceError,
    FreeSurfaceInputs,
    Progress,
    Replay,
    cell_for_time,
    free_surface_run,
    make_domain,
)
from sumpwright.motion.free_surface.ways import label_cells, place_walls
from tests.motion.free_surface.tanks import G, prism
from tests.motion.test_driven import box, chambers, window

OIL = DrivenOil(in_pan=0.0, held_up=0.0, return_time=0.5, density=830.0, viscosity=0.0083, damping=0.05)
PUMP = PumpDemand(0.0, 1.0)
CELL = 0.01


def inputs(
    pan: Chambers, whole: Surface, pulls: list[list[float]], amount: float, **more: object
) -> FreeSurfaceInputs:
    trace = Trace("braking", "braking", 0.01, np.array(pulls), np.ones(len(pulls)), 0.3)
    given: dict[str, object] = {
        "surface": whole,
        "chambers": pan,
        "trace": trace,
        "oil": replace(OIL, in_pan=amount),
        "pump": PUMP,
        "cell": CELL,
    }
    given.update(more)
    return FreeSurfaceInputs(**given)  # type: ignore[arg-type]


def two(passes: int = 0, is_door: bool = False, **more: object) -> tuple[Chambers, Surface]:
    """Two boxes with a window 60 x 40 between them at the floor."""
    hole = window(0.15, 0.03, 0.09, -0.2, -0.16, passes=passes, is_door=is_door, **more)
    parts = (box(0.0, 0.15, 0.12, 0.2), box(0.15, 0.3, 0.12, 0.2))
    return chambers(parts, (hole,)), box(0.0, 0.3, 0.12, 0.2)


def still(seconds: float, pull: tuple[float, float, float] = (0.0, 0.0, -G)) -> list[list[float]]:
    return [list(pull)] * round(seconds / 0.01)


def test_importing_the_package_needs_numpy_alone() -> None:
    code = (
        "import sys\n"
        "class No:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('numba', 'scipy', 'shapely', 'cupy', 'manifold3d'):\n"
        "            raise ImportError(name)\n"
        "sys.meta_path.insert(0, No())\n"
        "import sumpwright.motion.free_surface\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.expected_from(
    "property", "no way from cell to cell past a wall of any slope but through its openings"
)
@pytest.mark.parametrize("lean", [0.0, 0.031, -0.074, 0.11])
def test_a_wall_of_any_slope_never_leaks(lean: float) -> None:
    a, b = 0.14, 0.14 + lean
    left = prism([(0.0, 0.0), (a, 0.0), (b, 0.15), (0.0, 0.15)], [(0, 1, 2), (0, 2, 3)], 0.1)
    right = prism([(a, 0.0), (0.3, 0.0), (0.3, 0.15), (b, 0.15)], [(0, 1, 2), (0, 2, 3)], 0.1)
    whole = prism([(0.0, 0.0), (0.3, 0.0), (0.3, 0.15), (0.0, 0.15)], [(0, 1, 2), (0, 2, 3)], 0.1)
    domain = make_domain(whole, CELL)
    walls = place_walls(domain, (left, right), ())
    reached = np.zeros(domain.shape, dtype=bool)
    reached[tuple(np.argwhere(walls.compartment == 0)[0])] = True
    opens = (domain.open_x, domain.open_y, domain.open_z)
    for _ in range(200):
        before = reached.sum()
        for axis in range(3):
            passable = (opens[axis] > 0.0) & (walls.shut[axis] == 0)
            inner = np.take(passable, range(1, domain.shape[axis]), axis=axis)
            low = [slice(None)] * 3
            high = [slice(None)] * 3
            low[axis], high[axis] = slice(None, -1), slice(1, None)
            up = reached[tuple(low)] & inner
            down = reached[tuple(high)] & inner
            reached[tuple(high)] |= up
            reached[tuple(low)] |= down
        if reached.sum() == before:
            break
    assert reached.sum() == (walls.compartment == 0).sum()
    assert (walls.compartment == 1).any()
    share = (domain.open_volume * (label_cells(domain, (left, right)) == 0)).sum() * CELL**3
    assert share == pytest.approx(0.1 * 0.15 * (0.14 + 0.5 * lean), rel=0.06)


@pytest.mark.expected_from("property", "a shut door without a gap lets nothing through")
def test_oil_stays_behind_a_shut_wall() -> None:
    pan, whole = two(passes=1, is_door=True, lag=0.02, leak_gap=0.0, overlap=0.005)
    pulls = still(0.6, (-0.8 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    run = free_surface_run(inputs(pan, whole, pulls, 0.3 * 0.12 * 0.05))
    # The pull drives it from the second to the first: against the door.
    assert run.driven.volumes[-1, 0] == pytest.approx(run.driven.volumes[0, 0], rel=0.02)
    assert abs(run.oil_error) < 1e-9


@pytest.mark.expected_from(
    "property", "two models of one case: transferred volume within 6 % rms of the total"
)
def test_both_models_carry_the_same_oil_across_when_braking() -> None:
    pan, whole = two()
    pulls = still(1.2, (0.35 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    given = inputs(pan, whole, pulls, 0.3 * 0.12 * 0.05)
    free = free_surface_run(given).driven
    quick = drive(pan, given.trace, given.oil, given.pump)
    rows = min(len(free.times), len(quick.times))
    gap = free.volumes[:rows, 1] - quick.volumes[:rows, 1]
    assert math.sqrt(float((gap**2).mean())) / given.oil.in_pan < 0.06


@pytest.mark.expected_from("closed form", "no more than C A sqrt(2 g h) for the time it runs")
def test_a_way_narrower_than_a_cell_becomes_a_link_and_is_said() -> None:
    slit = window(0.15, 0.03, 0.09, -0.198, -0.194, rows=4)
    parts = (box(0.0, 0.15, 0.12, 0.2), box(0.15, 0.3, 0.12, 0.2))
    pulls = still(0.5, (0.5 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    run = free_surface_run(
        inputs(chambers(parts, (slit,)), box(0.0, 0.3, 0.12, 0.2), pulls, 0.3 * 0.12 * 0.05)
    )
    assert [link.way for link in run.links] == ["window"]
    gained = run.driven.volumes[-1, 1] - run.driven.volumes[0, 1]
    most = 0.61 * 0.06 * 0.004 * math.sqrt(2.0 * G * 0.12) * 0.5
    assert 0.1 * most < gained < most


@pytest.mark.expected_from(
    "property", "a bare mouth draws air at the pump's rate; oil is neither made nor lost"
)
def test_a_bare_mouth_draws_air_and_the_oil_is_kept() -> None:
    whole = box(0.0, 0.2, 0.12, 0.2)
    pan = replace(chambers((whole,), ()), mouth=np.array([0.1, 0.06, -0.13]))
    dry = inputs(pan, whole, still(0.2), 0.2 * 0.12 * 0.03, pump=PumpDemand(5e-4, 1.0))
    run = free_surface_run(dry)
    assert run.driven.cover.max() < 0.0
    assert run.driven.air_taken[-1] == pytest.approx(5e-4 * 0.18, rel=0.15)
    wet = replace(dry, oil=replace(OIL, in_pan=0.2 * 0.12 * 0.12, return_time=0.3))
    seen: list[Progress] = []
    run = free_surface_run(wet, seen.append)
    assert run.driven.cover[1] == pytest.approx(0.05, abs=0.5 * CELL)
    # The hole that the pump itself draws into the parcels counts as bare now and then.
    assert run.driven.air_taken[-1] < 0.1 * 5e-4 * 0.18
    assert run.driven.held_up[-1] > 1e-5
    assert abs(run.oil_error) < 1e-9
    assert len(seen) == len(run.driven.times)


@pytest.mark.expected_from("property", "a run in two parts is the run in one")
def test_a_stopped_run_goes_on_to_the_same_bits(tmp_path: Path) -> None:
    pan, whole = two()
    pulls = still(0.3, (0.5 * G, 0.0, -G))
    given = inputs(pan, whole, pulls, 0.3 * 0.12 * 0.04)
    at_once = free_surface_run(given, replay=tmp_path / "run.replay")
    free_surface_run(given, stop_at=0.14, checkpoint=tmp_path / "half.npz")
    later = free_surface_run(given, resume=tmp_path / "half.npz")
    np.testing.assert_array_equal(at_once.driven.volumes, later.driven.volumes)
    np.testing.assert_array_equal(at_once.driven.cover, later.driven.cover)
    film = Replay(tmp_path / "run.replay")
    np.testing.assert_allclose(film.times, at_once.driven.times[::2], atol=1e-6)
    last = film.frame(len(film.times) - 1)
    held = last[2:-2, 2:-2, 2:-2].sum() * CELL**3
    assert held == pytest.approx(0.3 * 0.12 * 0.04, rel=0.05)
    assert (tmp_path / "run.replay").stat().st_size < 200_000


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"oil": replace(OIL, in_pan=0.0)}, "no oil"),
        ({"oil": replace(OIL, in_pan=0.2 * 0.12 * 0.205)}, "does not fit|above the rail"),
        ({"oil": replace(OIL, in_pan=math.nan)}, "no oil|no number"),
        ({"cell": math.nan}, "no number"),
        ({"cell": -0.01}, "no size"),
    ],
)
def test_bad_input_is_said(change: dict[str, object], words: str) -> None:
    whole = box(0.0, 0.2, 0.12, 0.2)
    given = inputs(chambers((whole,), ()), whole, still(0.1), 0.001, **change)
    with pytest.raises(FreeSurfaceError, match=words):
        free_surface_run(given)


@pytest.mark.expected_from("property", "oil is neither made nor lost")
def test_no_number_in_the_trace_is_said_and_a_spike_is_lived_through() -> None:
    whole = box(0.0, 0.2, 0.12, 0.2)
    pulls = still(0.2)
    pulls[7] = [math.nan, 0.0, -G]
    with pytest.raises(FreeSurfaceError, match=r"0\.070 s in"):
        free_surface_run(inputs(chambers((whole,), ()), whole, pulls, 0.001))
    pulls[7] = [20.0 * G, 0.0, -G]
    run = free_surface_run(inputs(chambers((whole,), ()), whole, pulls, 0.001))
    assert np.isfinite(run.driven.volumes).all()
    assert run.driven.volumes[-1, 0] == pytest.approx(0.001, rel=1e-6)


@pytest.mark.expected_from("property", "a slot one cell high beyond x = 0.2 m")
def test_a_place_too_thin_for_the_cells_is_named() -> None:
    corners = [
        (0.0, 0.0),
        (0.2, 0.0),
        (0.2, 0.08),
        (0.32, 0.08),
        (0.32, 0.09),
        (0.2, 0.09),
        (0.2, 0.15),
        (0.0, 0.15),
    ]
    facets = [(0, 1, 2), (0, 2, 5), (2, 3, 4), (2, 4, 5), (0, 5, 7), (5, 6, 7)]
    whole = prism([(x, z - 0.15) for x, z in corners], facets, 0.1)
    pan = replace(chambers((whole,), ()), mouth=np.array([0.1, 0.05, -0.14]))
    run = free_surface_run(inputs(pan, whole, still(0.05), 0.2 * 0.1 * 0.05))
    assert run.thin_places
    place = run.thin_places[0]
    assert place.where[0] > 0.2
    assert place.cell_that_helps < 0.006


def test_less_time_asks_for_larger_cells() -> None:
    quick = cell_for_time(0.005, 10.0, 60.0)
    assert quick > cell_for_time(0.005, 10.0, 600.0)
    with pytest.raises(ValueError, match="above nothing"):
        cell_for_time(0.005, 10.0, 0.0)
