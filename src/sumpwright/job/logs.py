"""Reading logged laps: the named columns of a csv file in base SI, or what is wrong with them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from sumpwright.job.drive_sections import DriveSection
from sumpwright.job.faults import Fault
from sumpwright.job.files import read_bytes
from sumpwright.job.nearest import nearest
from sumpwright.job.refusals import OpenFile
from sumpwright.motion.logs import Log, notes_of
from sumpwright.quantities import STANDARD_GRAVITY
from sumpwright.quantities.units import FloatArray, frozen_array

LARGEST_LOG = 256 * 1024 * 1024
MOST_LINES = 3_000_000

_SPEED = {"km/h": 1.0 / 3.6, "mph": 0.44704, "m/s": 1.0}
_PRESSURE = {"bar": 1e5, "kPa": 1e3, "psi": 6894.757293168361}


def read_logs(
    folder: Path,
    found: dict[str, bytes | Fault],
    job_open: OpenFile,
    sections: tuple[DriveSection | None, ...],
) -> tuple[Log, ...]:
    """The logs of the job's drives; faults are noted in ``job_open``."""
    logs = []
    for at, section in enumerate(sections):
        if section is None:
            continue
        if "/" in section.log or "\\" in section.log or section.log in (".", ".."):
            job_open.fault(
                ("drives", at, "log"),
                "the log stands beside the job file: only its name is wanted here",
                'log = "lap3.csv"',
            )
            continue
        if section.log not in found:
            found[section.log] = read_bytes(folder / section.log, folder, "the log", LARGEST_LOG)
        raw = found[section.log]
        if isinstance(raw, Fault):
            job_open.faults.append(raw)
            continue
        log = _read_log(raw, section, at, job_open)
        if log is not None:
            logs.append(log)
    return tuple(logs)


def _read_log(raw: bytes, section: DriveSection, at: int, job_open: OpenFile) -> Log | None:
    head, _, body = raw.partition(b"\n")
    try:
        first = head.decode("utf-8-sig").strip()
    except UnicodeDecodeError:
        job_open.fault(
            ("drives", at, "log"), "the log's first line is no text; save it as a csv file in UTF-8"
        )
        return None
    mark = max(",;\t", key=first.count)
    names = [name.strip().strip('"') for name in first.split(mark)]
    wanted = {
        key: getattr(section, key)
        for key in ("time", "forward", "left", "up", "engine_speed", "yaw_rate", "speed", "pressure")
        if getattr(section, key) is not None
    }
    missing = False
    for key, column in wanted.items():
        if column not in names:
            near = nearest(column, names)
            hint = f"; did you mean {near!r}?" if near else ""
            job_open.fault(
                ("drives", at, key),
                f"the log has no such column{hint}",
                allowed="the columns " + ", ".join(name[:20] for name in names[:12]),
            )
            missing = True
    if missing:
        return None
    lines = body.count(b"\n")
    if lines > MOST_LINES:
        job_open.fault(("drives", at, "log"), f"the log has more than {MOST_LINES:,} lines; cut out the lap")
        return None
    if not body.strip():
        job_open.fault(("drives", at, "log"), "the log has no lines of numbers")
        return None
    try:
        table = np.loadtxt(
            body.decode("utf-8", "strict").splitlines(),
            delimiter=mark,
            usecols=[names.index(column) for column in wanted.values()],
            ndmin=2,
            comments=None,
        )
    except (ValueError, UnicodeDecodeError) as trouble:
        said = str(trouble).split(";")[0][:80]
        job_open.fault(
            ("drives", at, "log"), f"a line of the log is no row of numbers with decimal points: {said}"
        )
        return None
    columns = {key: table[:, k] for k, key in enumerate(wanted)}
    if not np.isfinite(table).all():
        line = int(np.argmin(np.isfinite(table).all(axis=1))) + 2
        job_open.fault(("drives", at, "log"), f"line {line} of the log holds something that is no number")
        return None
    log = _in_si(section, columns)
    for note in notes_of(log):
        if note.is_fault:
            job_open.fault(("drives", at, "log"), note.says)
    return log


def _in_si(section: DriveSection, columns: dict[str, FloatArray]) -> Log:
    size = STANDARD_GRAVITY if section.accelerations_in == "g" else 1.0

    def sign(given: str, plain: str) -> float:
        return 1.0 if given == plain else -1.0

    def maybe(key: str, factor: float) -> FloatArray | None:
        return frozen_array(columns[key] * factor) if key in columns else None

    return Log(
        name=section.name,
        times=frozen_array(columns["time"] * (1e-3 if section.time_in == "ms" else 1.0)),
        forward=frozen_array(columns["forward"] * size * sign(section.forward_means, "accelerating")),
        left=frozen_array(columns["left"] * size * sign(section.left_means, "left turn")),
        up=maybe("up", size * sign(section.up_means, "up")),
        has_gravity=section.gravity == "in the log",
        engine_speed=maybe("engine_speed", 1.0 / 60.0),
        yaw_rate=maybe(
            "yaw_rate",
            (math.pi / 180.0 if section.yaw_in == "deg/s" else 1.0) * sign(section.yaw_means, "turning left"),
        ),
        speed=maybe("speed", _SPEED[section.speed_in]),
        pressure=maybe("pressure", _PRESSURE[section.pressure_in]),
        sensor_from_pan=(section.sensor_ahead or 0.0, section.sensor_left or 0.0),
    )
