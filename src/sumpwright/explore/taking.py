"""Take this one: the job file of a variant."""

from __future__ import annotations

from pathlib import Path

from sumpwright.explore.model import Levels
from sumpwright.explore.plan import Plan
from sumpwright.explore.store import Store
from sumpwright.flow.changes import Change, changed_text
from sumpwright.job import JobError
from sumpwright.job.faults import Fault
from sumpwright.job.plan_file import Range

_BEFORE = "this variant can be taken"


def text_of(plan: Plan, store: Store, number: int) -> str:
    """The job file's text with this variant's values; comments and order stay as they are."""
    text = next(raw for name, raw in plan.job.texts if name == plan.job.job_file.name).decode("utf-8-sig")
    for key, value in plan.work.sets(levels_of(plan, store, number)):
        text = changed_text(text, Change(key, value))
    return text


def levels_of(plan: Plan, store: Store, number: int) -> Levels:
    """The variant of this number. Raises JobError where it was never tried."""
    says = store.says(plan.name, number)
    if says is None:
        raise JobError(
            [
                Fault(
                    plan.path.name, None, "", f"{number}", "no variant of this plan has this number yet",
                    "a number from the list that 'explore' prints",
                )
            ],
            _BEFORE,
        )  # fmt: skip
    levels = []
    for written, word in zip(plan.work.varied, says, strict=True):
        values = written.values
        if isinstance(values, Range):
            levels.append(next(k for k in range(values.count) if values.text(k) == word))
        else:
            levels.append([choice.name for choice in values].index(word))
    return tuple(levels)


def take(plan: Plan, store: Store, number: int) -> Path:
    """Write the variant's job file beside the job's own, and return where it stands.

    A file that is there already is left alone: JobError.
    """
    text = text_of(plan, store, number)
    path = plan.job.job_file.with_name(f"{plan.job.job_file.stem}-{number}.toml")
    try:
        with path.open("x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise JobError(
            [Fault(path.name, None, "", "", "a file of this name is there already; move it elsewhere first")],
            _BEFORE,
        ) from None
    return path
