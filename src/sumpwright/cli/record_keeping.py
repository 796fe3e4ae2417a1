"""Behind the command ``record``: a form to fill in, and the keeping of what was filled in."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from pathlib import Path

from sumpwright.cli.progress import Display


def keep(path: Path, readings: Path | None) -> int:
    """Lay out the form where there is none; otherwise keep what stands in it and say what it means."""
    from sumpwright.flow import exit_status, run
    from sumpwright.job import Fault, JobError, read_job
    from sumpwright.job.files import as_text, read_bytes
    from sumpwright.job.record_files import FORM, is_blank, read_form, store
    from sumpwright.job.record_form import blank_form
    from sumpwright.outputs.terminal import print_findings

    with Display() as display:
        display.says("reading the job")
        job = read_job(path)
    setting = job.setting
    form = job.folder / FORM if readings is None else readings
    if readings is None and not form.exists() and not form.is_symlink():
        _lay_down(form, blank_form(job.name, setting))
        print(f"Laid out {form}: the bench sheet's fields, to type into.")
        print(f"Next: fill it in, then again: sumpwright record {path}")
        return 0
    raw = read_bytes(form, form.parent, "the readings")
    text = raw if isinstance(raw, Fault) else as_text(raw, form.name, "the readings")
    if isinstance(text, Fault):
        raise JobError([text], "these readings can be kept")
    built = read_form(text, form.name, job.name, setting)
    missing = [log for log in built.logs if not (job.folder / log).is_file()]
    if missing:
        raise JobError(
            [
                Fault(
                    form.name, None, "logs", log, "this log is not in the job's folder", good="copy it there"
                )
                for log in missing
            ],
            "these readings can be kept",
        )
    if is_blank(built):
        raise JobError(
            [Fault(form.name, None, "", "", "nothing is filled in yet: every line still has its #")],
            "these readings can be kept",
        )
    kept = store(job.folder, text)
    with Display() as display:
        display.says("reading the job")
        job = read_job(path)
        unmarked = replace(job, kit=replace(job.kit, etched=False))
        results = run(unmarked, ("proof",), on_progress=display.stage)
    results = replace(
        results, findings=tuple(one for one in results.findings if one.code.startswith("PROOF"))
    )
    print_findings(job, results, sys.stdout)
    print(f"Kept as {kept}")
    return exit_status(results.findings)


def _lay_down(path: Path, text: str) -> None:
    """A new file, whole or not at all; never over one that is there."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("xb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        os.link(part, path)
    finally:
        part.unlink(missing_ok=True)
