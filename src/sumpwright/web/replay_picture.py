"""The free surface's own runs: where every frame stands in its replay file, to be shown at any moment."""

from __future__ import annotations

import numpy as np

from sumpwright.flow.free_surface import FOLDER
from sumpwright.motion.free_surface.check import verdict_of_case
from sumpwright.motion.free_surface.outcome import FreeSurfaceCase
from sumpwright.motion.free_surface.replay import Replay
from sumpwright.web.picture_messages import ReplayPicture, ReplayRun
from sumpwright.web.said import word_of
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import point_mm

LARGEST_PART = 4 * 1024 * 1024
"""Bytes of a replay file that are handed out at once."""


def replay_picture(now: Snapshot, revision: str) -> ReplayPicture:
    """Every run that belongs to the job as it stands; why not, where there is none."""
    cases = _cases(now)
    if not cases:
        why = (
            "Not worked out yet."
            if now.free is None
            else "Worked out for an earlier state of the files: work it out again to see it."
            if now.is_free_old
            else "No manoeuvre was run."
        )
        return ReplayPicture(revision=revision, why_not=why, runs=[])
    folder = now.folder.folder / FOLDER
    runs = [_run(case, Replay(folder / case.replay)) for case in cases if (folder / case.replay).is_file()]
    why = "" if runs else f"The replay files are no longer in the folder {FOLDER}: work it out again."
    return ReplayPicture(revision=revision, why_not=why, runs=runs)


def replay_part(now: Snapshot, run: str, at: int, size: int) -> bytes | None:
    """Bytes of the replay file of one manoeuvre of the job as it stands; None where there is none."""
    case = next((case for case in _cases(now) if case.name == run), None)
    path = None if case is None else now.folder.folder / FOLDER / case.replay
    if path is None or not path.is_file():
        return None
    with path.open("rb") as file:
        file.seek(at)
        return file.read(min(size, LARGEST_PART))


def _cases(now: Snapshot) -> tuple[FreeSurfaceCase, ...]:
    return () if now.free is None or now.is_free_old else now.free.result.cases


def _run(case: FreeSurfaceCase, replay: Replay) -> ReplayRun:
    nx, ny, nz = replay.shape
    cover = np.nan_to_num(replay.cover, posinf=1.0, neginf=-1.0)
    return ReplayRun(
        name=case.name,
        verdict=word_of(verdict_of_case(case)),
        shape=(int(nx), int(ny), int(nz)),
        origin_mm=point_mm(replay.origin),
        cell_mm=round(replay.cell * 1e3, 4),
        open_cells=replay.open_cells,
        times_s=[round(float(time), 4) for time in replay.times],
        cover_mm=[round(float(one) * 1e3, 2) for one in cover],
        places=replay.places,
    )
