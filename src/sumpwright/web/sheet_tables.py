"""The tables of the printed sheet as data, so that page and paper say the same."""

from __future__ import annotations

from collections.abc import Callable

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.form import BODY, LEFT, RIGHT, SMALL, Column, Form, KeyFigure, Row
from sumpwright.outputs.job_sheet import section_pages
from sumpwright.outputs.paper import PAPER_MM, Sheet
from sumpwright.outputs.words import FindingWords
from sumpwright.web.messages import KeyNumber, TableBlock, TableRow


class TableCollector(Form):
    """A form that keeps what is written into it instead of drawing it; pictures are left to the page."""

    def __init__(self, paper: str) -> None:
        """An empty form; the paper's width is what some drawings are measured by."""
        self.width, self.height = PAPER_MM[paper]
        self.is_counting = True
        self.total = self.page = 0
        self.y = self.height
        self.section = ""
        self.blocks: list[TableBlock] = []
        self.numbers: list[KeyNumber] = []
        self._caption = ""
        self._words: list[str] = []

    @property
    def inner_width(self) -> float:
        """Width of what would be written."""
        return self.width - LEFT - RIGHT

    @property
    def room(self) -> float:
        """There is always room."""
        return self.height

    def finish(self) -> bytes:
        """Words that no table followed become a block of their own."""
        self._flush()
        return b""

    def new_page(self) -> None:
        """Nothing: a page on a screen has no end."""

    def need(self, height: float) -> None:
        """Nothing."""

    def gap(self, height: float) -> None:
        """Nothing."""

    def heading(self, number: str, name: str) -> None:
        """Nothing: the page has its own headings."""

    def caption(self, words: str, follow: float = 40.0) -> None:
        """Heads the table that comes."""
        self._flush()
        self._caption = words

    def words(self, text: str, size: float = BODY, *, bold: bool = False, indent: float = 0.0) -> None:
        """Stands above the table that comes."""
        self._words.append(text)

    def caution(self, heading: str, text: str) -> None:
        """Nothing: cautions are sent by themselves."""

    def finding(self, said: FindingWords, changes: tuple[str, ...] = (), source: str = "") -> None:
        """Nothing: findings are sent by themselves."""

    def key_figures(self, figures: tuple[KeyFigure, ...], in_a_row: int = 4) -> None:
        """Kept as numbers."""
        self.numbers += [KeyNumber(label=one.caption, text=one.figure, note=one.note) for one in figures]

    def table(self, columns: tuple[Column, ...], rows: tuple[Row, ...], size: float = SMALL) -> None:
        """Kept as it is."""
        self.blocks.append(
            TableBlock(
                caption=self._caption,
                columns=[column.heading for column in columns],
                right=[column.align == "right" for column in columns],
                rows=[TableRow(cells=list(row.cells), marked=row.is_marked) for row in rows],
                words=self._words,
                stale=False,
            )
        )
        self._caption, self._words = "", []

    def picture(self, height: float, draw: Callable[[Sheet, float, float, float, float], None]) -> None:
        """Nothing, and what was said about it goes too: the page draws its own."""
        self._caption, self._words = "", []

    def _flush(self) -> None:
        if self._words:
            self.table((), ())


def section_tables(heading: str, job: Job, results: JobResults) -> tuple[list[TableBlock], list[KeyNumber]]:
    """The tables and key figures of one section of the sheet."""
    form = TableCollector(job.paper)
    section_pages(form, heading, job, results)
    form.finish()
    return form.blocks, form.numbers
