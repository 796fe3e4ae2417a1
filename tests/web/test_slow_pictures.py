"""What slow work found, as pictures: the build in its order, and the free surface's frames by their place."""

from __future__ import annotations

import zlib
from base64 import b64decode
from types import SimpleNamespace

import numpy as np
import pytest

from sumpwright.findings import Finding, StageReport, Verdict
from sumpwright.motion.free_surface.domain import Domain
from sumpwright.motion.free_surface.replay import ReplayWriter
from sumpwright.web import replay_picture as replays
from sumpwright.web.build_picture import build_picture
from sumpwright.web.slow_process import FreeSurfaceDone, free_surface_name
from sumpwright.web.snapshot import Outcome
from sumpwright.web.stage_process import StageDone
from sumpwright.weld.solve import solve
from tests.web.benches import Bench
from tests.weld.made_pans import pan_kit, weld_inputs


def said(code: str) -> StageReport:
    finding = Finding(
        code=code, verdict=Verdict.FAILS, where="here", says="It does", how_sure="Sure.", source="derived"
    )
    return StageReport(findings=(finding,))


def driven(bench: Bench, name: str) -> None:
    """As if the slow process had driven the pan for the inputs of this name."""
    bench.bench.told(StageDone(1, "drive", name, (SimpleNamespace(runs=(), compartments=()), said("MOT-11"))))


def test_slow_figures_are_old_by_what_they_rest_on_and_not_by_any_change(tmp_path):
    bench = Bench(tmp_path)
    bench.bench._slow_names_known({"drive": "as it was"})
    driven(bench, "as it was")
    assert not bench.bench.snapshot().is_stale("drive")
    bench.put("job.name", "Another name")
    assert not bench.bench.snapshot().is_stale("drive")
    bench.bench._slow_names_known({"drive": "other walls"})
    now = bench.bench.snapshot()
    assert now.is_stale("drive")
    motion = now.said()["motion"]
    assert not motion.findings
    assert [finding.code for finding in motion.old] == ["MOT-11"]
    assert "from before a change" in motion.tally
    bench.bench._slow_names_known({"drive": "as it was"})  # taken back
    assert bench.bench.snapshot().said()["motion"].old == ()


def test_the_free_surface_is_old_where_other_cells_are_asked(tmp_path):
    bench = Bench(tmp_path)
    bench.bench._slow_names_known({"drive": "walls"})
    driven(bench, "walls")
    job = bench.bench.snapshot().job
    result = SimpleNamespace(cases=())
    bench.bench.told(FreeSurfaceDone(free_surface_name("walls", job), result, said("MOT-20")))
    assert not bench.bench.snapshot().is_free_old
    assert [one.code for one in bench.bench.snapshot().said()["motion"].findings] == ["MOT-11", "MOT-20"]
    bench.put("free_surface.cell", "7 mm")
    now = bench.bench.snapshot()
    assert now.is_free_old
    assert not now.is_stale("drive")
    assert [one.code for one in now.said()["motion"].old] == ["MOT-20"]


@pytest.fixture
def with_replay(tmp_path, monkeypatch):
    bench = Bench(tmp_path)
    folder = bench.job / replays.FOLDER
    folder.mkdir()
    rng = np.random.default_rng(3)
    share = np.where(rng.random((5, 4, 3)) > 0.4, 1.0, 0.0)
    domain = Domain(
        origin=np.zeros(3),
        cell=0.01,
        open_volume=share,
        open_x=np.zeros((6, 4, 3)),
        open_y=np.zeros((5, 5, 3)),
        open_z=np.zeros((5, 4, 4)),
        host=np.zeros((5, 4, 3), np.int8),
        wall_distance=np.zeros((6, 5, 4)),
    )
    frames = [share * rng.integers(0, 26, share.shape) / 25 for _ in range(7)]
    with ReplayWriter(folder / "left.replay", domain) as writer:
        for k, frame in enumerate(frames):
            writer.add(0.1 * k, frame, 0.01 * k - 0.02)
    case = SimpleNamespace(name="left circle", replay="left.replay")
    monkeypatch.setattr(replays, "verdict_of_case", lambda _: Verdict.CLOSE)
    monkeypatch.setattr(replays, "_cases", lambda now: (case,))
    return bench, share, frames


@pytest.mark.expected_from("property", "a frame taken from its place is the one that was written")
def test_every_moment_is_found_by_its_place_in_the_file(with_replay):
    bench, share, frames = with_replay
    now = bench.bench.snapshot()
    run = replays.replay_picture(now, "r").runs[0]
    bits = np.unpackbits(np.frombuffer(zlib.decompress(b64decode(run.open_cells)), np.uint8))
    assert np.array_equal(bits[: share.size].astype(bool), share.ravel() > 0)
    assert run.shape == share.shape
    assert run.cover_mm == [-20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0]
    places = list(zip(run.places[::2], run.places[1::2], strict=True))
    for k in (6, 0, 3):
        raw = replays.replay_part(now, "left circle", *places[k])
        assert raw is not None
        values = np.frombuffer(zlib.decompress(raw), np.uint8) / 200
        assert np.allclose(values, frames[k][share > 0], atol=1e-9)


def test_no_other_file_is_handed_out_as_a_replay(with_replay):
    bench, _, _ = with_replay
    now = bench.bench.snapshot()
    for name in ("../job.toml", "left.replay", "", "right circle"):
        assert replays.replay_part(now, name, 0, 10) is None
    assert replays.replay_part(now, "left circle", 10**9, 10) == b""
    (bench.job / replays.FOLDER / "left.replay").unlink()
    assert replays.replay_part(now, "left circle", 0, 10) is None
    assert "no longer in the folder" in replays.replay_picture(now, "r").why_not


def test_the_build_is_shown_in_the_order_of_the_plan(tmp_path):
    kit = pan_kit([(0.0, 0.0), (0.3, 0.0), (0.3, 0.2), (0.0, 0.2)], 0.1)
    weld = solve(weld_inputs(), kit)
    bench = Bench(tmp_path)
    bench.bench._outcomes["weld"] = Outcome(1, "w", weld, StageReport())
    bench.bench._slow_names_known({"weld": "w"})
    picture = build_picture(bench.bench.snapshot(), "r")
    welds = [step for step in picture.steps if step.action == "weld"]
    turns = [picture.seams[step.seam].turn for step in welds]
    assert turns == sorted(turns) == list(range(1, len(turns) + 1))
    for step in welds:
        assert f"Weld {picture.seams[step.seam].turn}: " in step.says
    numbers = [step.number for step in picture.steps if step.action != "stop"]
    assert numbers == sorted(numbers)
    stops = [step for step in picture.steps if step.action == "stop"]
    assert len(stops) == len(weld.plan.hold_points)
    assert all(step.checks for step in stops)
    assert picture.steps.index(stops[-1]) > picture.steps.index(welds[-1])
    assert all(len(step.holds) > 0 for step in welds)
    assert picture.torch is not None
    # Parts that are not there any more are not welded in the picture.
    bench.bench._slow_names_known({"weld": "other"})
    assert build_picture(bench.bench.snapshot(), "r").steps == []
