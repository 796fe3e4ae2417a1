"""The readings file: one reading a line, columns kind, a, b, reading, with, u, note."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal, cast

from sumpwright.job.faults import Fault, shown
from sumpwright.job.fields import is_within, range_words
from sumpwright.job.nearest import nearest
from sumpwright.quantities.text import QuantityError, read
from sumpwright.quantities.units import Metre
from sumpwright.rail import Reading
from sumpwright.rail.model import ReadingKind

COLUMNS: Mapping[str, str] = {
    "kind": "what was read, see below",
    "a": "the hole it was read at",
    "b": "the other hole; two holes with a blank between where a line is meant",
    "reading": "the figure with its unit, or the bare figure if the job file says `readings_in`",
    "with": "what it was read with: caliper, readout, straight edge, rule, tape, by eye",
    "u": "how sure this one is (two in three fall within), where it differs from the shop file's figure",
    "note": "anything worth remembering",
}

KINDS: Mapping[str, str] = {
    "centre": "from the centre of hole a to the centre of hole b",
    "inside": "between the near edges of holes a and b, jaws between the holes",
    "outside": "over the far edges of holes a and b",
    "same_side": "from the edge of hole a to the edge of hole b on the same side, a's being the one away "
    "from b",
    "diameter": "of the edge of hole a; b stays empty",
    "in_line": "how far hole a is off the straight line through the two holes in b; nought if it lies on it",
}

LATER_KINDS = ("offset", "on_one_circle", "square", "mirrored", "readout", "height", "scan")
"""Kinds of reading that are not read yet."""

TOOLS = ("caliper", "readout", "straight edge", "rule", "tape", "by eye")

MOST_READINGS = 4000
LEAST: Metre = 0.0005
MOST: Metre = 3.0
MOST_OFF_LINE: Metre = 0.1
LEAST_U: Metre = 1e-6
MOST_U: Metre = 0.01

_GOOD_LINE = "inside, h1, h2, 63.42 mm, caliper, ,"
_AMERICAN = {"center": "centre", "dia": "diameter", "in line": "in_line", "same side": "same_side"}


@dataclass(frozen=True, slots=True)
class Readings:
    """What stands in the file."""

    readings: tuple[Reading, ...]
    faults: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class ReadingSetting:
    """What the job and shop files say about readings. None = they are faulty there, so it is not judged."""

    holes: Collection[str] | None
    bare_unit: Literal["mm", "in"] | None
    tool_u: Mapping[str, Metre]


class _Lines:
    """The file while it is read."""

    def __init__(self, name: str, setting: ReadingSetting) -> None:
        self.name = name
        self.setting = setting
        self.faults: list[Fault] = []

    def fault(self, line: int, key: str, read: object, rule: str, good: str = "", allowed: str = "") -> None:
        text = "" if read is None else shown(read)
        self.faults.append(Fault(self.name, line, key, text, rule, allowed, good))

    def hole(self, line: int, column: str, name: str) -> bool:
        """Whether the name is a hole of the rail; a slip is noted."""
        if not name:
            self.fault(line, column, None, "a hole is missing here", good=_GOOD_LINE)
            return False
        holes = self.setting.holes
        if holes is not None and name not in holes:
            near = nearest(name, holes)
            hint = f"; did you mean {near!r}?" if near else ""
            rule = f"no hole of this name in the ring of the job file{hint}"
            self.fault(line, column, name, rule, good=near or "")
            return False
        return True

    def length(self, line: int, column: str, text: str, least: Metre, most: Metre, good: str) -> Metre | None:
        """A length within its range; a slip is noted."""
        try:
            found = read(text, "length", bare=self.setting.bare_unit, good=good)
        except QuantityError as trouble:
            rule = trouble.rule
            if rule.startswith("a unit is missing"):
                rule += ' (or say readings_in = "mm" once, in [rail] of the job file)'
            self.fault(line, column, text, rule, trouble.good)
            return None
        if not is_within(found.value, least, most):
            side = "small" if found.value < least else "big"
            self.fault(
                line,
                column,
                text,
                f"it is too {side} to be meant",
                good,
                range_words(least, most, found.unit),
            )
            return None
        return found.value


def read_readings(text: str, name: str, setting: ReadingSetting) -> Readings:
    """All readings of the file, and all that is wrong with it."""
    lines = _Lines(name, setting)
    first_line = next((line for line in text.split("\n") if line.strip() and not line.startswith("#")), "")
    if ";" in first_line and "," not in first_line:
        at = text.split("\n").index(first_line) + 1
        lines.fault(
            at,
            "",
            first_line,
            "columns are parted by semicolons; part them by commas, decimals by points",
            _head(),
        )
        return Readings((), tuple(lines.faults))
    # Remarks go first: a quote in one must not swallow the readings behind it.
    plain = "\n".join("" if line.lstrip().startswith("#") else line for line in text.split("\n"))
    reader = csv.reader(io.StringIO(plain), skipinitialspace=True, strict=True)
    columns: list[str] | None = None
    found: list[Reading] = []
    try:
        for cells in reader:
            line = reader.line_num
            if not any(cell.strip() for cell in cells):
                continue
            if columns is None:
                columns = _columns(lines, line, cells)
                if columns is None:
                    break
                continue
            if len(found) >= MOST_READINGS:
                lines.fault(
                    line,
                    "",
                    None,
                    f"there are more than {MOST_READINGS} readings; split the rail or thin them out",
                )
                break
            reading = _reading(lines, line, columns, cells)
            if reading is not None:
                found.append(reading)
    except csv.Error:
        lines.fault(
            reader.line_num,
            "",
            None,
            "a quote is still open here, or the line is no list of cells",
            _GOOD_LINE,
        )
    if columns is None and not lines.faults:
        lines.fault(1, "", None, "the line with the column names is missing", good=_head())
    elif columns is not None and not found and not lines.faults:
        lines.fault(1, "", None, "there is no reading in the file", good=_GOOD_LINE)
    return Readings(tuple(found), tuple(lines.faults))


def _head() -> str:
    return ", ".join(COLUMNS)


def _columns(lines: _Lines, line: int, cells: list[str]) -> list[str] | None:
    """The column names, or None with the faults noted."""
    names = [cell.strip().casefold() for cell in cells]
    while names and not names[-1]:
        names.pop()
    count = len(lines.faults)
    for at, column in enumerate(names):
        if column not in COLUMNS:
            near = nearest(column, COLUMNS)
            hint = f"; did you mean {near!r}?" if near else ""
            lines.fault(line, "column names", column, f"no column of this name is known{hint}", _head())
        elif column in names[:at]:
            lines.fault(line, "column names", column, "this column stands here twice", _head())
    for needed in ("kind", "a", "reading"):
        if needed not in names:
            lines.fault(line, "column names", None, f"the column {needed!r} is missing", _head())
    return names if len(lines.faults) == count else None


def _reading(lines: _Lines, line: int, columns: list[str], cells: list[str]) -> Reading | None:
    """One line, or None with its faults noted."""
    values = [cell.strip() for cell in cells]
    while len(values) > len(columns) and not values[-1]:
        values.pop()
    if len(values) > len(columns):
        rule = (
            "there are more cells than columns; a comma in a number or note parts it (put the note in quotes)"
        )
        lines.fault(line, "", ", ".join(values), rule, _GOOD_LINE)
        return None
    row = dict(zip(columns, values, strict=False))
    if re.match(r"[0-9]", row.get("with", "")):
        parted = f"{row.get('reading', '')},{row['with']}"
        rule = "a comma inside the number parted it into two cells; write a point for decimals"
        lines.fault(line, "reading", parted, rule, parted.replace(",", "."))
        return None
    count = len(lines.faults)
    kind = _kind(lines, line, row.get("kind", ""))
    a = row.get("a", "")
    lines.hole(line, "a", a)
    b, with_hole = _others(lines, line, kind, a, row.get("b", "").split())
    value = _value(lines, line, kind, row.get("reading", ""))
    tool, tool_u = _tool(lines, line, kind, row.get("with", ""))
    u = None
    if row.get("u"):
        u = lines.length(line, "u", row["u"], LEAST_U, MOST_U, "0.05 mm")
    note = row.get("note", "")
    if len(note) > 200 or not note.isprintable():
        lines.fault(line, "note", note, "a note has at most 200 letters on one line")
    if len(lines.faults) > count or kind is None or value is None:
        return None
    return Reading(
        line=line,
        kind=kind,
        a=with_hole[0] if with_hole else a,
        b=with_hole[1] if with_hole else b,
        value=value,
        tool=tool,
        u=tool_u if u is None else u,
        u_is_default=u is None,
        with_hole=a if with_hole else None,
        note=note,
    )


def _kind(lines: _Lines, line: int, text: str) -> ReadingKind | None:
    plain = " ".join(text.replace("_", " ").replace("-", " ").split()).casefold()
    plain = _AMERICAN.get(plain, plain)
    for kind in KINDS:
        if plain == kind:
            return cast(ReadingKind, kind)
    if plain.replace(" ", "_") in LATER_KINDS:
        lines.fault(line, "kind", text, "this kind of reading is not read yet", allowed=", ".join(KINDS))
        return None
    near = nearest(plain, KINDS)
    hint = f"; did you mean {near!r}?" if near else ""
    lines.fault(
        line, "kind", text, f"no kind of reading has this name{hint}", near or "inside", ", ".join(KINDS)
    )
    return None


def _others(
    lines: _Lines, line: int, kind: ReadingKind | None, a: str, others: list[str]
) -> tuple[str | None, tuple[str, str] | None]:
    """Hole b; or, for a hole in line, the two holes of the line."""
    if kind is None:
        return None, None
    wanted = {"diameter": 0, "in_line": 2}.get(kind, 1)
    if len(others) != wanted:
        words = {
            0: "no other hole is wanted here",
            1: "one other hole is wanted here",
            2: "two holes are wanted here",
        }
        good = {0: "diameter, h1, , 6.80 mm", 1: _GOOD_LINE, 2: "in_line, h4, h1 h8, 0 mm"}
        lines.fault(line, "b", " ".join(others) or None, words[wanted], good[wanted])
        return None, None
    # Every name is looked at, so that all slips of the line are told.
    are_known = [lines.hole(line, "b", other) for other in others]
    if len({a, *others}) != wanted + 1 and all(are_known):
        lines.fault(line, "b", " ".join(others), "a hole cannot be read against itself")
    if wanted == 2:
        return None, (others[0], others[1])
    return (others[0] if wanted else None), None


def _value(lines: _Lines, line: int, kind: ReadingKind | None, text: str) -> Metre | None:
    if not text:
        lines.fault(line, "reading", None, "the figure is missing", good="63.42 mm")
        return None
    if kind == "in_line":
        return lines.length(line, "reading", text, 0.0, MOST_OFF_LINE, "0 mm")
    if kind is None:  # told already; the figure itself may still be amiss
        return lines.length(line, "reading", text, 0.0, MOST, "63.42 mm")
    return lines.length(line, "reading", text, LEAST, MOST, "63.42 mm")


def _tool(lines: _Lines, line: int, kind: ReadingKind | None, text: str) -> tuple[str, Metre]:
    plain = " ".join(text.replace("_", " ").split()).casefold()
    if not plain:
        plain = "straight edge" if kind == "in_line" else "caliper"
    if plain not in TOOLS:
        near = nearest(plain, TOOLS)
        hint = f"; did you mean {near!r}?" if near else ""
        lines.fault(
            line, "with", text, f"no tool of this name is known{hint}", near or "caliper", ", ".join(TOOLS)
        )
        return "caliper", LEAST_U
    return plain, lines.setting.tool_u.get(plain, LEAST_U)
