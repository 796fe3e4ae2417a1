"""Jobs laid out like an example, with something changed in their files."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

from sumpwright.flow import run
from sumpwright.job import read_job
from sumpwright.kit import SheetKit
from tests.house.repository import PACKAGE

EXAMPLES = PACKAGE / "examples"


def laid_out(
    folder: Path, like: str = "hillclimb-four", changes: dict[str, dict[str, str]] | None = None
) -> Path:
    """A copy of an example; ``changes`` has by file what to find and what to put there, once each.

    What to find is plain text; text that begins with ``re:`` is a pattern.
    """
    job = folder / "my-pan"
    shutil.copytree(EXAMPLES / like, job, ignore=shutil.ignore_patterns("pack"))
    for name, pairs in (changes or {}).items():
        text = (job / name).read_text("utf-8")
        for old, new in pairs.items():
            pattern = old.removeprefix("re:") if old.startswith("re:") else re.escape(old)
            text, found = re.subn(pattern, lambda _, new=new: new, text, count=1, flags=re.MULTILINE)
            assert found, f"{like}/{name} no longer holds {old!r}"
        (job / name).write_text(text, "utf-8")
    return job


def everything_below(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its bytes."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def solved_kit(like: str) -> SheetKit:
    """The kit of an example without etched marks, nests and price."""
    job = read_job(EXAMPLES / like)
    plain = replace(job, kit=replace(job.kit, etched=False, nests=False, rates=None))
    kit = run(plain, ("kit",)).kit
    assert kit is not None
    return kit
