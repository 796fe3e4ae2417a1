"""The free surface's own run, frame by frame, as the command line left it in the job folder."""

from __future__ import annotations

import base64

import numpy as np

from sumpwright.flow.free_surface import FOLDER, is_drivable, with_kept
from sumpwright.motion.free_surface.replay import FULL, Replay
from sumpwright.web.picture_messages import ReplayPicture
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.wire_numbers import point_mm

MOST_FRAMES = 160
"""More would take long to send and is not seen."""


def replay_picture(now: Snapshot, revision: str) -> ReplayPicture:
    """The run of the worst manoeuvre that belongs to the job as it stands; why not, where there is none."""
    results, job = now.results(), now.job
    if job is None or not is_drivable(results) or now.is_stale("drive"):
        return _none(revision, "Drive the pan first: the free surface starts from what was driven.")
    found = with_kept(job, results).free_surface
    cases = () if found is None else found.cases
    folder = job.job_file.parent / FOLDER
    for case in cases:
        path = folder / case.replay
        if path.is_file():
            return _read(revision, case.replay.removesuffix(".replay").replace("-", " "), Replay(path))
    return _none(
        revision,
        "No free-surface run belongs to the job as it stands: sumpwright drive --free-surface makes one.",
    )


def revision_of(now: Snapshot) -> str:
    """Changes whenever a run is kept."""
    folder = now.folder.folder / FOLDER
    return str(folder.stat().st_mtime_ns) if folder.is_dir() else ""


def _read(revision: str, name: str, replay: Replay) -> ReplayPicture:
    count = len(replay.times)
    rows = sorted({round(at) for at in np.linspace(0, count - 1, min(count, MOST_FRAMES)).tolist()})
    frames = [replay.frame(row) for row in rows]
    is_open = np.zeros(replay.shape, dtype=np.bool_)
    for frame in frames:
        is_open |= frame > 0.0  # cells that are wet at some time are all there is to draw
    nx, ny, nz = replay.shape
    return ReplayPicture(
        revision=revision,
        available=bool(frames),
        why_not="" if frames else "The run holds no frame.",
        name=name,
        shape=(int(nx), int(ny), int(nz)),
        origin_mm=point_mm(replay.origin),
        cell_mm=round(replay.cell * 1e3, 4),
        cells=np.flatnonzero(is_open.ravel()).tolist(),
        times_s=[round(float(replay.times[row]), 4) for row in rows],
        cover_mm=[
            round(float(np.nan_to_num(replay.cover[row], posinf=1.0, neginf=-1.0)) * 1e3, 2) for row in rows
        ],
        frames=[_bytes(frame[is_open]) for frame in frames],
    )


def _bytes(shares: np.ndarray) -> str:
    full = np.rint(np.clip(shares, 0.0, 1.0) * FULL).astype(np.uint8)
    return base64.b64encode(full.tobytes()).decode("ascii")


def _none(revision: str, why_not: str) -> ReplayPicture:
    return ReplayPicture(
        revision=revision, available=False, why_not=why_not, name="", shape=(0, 0, 0),
        origin_mm=(0.0, 0.0, 0.0), cell_mm=0.0, cells=[], times_s=[], cover_mm=[], frames=[],
    )  # fmt: skip
