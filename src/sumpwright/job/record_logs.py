"""Pressure logs that the record names: read like the job's own drives, or why they cannot be."""

from __future__ import annotations

from pathlib import Path

from sumpwright.job.drive_sections import DriveSection
from sumpwright.job.fields import Setting
from sumpwright.job.files import as_toml
from sumpwright.job.logs import read_logs
from sumpwright.job.record_files import entries
from sumpwright.job.record_sections import LogSection
from sumpwright.job.refusals import OpenFile
from sumpwright.motion.logs import Log

NEEDED = ("time", "forward", "left", "accelerations_in", "gravity")
"""Without these nobody knows which column is what."""


def logs_of_record(
    folder: Path, setting: Setting, already: frozenset[str]
) -> tuple[tuple[Log, ...], tuple[tuple[str, str], ...]]:
    """The logs named in the record that the job's drives do not name, and (file, why not) of the others.

    The newest word on each file counts. A log that the job file's [[drives]] read is left to them.
    """
    newest: dict[str, tuple[str, LogSection]] = {}
    for entry in entries(folder)[0]:
        toml = as_toml(entry.text, entry.name, "the record")
        rows = [] if toml.data is None else toml.data.get("logs", [])
        for at, row in enumerate(rows if isinstance(rows, list) else []):
            file = OpenFile(entry.name, toml.text, toml.data or {})
            section = file.take(LogSection, row, ("logs", at), setting)
            if isinstance(section, LogSection):
                newest[section.file] = (entry.name, section)
    found: list[Log] = []
    trouble: list[tuple[str, str]] = []
    for name, (where, section) in newest.items():
        if name in already:
            continue
        missing = [key for key in NEEDED if getattr(section, key) is None]
        if missing:
            trouble.append((name, "which column is what is not written down: " + ", ".join(missing)))
            continue
        if section.pressure is None:
            trouble.append((name, "no column of the oil pressure is named"))
            continue
        values = section.model_dump(exclude={"file"})
        drive = DriveSection.model_construct(name=name, log=name, **values)
        file = OpenFile(where, "", {})
        logs = read_logs(folder, {}, file, (drive,))
        if file.faults or not logs:
            trouble.append((name, file.faults[0].rule if file.faults else "it cannot be read"))
        found += logs
    return tuple(found), tuple(trouble)
