"""The bibliography: what each source id stands for."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal

FILE = Path(__file__).parent / "sources.toml"

How = Literal["published", "memory", "practice", "derived", "user"]
"""published: seen, or seen in a reproduction; memory: recalled, not looked up; practice: a
trade rule without an authority; derived: worked out here; user: the job's or shop's own."""


@dataclass(frozen=True, slots=True)
class Source:
    """One entry of the bibliography."""

    id: str
    title: str
    how: How


@cache
def sources() -> Mapping[str, Source]:
    """Every source by its id, in the order of the file."""
    with FILE.open("rb") as file:
        entries = tomllib.load(file)
    return MappingProxyType(
        {name: Source(name, entry["title"], entry["how"]) for name, entry in entries.items()}
    )


def source_title(name: str) -> str:
    """The title behind a source id; a text that is no id is given back as it is."""
    known = sources().get(name)
    return known.title if known is not None else name
