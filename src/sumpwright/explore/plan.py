"""From a plan file and its job to a question, with every fault of the plan told at once."""

from __future__ import annotations

import json
import pickle
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from sumpwright.explore.answers import ANSWERS, BY_NAME, in_order
from sumpwright.explore.model import Axis, Count, Question, Want, Way
from sumpwright.explore.orders import rounds_of, size_of_grid
from sumpwright.explore.trying import JobWork
from sumpwright.flow.changes import Change, changed_data
from sumpwright.flow.fingerprint import fingerprint
from sumpwright.flow.sequence import versions
from sumpwright.job import Job, JobError, read_job
from sumpwright.job.faults import Fault
from sumpwright.job.nearest import nearest
from sumpwright.job.plan_file import BEFORE, PlanFile, Range, Written, WrittenTie, read_limit, read_plan_file
from sumpwright.job.plan_sections import CountsSection
from sumpwright.job.read import JobData, data_of, reread_data
from sumpwright.job.refusals import OpenFile

LARGEST_GRID = 10_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """A plan that can be worked out."""

    path: Path
    job: Job
    question: Question
    work: JobWork
    finalists: int
    taken: tuple[str, ...]  # what was taken because the plan does not say, in words

    @property
    def name(self) -> str:
        """The same for the same variants in the same order, on any machine."""
        question = self.question
        asked: tuple[Any, ...] = (
            self.work.job_name,
            question.way,
            question.variants,
            question.seed,
            repr(self.work.varied),
            repr(self.work.ties),
        )
        if question.way == "search":  # what is found steers what is tried next
            asked += (question.batch, repr(question.counts))
        return fingerprint(*asked)


def read_plan(path: Path) -> Plan:
    """The plan in a folder or of one plan file, with its job.

    Raises JobError with every fault of the plan; where the job itself cannot be read, with those
    that can be told without it, and the job's.
    """
    written = read_plan_file(path)
    try:
        job = read_job(written.job_path)
    except JobError as trouble:  # without a job no key means anything, but the plan's own slips are told too
        raise JobError((*written.file.faults, *trouble.faults), BEFORE) from None
    base = data_of(job)
    file, section = written.file, written.plan
    counts = _counts(written, job)
    _check_keys(written, base)
    way = cast(Way, "grid" if section is None else section.way)
    axes = tuple(
        Axis(
            one.name,
            one.values.count if isinstance(one.values, Range) else len(one.values),
            isinstance(one.values, Range),
        )
        for _, one in written.varied
    )
    variants, taken = _variants(file, way, None if section is None else section.variants, axes, written)
    if file.faults or section is None:
        raise JobError(file.faults, BEFORE)
    varied = tuple(one for _, one in written.varied)
    ties = tuple(tie for _, tie in written.ties)
    work = job_work(base, varied, ties, counts, way != "matters")
    question = Question(axes, counts, work, way, variants, section.batch, section.seed)
    if way == "matters" and rounds_of(question) < 2:
        least = 2 * (len(axes) + 2)
        file.fault(
            ("plan", "variants"),
            f"so few do not tell what matters: two rounds of {len(axes)} inputs are {least} variants, and a "
            f"useful answer takes 64 rounds, {64 * (len(axes) + 2)}",
            good=f"variants = {64 * (len(axes) + 2)}",
        )
        raise JobError(file.faults, BEFORE)
    return Plan(written.path, job, question, work, section.finalists, taken)


def job_work(
    base: JobData,
    varied: tuple[Written, ...],
    ties: tuple[WrittenTie, ...],
    counts: tuple[Count, ...],
    stops_early: bool,
) -> JobWork:
    """The job packed for travel, under a name that changes with the job and with the program."""
    job = base.job
    others = tuple((name, raw) for name, raw in job.texts if name != job.job_file.name)
    # Comments and blanks of the job file change nothing.
    data = json.dumps(base.data, sort_keys=True, default=str)
    name = fingerprint("job", data, others, job.rail.scans, job.rail.pictures, versions())
    return JobWork(name, varied, ties, counts, stops_early, pickle.dumps(base, protocol=5))


def _counts(written: PlanFile, job: Job) -> tuple[Count, ...]:
    """What counts, in the order of the work; faults are noted."""
    file, found = written.file, {}
    for at, section in written.counts:
        name = " ".join(section.answer.casefold().split())
        if name not in BY_NAME:
            near = nearest(name, list(BY_NAME))
            hint = f"; did you mean {near!r}?" if near else ""
            file.fault(
                ("counts", at, "answer"),
                f"no answer is called so{hint}",
                allowed=", ".join(answer.name for answer in ANSWERS),
            )
            continue
        if name in found:
            file.fault(("counts", at, "answer"), "this answer stands here twice")
            continue
        found[name] = _count(file, at, name, section, job.shop.currency)
    objectives = [count for count in found.values() if count.want != "only the limit"]
    if written.counts and found and not objectives:
        file.fault(
            ("counts", written.counts[0][0], "want"),
            "one answer at least must be wanted more or less of, or no variant is better than another",
            good='want = "more"',
            read="",
        )
    return tuple(found[name] for name in in_order(tuple(found)))


