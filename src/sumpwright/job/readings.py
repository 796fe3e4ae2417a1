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
    "a": "the hole it was read at; for heights and arches the hole or land",
    "b": "the other hole; two holes with a blank between where a line is meant; the name of the straight "
    "edge, circle or set-up",
    "reading": "the figure with its unit, or the bare figure if the job file says `readings_in`; two figures "
    "for a readout",
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
    "offset": "from the straight edge named in b, laid along the rail, to the centre of hole a; at least "
    "three holes with the same one",
    "offset_near": "the same to the near edge of hole a",
    "offset_far": "the same to the far edge of hole a",
    "on_one_circle": "how far hole a lies outside the circle named in b; nought if it lies on it; at least "
    "four holes with the same one",
    "square": "at corner a: how far the second hole in b leans towards the first, where it should stand "
    "square to it; nought if it is square",
    "mirrored": "holes a and b mirror each other about the rail's middle line, nought; at least two pairs",
    "readout": "the two coordinates of hole a on a mill's readout, x then y; b names the set-up if there "
    "are several",
    "height": "how far hole or land a lies above the datum plane, minus if below",
    "chord": "of the arched land a: straight across from one end of the arch to the other",
    "rise": "of the arched land a: from the middle of the chord to the arch",
}

LATER_KINDS = ("scan",)
"""Kinds of reading that are not read yet."""

TOOLS = ("caliper", "readout", "straight edge", "rule", "tape", "by eye")

MOST_READINGS = 4000
LEAST: Metre = 0.0005
MOST: Metre = 3.0
MOST_OFF_LINE: Metre = 0.1
LEAST_U: Metre = 1e-6
MOST_U: Metre = 0.01

_GOOD_LINE = "inside, h1, h2, 63.42 mm, caliper, ,"
_OTHER_NAMES = {"center": "centre", "dia": "diameter"}
_OTHERS = {"diameter": 0, "height": 0, "chord": 0, "rise": 0, "in_line": 2, "square": 2}
"""How many other holes stand in b; one where a kind is not listed."""
_NAMED = ("offset", "offset_near", "offset_far", "on_one_circle", "readout")
"""Kinds whose b holds a name of its own, not a hole."""
_LAND_KINDS = ("height", "chord", "rise")
_USUAL_TOOL = {
    "in_line": "straight edge",
    "square": "straight edge",
    "offset": "caliper",
    "on_one_circle": "by eye",
    "mirrored": "by eye",
    "readout": "readout",
    "height": "straight edge",
}


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
    lands: Collection[str] | None = None


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
        if self.setting.bare_unit == "in":
            good = _in_inches(good)
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
            rule = f"it is too {side} to be meant"
            if re.fullmatch(r"[-+.0-9 /]+", text) and self.setting.bare_unit is not None:
                rule += f' as a bare figure; readings_in of the job file says "{self.setting.bare_unit}"'
            self.fault(line, column, text, rule, good, range_words(least, most, found.unit))
            return None
        return found.value


def _in_inches(good: str) -> str:
    """An example in millimetres as somebody who reads in inches would write it."""
    return re.sub(r"([-.0-9]+) mm", lambda found: f"{float(found.group(1)) / 25.4:.3g} in", good)


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
            found += _readings(lines, line, columns, cells)
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


def _readings(lines: _Lines, line: int, columns: list[str], cells: list[str]) -> list[Reading]:
    """The figures of one line: mostly one, none with its faults noted, two where a kind tells two."""
    values = [cell.strip() for cell in cells]
    while len(values) > len(columns) and not values[-1]:
        values.pop()
    if len(values) > len(columns):
        rule = (
            "there are more cells than columns; a comma in a number or note parts it (put the note in quotes)"
        )
        lines.fault(line, "", ", ".join(values), rule, _GOOD_LINE)
        return []
    row = dict(zip(columns, values, strict=False))
    if re.match(r"[0-9]", row.get("with", "")):
        parted = f"{row.get('reading', '')},{row['with']}"
        rule = "a comma inside the number parted it into two cells; write a point for decimals"
        lines.fault(line, "reading", parted, rule, parted.replace(",", "."))
        return []
    count = len(lines.faults)
    kind = _kind(lines, line, row.get("kind", ""))
    a = row.get("a", "")
    if kind in _LAND_KINDS:
        _land_or_hole(lines, line, kind, a)
    else:
        lines.hole(line, "a", a)
    group, b, with_hole = "", None, None
    if kind in _NAMED:
        group = _group(lines, line, kind, row.get("b", ""))
    else:
        b, with_hole = _others(lines, line, kind, a, row.get("b", "").split())
    figures = _figures(lines, line, kind, row.get("reading", ""))
    tool, tool_u = _tool(lines, line, kind, row.get("with", ""))
    u = None
    if row.get("u"):
        u = lines.length(line, "u", row["u"], LEAST_U, MOST_U, "0.05 mm")
    note = row.get("note", "")
    if len(note) > 200 or not note.isprintable():
        lines.fault(line, "note", note, "a note has at most 200 letters on one line")
    if len(lines.faults) > count or kind is None:
        return []
    third: str | None = None
    if with_hole is not None and kind == "in_line":
        a, b, third = with_hole[0], with_hole[1], a
    elif with_hole is not None:
        b, third = with_hole
    family, _, edge = kind.partition("_") if kind.startswith("offset_") else (kind, "", "")
    return [
        Reading(
            line=line,
            kind=cast(ReadingKind, family),
            a=a,
            b=b,
            value=value,
            tool=tool,
            u=tool_u if u is None else u,
            u_is_default=u is None,
            with_hole=third,
            note=note,
            group=group,
            part=part or edge,
        )
        for part, value in figures
    ]


