"""Behind the command ``record``: a form to fill in, and the keeping of what was filled in."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from sumpwright.cli.progress import Display

if TYPE_CHECKING:
    from sumpwright.flow import Memory, StageName
    from sumpwright.job import Fault, Job
    from sumpwright.proof.model import AsBuilt
    from sumpwright.weld.bow_model import BowResult


def keep(path: Path, readings: Path | None, *, to_shop: bool = False) -> int:
    """Lay out the form where there is none; otherwise keep what stands in it and say what it means."""
    from sumpwright.flow import Memory, exit_status, run
    from sumpwright.job import Fault, JobError, read_job
    from sumpwright.job.files import as_text, read_bytes
    from sumpwright.job.model import without_pack_work
    from sumpwright.job.record_files import FORM, is_blank, read_form, store
    from sumpwright.job.record_form import blank_form
    from sumpwright.job.shop_lesson import refuse_twice
    from sumpwright.motion.drive_check import log_findings
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
    memory = Memory()
    unknown = _unknown_seams(job, built, form.name, memory)
    if unknown:
        raise JobError(unknown, "these readings can be kept")
    if to_shop:
        refuse_twice(job.folder, _pan_name(job, text))
    kept = store(job.folder, text)
    with Display() as display:
        display.says("reading the job")
        job = read_job(path)
        logged = job.proof is not None and job.proof.record is not None and job.proof.record.logs
        stages: tuple[StageName, ...] = (
            *(("drive",) if logged and job.logs else ()),
            *(("bow",) if to_shop else ()),
            "proof",
        )
        quick = without_pack_work(job)
        if quick.bow is not None:
            # A lesson stands beside what would be told without any lesson: lessons do not pile up.
            quick = replace(quick, bow=replace(quick.bow, records=()))
        results = run(quick, stages, on_progress=display.stage, memory=memory)
    bow = results.bow
    of_logs = set() if results.drive is None else {one.code for one in log_findings(results.drive)}
    results = replace(
        results,
        findings=tuple(
            one for one in results.findings if one.code.startswith("PROOF") or one.code in of_logs
        ),
    )
    print_findings(job, results, sys.stdout)
    print(f"Kept as {kept}")
    measured = None if job.proof is None or job.proof.record is None else job.proof.record.bow
    if to_shop:
        print(f"Written into {_taught(job, bow, measured)}: the bow of this pan, for the next one's sheet.")
    elif measured is not None:
        print(f"The bow can teach the next pan's sheet: sumpwright record {path} --to-shop")
    return exit_status(results.findings)


def _unknown_seams(job: Job, built: AsBuilt, name: str, memory: Memory) -> list[Fault]:
    """Seams written down that the pan does not have; none where its seams are not known."""
    from sumpwright.flow import run
    from sumpwright.job.model import without_pack_work
    from sumpwright.job.record_files import unknown_seams
    from sumpwright.proof.seam_names import all_seams

    if job.weld is None or not (built.bubbles or built.settings):
        return []
    with Display() as display:
        results = run(without_pack_work(job), ("kit",), on_progress=display.stage, memory=memory)
    if results.kit is None or not results.kit.parts:
        return []
    seams = all_seams(job.weld, results.kit)
    return unknown_seams(built, name, seams) if seams else []


def _taught(job: Job, bow: BowResult | None, measured: float | None) -> Path:
    """Write the measured bow beside the told one into the shop file."""
    from sumpwright.job import Fault, JobError
    from sumpwright.job.shop_lesson import BowLesson, teach_shop

    before = "the bow can go into the shop file"
    if measured is None:
        rule = "no bow off the strongback is written down yet"
        raise JobError([Fault("record", None, "pan.bow", "", rule, good='bow = "0.4 mm"')], before)
    if bow is None or bow.trouble:
        rule = "what the sheet tells of this pan's bow cannot be worked out, so there is nothing to compare"
        raise JobError([Fault("record", None, "pan.bow", "", rule)], before)
    least, most = bow.released
    return teach_shop(job.folder, BowLesson(_pan_name(job, ""), job.kit.material, least, most, measured))


def _pan_name(job: Job, text: str) -> str:
    """Which pan: the job's name and the day of its first entry, since a job may be laid out after another."""
    import tomllib

    from sumpwright.job.record_files import entries

    kept, _ = entries(job.folder)
    date = tomllib.loads(kept[0].text if kept else text)["record"]["date"]
    return f"{job.name}, {date}"[:80]


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