def _count(file: OpenFile, at: int, name: str, section: CountsSection, currency: str) -> Count:
    kind = BY_NAME[name]
    want = cast(Want, kind.want if section.want is None else section.want)
    limits: dict[str, float | None] = {"at_least": None, "at_most": None, "alike": None}
    for key in limits:
        text = getattr(section, key)
        if text is not None:
            limits[key] = read_limit(file, at, key, text, kind.kind, currency)
    low, high, alike = limits["at_least"], limits["at_most"], limits["alike"]
    if low is not None and high is not None and low > high:
        file.fault(("counts", at, "at_least"), "'at_least' is more than 'at_most'")
    if alike is not None and alike <= 0.0:
        file.fault(("counts", at, "alike"), "a difference that does not count is more than nothing")
    if want == "only the limit" and section.at_least is None and section.at_most is None:
        file.fault(
            ("counts", at, "want"), "only the limit counts, and none is given", good='at_least = "..."'
        )
    return Count(name, want, low, high, section.limit == "hard", alike)


def _check_keys(written: PlanFile, base: JobData) -> None:
    """Each key must be one of the job's, and hold the values that it is to have."""
    file = written.file
    ties = tuple(tie for _, tie in written.ties)
    for at, one in written.varied:
        if isinstance(one.values, Range):
            for key in one.keys:
                ends = (("least", 0), ("most", one.values.count - 1))
                for name, k in ends:
                    if not _may_stand(file, ("vary", at, name), key, one.values.text(k), base):
                        break
        else:
            for k, choice in enumerate(one.values):
                for key, text in choice.sets:
                    _may_stand(file, ("vary", at, "choices", k), key, text, base)
    leaders = {one.name: one.values for _, one in written.varied}
    for at, tie in written.ties:
        values = leaders[tie.follows]
        assert isinstance(values, Range)
        for k in (0, values.count - 1):
            if not _may_stand(file, ("tie", at, "key"), tie.key, values.text(k, tie.times, tie.plus), base):
                break
    keys = [key for _, one in written.varied for key in one.keys] + [tie.key for tie in ties]
    for at, tie in written.ties:
        if keys.count(tie.key) > 1:
            file.fault(("tie", at, "key"), "this key is varied or tied elsewhere too")


def _may_stand(file: OpenFile, place: tuple[str | int, ...], key: str, text: str, base: JobData) -> bool:
    """Whether the job's reader takes this value at this key; if not, his reason is noted."""
    try:
        data = changed_data(base.data, Change(key, text))
    except ValueError as trouble:
        file.fault(place, f"the job file has no such place: {trouble}")
        return False
    try:
        reread_data(base, data)
    except JobError as trouble:
        first = _own_fault(trouble, key, data)
        if first is not None:
            file.fault(
                place, f'{key} = "{text}" cannot stand in the job file: {first.rule}', allowed=first.allowed
            )
            return False
    return True


def _own_fault(trouble: JobError, key: str, data: Mapping[str, Any]) -> Fault | None:
    """The first fault that is this key's own; what only does not go with other keys is left to the run."""
    for fault in trouble.faults:
        if fault.key and (fault.key == key or _same_place(fault.key, key)):
            return fault
    return None


def _same_place(one: str, other: str) -> bool:
    """Whether two keys mean the same, quotes aside, or one lies inside the other."""
    a, b = one.replace('"', ""), other.replace('"', "")
    return a == b or a.startswith(f"{b}.") or b.startswith(f"{a}.")


def _variants(
    file: OpenFile, way: Way, asked: int | None, axes: tuple[Axis, ...], written: PlanFile
) -> tuple[int, tuple[str, ...]]:
    """How many variants, and what was taken because the plan does not say."""
    taken = [
        f"{one.name}: the range has no step, so it is cut into a thousand"
        for _, one in written.varied
        if isinstance(one.values, Range) and not one.values.has_own_step
    ]
    if way == "grid":
        for at, one in written.varied:
            if isinstance(one.values, Range) and not one.values.has_own_step:
                file.fault(("vary", at), "a grid wants a step", good='step = "5 mm"', read="")
        size = size_of_grid(axes)
        if size > LARGEST_GRID:
            file.fault(
                ("plan", "way"),
                f"the grid has {size:,} variants, more than {LARGEST_GRID:,}; take wider steps, or a spread",
                good='way = "spread"',
            )
        if asked is not None:
            file.fault(("plan", "variants"), "a grid has as many variants as its steps make; leave this out")
        return size, ()
    if asked is None and file.data.get("plan"):
        file.fault(
            ("plan",), f"how many variants is not said, and a {way} wants it", good="variants = 200", read=""
        )
    return asked or 1, tuple(taken)
