"""Speed, beside references in the same run. Never part of the tests."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One line of the speed table."""

    work: str
    ours: float  # s
    reference: float | None = None  # s, the same work done another way in the same run
    ratio: float | None = None  # reference / ours
    reference_name: str = ""
    target: str = ""  # what was asked, in words
    note: str = ""
