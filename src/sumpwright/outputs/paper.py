"""What every printed page shares: font, page size, millimetres, and reproducible files."""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache, lru_cache
from typing import Any, Literal

FONT = "Sheet"
BOLD = "SheetBold"
MM = 72.0 / 25.4
"""PDF points in a millimetre."""

PaperName = Literal["A4", "Letter"]
PAPER_MM: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
"""Width and height upright [mm]: ISO 216; ANSI/ASME Y14.1 size A."""

# Letters that the font lacks, written with those it has.
_STAND_INS = {"→": "to", "≤": "≤", "‑": "-", "⁄": "/", "ₓ": "x", "✓": "yes", "✗": "no"}


@cache
def register_fonts() -> None:
    """Makes the open font that travels with the PDF library known to it; it is embedded in every file."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    pdfmetrics.registerFont(TTFont(FONT, "Vera.ttf"))
    pdfmetrics.registerFont(TTFont(BOLD, "VeraBd.ttf"))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=BOLD, italic=FONT, boldItalic=BOLD)


@cache
def _letters() -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    return frozenset(pdfmetrics.getFont(FONT).face.charToGlyph)


def printable(text: str) -> str:
    """The text with letters that the font lacks written with those it has, or as '?'."""
    out = []
    for letter in text:
        if ord(letter) in _letters() and letter >= " ":
            out.append(letter)
        elif letter in _STAND_INS:
            out.append(_STAND_INS[letter])
        elif letter.isspace():
            out.append(" ")
        else:
            bare = unicodedata.normalize("NFKD", letter)
            kept = "".join(part for part in bare if ord(part) in _letters())
            out.append(kept or ("" if unicodedata.category(letter).startswith("C") else "?"))
    return "".join(out)


@lru_cache(maxsize=100_000)
def text_width(text: str, size: float, font: str = FONT) -> float:
    """Width of a line of text [mm]; ``size`` in points. The same words come up again and again."""
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    return float(pdfmetrics.stringWidth(text, font, size)) / MM


class Sheet:
    """One page to draw on in millimetres, origin at the lower left, y up."""

    def __init__(self, canvas: Any, width: float, height: float) -> None:
        self.canvas = canvas
        self.width = width
        self.height = height

    def line(
        self, x1: float, y1: float, x2: float, y2: float, weight: float = 0.25, grey: float = 0.0
    ) -> None:
        """A straight line; ``weight`` in millimetres, grey 0 is black."""
        self._pen(weight, grey)
        self.canvas.line(x1 * MM, y1 * MM, x2 * MM, y2 * MM)

    def polyline(
        self,
        points: Any,
        *,
        close: bool = False,
        weight: float = 0.25,
        grey: float = 0.0,
        fill: float | None = None,
        stroke: bool = True,
    ) -> None:
        """A line through the points (n, 2), filled with a grey where one is given."""
        self._pen(weight, grey)
        path = self.canvas.beginPath()
        for k, (x, y) in enumerate(points):
            (path.lineTo if k else path.moveTo)(float(x) * MM, float(y) * MM)
        if close:
            path.close()
        if fill is not None:
            self.canvas.setFillGray(fill)
        self.canvas.drawPath(path, stroke=int(stroke), fill=int(fill is not None))

    def circle(
        self,
        x: float,
        y: float,
        radius: float,
        weight: float = 0.25,
        grey: float = 0.0,
        fill: float | None = None,
    ) -> None:
        """A circle."""
        self._pen(weight, grey)
        if fill is not None:
            self.canvas.setFillGray(fill)
        self.canvas.circle(x * MM, y * MM, radius * MM, stroke=1, fill=int(fill is not None))

    def box(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        weight: float = 0.25,
        grey: float = 0.0,
        fill: float | None = None,
        stroke: bool = True,
    ) -> None:
        """A rectangle from its lower left corner."""
        self._pen(weight, grey)
        if fill is not None:
            self.canvas.setFillGray(fill)
        self.canvas.rect(
            x * MM, y * MM, width * MM, height * MM, stroke=int(stroke), fill=int(fill is not None)
        )

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = 9.0,
        *,
        bold: bool = False,
        align: Literal["left", "middle", "right"] = "left",
        grey: float = 0.0,
        turn: float = 0.0,
        halo: bool = False,
    ) -> None:
        """A line of text, baseline at (x, y); ``size`` in points, ``turn`` in degrees.

        ``halo`` clears the paper behind the words.
        """
        words = printable(words)
        font = BOLD if bold else FONT
        canvas = self.canvas
        canvas.saveState()
        canvas.translate(x * MM, y * MM)
        if turn:
            canvas.rotate(turn)
        width = canvas.stringWidth(words, font, size)
        start = {"left": 0.0, "middle": -width / 2, "right": -width}[align]
        if halo:
            canvas.setFillGray(1.0)
            canvas.rect(start - 0.8, -0.25 * size, width + 1.6, 1.2 * size, stroke=0, fill=1)
        canvas.setFillGray(grey)
        canvas.setFont(font, size)
        canvas.drawString(start, 0, words)
        canvas.restoreState()

    @contextmanager
    def dashed(self, on: float = 2.0, off: float = 1.2) -> Iterator[None]:
        """Lines drawn inside are dashed; lengths in millimetres."""
        self.canvas.setDash(on * MM, off * MM)
        try:
            yield
        finally:
            self.canvas.setDash()

    @contextmanager
    def within(self, x: float, y: float, width: float, height: float) -> Iterator[None]:
        """Nothing drawn inside leaves this rectangle."""
        self.canvas.saveState()
        path = self.canvas.beginPath()
        path.rect(x * MM, y * MM, width * MM, height * MM)
        self.canvas.clipPath(path, stroke=0, fill=0)
        try:
            yield
        finally:
            self.canvas.restoreState()

    def arrow(
        self, x1: float, y1: float, x2: float, y2: float, weight: float = 0.4, head: float = 2.5
    ) -> None:
        """A line with a filled head at its end."""
        import math

        length = math.hypot(x2 - x1, y2 - y1)
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        self.line(x1, y1, x2 - ux * head, y2 - uy * head, weight)
        side = 0.36 * head
        self.polyline(
            [
                (x2, y2),
                (x2 - ux * head - uy * side, y2 - uy * head + ux * side),
                (x2 - ux * head + uy * side, y2 - uy * head - ux * side),
            ],
            close=True,
            weight=0.1,
            fill=0.0,
        )

    def _pen(self, weight: float, grey: float) -> None:
        self.canvas.setLineWidth(weight * MM)
        self.canvas.setStrokeGray(grey)


def new_canvas(buffer: io.BytesIO, width: float, height: float, title: str) -> Any:
    """A canvas [mm] whose file is the same for the same pages: no date, no random identity.

    The file asks the viewer for no scaling when it prints.
    """
    from reportlab.pdfgen.canvas import Canvas

    register_fonts()
    canvas = Canvas(buffer, pagesize=(width * MM, height * MM), invariant=1, pageCompression=1)
    canvas.setTitle(printable(title))
    canvas.setAuthor("Sumpwright")
    canvas.setSubject("")
    canvas.setCreator("Sumpwright")
    canvas.setProducer("Sumpwright")
    canvas.setViewerPreference("PrintScaling", "None")
    return canvas
