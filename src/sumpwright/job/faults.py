"""What is wrong with the files: every fault at once, worded for the one who wrote them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

READ_SHOWN = 60
"""So much of a faulty value is repeated in the message."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One faulty place in a file."""

    file: str  # "job.toml"
    line: int | None  # None where it has no line (a missing file or section)
    key: str  # "lumps.sump.depth"; empty where the whole file is meant
    read: str  # what stands there; empty where nothing does
    rule: str  # what is wrong, one sentence
    allowed: str = ""  # "between 0.5 mm and 12 mm", in the user's own unit
    good: str = ""  # an example of a good value, as it would stand in the file

    def text(self) -> str:
        """The fault as it is printed: where, what was read, why not, what would do."""
        where = self.file if self.line is None else f"{self.file}, line {self.line}"
        lines = [f"{where}: {self.key}" if self.key else where]
        if self.read:
            lines.append(f"    read:    {self.read}")
        lines.append(f"    trouble: {self.rule}")
        if self.allowed:
            lines.append(f"    allowed: {self.allowed}")
        if self.good:
            lines.append(f"    good:    {self.good}")
        return "\n".join(lines)


class JobError(Exception):
    """The files could not be read. Lists every fault of all of them; nothing was computed."""

    def __init__(self, faults: Iterable[Fault], before: str = "this job can be worked out") -> None:
        self.before = before
        self.faults = tuple(sorted(faults, key=_order))
        super().__init__(self.text())

    def text(self) -> str:
        """All faults, in the order of the files and their lines.

        What is wrong in the same way over and over is told in full for the first few
        lines; of the others the line numbers are listed.
        """
        count = len(self.faults)
        head = "One thing has" if count == 1 else f"{count} things have"
        groups: dict[tuple[str, str, str], list[Fault]] = {}
        for fault in self.faults:
            groups.setdefault((fault.file, _place(fault.key), fault.rule), []).append(fault)
        body = []
        for group in groups.values():
            told = len(group) if len(group) <= TOLD_IN_FULL + 1 else TOLD_IN_FULL
            body += [fault.text() for fault in group[:told]]
            if told < len(group):
                body.append(_others(group[told:]))
        return f"{head} to be put right before {self.before}.\n\n" + "\n".join(body)


TOLD_IN_FULL = 3
"""So many faults of one sort in one file are told in full."""


def _place(key: str) -> str:
    """The key without the numbers of list members, so that like stands by like."""
    return ".".join(part for part in key.split(".") if not part.isdigit())


def _others(faults: list[Fault]) -> str:
    """The line numbers of further faults of one sort, runs drawn together: 7, 9-98."""
    lines = sorted({fault.line for fault in faults if fault.line is not None})
    runs: list[list[int]] = []
    for line in lines:
        if runs and line == runs[-1][1] + 1:
            runs[-1][1] = line
        else:
            runs.append([line, line])
    words = ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)
    where = f" on line{'s' if len(lines) > 1 else ''} {words}" if words else ""
    return f"{faults[0].file}: the same{where} ({len(faults)} more)"


_FILE_ORDER = ("job", "shop", "rail")


def _order(fault: Fault) -> tuple[int, str, int, str]:
    rank = next((n for n, stem in enumerate(_FILE_ORDER) if fault.file.startswith(stem)), len(_FILE_ORDER))
    return rank, fault.file, fault.line or 0, fault.key


def shown(value: object) -> str:
    """A value from a file, short enough and free of control characters, as it might stand there."""
    if isinstance(value, bool):
        return "true" if value else "false"
    text = f'"{value}"' if isinstance(value, str) else _plain(value)
    text = "".join(letter if letter.isprintable() else "?" for letter in text)
    return text if len(text) <= READ_SHOWN else text[: READ_SHOWN - 3] + "..."


def _plain(value: object) -> str:
    """A number, list or table in outline: never walks deep, never long."""
    if isinstance(value, dict):
        return "{ " + ", ".join(str(key)[:20] for key in list(value)[:4]) + " }"
    if isinstance(value, list):
        inner = ", ".join(shown(item) if isinstance(item, str | int | float) else "..." for item in value[:4])
        return f"[{inner}{', ...' if len(value) > 4 else ''}]"
    if isinstance(value, int):
        # int.__repr__ refuses very long numbers.
        return str(value) if abs(value) < 10**30 else "a very long number"
    return str(value)
