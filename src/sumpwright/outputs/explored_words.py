"""An exploration in words: what was tried, what nothing beats, what each gives up, what matters."""

from __future__ import annotations

import math

from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, ShareRow, VariantRow
from sumpwright.outputs.words import UnitSystem, write_number, write_value

WAYS = {
    "grid": "every combination of the steps",
    "spread": "evenly spread over the ranges",
    "search": "a search, each batch bred from the best before",
    "matters": "one input changed at a time, to tell what matters",
}

NOT_CHECKED = (
    "Only what counts in the plan was worked out for each variant. Take one, and run 'check' and 'drive"
    " --free-surface' on its job file before any metal is cut."
)


def value_words(column: AnswerColumn, value: float | None, units: UnitSystem) -> str:
    """An answer with its unit; what cannot be said is said so."""
    if value is None:
        return "cannot say"
    if column.kind == "price":
        return f"{write_number(value, 0 if abs(value) >= 100 else 2)} {column.unit}"
    if column.kind == "length" and abs(value) >= 1.0:
        return write_value(value, column.unit, "length", units, 0)
    return write_value(value, column.unit, column.kind, units)


def limit_words(column: AnswerColumn, units: UnitSystem) -> str:
    """The limit as it was asked for; empty where there is none."""
    parts = [
        f"{word} {value_words(column, limit, units)}"
        for word, limit in (("at least", column.at_least), ("at most", column.at_most))
        if limit is not None
    ]
    if not parts:
        return ""
    return " and ".join(parts) + ("" if column.is_hard else " (soft)")


def row_name(row: VariantRow) -> str:
    """ "No 17", or the job as it stands."""
    return "as it stands" if row.number is None else f"No {row.number}"


def setting_words(sheet: ExploredSheet, row: VariantRow) -> str:
    """What each thing is in this variant: "depth 114 mm, sheet 2 mm"."""
    return ", ".join(f"{name} {value}" for name, value in zip(sheet.axes, row.says, strict=True))


def answer_words(sheet: ExploredSheet, row: VariantRow) -> str:
    """All answers of a row in one sentence."""
    return ", ".join(
        f"{column.name} {value_words(column, value, sheet.units)}"
        for column, value in zip(sheet.columns, row.values, strict=True)
    )


def differs(sheet: ExploredSheet, k: int) -> bool:
    """Whether an answer is not the same for all that are shown."""
    rows = (*sheet.rows, *(() if sheet.as_it_stands is None else (sheet.as_it_stands,)))
    values = {row.values[k] for row in rows} | {dot[k] for dot in sheet.dots}
    return len(values - {None}) > 1


def best_words(sheet: ExploredSheet, row: VariantRow) -> str:
    """In what no other is better; empty where there is nothing."""
    return ", ".join(
        sheet.columns[k].name for k, much in enumerate(row.gives_up) if much == 0.0 and differs(sheet, k)
    )


def same_words(sheet: ExploredSheet) -> str:
    """Answers that every variant shares: they decide nothing. Empty where there are none."""
    same = [
        f"{column.name} {value_words(column, sheet.rows[0].values[k], sheet.units)}"
        for k, column in enumerate(sheet.columns)
        if sheet.rows and column.want != "only the limit" and not differs(sheet, k)
    ]
    return f"The same for all: {', '.join(same)}." if same else ""


def give_up_words(sheet: ExploredSheet, row: VariantRow) -> str:
    """What is given up against the best in each answer: "5.5 mm of cover margin, 64 g of mass"."""
    return ", ".join(
        f"{value_words(column, much, sheet.units)} of {column.name}"
        for column, much in zip(sheet.columns, row.gives_up, strict=True)
        if much is not None and much > 0.0
    )


def miss_words(sheet: ExploredSheet, row: VariantRow) -> str:
    """Limits that are missed, and by how much; empty where all are kept."""
    return ", ".join(
        f"{column.name} by {value_words(column, much, sheet.units)}"
        for column, much in zip(sheet.columns, row.misses, strict=True)
        if much is not None
    )


def tally_lines(sheet: ExploredSheet) -> list[str]:
    """What became of all that was asked for."""
    known = sheet.asked - sheet.tried
    lines = [
        f"{sheet.asked:,} variants: {WAYS[sheet.way]}."
        + (f" {sheet.tried:,} worked out now, {known:,} known before." if known else "")
    ]
    if sheet.different < sheet.asked:
        lines.append(f"{sheet.asked - sheet.different:,} of them are the same pan as another.")
    if sheet.refused:
        lines.append(f"{sheet.refused:,} make no pan; most often:")
        lines += [f"  {count:,} times: {why}" for why, count in sheet.reasons]
    lines += [f"{count:,} dropped: {name} misses its limit." for name, count in sheet.dropped]
    lines += [f"{count:,} not compared: {name} cannot be said." for name, count in sheet.cannot_say]
    if sheet.broke:
        number, what = sheet.broke[0]
        lines.append(
            f"The program itself went wrong on {len(sheet.broke):,}, first on No {number} ({what})."
            " They will be tried again next time; send the plan and the job to whoever gave you the program."
        )
    lines += [f"Taken, because the plan does not say: {words}." for words in sheet.taken]
    return lines


def unbeaten_heading(sheet: ExploredSheet) -> str:
    """How many are unbeaten, and how many of them are shown."""
    if not sheet.rows:
        return "Nothing is left that keeps every hard limit"
    shown = len(sheet.rows)
    if shown < sheet.unbeaten:
        return f"Nothing beats these: {shown} of {sheet.unbeaten:,}, as different as can be"
    return "Nothing beats this one" if shown == 1 else f"Nothing beats these {shown}"


def share_words(row: ShareRow, axes: tuple[str, ...]) -> str:
    """Which inputs move an answer, the strongest first."""
    if row.why_not:
        return f"cannot say: {row.why_not}"
    order = sorted(range(len(axes)), key=lambda k: (-row.in_all[k], k))
    return "; ".join(f"{axes[k]} {share_with_range(row, k)}" for k in order)


def share_with_range(row: ShareRow, k: int) -> str:
    """ "61 % (55 to 66 %)"; what lies below one in a hundred is next to nothing."""
    share = row.in_all[k]
    words = "next to nothing" if share < 0.01 else f"{write_number(100.0 * share, 0)} %"
    if not (math.isfinite(row.low[k]) and math.isfinite(row.high[k])) or share < 0.01:
        return words
    low, high = max(0.0, row.low[k]), max(0.0, row.high[k])
    return f"{words} ({write_number(100.0 * low, 0)} to {write_number(100.0 * high, 0)} %)"
