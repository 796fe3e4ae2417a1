"""Reads what each formula says of itself: units, range and source."""

from __future__ import annotations

import importlib
import inspect
import re
import types
import typing
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.house.repository import PACKAGE

UNIT = re.compile(r"\[([^\][]*)\]")
ARGUMENT = re.compile(r"^ {4}(\w+): ", re.MULTILINE)


@dataclass(frozen=True)
class Formula:
    """One public function of a formulas file."""

    name: str
    module: str
    function: Callable[..., Any]

    @property
    def doc(self) -> str:
        return inspect.getdoc(self.function) or ""

    @property
    def sentence(self) -> str:
        """The first line: what the reader gets."""
        return self.doc.partition("\n")[0]

    @property
    def equation(self) -> str:
        """What stands between the sentence and the arguments."""
        body = self.doc.partition("\n")[2]
        return re.split(r"^(?:Args|Returns|Valid for|Source):", body, maxsplit=1, flags=re.MULTILINE)[
            0
        ].strip()

    @property
    def valid_for(self) -> str:
        found = re.search(r"^Valid for: *(.+?)(?=^\w[\w ]*:|\Z)", self.doc, re.MULTILINE | re.DOTALL)
        return " ".join(found.group(1).split()) if found else ""

    @property
    def sources(self) -> tuple[str, ...]:
        """Ids of the Source line: the word before the first comma of each semicolon part."""
        found = re.search(r"^Source: *(.+?)(?=^\w[\w ]*:|\Z)", self.doc, re.MULTILINE | re.DOTALL)
        if not found:
            return ()
        return tuple(part.split(",")[0].strip().rstrip(".") for part in found.group(1).split(";"))

    def argument_lines(self) -> dict[str, str]:
        """The Args section by name."""
        section = re.search(r"^Args:\n(.*?)(?=^\w|\Z)", self.doc, re.MULTILINE | re.DOTALL)
        if not section:
            return {}
        pieces = ARGUMENT.split(section.group(1))
        return dict(zip(pieces[1::2], pieces[2::2], strict=True))

    def return_text(self) -> str:
        section = re.search(r"^Returns:\n?(.*?)(?=^\w|\Z)", self.doc, re.MULTILINE | re.DOTALL)
        return section.group(1) if section else ""


def formula_modules() -> list[str]:
    """Dotted names of every formulas file."""
    paths = sorted([*PACKAGE.rglob("formulas.py"), *PACKAGE.rglob("*_formulas.py")])
    return [".".join(("sumpwright", *path.relative_to(PACKAGE).with_suffix("").parts)) for path in paths]


def formulas() -> Iterator[Formula]:
    """Every public function that a formulas file defines itself."""
    for name in formula_modules():
        module = importlib.import_module(name)
        for key, value in vars(module).items():
            function = getattr(value, "py_func", value)  # a compiled one carries its Python form
            if (
                inspect.isfunction(function)
                and not key.startswith("_")
                and getattr(function, "__module__", None) == name
            ):
                yield Formula(key, name, function)


def units_of(annotation: Any) -> list[str | None]:
    """Units that an annotation promises, in order; None where a number or array names none."""
    if typing.get_origin(annotation) is typing.Annotated:
        inside, *notes = typing.get_args(annotation)
        said = [note for note in notes if isinstance(note, str)]
        return [said[0]] if said else units_of(inside)
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        return [unit for part in typing.get_args(annotation) for unit in units_of(part)]
    if typing.get_origin(annotation) is tuple:
        return [
            unit for part in typing.get_args(annotation) if part is not Ellipsis for unit in units_of(part)
        ]
    if typing.get_origin(annotation) is np.ndarray or annotation in (float, int, complex):
        return [None]
    return []


def unit_faults(formula: Formula) -> list[str]:
    """Where the docstring's units and the annotations' differ."""
    hints = typing.get_type_hints(formula.function, include_extras=True)
    faults = []
    lines = formula.argument_lines()
    for name in inspect.signature(formula.function).parameters:
        promised = units_of(hints.get(name))
        written = UNIT.findall(lines.get(name, ""))
        if name not in hints:
            faults.append(f"{name} has no annotation")
        elif name not in lines:
            faults.append(f"{name} is not described under Args")
        elif promised and not written:
            faults.append(f"{name} has no [unit] in its line")
        elif promised and not _agree(promised, written):
            faults.append(f"{name}: [{'], ['.join(written)}] written, {promised} annotated")
    promised, written = units_of(hints.get("return")), UNIT.findall(formula.return_text())
    if not formula.return_text().strip():
        faults.append("there is no Returns section")
    elif promised and not written:
        faults.append("Returns has no [unit]")
    elif promised and not _agree(promised, written):
        faults.append(f"Returns: {written} written, {promised} annotated")
    return faults


def _agree(promised: list[str | None], written: list[str]) -> bool:
    """Whether the units written are those annotated, in order.

    An array names its unit in the docstring alone; several values of one unit may share one [unit].
    """
    if None in promised:
        return {unit for unit in promised if unit is not None} <= set(written)
    return list(promised) == written or (len(set(promised)) == 1 and set(promised) == set(written))
