"""The free-surface check of a whole job: what is run, kept, taken up again and put into the pack."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from sumpwright.cli import main
from sumpwright.flow import run
from sumpwright.flow.free_surface import FOLDER, asked_of, replays, run_free_surface, with_kept
from sumpwright.job import Job, JobResults, lay_out, read_job
from sumpwright.motion.free_surface import Replay
from sumpwright.motion.free_surface.model import FreeSurfaceAsked, Progress
from sumpwright.outputs.job_sheet import job_sheet_pdf
from sumpwright.outputs.results_file import results_data
from sumpwright.quantities.units import frozen_array

CELL = 0.018
SECONDS = 0.4


@pytest.fixture(scope="module")
def driven(tmp_path_factory: pytest.TempPathFactory) -> tuple[Job, JobResults]:
    """The first example with its manoeuvres cut to their first moments: this is about files."""
    folder = tmp_path_factory.mktemp("pan") / "job"
    lay_out(folder, "hillclimb-four")
    job = read_job(folder)
    results = run(replace(job, kit=replace(job.kit, etched=False)), ("motion", "drive"))
    assert results.drive is not None
    short = tuple(
        replace(
            one,
            trace=replace(
                one.trace,
                pulls=frozen_array(one.trace.pulls[: round(SECONDS / one.trace.step)]),
                speeds=frozen_array(one.trace.speeds[: round(SECONDS / one.trace.step)]),
            ),
        )
        for one in results.drive.runs
    )
    job = replace(job, free_surface=FreeSurfaceAsked(CELL, (short[0].trace.name, "a lap of honour")))
    return job, replace(results, drive=replace(results.drive, runs=short))


@pytest.mark.expected_from("property", "what was kept is what was run")
def test_a_run_is_kept_shown_again_and_packed(driven: tuple[Job, JobResults]) -> None:
    job, results = driven
    assert with_kept(job, results) is results  # nothing was ever run
    told: list[Progress] = []
    found = run_free_surface(job, results, CELL, told.append)
    assert told[-1].done == pytest.approx(SECONDS, abs=0.03)
    assert found.free_surface is not None
    assert [one.name for one in found.free_surface.cases] == [job.free_surface.manoeuvres[0]]
    codes = [finding.code for finding in found.findings]
    assert {"MOT-20", "MOT-21", "MOT-23", "MOT-25"} <= set(codes)
    assert codes.index("MOT-20") > max(k for k, code in enumerate(codes) if code == "MOT-11")
    unknown = next(finding for finding in found.findings if finding.code == "MOT-25")
    assert unknown.where.endswith("a lap of honour")

    again = run_free_surface(job, results, CELL, lambda _: pytest.fail("it was kept"))
    assert again.free_surface is not None
    kept = with_kept(job, results)
    assert kept.free_surface is not None
    assert kept.findings == again.findings == found.findings
    np.testing.assert_array_equal(
        kept.free_surface.cases[0].run.driven.cover, found.free_surface.cases[0].run.driven.cover
    )
    films = replays(job, kept)
    assert list(films) == [f"replay/{kept.free_surface.cases[0].replay}"]
    film = Replay(job.job_file.parent / FOLDER / kept.free_surface.cases[0].replay)
    assert film.cell == CELL

    assert results_data(job, kept)["motion"] is not None
    part = results_data(job, kept)["motion"]["free_surface"]  # type: ignore[index]
    assert part is not None
    assert part["manoeuvres"][0]["parcels"] > 1000
    assert part["not_run"][0]["name"] == "a lap of honour"
    assert len(job_sheet_pdf(job, kept)) > len(job_sheet_pdf(job, results)) + 2000

    other = replace(job, free_surface=replace(job.free_surface, cell=0.019))
    outdated = with_kept(other, results)
    assert outdated.free_surface is not None
    assert not outdated.free_surface.cases
    assert "MOT-26" in [finding.code for finding in outdated.findings]


def test_without_names_the_three_worst_are_asked(driven: tuple[Job, JobResults]) -> None:
    job, results = driven
    asked = asked_of(replace(job, free_surface=FreeSurfaceAsked(CELL)), results, CELL)
    assert len(asked) == 3
    assert results.drive is not None
    worst = sorted(results.drive.runs, key=lambda one: -one.uncovered_most)
    assert asked[0].driving.uncovered_most == worst[0].uncovered_most
    assert len({one.made_of for one in asked}) == 3
    assert asked_of(job, replace(results, drive=None), CELL) == ()


def test_a_job_that_cannot_be_driven_says_so(driven: tuple[Job, JobResults]) -> None:
    job, results = driven
    found = run_free_surface(job, replace(results, drive=None), CELL)
    assert "MOT-25" in [finding.code for finding in found.findings]


@pytest.mark.parametrize("argv", [["--minutes", "3"], ["--on", "card"], ["--free-surface", "--minutes", "0"]])
def test_minutes_are_for_the_free_surface_and_some(tmp_path: Path, capsys, argv: list[str]) -> None:  # type: ignore[no-untyped-def]
    lay_out(tmp_path / "job", "hillclimb-four")
    before = (tmp_path / "job" / "job.toml").read_bytes()
    assert main(["drive", str(tmp_path / "job"), *argv]) == 2
    assert "--minutes" in capsys.readouterr().err
    assert (tmp_path / "job" / "job.toml").read_bytes() == before


@pytest.mark.expected_from("property", "the cell that was written is the cell that is read")
def test_the_cell_is_written_into_the_job_and_nothing_else_changes(tmp_path: Path) -> None:
    from sumpwright.cli.moving_oil import _with_cell

    lay_out(tmp_path / "job", "hillclimb-four")
    path = tmp_path / "job" / "job.toml"
    before = path.read_text("utf-8")
    job = _with_cell(read_job(path), 0.0084)
    assert job.free_surface.cell == pytest.approx(0.0084)
    after = path.read_text("utf-8")
    assert after.startswith(before.rstrip())
    assert after.rstrip().endswith('[free_surface]\ncell = "8.4 mm"')
    again = _with_cell(job, 0.01)
    assert again.free_surface.cell == pytest.approx(0.01)
    assert path.read_text("utf-8").count("[free_surface]") == 1
    assert read_job(path).free_surface == again.free_surface


def test_without_a_card_that_is_what_is_said(driven: tuple[Job, JobResults]) -> None:
    job, results = driven
    try:
        import cupy  # noqa: F401
    except ImportError:
        pass
    else:
        pytest.skip("not run: CuPy is installed here")
    job = replace(job, free_surface=FreeSurfaceAsked(0.02, job.free_surface.manoeuvres[:1]))
    found = run_free_surface(job, results, 0.02, engine="card")
    said = next(finding for finding in found.findings if finding.code == "MOT-25")
    assert "not installed" in said.says
    assert said.verdict == "cannot say"
