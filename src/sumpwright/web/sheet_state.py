"""The whole sheet as one message, and the parts of it that are sent again when they change."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from sumpwright.flow import STAGES, StageName
from sumpwright.outputs.words import UnitSystem, assumption_words
from sumpwright.web.explored_picture import revision_of
from sumpwright.web.messages import (
    MESSAGES,
    FieldGroup,
    FieldRow,
    JobHead,
    LastChange,
    PackState,
    PictureRevisions,
    ReadingsTable,
    RunState,
    SectionAsks,
    SectionKey,
    SectionSays,
    SheetState,
    SlowState,
    SlowWork,
    VerdictLine,
)
from sumpwright.web.reading_rows import readings_table
from sumpwright.web.said import (
    Said,
    assumption_rows,
    caution_rows,
    fault_rows,
    section_says,
    step_rows,
    verdict_line,
)
from sumpwright.web.section_places import KEY_OF_CODE, SECTION_KEYS
from sumpwright.web.slow_process import DRIVE_STAGES, WELD_STAGES, SlowStep
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.workbench import change_rows

STAGE_SECTION: dict[StageName, SectionKey] = {stage.name: KEY_OF_CODE[stage.code] for stage in STAGES}


def sheet_state(
    now: Snapshot, has_job: bool, slow: SlowWork, step: SlowStep | None, pack: PackState, also_open: int
) -> SheetState:
    """Everything but the pictures."""
    return SheetState(
        messages=MESSAGES,
        has_job=has_job,
        job=job_head(now),
        version=now.version,
        asks=asks_of(now),
        says=[one for key in SECTION_KEYS[1:] if (one := says_of(now, key)) is not None],
        readings=readings_of(now),
        verdict=verdict_of(now),
        run=run_state(now, slow, step),
        faults=fault_rows(now.faults),
        assumptions=[] if now.job is None else assumption_rows(now.results(), now.job.units),
        cautions=caution_rows(),
        changes=change_rows(now.changes),
        undo=now.undo,
        redo=now.redo,
        last_change=last_change(now),
        pictures=revisions(now),
        pack=pack,
        also_open=also_open,
    )


def job_head(now: Snapshot) -> JobHead | None:
    """Which job this is; None while nothing of it could be read."""
    job = now.job
    if job is None:
        return None
    return JobHead(
        name=job.name,
        folder=now.folder.folder.resolve().name,
        job_file=now.folder.job_name,
        shop_file="" if now.files.shop is None else now.files.shop.name,
        units=job.units,
        paper=job.paper,
    )


def units_of(now: Snapshot) -> UnitSystem:
    """What the sheet prints."""
    return "mm" if now.job is None else now.job.units


def asks_of(now: Snapshot) -> list[SectionAsks]:
    """The fields with what stands in for missing ones, and with their faults."""
    taken = {} if now.job is None else _taken(now)
    wrong: dict[tuple[str, str], list[str]] = {}
    for fault in now.faults:
        wrong.setdefault((fault.file, fault.key), []).append(fault.rule)
    if not taken and not wrong:
        return list(now.asks)
    names = {
        kind: "" if (one := now.files.file(kind)) is None else one.name
        for kind in ("job", "shop", "readings")
    }

    def full(row: FieldRow) -> FieldRow:
        says = "" if row.given else taken.get(row.key, "")
        plain = row.key.replace('"', "")
        faults = [*wrong.get((names[row.file], row.key), ()), *wrong.get((names[row.file], plain), ())]
        faults = list(dict.fromkeys(faults))
        return row.model_copy(update={"taken": says, "faults": faults}) if says or faults else row

    def full_group(group: FieldGroup) -> FieldGroup:
        return group.model_copy(update={"fields": [full(row) for row in group.fields]})

    return [
        one.model_copy(update={"groups": [full_group(group) for group in one.groups]}) for one in now.asks
    ]


def says_of(now: Snapshot, key: SectionKey) -> SectionSays | None:
    """What one section says; None before anything was read."""
    if now.job is None:
        return None
    said = now.said().get(key, Said((), False))
    fresh = any(STAGE_SECTION[name] == key for name in now.outcomes)
    # Tables are drawn from results of one state of the files only.
    stages = [name for name, place in STAGE_SECTION.items() if place == key and name in now.outcomes]
    is_whole = fresh and all(_is_quick_and_fresh(now, name) for name in stages)
    results = now.results(with_old=False) if is_whole else None
    old_results = now.results() if is_whole and said.old else None
    return section_says(key, said, now.job, results, old_results, now.proposals())


def verdict_of(now: Snapshot) -> VerdictLine:
    """The line that stays in view."""
    return verdict_line(now.said())


def run_state(now: Snapshot, slow: SlowWork, step: SlowStep | None) -> RunState:
    """Where the work stands."""
    work = now.work
    stage = next((one for one in STAGES if one.name == work.stage), None)
    return RunState(
        generation=work.generation,
        working=None if stage is None else KEY_OF_CODE[stage.code],
        doing="" if stage is None else stage.doing,
        done=min(work.done, work.of),
        of=work.of,
        stale=[key for key, said in now.said().items() if said.stale],
        slow=slow_states(now),
        slow_running=slow,
        slow_doing="" if step is None else step.doing,
        slow_done=0 if step is None else step.done,
        slow_of=0 if step is None else step.of,
    )


def slow_states(now: Snapshot) -> list[SlowState]:
    """How the figures of slow work stand."""

    def state(work: SlowWork, stages: tuple[StageName, ...]) -> SlowState:
        done = all(name in now.outcomes for name in stages)
        return SlowState(work=work, done=done, stale=done and any(map(now.is_stale, stages)))

    has_free = now.free is not None
    return [
        state("drive", DRIVE_STAGES),
        SlowState(work="free surface", done=has_free, stale=has_free and now.is_free_old),
        state("weld", WELD_STAGES),
    ]


def last_change(now: Snapshot) -> LastChange | None:
    """What the last change did."""
    step = now.last_step
    if step is None or now.job is None:
        return None
    return LastChange(
        key=step.key,
        after=step.after[:200],
        steps=step_rows(now.last_pairs, now.job.units),
        seconds=round(now.work.seconds, 3),
    )


def readings_of(now: Snapshot) -> ReadingsTable | None:
    """The readings as rows."""
    one = now.files.readings
    if one is None:
        return None
    outcome = now.outcomes.get("rail")
    rail = None if outcome is None or now.is_stale("rail") else outcome.result
    return readings_table(one.name, one.text, now.faults, rail, units_of(now))


def revisions(now: Snapshot) -> PictureRevisions:
    """Names of the states that the pictures are drawn from."""
    names = {name: outcome.name for name, outcome in now.outcomes.items()}
    free = "" if now.free is None else now.free.made_of

    def of(*stages: StageName, more: str = "") -> str:
        parts = [*(names.get(stage, "-") for stage in stages), more]
        return hashlib.blake2b(" ".join([units_of(now), *parts]).encode(), digest_size=8).hexdigest()

    return PictureRevisions(
        pan=of("rail", "body", "oil"),
        parts=of("kit", "weld"),
        build=of("kit", "weld"),
        rail_plan=of("rail", "body", "kit"),
        cover=of("motion"),
        traces=of("oil", "drive", more=f"{free} {now.is_stale('drive')}"),
        suction=of("suction"),
        explored=revision_of(now.folder.folder),
        replay=of(more=f"{free} {now.is_free_old}"),
    )


def changed_rows(before: dict[tuple[str, str], FieldRow], after: Iterable[FieldRow]) -> list[FieldRow]:
    """Fields whose text is another."""
    found = []
    for row in after:
        old = before.get((row.file, row.key))
        if old is None or (old.text, old.given) != (row.text, row.given):
            found.append(row)
    return found


def _is_quick_and_fresh(now: Snapshot, name: StageName) -> bool:
    stage = next(one for one in STAGES if one.name == name)
    return stage.is_slow or now.outcomes[name].generation == now.generation


def _taken(now: Snapshot) -> dict[str, str]:
    units = units_of(now)
    return {one.key: assumption_words(one, units) for one in now.assumptions()}
