"""What is being done right now, on the error stream of a terminal; silent anywhere else."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress as RichProgress

    from sumpwright.flow import Progress


class Display:
    """One line that says what is being done, with a bar over the stages.

    It leaves nothing behind: results go to the standard stream, after it has gone.
    """

    def __init__(self) -> None:
        """Shows itself only where a person can see it."""
        self._bar: RichProgress | None = None
        self._task = 0

    def __enter__(self) -> Display:
        """Put the line up."""
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

            self._bar = Progress(
                TextColumn("{task.description}"),
                BarColumn(),
                TimeElapsedColumn(),
                console=Console(stderr=True),
                transient=True,
            )
            self._bar.start()
            self._task = int(self._bar.add_task("", total=None))
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take the line away again, whatever happened."""
        if self._bar is not None:
            self._bar.stop()

    def says(self, words: str) -> None:
        """Show what is being done."""
        if self._bar is not None:
            from rich.progress import TaskID

            self._bar.update(TaskID(self._task), description=words)

    def stage(self, progress: Progress) -> None:
        """Show how far the stages are; handed to ``flow.run``."""
        if self._bar is None:
            return
        from rich.progress import TaskID

        words = "done" if progress.stage is None else f"{progress.stage.section}: {progress.stage.doing}"
        self._bar.update(TaskID(self._task), description=words, completed=progress.done, total=progress.of)
