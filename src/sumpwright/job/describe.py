"""The page docs/job-file.md, written from the models that read the files."""

from __future__ import annotations


def describe() -> str:
    """The whole page."""
    return ""
