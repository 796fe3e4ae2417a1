"""An exploration as files: the few as JSON, all variants as a table that any sheet program opens."""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, VariantRow
from sumpwright.outputs.plain_numbers import number_or_none
from sumpwright.outputs.words import printed_unit

SCHEMA = "sumpwright-explored-1"
_SUFFIX = {"mm": "mm", "L": "l", "mL": "ml", "kPa": "kpa", "kg": "kg", "s": "s"}


def column_key(column: AnswerColumn) -> str:
    """Name of a column with its unit, metric whatever the reader uses: "cover_margin_mm"."""
    label = printed_unit(column.kind, column.unit, "mm").label
    return f"{column.name.replace(' ', '_')}_{_SUFFIX.get(label, label.casefold())}"


def metric(column: AnswerColumn, value: float | None) -> float | None:
    """An answer in the metric unit of its column."""
    if value is None:
        return None
    return number_or_none(printed_unit(column.kind, column.unit, "mm").number(value))


def explored_json(sheet: ExploredSheet) -> bytes:
    """What is shown, as data."""
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "job": sheet.job_name,
        "plan": sheet.plan_name,
        "way": sheet.way,
        "varied": list(sheet.axes),
        "counts": [
            {
                "answer": column.name,
                "key": column_key(column),
                "want": column.want,
                "at_least": metric(column, column.at_least),
                "at_most": metric(column, column.at_most),
                "limit": "hard" if column.is_hard else "soft",
            }
            for column in sheet.columns
        ],
        "asked": sheet.asked,
        "different": sheet.different,
        "complete": sheet.complete,
        "refused": sheet.refused,
        "refused_because": [{"why": why, "count": count} for why, count in sheet.reasons],
        "dropped": [{"answer": name, "count": count} for name, count in sheet.dropped],
        "cannot_say": [{"answer": name, "count": count} for name, count in sheet.cannot_say],
        "unbeaten": sheet.unbeaten,
        "as_it_stands": None if sheet.as_it_stands is None else _row(sheet, sheet.as_it_stands),
        "worth_a_look": [_row(sheet, row) for row in sheet.rows],
        "matters": [
            {
                "answer": share.answer,
                "alone": _shares(sheet, share.alone),
                "in_all": _shares(sheet, share.in_all),
                "in_all_low": _shares(sheet, share.low),
                "in_all_high": _shares(sheet, share.high),
                "rounds": share.rounds,
                "rounds_left_out": share.lost,
                "why_not": share.why_not,
            }
            for share in sheet.shares
        ],
        "taken": list(sheet.taken),
        "version": sheet.version,
    }
    return (json.dumps(data, indent=1, ensure_ascii=False) + "\n").encode()


def _row(sheet: ExploredSheet, row: VariantRow) -> dict[str, Any]:
    def by_key(values: tuple[float | None, ...]) -> dict[str, float | None]:
        pairs = zip(sheet.columns, values, strict=False)
        return {column_key(column): metric(column, value) for column, value in pairs}

    return {
        "number": row.number,
        "varied": dict(zip(sheet.axes, row.says, strict=False)),
        "answers": by_key(row.values),
        "gives_up": by_key(row.gives_up),
        "misses": by_key(row.misses),
        "checked_in_full": row.is_checked,
        "worse": list(row.worse),
        "better": list(row.better),
    }


def _shares(sheet: ExploredSheet, values: tuple[float, ...]) -> dict[str, float | None]:
    return {name: number_or_none(value) for name, value in zip(sheet.axes, values, strict=False)}


VariantLine = tuple[int, tuple[str, ...], tuple[float | None, ...], str]
"""Number, what each thing is, the answers in base SI, where it stands."""


def write_variants(
    path: Path, axes: tuple[str, ...], columns: tuple[AnswerColumn, ...], lines: Iterable[VariantLine]
) -> None:
    """All variants as a CSV file, one a line, never all in memory; the file is whole or not there."""
    fresh = path.with_name(f".{path.name}.new")
    with fresh.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["number", *axes, *(column_key(column) for column in columns), "stands"])
        for number, says, values, where in lines:
            table.writerow([number, *says, *_cells(columns, values), where])
    os.replace(fresh, path)


def _cells(columns: tuple[AnswerColumn, ...], values: tuple[float | None, ...]) -> list[str]:
    return [
        "" if value is None else f"{metric(column, value)}"
        for column, value in zip(columns, values, strict=True)
    ]


def write_whole(path: Path, content: bytes) -> None:
    """A file that is whole or not there."""
    fresh = path.with_name(f".{path.name}.new")
    fresh.write_bytes(content)
    os.replace(fresh, path)
