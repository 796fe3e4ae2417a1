"""The open job as the page sees it: state, edits, pictures, and what happens to them."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from sumpwright.web.lean import Leaning
from sumpwright.web.messages import (
    EditAnswer,
    EditRequest,
    FilesEvent,
    OthersEvent,
    PackState,
    SaidEvent,
    SectionKey,
    SettledEvent,
    SheetState,
    SlowEvent,
    SlowWork,
    StaleEvent,
    StartAnswer,
    TroubleEvent,
    TryAnswer,
    TryRequest,
    WorkingEvent,
)
from sumpwright.web.pack_files import pack_state
from sumpwright.web.picture_messages import LeanAnswer, LeanRequest
from sumpwright.web.pictures import PICTURES, Picture
from sumpwright.web.replay_picture import replay_part
from sumpwright.web.said import assumption_rows, fault_rows, step_rows
from sumpwright.web.sheet_state import (
    changed_rows,
    last_change,
    readings_of,
    revisions,
    run_state,
    says_of,
    sheet_state,
    verdict_of,
)
from sumpwright.web.slow_process import SlowDone
from sumpwright.web.snapshot import Snapshot
from sumpwright.web.tidings import Teller, Tidings
from sumpwright.web.workbench import Workbench, change_rows

SECONDS_FOR_A_TRY = 60.0
Answer = TypeVar("Answer", bound=BaseModel)


class JobSheet:
    """What the service asks."""

    def __init__(self, path: Path) -> None:
        """Nothing is read yet; ``open`` does."""
        self.tidings = Tidings()
        self._teller = Teller(self._tell)
        self.bench = Workbench(path, self._teller.happened)
        self._leaning = Leaning()
        self._pictures: dict[str, tuple[str, bytes]] = {}
        self._pictures_lock = threading.Lock()
        self._pack_version = ""

    def open(self) -> None:
        """Read the job and begin to work."""
        self.bench.open()

    def close(self) -> None:
        """End the work."""
        self.bench.close()
        self._teller.close()
        self.tidings.close()

    def state(self) -> SheetState:
        """The whole sheet, of the files as they are on the disk now."""
        self.bench.notice_outside()
        now = self.bench.snapshot()
        return sheet_state(
            now,
            self.bench.has_job,
            self.bench.slow,
            self.bench.slow_step,
            self._pack(now),
            self.bench.others,
        )

    def edit(self, request: EditRequest) -> EditAnswer:
        """Write an edit."""
        return self.bench.edit(request)

    def try_change(self, request: TryRequest) -> TryAnswer:
        """What a change would do."""
        now = self.bench.snapshot()
        tried = self.bench.try_change(request.key, request.value, SECONDS_FOR_A_TRY)
        if tried is None or now.job is None:
            return TryAnswer(faults=fault_rows(now.faults), steps=[])
        return TryAnswer(faults=fault_rows(tried.faults), steps=step_rows(tried.pairs, now.job.units))

    def begin_slow(self, what: SlowWork, minutes: float | None = None) -> StartAnswer:
        """Begin work that takes a while."""
        why_not = self.bench.begin_slow(what, minutes)
        if what == "pack" and not why_not:
            self._pack_version = self.bench.snapshot().version
        return StartAnswer(started=not why_not, why_not=why_not)

    def cancel(self) -> StartAnswer:
        """Stop slow work."""
        was_there = self.bench.cancel()
        return StartAnswer(started=was_there, why_not="" if was_there else "Nothing is being worked on.")

    def picture(self, name: str) -> bytes:
        """One picture's message, made once for each state."""
        now = self.bench.snapshot()
        revision = str(getattr(revisions(now), name))
        make: Picture = PICTURES[name]
        with self._pictures_lock:
            kept = self._pictures.get(name)
            if kept is None or kept[0] != revision or name == "traces":
                kept = (revision, make(now, revision).model_dump_json().encode())
                self._pictures[name] = kept
            return kept[1]

    def replay_part(self, run: str, at: int, size: int) -> bytes | None:
        """Bytes of the replay file of one manoeuvre; None where there is none of the job as it stands."""
        return replay_part(self.bench.snapshot(), run, at, size)

    def lean(self, request: LeanRequest) -> LeanAnswer:
        """The oil under a pull."""
        now = self.bench.snapshot()
        return self._leaning.answer(now, revisions(now).pan, request)

    def _pack(self, now: Snapshot) -> PackState:
        is_stale = self._pack_version != now.version
        return pack_state(now.folder.folder / "pack", is_stale)

    def _tell(self, what: str, with_it: Any) -> None:
        """Make the message of what happened; runs in the teller's thread."""
        if what == "trouble":
            self.tidings.tell(TroubleEvent(event="trouble", says=str(with_it)))
            return
        if what == "others":
            self.tidings.tell(OthersEvent(event="others", also_open=with_it))
            return
        now = self.bench.snapshot()
        makers: dict[str, Callable[[Snapshot, Any], None]] = {
            "files": self._tell_files,
            "working": self._tell_working,
            "said": self._tell_said,
            "settled": self._tell_settled,
            "slow": self._tell_slow,
        }
        makers[what](now, with_it)

    def _tell_files(self, now: Snapshot, with_it: Any) -> None:
        by, before = with_it
        from sumpwright.web.fields import all_rows

        after = all_rows(now.asks)
        self.tidings.tell(
            FilesEvent(
                event="files",
                version=now.version,
                by=by,
                fields=changed_rows(before, after.values()),
                reshaped=set(before) != set(after),
                faults=fault_rows(now.faults),
                changes=change_rows(now.changes),
                undo=now.undo,
                redo=now.redo,
            )
        )
        self.tidings.tell(
            StaleEvent(
                event="stale", run=run_state(now, self.bench.slow, self.bench.slow_step), version=now.version
            )
        )

    def _tell_working(self, now: Snapshot, with_it: Any) -> None:
        self.tidings.tell(
            WorkingEvent(event="working", run=run_state(now, self.bench.slow, self.bench.slow_step))
        )

    def _tell_said(self, now: Snapshot, key: SectionKey) -> None:
        if key == "motion":
            self._leaning.warm_up(now)
        says = says_of(now, key)
        if says is not None:
            self.tidings.tell(
                SaidEvent(
                    event="said",
                    generation=now.generation,
                    says=says,
                    verdict=verdict_of(now),
                    pictures=revisions(now),
                )
            )

    def _tell_settled(self, now: Snapshot, with_it: Any) -> None:
        self.tidings.tell(
            SettledEvent(
                event="settled",
                run=run_state(now, self.bench.slow, self.bench.slow_step),
                verdict=verdict_of(now),
                pictures=revisions(now),
                last_change=last_change(now),
                assumptions=[] if now.job is None else assumption_rows(now.results(), now.job.units),
                readings=readings_of(now),
                pack=self._pack(now),
            )
        )

    def _tell_slow(self, now: Snapshot, with_it: Any) -> None:
        what, message = with_it
        trouble = message.trouble if isinstance(message, SlowDone) else ""
        run = run_state(now, self.bench.slow, self.bench.slow_step)
        self.tidings.tell(SlowEvent(event="slow", work=what, trouble=trouble, run=run, pack=self._pack(now)))
