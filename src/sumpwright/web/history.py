"""Every change since the job was opened: to list, to take back, and to find again after a crash.

The journal stands in the job folder as long as the job is open. A line is added to it
before a file is written, so that whatever is on the disk can be told from it. Each open job
sheet has a journal of its own, which it holds as long as it lives: by that two of them on one
folder know of each other.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Any, Literal

from sumpwright.web.held_files import hold
from sumpwright.web.messages import FileKind

JOURNALS = (
    ".sumpwright-changes.jsonl",
    *(f".sumpwright-changes-{number}.jsonl" for number in range(2, 10)),
)
"""The first that nobody holds is taken."""
MOST_STEPS = 400
"""So many steps can be taken back; older ones are forgotten first."""

By = Literal["page", "outside", "proposal", "drag"]


@dataclass(frozen=True, slots=True)
class Rewritten:
    """One file before and after a step."""

    file: FileKind
    name: str
    text_before: str
    text_after: str


@dataclass(frozen=True, slots=True)
class Step:
    """One change, of one file or several."""

    number: int
    key: str
    before: str
    after: str
    by: By
    files: tuple[Rewritten, ...]
    draft: bool = False  # the next draft of the same key joins it

    @property
    def can_be_undone(self) -> bool:
        """What was changed outside is listed, and is not ours to take back."""
        return self.by != "outside"


class History:
    """The steps in order, how many of ours stand, and the journal of both."""

    def __init__(self, folder: Path) -> None:
        self.steps: list[Step] = []
        self.undone: list[Step] = []  # last undone last
        self.number = 0
        self._folder = folder
        self._path = folder / JOURNALS[0]
        self._file: IO[str] | None = None

    @property
    def last(self) -> Step | None:
        """The step that undo would take back."""
        return next((step for step in reversed(self.steps) if step.can_be_undone), None)

    def add(self, step: Step) -> Step:
        """Note a new step; what was undone before cannot be done again. A draft joins the draft before it."""
        last = self.steps[-1] if self.steps else None
        if (
            step.draft
            and last is not None
            and last.draft
            and (last.key, last.by) == (step.key, step.by)
            and len(step.files) == len(last.files) == 1
            and last.files[0].text_after == step.files[0].text_before
        ):
            files = (replace(step.files[0], text_before=last.files[0].text_before),)
            step = replace(step, number=last.number, before=last.before, files=files)
            self.steps.pop()
        else:
            self.number += 1
            step = replace(step, number=self.number)
        if step.can_be_undone:
            self.undone.clear()
        self.steps.append(step)
        del self.steps[:-MOST_STEPS]
        self._note({"step": _as_data(step)})
        return step

    def undo(self, step: Step) -> None:
        """Note that a step was taken back."""
        self.steps.remove(step)
        self.undone.append(step)
        self._note({"undo": step.number})

    def redo(self, step: Step) -> None:
        """Note that it was done again."""
        self.undone.remove(step)
        self.steps.append(step)
        self._note({"redo": step.number})

    def begin(self) -> bool:
        """Read a journal that a crash left behind, or start one; whether there was one.

        Raises OSError where as many job sheets as there are journals are open on the folder.
        """
        for name in JOURNALS:
            path = self._folder / name
            if path.is_symlink():
                path.unlink()
            file = path.open("a", encoding="utf-8")
            if hold(file):
                self._path, self._file = path, file
                break
            file.close()
        else:
            raise OSError(None, f"this folder is open in {len(JOURNALS)} job sheets already; close one")
        found = self._read()
        if not found:
            self._file.truncate(0)
        return found

    def others(self) -> int:
        """How many other job sheets are open on the folder now."""
        count = 0
        for name in JOURNALS:
            path = self._folder / name
            if path == self._path or path.is_symlink() or not path.exists():
                continue
            with path.open("a", encoding="utf-8") as file:
                count += not hold(file)
        return count

    def close(self) -> None:
        """The job is closed as it should be: nothing has to be found again."""
        if self._file is not None:
            self._path.unlink(missing_ok=True)  # before it is let go of, so that nobody takes it and loses it
            self._file.close()
            self._file = None

    def _note(self, record: dict[str, Any]) -> None:
        if self._file is None:
            return
        self._file.write(json.dumps(record, ensure_ascii=False) + "\n")
        self._file.flush()
        os.fsync(self._file.fileno())

    def _read(self) -> bool:
        """The steps of the journal, as far as it can be read: a crash may have torn its last line."""
        for line in self._path.read_text("utf-8", errors="replace").splitlines():
            try:
                self._take(json.loads(line))
            except (ValueError, KeyError, TypeError, AttributeError, StopIteration, RecursionError):
                break
        return bool(self.steps or self.undone)

    def _take(self, record: dict[str, Any]) -> None:
        if "step" in record:
            step = _from_data(record["step"])
            if self.steps and self.steps[-1].number == step.number:
                self.steps.pop()
            if step.can_be_undone:
                self.undone.clear()
            self.steps.append(step)
            self.number = max(self.number, step.number)
        elif "undo" in record:
            step = next(one for one in self.steps if one.number == record["undo"])
            self.steps.remove(step)
            self.undone.append(step)
        elif "redo" in record:
            step = next(one for one in self.undone if one.number == record["redo"])
            self.undone.remove(step)
            self.steps.append(step)


def _as_data(step: Step) -> dict[str, Any]:
    return {
        "number": step.number,
        "key": step.key,
        "before": step.before,
        "after": step.after,
        "by": step.by,
        "draft": step.draft,
        "files": [[one.file, one.name, one.text_before, one.text_after] for one in step.files],
    }


def _from_data(data: dict[str, Any]) -> Step:
    return Step(
        number=int(data["number"]),
        key=str(data["key"]),
        before=str(data["before"]),
        after=str(data["after"]),
        by=data["by"],
        draft=bool(data["draft"]),
        files=tuple(Rewritten(*one) for one in data["files"]),
    )
