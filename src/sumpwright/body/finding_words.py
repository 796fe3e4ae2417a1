"""Small pieces that the findings of this stage are made of."""

from __future__ import annotations

import re

from sumpwright.findings import Figure
from sumpwright.quantities.units import FloatArray


def plain(text: str) -> str:
    """A user's own words, safe inside a sentence with gaps."""
    return text.replace("{", "(").replace("}", ")")


def length_figure(name: str, value: float, digits: int | None = None) -> Figure:
    """A length for a sentence."""
    return Figure(name, value, "m", "length", digits)


def place_of(point: FloatArray) -> tuple[float, float, float]:
    """A point (3,) as a finding wants it."""
    return float(point[0]), float(point[1]), float(point[2])


BARE = re.compile(r"[A-Za-z0-9_-]+")
"""Names that stand in a key without quotes."""


def lump_key(lump: str, key: str) -> str:
    """A lump's key as a proposal names it: ``lumps.sump.depth``, ``lumps."deep end".depth``."""
    name = lump if BARE.fullmatch(lump) else f'"{lump}"'
    return f"lumps.{name}.{key}"
