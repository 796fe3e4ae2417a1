"""Reads the glossary, and the quantities that the models hold."""

from __future__ import annotations

import dataclasses
import importlib
import re
import typing
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from tests.house.formula_docs import units_of
from tests.house.repository import PACKAGE, ROOT

ROW = re.compile(r"^\| *([^|]+?) *\| *([^|]+?) *\| *([^|]+?) *\|$", re.MULTILINE)


def glossary() -> dict[str, list[tuple[str, str]]]:
    """(unit, meaning) by name, as the page lists them."""
    rows: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for name, unit, meaning in ROW.findall((ROOT / "GLOSSARY.md").read_text("utf-8")):
        if name != "name" and not set(name) <= {"-", ":", " "}:
            rows[plain(name)].append((unit, meaning))
    return rows


def plain(name: str) -> str:
    """A name as it is compared: small letters, spaces for underscores, no code marks."""
    return name.replace("`", "").replace("_", " ").strip().lower()


def model_quantities() -> Iterator[tuple[str, str, str]]:
    """(where, field name, unit) of every field of a model with a unit of its own."""
    for path in sorted(PACKAGE.glob("*/model.py")):
        module = importlib.import_module(f"sumpwright.{path.parent.name}.model")
        for name, kind in vars(module).items():
            if dataclasses.is_dataclass(kind) and kind.__module__ == module.__name__:
                hints: dict[str, Any] = typing.get_type_hints(kind, include_extras=True)
                for field in dataclasses.fields(kind):
                    units = dict.fromkeys(unit for unit in units_of(hints[field.name]) if unit)
                    if set(units) - {"1"}:
                        yield f"{path.parent.name}.{name}.{field.name}", field.name, ", ".join(units)
