"""A paper form that fills itself from top to bottom: headings, findings, tables, pictures.

It is laid out twice: once to count the pages, once to draw them.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from sumpwright.findings import Verdict
from sumpwright.outputs.paper import BOLD, FONT, PAPER_MM, Sheet, new_canvas, printable, text_width
from sumpwright.outputs.words import FindingWords

LEFT, RIGHT, TOP, BOTTOM = 16.0, 12.0, 22.0, 15.0
POINT = 25.4 / 72.0
BODY = 9.5
SMALL = 8.0
_NUMBER_AND_UNIT = re.compile(
    r"(\d) (mm|in|L|mL|kg|g|lb|s|N|J|kPa|psi|%|mm²|m²|in²|ft²|L/min|N m|lbf|lbf ft|°C|°F|US qt|m/s|ft/s)\b"
)

Align = Literal["left", "middle", "right"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: heading, share of the width, where the words stand."""

    heading: str
    share: float
    align: Align = "left"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table; a marked row is bold with a bar at its left."""

    cells: tuple[str, ...]
    is_marked: bool = False


@dataclass(frozen=True, slots=True)
class KeyFigure:
    """A box with a caption, a big figure and a note."""

    caption: str
    figure: str
    note: str = ""


def wrapped(words: str, width: float, size: float, font: str = FONT) -> list[str]:
    """The words in lines no wider than ``width`` [mm]; a number stays with its unit."""
    lines: list[str] = []
    kept = _NUMBER_AND_UNIT.sub("\\1\u00a0\\2", printable(words))
    for paragraph in kept.split("\n"):
        line = ""
        for word in paragraph.split(" "):
            for piece in _pieces(word, width, size, font):
                longer = f"{line} {piece}" if line else piece
                if line and text_width(longer, size, font) > width:
                    lines.append(line)
                    line = piece
                else:
                    line = longer
        lines.append(line)
    return lines


def _pieces(word: str, width: float, size: float, font: str) -> Iterator[str]:
    """A word, cut where it alone is wider than the line."""
    while text_width(word, size, font) > width and len(word) > 1:
        count = len(word) - 1
        while count > 1 and text_width(word[:count], size, font) > width:
            count -= 1
        yield word[:count]
        word = word[count:]
    yield word


class Form:
    """The pages of the form, filled from top to bottom; lengths in millimetres."""

    def __init__(self, paper: str, title: str, job_name: str, foot: str, total: int | None) -> None:
        """``total``: count of all pages; None where this round only counts them."""
        self.width, self.height = PAPER_MM[paper]
        self.is_counting = total is None
        self.total = total or 0
        self.page = 0
        self.y = 0.0
        self.section = ""
        self._job_name = job_name
        self._foot = foot
        self._buffer = io.BytesIO()
        self._canvas = new_canvas(self._buffer, self.width, self.height, title)
        self.sheet = Sheet(self._canvas, self.width, self.height)
        self._begin_page()

    @property
    def left(self) -> float:
        """Left edge of what is written."""
        return LEFT

    @property
    def inner_width(self) -> float:
        """Width of what is written."""
        return self.width - LEFT - RIGHT

    @property
    def room(self) -> float:
        """What is left of this page."""
        return self.y - BOTTOM

    def finish(self) -> bytes:
        """The file."""
        self._canvas.showPage()
        self._canvas.save()
        return self._buffer.getvalue()

    def new_page(self) -> None:
        """Go on at the top of a fresh page, unless this one is fresh."""
        if self.y < self.height - TOP - 0.01:
            self._canvas.showPage()
            self._begin_page()

    def need(self, height: float) -> None:
        """Make sure that so much fits on this page, or start another."""
        if self.room < height:
            self.new_page()

    def gap(self, height: float) -> None:
        """Leave some paper free."""
        self.y -= min(height, max(0.0, self.room))

    def heading(self, number: str, name: str) -> None:
        """A section: number in a black square, name, a line across."""
        self.section = name
        self.need(60.0)
        self.gap(4.0)
        sheet, y = self.sheet, self.y
        sheet.box(self.left, y - 9.0, 9.0, 9.0, fill=0.0)
        sheet.canvas.setFillGray(1.0)
        sheet.text(self.left + 4.5, y - 7.0, number, 17, bold=True, align="middle", grey=1.0)
        sheet.text(self.left + 12.0, y - 7.0, name, 17, bold=True)
        sheet.line(self.left, y - 10.6, self.left + self.inner_width, y - 10.6, weight=0.6)
        self.y = y - 14.0

    def caption(self, words: str, follow: float = 40.0) -> None:
        """A small heading within a section, on one page with at least ``follow`` of what comes."""
        lines = wrapped(words, self.inner_width, 11.0, BOLD)
        self.need(follow)
        self.gap(3.0)
        for line in lines:
            self.sheet.text(self.left, self.y - 4.0, line, 11.0, bold=True)
            self.y -= 5.2
        self.y -= 1.0

    def words(self, text: str, size: float = BODY, *, bold: bool = False, indent: float = 0.0) -> None:
        """A paragraph."""
        step = size * POINT * 1.32
        for line in wrapped(text, self.inner_width - indent, size, BOLD if bold else FONT):
            self.need(step)
            self.sheet.text(self.left + indent, self.y - size * POINT, line, size, bold=bold)
            self.y -= step
        self.y -= 1.2

    def caution(self, heading: str, text: str) -> None:
        """A caution in a box with a thick bar."""
        size = 8.8
        step = size * POINT * 1.32
        lines = wrapped(text, self.inner_width - 38.0, size)
        head = wrapped(heading, 28.0, 8.0, BOLD)
        height = max(len(lines) * step, 4.5 + len(head) * 3.6) + 3.4
        self.need(height + 2.0)
        sheet, y = self.sheet, self.y
        sheet.box(self.left, y - height, self.inner_width, height, weight=0.5)
        sheet.box(self.left, y - height, 2.2, height, fill=0.0)
        sheet.text(self.left + 4.5, y - 4.6, "CAUTION", 9.0, bold=True)
        for k, line in enumerate(head):
            sheet.text(self.left + 4.5, y - 8.4 - k * 3.6, line, 8.0, bold=True)
        for k, line in enumerate(lines):
            sheet.text(self.left + 36.0, y - 1.6 - size * POINT - k * step, line, size)
        self.y = y - height - 2.5

    def finding(self, said: FindingWords, changes: tuple[str, ...] = (), source: str = "") -> None:
        """One finding: verdict word in a box, what and where, how sure, what to do."""
        beside = 30.0
        width = self.inner_width - beside
        blocks: list[tuple[list[str], float, bool, float, float]] = []

        def add(text: str, size: float, bold: bool = False, indent: float = 0.0, grey: float = 0.0) -> None:
            if text:
                font = BOLD if bold else FONT
                blocks.append((wrapped(text, width - indent, size, font), size, bold, indent, grey))

        add(said.where, 9.5, bold=True)
        add(said.says, 10.0)
        add(said.how_sure, 8.5, grey=0.25)
        for todo in (said.do, *changes):
            add(todo, 9.5, bold=True, indent=5.0)
        add(source and f"Source: {source}", 7.0, grey=0.35)
        height = max(14.0, sum(len(lines) * size * POINT * 1.3 + 0.5 for lines, size, *_ in blocks) + 3.0)
        self.need(height)
        sheet, top = self.sheet, self.y
        self._verdict_box(said.verdict, self.left, top - 7.6)
        sheet.text(self.left, top - 11.6, said.code, 8.5)
        y = top - 1.0
        for lines, size, bold, indent, grey in blocks:
            for k, line in enumerate(lines):
                if indent and not k:
                    self._tick_box(self.left + beside, y - size * POINT)
                sheet.text(self.left + beside + indent, y - size * POINT, line, size, bold=bold, grey=grey)
                y -= size * POINT * 1.3
            y -= 0.5
        self.y = top - height
        sheet.line(self.left, self.y, self.left + self.inner_width, self.y, weight=0.12, grey=0.5)
        self.y -= 1.6

    def key_figures(self, figures: tuple[KeyFigure, ...], in_a_row: int = 4) -> None:
        """Boxes with big figures."""
        height = 18.5
        width = self.inner_width / in_a_row
        for first in range(0, len(figures), in_a_row):
            self.need(height + 1.0)
            for k, figure in enumerate(figures[first : first + in_a_row]):
                x = self.left + k * width
                self.sheet.box(x, self.y - height, width, height, weight=0.35)
                self.sheet.text(x + 2.0, self.y - 4.2, figure.caption, 7.5)
                size = 17.0
                while text_width(figure.figure, size, BOLD) > width - 4.0 and size > 8.0:
                    size -= 0.5
                self.sheet.text(x + 2.0, self.y - 12.4, figure.figure, size, bold=True)
                note = wrapped(figure.note, width - 3.0, 6.8)[0] if figure.note else ""
                self.sheet.text(x + 2.0, self.y - 16.6, note, 6.8)
            self.y -= height
        self.y -= 3.0

    def table(self, columns: tuple[Column, ...], rows: tuple[Row, ...], size: float = SMALL) -> None:
        """A ruled table; its heading comes again on every page."""
        whole = sum(column.share for column in columns)
        widths = [column.share / whole * self.inner_width for column in columns]
        step = size * POINT * 1.28

        def cell_lines(cells: tuple[str, ...], font: str) -> list[list[str]]:
            return [wrapped(cell, width - 3.5, size, font) for cell, width in zip(cells, widths, strict=True)]

        head = cell_lines(tuple(column.heading for column in columns), BOLD)

        def write(lines: list[list[str]], bold: bool) -> None:
            x = self.left
            for texts, column, width in zip(lines, columns, widths, strict=True):
                at = {"left": x + 2.5, "middle": x + width / 2, "right": x + width - 1.0}[column.align]
                for k, text in enumerate(texts):
                    self.sheet.text(
                        at, self.y - 1.0 - size * POINT - k * step, text, size, bold=bold, align=column.align
                    )
                x += width
            self.y -= max(len(texts) for texts in lines) * step + 1.8

        def heading() -> None:
            write(head, True)
            self.sheet.line(self.left, self.y, self.left + self.inner_width, self.y, weight=0.4)

        self.need(24.0)
        heading()
        for row in rows:
            lines = cell_lines(row.cells, BOLD if row.is_marked else FONT)
            height = max(len(texts) for texts in lines) * step + 1.8
            if self.room < height:
                self.new_page()
                heading()
            top = self.y
            write(lines, row.is_marked)
            if row.is_marked:
                self.sheet.box(self.left - 2.2, self.y + 0.3, 1.4, top - self.y - 0.6, fill=0.0)
            self.sheet.line(self.left, self.y, self.left + self.inner_width, self.y, weight=0.1, grey=0.6)
        self.y -= 3.0

    def picture(self, height: float, draw: Callable[[Sheet, float, float, float, float], None]) -> None:
        """A picture of this height across the page; ``draw`` gets the sheet and x, y, width, height."""
        self.need(height + 2.0)
        if not self.is_counting:
            draw(self.sheet, self.left, self.y - height, self.inner_width, height)
        self.y -= height + 2.0

    def _begin_page(self) -> None:
        self.page += 1
        sheet = self.sheet
        y = self.height - 12.0
        of = f" of {self.total}" if self.total else ""
        number = f"page {self.page}{of}"
        if self.section:
            number = f"{self.section}, {number}"
        sheet.text(self.width - RIGHT, y, number, 9.0, bold=True, align="right")
        name, room = printable(self._job_name), self.inner_width - text_width(number, 9.0, BOLD) - 6.0
        if text_width(name, 9.0, BOLD) > room:
            while name and text_width(f"{name}…", 9.0, BOLD) > room:
                name = name[:-1].rstrip()
            name += "…"
        sheet.text(self.left, y, name, 9.0, bold=True)
        sheet.line(self.left, y - 2.4, self.width - RIGHT, y - 2.4, weight=0.3)
        sheet.text(self.left, 8.0, self._foot, 6.8, grey=0.3)
        self.y = self.height - TOP

    def _verdict_box(self, verdict: Verdict, x: float, y: float) -> None:
        """The verdict word; frame and filling keep them apart in black and white."""
        draw_verdict(self.sheet, verdict, x, y, 27.0, 6.6, 10.0)

    def _tick_box(self, x: float, y: float) -> None:
        self.sheet.box(x, y - 0.3, 3.0, 3.0, weight=0.3)


def draw_verdict(
    sheet: Sheet, verdict: Verdict, x: float, y: float, width: float, height: float, size: float
) -> None:
    """A verdict word in its box: fails black, cannot say grey, close in a double frame, holds plain."""
    fill = {Verdict.FAILS: 0.0, Verdict.CANNOT_SAY: 0.82}.get(verdict)
    weight = {Verdict.CANNOT_SAY: 0.6, Verdict.FAILS: 0.6}.get(verdict, 0.25)
    sheet.box(x, y, width, height, weight=weight, fill=fill)
    if verdict is Verdict.CLOSE:
        sheet.box(x + 0.8, y + 0.8, width - 1.6, height - 1.6, weight=0.25)
    sheet.text(
        x + width / 2,
        y + height / 2 - size * POINT * 0.36,
        verdict.value,
        size,
        bold=verdict is not Verdict.HOLDS,
        align="middle",
        grey=1.0 if verdict is Verdict.FAILS else 0.0,
    )
