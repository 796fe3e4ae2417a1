"""Reading the table files: comment lines ("# ..."), one line of column names, then rows.

The files hold the numbers as they were published (millimetres, inches, gigapascal);
the typed loaders beside this module turn them into base SI.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

FOLDER = Path(__file__).parent / "data"

MILLIMETRE = 1e-3
INCH = 0.0254


@cache
def rows(name: str) -> tuple[Mapping[str, str], ...]:
    """All rows of ``data/<name>.csv`` as read-only mappings from column name to text."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        lines = [line for line in file if not line.startswith("# ")]
    return tuple(MappingProxyType(row) for row in csv.DictReader(lines))


def table_names() -> tuple[str, ...]:
    """Names of all tables, in alphabetical order."""
    return tuple(sorted(path.stem for path in FOLDER.glob("*.csv")))


def number(text: str) -> float | None:
    """The number in a cell, or None where the cell is empty."""
    return float(text) if text.strip() else None


def scaled(text: str, unit: float) -> float:
    """The number in a cell times ``unit``, rounded to twelve digits so that 6.6 mm is 0.0066 m."""
    return float(f"{float(text) * unit:.12g}")