def _group(lines: _Lines, line: int, kind: str, text: str) -> str:
    name = " ".join(text.split())
    if not name and kind != "readout":
        what = "circle" if kind == "on_one_circle" else "straight edge"
        lines.fault(line, "b", None, f"give the {what} a name here, the same for all its holes", "front bar")
    elif len(name) > 40 or not name.isprintable():
        lines.fault(line, "b", text, "a name has at most 40 letters", "front bar")
    return name


def _land_or_hole(lines: _Lines, line: int, kind: str, name: str) -> None:
    """An arch is a land; a height is told of a land or of a hole."""
    lands, holes = lines.setting.lands, lines.setting.holes
    if lands is None or holes is None:
        return
    known = [*lands, *holes] if kind == "height" else [*lands]
    if name not in known:
        near = nearest(name, known)
        hint = f"; did you mean {near!r}?" if near else ""
        what = "hole or land" if kind == "height" else "land"
        lines.fault(line, "a", name or None, f"no {what} of this name in the job file{hint}", near or "")


def _kind(lines: _Lines, line: int, text: str) -> str | None:
    plain = " ".join(text.replace("_", " ").replace("-", " ").split()).casefold()
    plain = _OTHER_NAMES.get(plain, plain)
    for kind in KINDS:
        if plain == kind.replace("_", " "):
            return kind
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
    lines: _Lines, line: int, kind: str | None, a: str, others: list[str]
) -> tuple[str | None, tuple[str, str] | None]:
    """Hole b; or, for a hole in line, the two holes of the line."""
    if kind is None:
        return None, None
    wanted = _OTHERS.get(kind, 1)
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


def _figures(lines: _Lines, line: int, kind: str | None, text: str) -> list[tuple[str, Metre]]:
    """The figures of a line, each with the part it tells; a slip is noted."""
    if not text:
        lines.fault(line, "reading", None, "the figure is missing", good="63.42 mm")
        return []
    if kind == "readout":
        return _coordinates(lines, line, text)
    least, most, good = LEAST, MOST, "63.42 mm"
    if kind in ("in_line", "square", "on_one_circle", "mirrored"):
        least, most, good = (0.0 if kind == "in_line" else -MOST_OFF_LINE), MOST_OFF_LINE, "0 mm"
    elif kind == "height":
        least, most, good = -MOST_OFF_LINE, MOST_OFF_LINE, "-0.15 mm"
    elif kind is None or kind.startswith("offset"):
        least = 0.0  # a kind not known is told already; the figure itself may still be amiss
    value = lines.length(line, "reading", text, least, most, good)
    if value is None:
        return []
    return [("middle", value), ("across", value)] if kind == "mirrored" else [("", value)]


def _coordinates(lines: _Lines, line: int, text: str) -> list[tuple[str, Metre]]:
    """Two figures parted by a blank or semicolon, each with its unit or neither: "12.30 45.60 mm" too."""
    words = text.replace(";", " ").split()
    units = [word for word in words if not re.match(r"[-+.0-9]", word)]
    numbers = [word for word in words if re.match(r"[-+.0-9]", word)]
    good = "12.30 mm 45.60 mm"
    if len(numbers) != 2 or len(units) not in (0, 1, 2):
        lines.fault(line, "reading", text, "two figures are wanted here, x then y", good)
        return []
    units = units * 2 if len(units) == 1 else units or ["", ""]
    found: list[tuple[str, Metre]] = []
    for part, number, unit in zip(("x", "y"), numbers, units, strict=True):
        value = lines.length(line, "reading", f"{number} {unit}".strip(), -MOST, MOST, good)
        if value is not None:
            found.append((part, value))
    return found if len(found) == 2 else []


def _tool(lines: _Lines, line: int, kind: str | None, text: str) -> tuple[str, Metre]:
    plain = " ".join(text.replace("_", " ").split()).casefold()
    if not plain:
        plain = _USUAL_TOOL.get(kind or "", "caliper")
    if plain not in TOOLS:
        near = nearest(plain, TOOLS)
        hint = f"; did you mean {near!r}?" if near else ""
        lines.fault(
            line, "with", text, f"no tool of this name is known{hint}", near or "caliper", ", ".join(TOOLS)
        )
        return "caliper", LEAST_U
    return plain, lines.setting.tool_u.get(plain, LEAST_U)
