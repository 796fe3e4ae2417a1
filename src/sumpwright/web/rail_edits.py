"""A change of the readings file: one line is written anew, all others stay as they are."""

from __future__ import annotations

import csv
import io

from sumpwright.job.readings import COLUMNS
from sumpwright.web.edit_faults import EditRefusedError


def lines_of(text: str) -> list[str]:
    """The lines without their ends."""
    return text.replace("\r\n", "\n").split("\n")


def is_remark(line: str) -> bool:
    """A line that holds no reading."""
    return line.lstrip().startswith("#")


def cells_of(line: str) -> list[str]:
    """The cells of one line; one cell with everything where it is no list of cells."""
    try:
        return [
            cell.strip()
            for cell in next(csv.reader(io.StringIO(line), skipinitialspace=True, strict=True), [])
        ]
    except csv.Error:
        return [line.strip()]


def columns_of(text: str) -> tuple[list[str], int]:
    """Names of the columns and the line they stand on; the usual ones and 0 where none is readable."""
    for number, line in enumerate(lines_of(text), 1):
        if line.strip() and not is_remark(line):
            names = [cell.casefold() for cell in cells_of(line)]
            while names and not names[-1]:
                names.pop()
            known = names and all(name in COLUMNS for name in names) and "kind" in names
            return (names, number) if known else (list(COLUMNS), 0)
    return list(COLUMNS), 0


def row_of(text: str, line: int) -> dict[str, str]:
    """The cells of one line by column."""
    lines = lines_of(text)
    if not 1 <= line <= len(lines) or is_remark(lines[line - 1]) or not lines[line - 1].strip():
        raise EditRefusedError(f"line {line}", "there is no reading on this line any more")
    names, _ = columns_of(text)
    cells = cells_of(lines[line - 1])
    return {name: cells[at] if at < len(cells) else "" for at, name in enumerate(names)}


def set_cell(text: str, line: int, column: str, typed: str) -> str:
    """The text with one cell written otherwise."""
    names, head = columns_of(text)
    row = row_of(text, line)
    if line == head:
        raise EditRefusedError(f"line {line}", "the line with the column names is no reading")
    if column not in names:
        raise EditRefusedError(
            column, "the file has no column of this name; add it to its first line by hand"
        )
    if row[column] == typed.strip():
        return text
    row[column] = _one_line(column, typed)
    return _with_line(text, line, [row[name] for name in names])


def add_reading(text: str, after_line: int, cells: dict[str, str]) -> str:
    """The text with one more reading behind a line, 0 = behind the last."""
    names, head = columns_of(text)
    lines = text.split("\n")
    at = after_line
    if at == 0:
        at = len(lines)
        while at and not lines[at - 1].strip():
            at -= 1
    if not head <= at <= len(lines):
        raise EditRefusedError(f"line {after_line}", "there is no such line any more")
    left_out = [name for name, cell in cells.items() if cell.strip() and name not in names]
    if left_out:
        raise EditRefusedError(
            left_out[0], "the file has no column of this name; add it to its first line by hand"
        )
    row = _joined([_one_line(name, cells.get(name, "")) for name in names])
    lines[at:at] = [row] if at < len(lines) else [row, ""]
    return "\n".join(lines)


def remove_reading(text: str, line: int) -> str:
    """The text without one line."""
    _, head = columns_of(text)
    row_of(text, line)
    if line == head:
        raise EditRefusedError(f"line {line}", "the line with the column names is no reading")
    lines = text.split("\n")
    del lines[line - 1]
    return "\n".join(lines)


def _with_line(text: str, line: int, cells: list[str]) -> str:
    lines = text.split("\n")
    end = "\r" if lines[line - 1].endswith("\r") else ""
    lines[line - 1] = _joined(cells) + end
    return "\n".join(lines)


def _joined(cells: list[str]) -> str:
    """Cells on one line as a person writes them: a comma and a blank between, quotes only where needed."""
    while len(cells) > 1 and not cells[-1]:
        cells = cells[:-1]
    return ", ".join(
        f'"{cell.replace(chr(34), chr(34) * 2)}"' if _needs_quotes(cell) else cell for cell in cells
    )


def _needs_quotes(cell: str) -> bool:
    return "," in cell or '"' in cell or cell.startswith("#")


def _one_line(column: str, typed: str) -> str:
    plain = typed.strip()
    if not plain.isprintable():
        raise EditRefusedError(column, "a cell is one line of plain text")
    return plain
