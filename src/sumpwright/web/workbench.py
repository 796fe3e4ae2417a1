"""One open job: its files, what was changed, what was worked out, and who wants to hear of it.

Files are only written under the lock, after they were read again: what an editor outside
or another tab has changed meanwhile is taken in first, merged where it stands elsewhere,
and asked about where it is the same place.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from sumpwright.findings import Finding
from sumpwright.flow import STAGES, StageName
from sumpwright.flow.changes import FindingPair, pair_up
from sumpwright.job import Fault, Job, JobError, read_job_with
from sumpwright.web.drags import edits_of_drag
from sumpwright.web.edit_faults import EditRefusedError
from sumpwright.web.edits import PlainEdit, asked_about, changed_files, label_of
from sumpwright.web.fields import GroupStore, all_rows, asked
from sumpwright.web.held_files import one_at_a_time
from sumpwright.web.history import By, History, Rewritten, Step
from sumpwright.web.job_folder import FileSet, JobFolder, Signature
from sumpwright.web.merging import merged
from sumpwright.web.messages import (
    Asked,
    ChangeRow,
    DragTo,
    Edit,
    EditAnswer,
    EditRequest,
    FieldRow,
    FileKind,
    SectionAsks,
    SetKey,
    SlowWork,
)
from sumpwright.web.said import fault_rows
from sumpwright.web.section_places import KEY_OF_CODE
from sumpwright.web.slow_process import (
    CELL_KEY,
    DRIVE_STAGES,
    WELD_STAGES,
    CellChosen,
    FreeSurfaceDone,
    SlowDone,
    SlowStep,
)
from sumpwright.web.snapshot import Outcome, Snapshot, Work
from sumpwright.web.stage_process import Given, RunBroken, RunDone, StageBegun, StageDone, Tried
from sumpwright.web.workers import Ended, Workers, first_stages, metal_stages

MOST_BREAKS = 2
"""So often a process may break over one state of the files before it is left alone."""

FILE_KINDS: tuple[FileKind, ...] = ("job", "shop", "readings")
SLOW_WORDS: Mapping[SlowWork, str] = {
    "drive": "the pan is being driven",
    "weld": "the welds are being planned",
    "free surface": "the free surface is being worked out",
    "pack": "the shop pack is being written",
}

Listener = Callable[[str, Any], None]
"""Called with what happened and what goes with it; from any thread."""


class Workbench:
    """The one open job."""

    def __init__(self, path: Path, listen: Listener, workers: Workers | None = None) -> None:
        """Reads nothing yet; ``open`` does."""
        self.folder = JobFolder.at(path)
        self.lock = threading.RLock()
        self._listen = listen
        self.workers = Workers(self.told) if workers is None else workers
        self._files = FileSet(None, None, None)
        self._version = ""
        self._signature: Signature = ()
        self._job: Job | None = None
        self._faults: tuple[Fault, ...] = ()
        self._outcomes: dict[StageName, Outcome] = {}
        self._lacking: tuple[Finding, ...] = ()
        self._work = Work()
        self._history = History(self.folder.folder)
        self._asks: tuple[SectionAsks, ...] = ()
        self._groups = GroupStore()
        self._before_change: tuple[Finding, ...] = ()
        self._last_pairs: tuple[FindingPair, ...] = ()
        self._last_step: Step | None = None
        self._try_number = 0
        self._tried: dict[int, Tried] = {}
        self._answers = threading.Condition(self.lock)
        self.others = 0  # job sheets that are open on the same folder beside this one
        self._slow_names: dict[StageName, str] = {}
        self._free: FreeSurfaceDone | None = None
        self.slow: SlowWork = ""  # what runs now
        self.slow_step: SlowStep | None = None  # how far it is

    # ------------------------------------------------------------ the files

    @property
    def has_job(self) -> bool:
        """Whether a job lies in the folder."""
        return self.folder.has_job

    def open(self) -> None:
        """Read the job and begin to work it out; a folder without one is left alone."""
        with self.lock:
            self.workers.start()
            if self.has_job:
                self.open_files()

    def open_files(self) -> None:
        """Read the files and whatever a crash left of the list of changes."""
        with self.lock:
            self._history = History(self.folder.folder)
            self._history.begin()
            self.others = self._history.others()
            self._take_in(self.folder.read())
            self._signature = self._look()
            # What was written last before a crash is found again; what came after it was done outside.
            for kind in FILE_KINDS:
                known = self._last_text(kind)
                now = self._files.file(kind)
                if known is not None and now is not None and known != now.text:
                    self._note_outside(kind, known, now.name, now.text)

    def close(self) -> None:
        """End the work; the list of changes goes with it."""
        self.workers.close()
        with self.lock:
            self._history.close()

    def notice_outside(self) -> bool:
        """Take in what somebody else has written; whether anything was."""
        with self.lock:
            if not self.has_job:
                return False
            if self._history.number == 0 and self._version == "":
                self.open_files()
                return True
            self._look_for_others()
            signature = self._look()
            if signature == self._signature:
                return False
            self._signature = signature
            return self._refresh(others_changed=True)

    def edit(self, request: EditRequest) -> EditAnswer:
        """Write an edit, or say why not."""
        with self.lock, one_at_a_time(self.folder.folder):
            self._refresh()
            try:
                edits = [one for edit in request.edits for one in self._plain(edit)]
                asks = asked_about(edits, self._files)
                if asks:
                    return self._answer("asks", asks=asks)
                new, before, after = changed_files(edits, self._files)
            except EditRefusedError as refused:
                return self._answer("refused", faults=(self._named(refused.fault, request),))
            return self._rewrite(
                new, label_of(edits), before, after, request.by, request.draft or request.by == "drag"
            )

    def undo(self) -> EditAnswer:
        """Take our last step back; what was changed since elsewhere stays."""
        with self.lock, one_at_a_time(self.folder.folder):
            self._refresh()
            step = self._history.last
            if step is None:
                return self._answer("refused", faults=(_plain_fault("there is nothing to take back"),))
            return self._turn(step, back=True)

    def redo(self) -> EditAnswer:
        """Do again what was taken back last."""
        with self.lock, one_at_a_time(self.folder.folder):
            self._refresh()
            if not self._history.undone:
                return self._answer("refused", faults=(_plain_fault("there is nothing to do again"),))
            return self._turn(self._history.undone[-1], back=False)

    # ------------------------------------------------------------ what was worked out

    def snapshot(self) -> Snapshot:
        """How everything stands now."""
        with self.lock:
            last, undone = self._history.last, self._history.undone
            return Snapshot(
                folder=self.folder,
                files=self._files,
                version=self._version,
                job=self._job,
                faults=self._faults,
                outcomes=dict(self._outcomes),
                lacking=self._lacking,
                generation=self._work.generation,
                work=replace(self._work, finished=set(self._work.finished)),
                changes=tuple(self._history.steps),
                undo="" if last is None else _step_words(last),
                redo=_step_words(undone[-1]) if undone else "",
                last_pairs=self._last_pairs,
                last_step=self._last_step,
                asks=self._asks,
                slow_names=dict(self._slow_names),
                free=self._free,
            )

    def told(self, message: Any) -> None:
        """What a process tells; from its thread."""
        with self.lock:
            if isinstance(message, StageDone):
                self._stage_done(message)
            elif isinstance(message, StageBegun):
                self._stage_begun(message)
            elif isinstance(message, RunDone):
                self._run_done(message)
            elif isinstance(message, RunBroken):
                if message.generation == self._work.generation:
                    self._work.settled = True
                self._listen("trouble", message.says)
            elif isinstance(message, Tried):
                self._tried[message.number] = message
                self._answers.notify_all()
            elif isinstance(message, Ended):
                self._ended(message)
            elif isinstance(message, CellChosen):
                self._write_cell(message.text)
            elif isinstance(message, FreeSurfaceDone):
                self._free = message
                self._listen("said", "motion")
            else:
                self._tell_slow(message)

    def try_change(self, key: str, value: str, seconds: float) -> Tried | None:
        """What a change would do, nothing written; None where no answer came in time."""
        with self._answers:
            if self._job is None:
                return Tried(0, self._faults, ())
            self._try_number += 1
            number = self._try_number
            self.workers.try_change(number, self._job, key, value)
            self._answers.wait_for(lambda: number in self._tried, seconds)
            return self._tried.pop(number, None)

    def begin_slow(self, what: SlowWork, minutes: float | None = None) -> str:
        """Begin slow work; why not, or nothing."""
        with self.lock:
            why_not = self._why_not_slow()
            job, generation = self._job, self._work.generation
            if why_not or job is None:
                return why_not
            self.slow = what
            fresh = self._fresh_slow()
            if what == "drive":
                self.workers.slow_stages(generation, job, DRIVE_STAGES, fresh)
            elif what == "weld":
                self.workers.slow_stages(generation, job, WELD_STAGES, fresh)
            elif what == "free surface":
                self.workers.free_surface(generation, job, minutes, fresh)
            elif what == "pack":
                self.workers.pack(generation, job, self.folder.folder / "pack", fresh)
            self._tell_slow(SlowStep("beginning", 0, 1))
            return ""

    def cancel(self) -> bool:
        """Stop slow work."""
        with self.lock:
            was_there = self.workers.cancel()
            if self.slow:
                self._tell_slow(SlowDone(self._work.generation, "it was stopped"))
            return was_there

    # ------------------------------------------------------------ inside

    def _look_for_others(self) -> None:
        others = self._history.others()
        if others != self.others:
            self.others = others
            self._listen("others", others)

    def _plain(self, edit: Edit) -> list[PlainEdit]:
        """An edit of the files' text; a drag becomes the keys that it writes."""
        if isinstance(edit, DragTo):
            return [*edits_of_drag(self.snapshot(), edit.name, edit.to_mm)]
        return [edit]

    def _tell_slow(self, message: SlowStep | SlowDone) -> None:
        what = self.slow
        if isinstance(message, SlowDone):
            self.slow, self.slow_step = "", None
        else:
            self.slow_step = message
        self._listen("slow", (what, message))

    def _write_cell(self, text: str) -> None:
        """The cells that were chosen for the minutes allowed stand in the job file from now on."""
        edit = SetKey(do="set", file="job", key=CELL_KEY, text=text, was=None)
        self.edit(EditRequest(version=self._version, edits=[edit]))

    def _fresh_slow(self) -> tuple[Given, ...]:
        now = self.snapshot()
        return tuple(
            Given(stage.name, outcome.result, outcome.report)
            for stage in STAGES
            if stage.is_slow
            and (outcome := self._outcomes.get(stage.name)) is not None
            and not now.is_stale(stage.name)
        )

    def _why_not_slow(self) -> str:
        if self._job is None or self._faults:
            return "The files have to be put right first."
        return f"One thing after the other: {SLOW_WORDS[self.slow]} first." if self.slow else ""

    def _look(self) -> Signature:
        names = () if self._job is None else tuple(name for name, _ in self._job.texts)
        readings = self._files.readings
        return self.folder.signature((*names, *(() if readings is None else (readings.name,))))

    def _refresh(self, others_changed: bool = False) -> bool:
        """Read the files again and take in what is new."""
        files = self.folder.read()
        is_new = files.version != self._version
        if not is_new and not others_changed:
            return False
        for kind in FILE_KINDS:
            old, now = self._files.file(kind), files.file(kind)
            if now is not None and (old is None or old.text != now.text):
                self._note_outside(kind, "" if old is None else old.text, now.name, now.text)
        rows = all_rows(self._asks)
        self._take_in(files, like=None if others_changed and not is_new else self._job)
        self._signature = self._look()
        self._listen("files", ("outside", rows))
        return True

    def _note_outside(self, kind: FileKind, before: str, name: str, after: str) -> None:
        step = Step(0, name, "", "", "outside", (Rewritten(kind, name, before, after),))
        self._history.add(step)

    def _last_text(self, kind: FileKind) -> str | None:
        """What the list of changes says a file holds."""
        for step in reversed(self._history.steps):
            for one in step.files:
                if one.file == kind:
                    return one.text_after
        return None

    def _take_in(self, files: FileSet, like: Job | None = None) -> None:
        """Read these files as a job and begin to work it out."""
        self._files, self._version = files, files.version
        self._asks = asked(files, self._groups)
        try:
            job = read_job_with(self.folder.folder / self.folder.job_name, _texts(files), like)
        except JobError as trouble:
            self._faults = trouble.faults
            return
        self._begin(job)

    def _begin(self, job: Job) -> None:
        self._job, self._faults = job, ()
        self._before_change = (
            tuple(
                finding
                for stage in STAGES
                if not stage.is_slow and stage.name in self._outcomes
                for finding in self._outcomes[stage.name].report.findings
            )
            + self._lacking
        )
        self._work = Work(
            generation=self._work.generation + 1,
            begun_at=time.monotonic(),
            settled=False,
            of=len(first_stages()) + len(metal_stages()),
        )
        self.workers.run(self._work.generation, job)

    def _rewrite(self, new: FileSet, key: str, before: str, after: str, by: By, draft: bool) -> EditAnswer:
        """Write the files of a step if they can be read as a job, or are no worse than they were."""
        old = self._files
        if new.version == old.version:
            return self._answer("taken")
        faults: tuple[Fault, ...] = ()
        job = None
        try:
            job = read_job_with(self.folder.folder / self.folder.job_name, _texts(new), self._job)
        except JobError as trouble:
            faults = trouble.faults
            fresh = _fresh_faults(faults, self._faults)
            if fresh:
                return self._answer("refused", faults=fresh)
        step = Step(0, key, before, after, by, _rewritten(old, new), draft)
        rows = all_rows(self._asks)
        step = self._history.add(step)
        try:
            self._write(old, new)
        except OSError as trouble:
            self._history.undo(step)
            self._history.undone.remove(step)
            what = (trouble.strerror or str(trouble)).lower()
            return self._answer("refused", faults=(_plain_fault(f"the file could not be written: {what}"),))
        self._last_step = step
        self._last_pairs = ()
        return self._written(new, job, faults, rows)

    def _turn(self, step: Step, back: bool) -> EditAnswer:
        """Take a step back, or do it again."""
        new = self._files
        for one in step.files:
            base, wanted = (one.text_after, one.text_before) if back else (one.text_before, one.text_after)
            now = new.file(one.file)
            text = merged(base, wanted, "" if now is None else now.text)
            if text is None or now is None:
                what = "taken back" if back else "done again"
                return self._answer(
                    "refused",
                    faults=(
                        _plain_fault(
                            f"{one.name} was changed on the same lines since, so {step.key} cannot be {what}"
                            " without losing that; change it by hand"
                        ),
                    ),
                )
            new = new.replaced(one.file, replace(now, text=text))
        faults: tuple[Fault, ...] = ()
        job = None
        try:
            job = read_job_with(self.folder.folder / self.folder.job_name, _texts(new), self._job)
        except JobError as trouble:
            faults = trouble.faults
        rows = all_rows(self._asks)
        try:
            self._write(self._files, new)
        except OSError as trouble:
            what = (trouble.strerror or str(trouble)).lower()
            return self._answer("refused", faults=(_plain_fault(f"the file could not be written: {what}"),))
        if back:
            self._history.undo(step)
        else:
            self._history.redo(step)
        self._last_step = replace(step, before=step.after, after=step.before) if back else step
        self._last_pairs = ()
        return self._written(new, job, faults, rows)

    def _write(self, old: FileSet, new: FileSet) -> None:
        """All files of a step, or none."""
        done: list[FileKind] = []
        try:
            for kind in FILE_KINDS:
                one = new.file(kind)
                if one is not None and one != old.file(kind):
                    self.folder.write(one)
                    done.append(kind)
        except OSError:
            for kind in done:
                was = old.file(kind)
                if was is not None:
                    self.folder.write(was)
            raise

    def _written(
        self,
        new: FileSet,
        job: Job | None,
        faults: tuple[Fault, ...],
        rows: dict[tuple[str, str], FieldRow],
    ) -> EditAnswer:
        self._files, self._version = new, new.version
        self._asks = asked(new, self._groups)
        self._signature = self._look()
        self._faults = faults
        if job is not None:
            self._begin(job)
        self._listen("files", ("page", rows))
        fresh = all_rows(self._asks)
        return self._answer(
            "kept" if faults else "taken",
            faults=faults,
            fields=[row for key, row in fresh.items() if rows.get(key) != row],
            reshaped=set(fresh) != set(rows),
        )

    def _answer(
        self,
        outcome: str,
        faults: tuple[Fault, ...] = (),
        asks: list[Asked] | None = None,
        fields: list[FieldRow] | None = None,
        reshaped: bool = False,
    ) -> EditAnswer:
        last, undone = self._history.last, self._history.undone
        return EditAnswer.model_validate(
            {
                "outcome": outcome,
                "version": self._version,
                "generation": self._work.generation,
                "faults": fault_rows(faults),
                "asks": asks or [],
                "fields": fields or [],
                "reshaped": reshaped,
                "undo": "" if last is None else _step_words(last),
                "redo": _step_words(undone[-1]) if undone else "",
            }
        )

    def _named(self, fault: Fault, request: EditRequest) -> Fault:
        """A fault with the name of the file that was meant."""
        first = request.edits[0]
        kind: FileKind = getattr(first, "file", "readings")
        one = self._files.file(kind)
        return replace(fault, file="" if one is None else one.name)

    def _stage_done(self, done: StageDone) -> None:
        is_slow = next(stage.is_slow for stage in STAGES if stage.name == done.stage)
        if done.made is None or (done.generation != self._work.generation and not is_slow):
            return
        result, report = done.made
        self._outcomes[done.stage] = Outcome(done.generation, done.name, result, report)
        code = next(stage.code for stage in STAGES if stage.name == done.stage)
        if not is_slow:
            self._lacking = tuple(one for one in self._lacking if not one.code.startswith(f"{code}-"))
            self._work.done += 1
        self._listen("said", KEY_OF_CODE[code])

    def _stage_begun(self, begun: StageBegun) -> None:
        if begun.generation == self._work.generation:
            self._work.stage = begun.stage
            self._listen("working", None)

    def _run_done(self, done: RunDone) -> None:
        if done.generation != self._work.generation:
            return
        asked_for = done.stages
        self._work.finished.add("metal" if "kit" in done.stages else "first")
        for stage in STAGES:
            outcome = self._outcomes.get(stage.name)
            if stage.name in asked_for and (outcome is None or outcome.generation < done.generation):
                # It could not start: what it said before is no longer so.
                self._outcomes.pop(stage.name, None)
                said = tuple(one for one in done.findings if one.code == f"{stage.code}-00")
                kept = tuple(one for one in self._lacking if not one.code.startswith(f"{stage.code}-"))
                self._lacking = (*kept, *said)
                self._listen("said", KEY_OF_CODE[stage.code])
        self._slow_names_known(dict(done.slow_names))
        if {"first", "metal"} <= self._work.finished:
            self._settled()

    def _slow_names_known(self, names: dict[StageName, str]) -> None:
        """Slow stages may have become old by this change, or fresh again by taking it back."""
        for name, now in names.items():
            was = self._slow_names.get(name)
            self._slow_names[name] = now
            if was != now and name in self._outcomes:
                self._listen("said", KEY_OF_CODE[next(one.code for one in STAGES if one.name == name)])

    def _settled(self) -> None:
        self._work.settled = True
        self._work.stage = None
        self._work.seconds = time.monotonic() - self._work.begun_at
        now = (
            tuple(
                finding
                for stage in STAGES
                if not stage.is_slow and stage.name in self._outcomes
                for finding in self._outcomes[stage.name].report.findings
            )
            + self._lacking
        )
        if self._last_step is not None:
            self._last_pairs = pair_up(self._before_change, now)
        self._listen("settled", None)

    def _ended(self, ended: Ended) -> None:
        if ended.name == "slow":
            if self.slow:
                # It ended without a word: killed from outside, or out of memory.
                self._tell_slow(SlowDone(self._work.generation, "the process that worked on it was ended"))
            return
        self._work.breaks += 1
        if self._work.breaks > MOST_BREAKS or self._job is None:
            # The same job would break it again and again.
            self._work.settled = True
            self._listen(
                "trouble", "This state of the job could not be worked out; the next change is tried."
            )
            return
        self._listen("trouble", "A process that works the job out broke and was begun anew.")
        if not self._work.settled:
            self.workers.run(self._work.generation, self._job)


