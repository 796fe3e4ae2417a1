"""A published number that remembers where it was published."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cited:
    """A value in base SI (or a pure number) and the id of its source in ``sources.toml``."""

    value: float
    source: str
