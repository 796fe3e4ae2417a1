"""Both models side by side, what is said of them, and what is kept of a run."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sumpwright.findings import Verdict
from sumpwright.motion.driven import drive
from sumpwright.motion.free_surface import FreeSurfaceInputs, Replay, free_surface_run
from sumpwright.motion.free_surface.check import check, verdict_of_case
from sumpwright.motion.free_surface.compare import SideBySide, beside, furthest_mean, longest
from sumpwright.motion.free_surface.figures import depths_over
from sumpwright.motion.free_surface.kept import keep_run, kept_run
from sumpwright.motion.free_surface.model import FreeSurfaceRun
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase, FreeSurfaceResult
from tests.motion.free_surface.test_run import CELL, G, inputs, still, two

SIDE = SideBySide(
    bare=0.0,
    bare_least=0.0,
    bare_most=0.0,
    least_cover=0.02,
    least_reserve=1.0,
    elsewhere=0.01,
    elsewhere_swinging=0.02,
    in_bracket=0.9,
    cover_off=0.001,
    volume_kept=0.99,
)


@pytest.fixture(scope="module")
def braking() -> tuple[FreeSurfaceInputs, FreeSurfaceRun]:
    pan, whole = two()
    pulls = still(0.4, (0.35 * G, 0.0, -G))
    pulls[0] = [0.0, 0.0, -G]
    given = inputs(pan, whole, pulls, 0.3 * 0.12 * 0.05)
    return given, free_surface_run(given)


def case(run: FreeSurfaceRun, quick: Verdict, **changed: Any) -> FreeSurfaceCase:
    return FreeSurfaceCase("braking", "braking", 0.3, quick, run, replace(SIDE, **changed), "braking.replay")


@pytest.mark.expected_from("property", "a second model lowers a verdict and never raises one")
@pytest.mark.parametrize(
    ("bare", "quick", "said"),
    [
        ((0.0, 0.0, 0.0), Verdict.HOLDS, Verdict.HOLDS),
        ((0.0, 0.0, 0.0), Verdict.FAILS, Verdict.FAILS),
        ((0.0, 0.0, 0.0), Verdict.CLOSE, Verdict.CLOSE),
        ((0.0, 0.2, 0.9), Verdict.HOLDS, Verdict.CLOSE),
        ((0.5, 0.7, 0.9), Verdict.HOLDS, Verdict.FAILS),
    ],
)
def test_it_lowers_a_verdict_and_never_raises_one(
    braking: tuple[FreeSurfaceInputs, FreeSurfaceRun],
    bare: tuple[float, float, float],
    quick: Verdict,
    said: Verdict,
) -> None:
    one = case(braking[1], quick, bare_least=bare[0], bare=bare[1], bare_most=bare[2])
    assert verdict_of_case(one) is said


def test_disagreement_lost_volume_and_what_was_not_run_are_findings(
    braking: tuple[FreeSurfaceInputs, FreeSurfaceRun],
) -> None:
    fine, off = (
        case(braking[1], Verdict.HOLDS),
        case(braking[1], Verdict.HOLDS, elsewhere=0.1, volume_kept=0.95, cover_off=0.03),
    )

    def verdicts(one: FreeSurfaceCase, is_one: bool = False) -> dict[str, Verdict]:
        return {f.code: f.verdict for f in check(FreeSurfaceResult(CELL, is_one, (one,))).findings}

    assert verdicts(fine) == {"MOT-20": "holds", "MOT-21": "holds", "MOT-23": "holds"}
    assert verdicts(off) == {"MOT-20": "holds", "MOT-21": "close", "MOT-23": "close"}
    assert verdicts(off, is_one=True)["MOT-22"] == "close"
    report = check(FreeSurfaceResult(CELL, False, (), (("launch", "there is no oil {x}"),), ("left turn",)))
    assert [(f.code, f.verdict) for f in report.findings] == [
        ("MOT-25", "cannot say"),
        ("MOT-26", "cannot say"),
    ]
    assert "(x)" in report.findings[0].says


@pytest.mark.expected_from("property", "a run beside itself is nowhere apart; moved by a tenth it is a tenth")
def test_figures_side_by_side(braking: tuple[FreeSurfaceInputs, FreeSurfaceRun]) -> None:
    given, run = braking
    side = beside(run, run.driven, run.driven)
    assert side.elsewhere == side.elsewhere_swinging == side.cover_off == 0.0
    assert side.in_bracket == 1.0
    assert side.least_cover == run.driven.cover.min()
    shifted = replace(run.driven, volumes=run.driven.volumes + given.oil.in_pan * np.array([-0.1, 0.1]))
    assert beside(run, shifted, shifted).elsewhere == pytest.approx(0.1, rel=1e-6)
    assert beside(run, shifted, run.driven).elsewhere == 0.0
    quick = [drive(given.chambers, given.trace, given.oil, given.pump, lag) for lag in (True, False)]
    assert 0.0 < beside(run, *quick).elsewhere_swinging < 0.1


@pytest.mark.expected_from("closed form", "counted by hand")
def test_stretches_and_means() -> None:
    assert longest(np.array([True, True, False, True]), 0.02) == pytest.approx(0.04)
    assert longest(np.array([], dtype=bool), 0.02) == 0.0
    assert furthest_mean(np.array([1.0, 0.9, 0.9, 1.0]), 0.5) == pytest.approx(0.9)
    assert furthest_mean(np.array([1.0, 0.98]), 0.02) == pytest.approx(0.99)


@pytest.mark.expected_from("closed form", "a level surface between two cell centres")
def test_depth_over_a_point_is_read_between_the_cells(
    braking: tuple[FreeSurfaceInputs, FreeSurfaceRun],
) -> None:
    from sumpwright.motion.free_surface import make_domain

    domain = make_domain(braking[0].surface, CELL)
    rho = np.zeros(domain.shape)
    rho[:, :, :8] = 1.0  # the surface stands half way between the centres of cells 7 and 8
    level = domain.origin[2] + 8.0 * CELL
    up = np.array([0.0, 0.0, 1.0])
    points = np.array([[0.1, 0.05, level - 0.031], [0.1, 0.05, level + 0.017]])
    assert depths_over(domain, rho, points, up) == pytest.approx([0.031, -0.017], abs=1e-9)
    # Without any oil below, it is the way to the floor.
    dry = depths_over(domain, np.zeros(domain.shape), np.array([[0.1, 0.05, -0.15]]), up)
    assert dry == pytest.approx([-0.05], abs=0.26 * CELL)


def test_a_kept_run_is_the_run_and_another_jobs_is_none(
    tmp_path: Path, braking: tuple[FreeSurfaceInputs, FreeSurfaceRun]
) -> None:
    run, path = braking[1], tmp_path / "braking.npz"
    keep_run(run, path, "this")
    back = kept_run(path, "this")
    assert back is not None
    for name in ("times", "cover", "volumes", "ways", "levels"):
        np.testing.assert_array_equal(getattr(back.driven, name), getattr(run.driven, name))
    assert (back.cell, back.parcels, back.steps) == (run.cell, run.parcels, run.steps)
    assert back.worst is not None
    assert run.worst is not None
    np.testing.assert_array_equal(back.worst.from_left, run.worst.from_left)
    assert kept_run(path, "that") is None
    assert kept_run(tmp_path / "none.npz", "this") is None
    path.write_bytes(path.read_bytes()[:1000])
    assert kept_run(path, "this") is None


@pytest.mark.expected_from("property", "a run that was stopped goes on to the same film")
def test_a_stopped_run_goes_on_with_its_film(tmp_path: Path) -> None:
    pan, whole = two()
    given = inputs(pan, whole, still(0.2, (0.5 * G, 0.0, -G)), 0.3 * 0.12 * 0.04)
    free_surface_run(given, replay=tmp_path / "whole.replay")
    half, film = tmp_path / "half.npz", tmp_path / "parts.replay"

    def stop(progress: object) -> None:
        if getattr(progress, "done", 0.0) > 0.13:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        free_surface_run(given, stop, checkpoint=half, checkpoint_each=0.04, replay=film)
    free_surface_run(given, resume=half, replay=film)
    assert film.read_bytes() == (tmp_path / "whole.replay").read_bytes()
    assert Replay(film).times[-1] == pytest.approx(0.2, abs=0.05)
