"""``explored.pdf``: the few worth a look, drawn among all that were tried, to take to the bench."""

from __future__ import annotations

import math

from sumpwright.outputs.explored_model import AnswerColumn, ExploredSheet, ShareRow, VariantRow
from sumpwright.outputs.explored_words import (
    NOT_CHECKED,
    best_words,
    differs,
    give_up_words,
    limit_words,
    miss_words,
    row_name,
    same_words,
    share_with_range,
    tally_lines,
    unbeaten_heading,
    value_words,
)
from sumpwright.outputs.form import Column, Form, Row
from sumpwright.outputs.paper import Sheet
from sumpwright.outputs.words import printed_unit, write_number

MOST_PLOTS = 4
_PLOT = 78.0  # mm high
_COLUMNS_ON_PAPER = 9


def explored_pdf(sheet: ExploredSheet) -> bytes:
    """The page as a PDF file: laid out once to count its pages, once to draw them."""
    return _laid_out(sheet, _laid_out(sheet, None).page).finish()


def _laid_out(sheet: ExploredSheet, total: int | None) -> Form:
    foot = f"Planning figures, not a certified design. Sumpwright {sheet.version}".rstrip()
    form = Form(sheet.paper, f"{sheet.job_name}: variants", sheet.job_name, foot, total)
    form.heading("V", "Variants")
    for line in tally_lines(sheet):
        form.words(line.strip(), 8.5, indent=5.0 if line.startswith(" ") else 0.0)
    form.caption("What counts")
    form.table(
        (Column("answer", 40), Column("better is", 30), Column("limit", 60)),
        tuple(
            Row(
                (
                    column.name,
                    "–" if column.want == "only the limit" else column.want,
                    limit_words(column, sheet.units) or "none",
                )
            )
            for column in sheet.columns
        ),
    )
    if sheet.way != "matters":
        _unbeaten(form, sheet)
        _plots(form, sheet)
    if sheet.shares:
        _matters(form, sheet)
    return form


def _unbeaten(form: Form, sheet: ExploredSheet) -> None:
    form.caption(unbeaten_heading(sheet), follow=50.0)
    if not sheet.rows and sheet.as_it_stands is None:
        return
    form.words(
        "Each of these is beaten by no other in all that counts at once. Barred: the job as it stands."
    )
    rows = (*sheet.rows, *(() if sheet.as_it_stands is None else (sheet.as_it_stands,)))
    # What does not fit side by side goes into a table of its own, under the same numbers.
    for first in range(0, len(sheet.columns), _COLUMNS_ON_PAPER - 3):
        shown = range(first, min(first + _COLUMNS_ON_PAPER - 3, len(sheet.columns)))
        form.table(
            (
                Column("variant", 20),
                *((Column("what it is", 42),) if first == 0 else ()),
                *(Column(sheet.columns[k].name, 22, "right") for k in shown),
            ),
            tuple(
                Row(
                    (
                        row_name(row),
                        *((_setting_lines(sheet, row),) if first == 0 else ()),
                        *(value_words(sheet.columns[k], row.values[k], sheet.units) for k in shown),
                    ),
                    row.number is None,
                )
                for row in rows
            ),
        )
    if sheet.rows:
        form.caption("What each gives up")
        form.table(
            (Column("variant", 16), Column("best in", 36), Column("gives up", 70), Column("against it", 58)),
            tuple(
                Row(
                    (
                        row_name(row),
                        best_words(sheet, row) or "–",
                        give_up_words(sheet, row),
                        _against(sheet, row),
                    )
                )
                for row in sheet.rows
            ),
        )
        if same_words(sheet):
            form.words(same_words(sheet), 8.5)
        form.words(NOT_CHECKED, 8.5)


def _setting_lines(sheet: ExploredSheet, row: VariantRow) -> str:
    if row.number is None:
        return ""
    return ", ".join(f"{name} {value}" for name, value in zip(sheet.axes, row.says, strict=True))


