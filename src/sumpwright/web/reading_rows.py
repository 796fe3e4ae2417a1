"""The readings file as rows, each with what the adjustment made of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from sumpwright.job.faults import Fault
from sumpwright.job.readings import COLUMNS, KINDS, TOOLS
from sumpwright.outputs.words import UnitSystem, write_length
from sumpwright.rail.model import RailResult, ReadingCheck
from sumpwright.web.messages import ReadingRow, ReadingsTable
from sumpwright.web.rail_edits import cells_of, columns_of, is_remark, lines_of

LEAST_REDUNDANCY = 0.1
"""Below this a slip in a reading would not show in the others."""


def readings_table(
    name: str, text: str, faults: Iterable[Fault], rail: RailResult | None, units: UnitSystem
) -> ReadingsTable:
    """All lines in the order of the file; blank ones and the column names are left out."""
    columns, head = columns_of(text)
    wrong: dict[int, list[str]] = {}
    for fault in faults:
        if fault.file == name and fault.line is not None:
            wrong.setdefault(fault.line, []).append(f"{fault.key}: {fault.rule}" if fault.key else fault.rule)
    checks: dict[int, list[ReadingCheck]] = {}
    for check in () if rail is None else rail.checks:
        checks.setdefault(check.reading.line, []).append(check)
    rows = []
    for number, line in enumerate(lines_of(text), 1):
        if not line.strip() or number == head:
            continue
        if is_remark(line):
            rows.append(_row(number, {"note": line.strip()}, [], wrong.get(number, []), units, remark=True))
            continue
        cells = cells_of(line)
        row = {column: cells[at] if at < len(cells) else "" for at, column in enumerate(columns)}
        rows.append(_row(number, row, checks.get(number, []), wrong.get(number, []), units, remark=False))
    return ReadingsTable(file=name, kinds=dict(KINDS), tools=list(TOOLS), columns=dict(COLUMNS), rows=rows)


def _row(
    number: int,
    row: Mapping[str, str],
    checks: list[ReadingCheck],
    faults: list[str],
    units: UnitSystem,
    remark: bool,
) -> ReadingRow:
    weakest = min((check.redundancy for check in checks), default=None)
    is_checked = weakest is None or weakest >= LEAST_REDUNDANCY
    return ReadingRow(
        line=number,
        kind=row.get("kind", ""),
        a=row.get("a", ""),
        b=row.get("b", ""),
        reading=row.get("reading", ""),
        tool=row.get("with", ""),
        u=row.get("u", ""),
        note=row.get("note", ""),
        remark=remark,
        adjusted=", ".join(write_length(check.computed, units, 2) for check in checks),
        off_by=", ".join(write_length(-check.residual, units, 2) for check in checks),
        checked="" if is_checked else "cannot be checked",
        set_aside=any(check.set_aside for check in checks),
        faults=faults,
    )
