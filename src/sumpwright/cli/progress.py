"""What is being done right now, on the error stream of a terminal; silent anywhere else."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress as RichProgress

    from sumpwright.flow import Progress


class Display:
    """One line: which step of how many, what is being done, for how long.

    It leaves nothing behind: results go to the standard stream, after it has gone.
    """

    def __init__(self, more_steps: int = 0) -> None:
        """Shows itself only where a person can see it; ``more_steps`` come after the stages."""
        self._more_steps = more_steps
        self._of = 0
        self._line: RichProgress | None = None

    def __enter__(self) -> Display:
        """Put the line up."""
        if sys.stderr.isatty():
            from rich.console import Console
            from rich.progress import Progress, TextColumn, TimeElapsedColumn

            self._line = Progress(
                TextColumn("{task.description}"),
                TimeElapsedColumn(),
                console=Console(stderr=True, no_color=True, highlight=False),
                transient=True,
            )
            self._line.start()
            self._line.add_task("")
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Take the line away again, whatever happened."""
        if self._line is not None:
            self._line.stop()

    def says(self, words: str) -> None:
        """Show what is being done."""
        if self._line is not None:
            self._line.update(self._line.task_ids[0], description=words, refresh=True)

    def stage(self, progress: Progress) -> None:
        """Show how far the stages are; handed to ``flow.run``."""
        self._of = progress.of + self._more_steps
        if progress.stage is not None:
            self.says(f"{progress.done + 1} of {self._of}  {progress.stage.section}: {progress.stage.doing}")

    def last_step(self, words: str) -> None:
        """Show what comes after the stages."""
        self.says(f"{self._of} of {self._of}  {words}")
