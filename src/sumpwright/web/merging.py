"""Two changes of one text brought together, line by line; where both touch the same lines, neither wins."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class Hunk:
    """Lines ``start`` to ``end`` of the old text (end left out) are these lines in the new one."""

    start: int
    end: int
    lines: tuple[str, ...]


def hunks(old: str, new: str) -> tuple[Hunk, ...]:
    """What has to be written otherwise to come from the old text to the new one."""
    before, after = old.split("\n"), new.split("\n")
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    return tuple(Hunk(a, b, tuple(after[c:d])) for tag, a, b, c, d in matcher.get_opcodes() if tag != "equal")


def merged(base: str, mine: str, theirs: str) -> str | None:
    """The base with both changes, or None where they meet on the same or neighbouring lines."""
    if theirs == base or mine == theirs:
        return mine
    if mine == base:
        return theirs
    ours, others = hunks(base, mine), hunks(base, theirs)
    together = sorted({*ours, *others}, key=lambda hunk: (hunk.start, hunk.end))
    for first, second in pairwise(together):
        if second.start < first.end or second.start == first.start:
            return None
    lines = base.split("\n")
    for hunk in reversed(together):
        lines[hunk.start : hunk.end] = hunk.lines
    return "\n".join(lines)