def change_rows(steps: tuple[Step, ...]) -> list[ChangeRow]:
    """The list of changes, as the page shows it."""
    return [
        ChangeRow(
            number=step.number,
            file=step.files[0].file,
            key=step.key,
            before=step.before[:200],
            after=step.after[:200],
            by=step.by,
        )
        for step in steps
    ]


def _step_words(step: Step) -> str:
    return step.key


def _plain_fault(rule: str) -> Fault:
    return Fault("", None, "", "", rule)


def _texts(files: FileSet) -> dict[str, bytes]:
    found = {}
    for kind in FILE_KINDS:
        one = files.file(kind)
        if one is not None:
            found[one.name] = one.raw
    return found


def _rewritten(old: FileSet, new: FileSet) -> tuple[Rewritten, ...]:
    found = []
    for kind in FILE_KINDS:
        before, after = old.file(kind), new.file(kind)
        if after is not None and before != after:
            found.append(Rewritten(kind, after.name, "" if before is None else before.text, after.text))
    return tuple(found)


def _fresh_faults(faults: tuple[Fault, ...], before: tuple[Fault, ...]) -> tuple[Fault, ...]:
    """Faults that were not there before: these the edit would make."""
    known = {(fault.file, fault.key, fault.rule) for fault in before}
    return tuple(fault for fault in faults if (fault.file, fault.key, fault.rule) not in known)