def _against(sheet: ExploredSheet, row: VariantRow) -> str:
    missed = miss_words(sheet, row)
    words = [f"misses a soft limit: {missed}"] if missed else []
    if not row.is_checked:
        words.append("not checked in full")
    elif row.worse:
        words.append(f"worse than the job as it stands: {'; '.join(row.worse)}")
    else:
        words.append("checked in full: nothing worse than the job as it stands")
    if row.better:
        words.append(f"cured: {'; '.join(row.better)}")
    return "; ".join(words)


def _matters(form: Form, sheet: ExploredSheet) -> None:
    form.caption("What matters", follow=50.0)
    form.words(
        "How much of the spread of each answer an input causes, alone and with all that it does together with"
        " others. The range in brackets holds the true share 95 times of 100. Shares can add up to more than"
        " the whole where inputs work together."
    )
    form.table(
        (Column("answer", 34), *(Column(name, 28, "right") for name in sheet.axes)),
        tuple(Row((share.answer, *_share_cells(share, len(sheet.axes)))) for share in sheet.shares),
    )
    for share in sheet.shares:
        if share.why_not:
            form.words(f"{share.answer}: cannot say; {share.why_not}.", 8.5)
        elif share.lost:
            form.words(
                f"{share.answer}: {share.lost} of {share.rounds} rounds left out, without an answer.", 8.5
            )


def _share_cells(share: ShareRow, count: int) -> tuple[str, ...]:
    return (
        ("cannot say",) * count if share.why_not else tuple(share_with_range(share, k) for k in range(count))
    )


# ---- plots ---------------------------------------------------------------------------


def _plots(form: Form, sheet: ExploredSheet) -> None:
    """The first answer against each other one that is compared."""
    compared = [
        k for k, column in enumerate(sheet.columns) if column.want != "only the limit" and differs(sheet, k)
    ]
    if len(compared) < 2 or not sheet.rows:
        return
    across = compared[0]
    form.caption("Drawn among all that were tried", follow=_PLOT + 20.0)
    form.words(
        "Black with its number: unbeaten. Grey: others that were tried. Open square: the job as it stands."
        " Dashed: a limit; beyond it lies the hatched side. The arrow points to the better corner."
    )
    for up in compared[1 : 1 + MOST_PLOTS]:

        def draw(paper: Sheet, x: float, y: float, width: float, height: float, up: int = up) -> None:
            _Plot(sheet, across, up, x + 18.0, y + 12.0, width - 26.0, height - 16.0).draw(paper)

        form.picture(_PLOT, draw)


