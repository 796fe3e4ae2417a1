"""An open job whose stages nobody works out: for everything that concerns its files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from sumpwright.web.messages import EditAnswer, EditRequest
from sumpwright.web.workbench import Workbench
from tests.jobs.laid_out import laid_out


class IdleWorkers:
    """Notes what was asked and does nothing."""

    def __init__(self) -> None:
        self.runs: list[int] = []

    def start(self) -> None: ...

    def run(self, generation: int, job: Any) -> None:
        self.runs.append(generation)

    def cancel(self) -> bool:
        return False

    def close(self) -> None: ...


class Bench:
    """A bench in a folder of its own."""

    def __init__(self, folder: Path, like: str = "hillclimb-four") -> None:
        self.job = folder / "my-pan" if (folder / "my-pan").exists() else laid_out(folder, like)
        self.heard: list[tuple[str, Any]] = []
        self.workers = IdleWorkers()
        self.bench = Workbench(self.job, lambda what, it: self.heard.append((what, it)), self.workers)  # type: ignore[arg-type]
        self.bench.open()

    def text(self, name: str = "job.toml") -> str:
        return (self.job / name).read_text("utf-8")

    def edit(self, *edits: dict[str, Any], **more: Any) -> EditAnswer:
        message = {"version": self.bench.snapshot().version, "edits": list(edits), **more}
        return self.bench.edit(EditRequest.model_validate(message))

    def put(self, key: str, text: str, was: str | None = None, **more: Any) -> EditAnswer:
        return self.edit({"do": "set", "file": "job", "key": key, "text": text, "was": was}, **more)

    def die(self) -> None:
        """What a killed process leaves: its files as they are, and nothing held any more."""
        file = self.bench._history._file
        assert file is not None
        file.close()