class _Plot:
    """One answer across, another up, in the reader's units."""

    def __init__(
        self, sheet: ExploredSheet, across: int, up: int, x: float, y: float, width: float, height: float
    ) -> None:
        self._sheet, self._across, self._up = sheet, across, up
        self._x, self._y, self._width, self._height = x, y, width, height
        others = [(dot[across], dot[up]) for dot in sheet.dots]
        self._dots = [(a, b) for a, b in others if a is not None and b is not None]
        rows = (*sheet.rows, *(() if sheet.as_it_stands is None else (sheet.as_it_stands,)))
        shown = [(row.values[across], row.values[up]) for row in rows]
        both = [*self._dots, *((a, b) for a, b in shown if a is not None and b is not None)]
        self._low_a, self._high_a = _padded([a for a, _ in both])
        self._low_b, self._high_b = _padded([b for _, b in both])

    def _place(self, a: float, b: float) -> tuple[float, float]:
        return (
            self._x + (a - self._low_a) / (self._high_a - self._low_a) * self._width,
            self._y + (b - self._low_b) / (self._high_b - self._low_b) * self._height,
        )

    def draw(self, paper: Sheet) -> None:
        """Frame, scales, limits, dots, and the numbered ones on top."""
        sheet = self._sheet
        for k in (self._across, self._up):
            self._limits(paper, sheet.columns[k], k == self._across)
        paper.box(self._x, self._y, self._width, self._height, weight=0.4)
        self._scale(paper, sheet.columns[self._across], True)
        self._scale(paper, sheet.columns[self._up], False)
        self._arrow(paper)
        for a, b in self._dots:
            x, y = self._place(a, b)
            paper.circle(x, y, 0.5, weight=0.1, grey=0.55, fill=0.75)
        stands = sheet.as_it_stands
        if stands is not None:
            a_now, b_now = stands.values[self._across], stands.values[self._up]
            if a_now is not None and b_now is not None:
                x, y = self._place(a_now, b_now)
                paper.box(x - 1.3, y - 1.3, 2.6, 2.6, weight=0.5)
        for row in sheet.rows:
            a_here, b_here = row.values[self._across], row.values[self._up]
            if a_here is None or b_here is None:
                continue
            x, y = self._place(a_here, b_here)
            paper.circle(x, y, 1.1, weight=0.1, fill=0.0)
            flip = x > self._x + 0.92 * self._width
            paper.text(
                x + (-1.8 if flip else 1.8), y + 1.0, f"{row.number}", 7.5, bold=True,
                align="right" if flip else "left", halo=True,
            )  # fmt: skip

    def _limits(self, paper: Sheet, column: AnswerColumn, is_across: bool) -> None:
        low, high = (self._low_a, self._high_a) if is_across else (self._low_b, self._high_b)
        for limit, past_is_below in ((column.at_least, True), (column.at_most, False)):
            if limit is None or not low < limit < high:
                continue
            start, end = (low, limit) if past_is_below else (limit, high)
            if is_across:
                x1, _ = self._place(start, self._low_b)
                x2, _ = self._place(end, self._low_b)
                area = (x1, self._y, x2 - x1, self._height)
                at, _ = self._place(limit, self._low_b)
                line = (at, self._y, at, self._y + self._height)
            else:
                _, y1 = self._place(self._low_a, start)
                _, y2 = self._place(self._low_a, end)
                area = (self._x, y1, self._width, y2 - y1)
                _, at = self._place(self._low_a, limit)
                line = (self._x, at, self._x + self._width, at)
            with paper.within(*area):
                step = 4.0
                for k in range(int((self._width + self._height) / step) + 1):
                    x = self._x + k * step
                    paper.line(x, self._y, x - self._height, self._y + self._height, weight=0.1, grey=0.7)
            with paper.dashed(1.6, 1.0):
                paper.line(*line, weight=0.35)

    def _scale(self, paper: Sheet, column: AnswerColumn, is_across: bool) -> None:
        low, high = (self._low_a, self._high_a) if is_across else (self._low_b, self._high_b)
        unit = printed_unit(column.kind, column.unit, self._sheet.units)
        for number, decimals in _ticks(unit.number(low), unit.number(high)):
            value = number * unit.size + unit.zero
            words = write_number(number, decimals)
            if is_across:
                x, y = self._place(value, self._low_b)
                paper.line(x, y, x, y - 1.2, weight=0.25)
                paper.text(x, y - 4.4, words, 7.0, align="middle")
            else:
                x, y = self._place(self._low_a, value)
                paper.line(x, y, x - 1.2, y, weight=0.25)
                paper.text(x - 1.8, y - 0.9, words, 7.0, align="right")
        label = column.name if not unit.label else f"{column.name}, {unit.label}"
        if is_across:
            paper.text(self._x + self._width / 2, self._y - 8.8, label, 8.0, bold=True, align="middle")
        else:
            middle = self._y + self._height / 2
            paper.text(self._x - 13.0, middle, label, 8.0, bold=True, align="middle", turn=90)

    def _arrow(self, paper: Sheet) -> None:
        """Short arrow inside the corner where both answers are better."""
        right = self._sheet.columns[self._across].want == "more"
        top = self._sheet.columns[self._up].want == "more"
        x = self._x + (self._width - 2.0 if right else 2.0)
        y = self._y + (self._height - 2.0 if top else 2.0)
        paper.arrow(x - (6.0 if right else -6.0), y - (4.5 if top else -4.5), x, y, 0.5, 2.2)


def _padded(values: list[float]) -> tuple[float, float]:
    low, high = min(values), max(values)
    room = 0.08 * (high - low) or 0.05 * abs(high) or 1e-3
    return low - room, high + room


def _ticks(low: float, high: float) -> list[tuple[float, int]]:
    """Round numbers inside a range, four to eight of them, with the decimals that they want."""
    rough = (high - low) / 5.0
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1.0 - 1e-9))
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step - 1e-9)
    return [(k * step, decimals) for k in range(first, math.floor(high / step + 1e-9) + 1)]
