"""The text of a DXF drawing: one file's frame from the library, the lines in it from here.

A drawing of a part is a few hundred lines and circles in a frame (header, tables, objects)
of two thousand that is the same for all. The library writes the frame once a process; what
stands in it is plain tags. Both forms come out as the library itself would write them.
"""

from __future__ import annotations

import importlib
import io
import logging
import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

Form = Literal["R2000", "R12"]
"""Of a DXF file: R12 is the old one that every machine reads; it names no units."""

HEX = 16
_HANDLES = ("5", "105", "330", "340", "350", "360")  # in the old form also names, all empty here
_LATE = "\0late{}\0"
_BOX = ("\0low x\0", "\0low y\0", "\0high x\0", "\0high y\0")
_MARKS = (-101.0625, -102.0625, 103.0625, 104.0625)  # corners that no empty drawing has
_writing = threading.Lock()


@dataclass(frozen=True, slots=True)
class Frame:
    """A drawing without anything in it."""

    before: str  # up to the first entity
    after: str
    first: int  # free handle
    late: int  # handles given out after the last entity's
    owner: str  # handle of the space that the entities lie in
    encoding: str


@cache
def frame(form: Form, layers: tuple[str, ...]) -> Frame:
    """The frame of a form with these layers in the default colour, in millimetres."""
    ezdxf: Any = importlib.import_module("ezdxf")
    # The library stamps date and random identity into every file unless told not to; the
    # setting is its only switch and belongs to the whole process, hence the lock.
    with _writing:
        stamp = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        # It warns of every old drawing that its units are lost; the cutter's note says them.
        log = logging.getLogger("ezdxf")
        level = log.level
        log.setLevel(logging.ERROR)
        try:
            drawing = ezdxf.new(form, setup=False, units=4)  # 4: millimetres
            if form == "R2000":
                drawing.header["$MEASUREMENT"] = 1
            for layer in layers:
                drawing.layers.add(layer)
            space = drawing.modelspace()
            space.reset_extents((*_MARKS[:2], 0.0), (*_MARKS[2:], 0.0))
            first = int(str(drawing.entitydb.handles), HEX)
            owner = str(space.layout_key)
            text = io.StringIO()
            drawing.write(text)
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = stamp
            log.setLevel(level)
    lines = text.getvalue().split("\n")
    late = 0
    for k in range(0, len(lines) - 1, 2):
        code, value = lines[k].strip(), lines[k + 1]
        if code in _HANDLES and value and int(value, HEX) >= first:
            lines[k + 1] = _LATE.format(int(value, HEX) - first)
            late = max(late, int(value, HEX) - first + 1)
        elif code in ("10", "20", "14", "24", "15", "25") and value in map(str, _MARKS):
            lines[k + 1] = _BOX[_MARKS.index(float(value))]
    at = next(k for k in range(1, len(lines), 2) if lines[k] == "ENTITIES") + 1
    return Frame(
        "\n".join(lines[:at]) + "\n", "\n".join(lines[at:]), first, late, owner, str(drawing.output_encoding)
    )


class DxfText:
    """Lines and circles of one drawing, in the order in which they were added; millimetres."""

    def __init__(self, form: Form, layers: tuple[str, ...]) -> None:
        """An empty drawing."""
        self._frame = frame(form, layers)
        self._is_old = form == "R12"
        self._next = self._frame.first
        self._tags: list[str] = []

    def _handle(self) -> str:
        self._next += 1
        return f"{self._next - 1:X}"

    def _head(self, kind: str, handle: str, layer: str, subclass: str) -> str:
        if self._is_old:
            return f"  0\n{kind}\n  5\n{handle}\n  8\n{layer}\n"
        return (
            f"  0\n{kind}\n  5\n{handle}\n330\n{self._frame.owner}\n100\nAcDbEntity\n  8\n{layer}\n"
            f"100\n{subclass}\n"
        )

    def circle(self, x: float, y: float, radius: float, layer: str) -> None:
        """A round hole."""
        head = self._head("CIRCLE", self._handle(), layer, "AcDbCircle")
        self._tags.append(f"{head} 10\n{x}\n 20\n{y}\n 30\n0.0\n 40\n{radius}\n")

    def line(self, start: tuple[float, float], end: tuple[float, float], layer: str) -> None:
        """One straight line."""
        head = self._head("LINE", self._handle(), layer, "AcDbLine")
        self._tags.append(
            f"{head} 10\n{start[0]}\n 20\n{start[1]}\n 30\n0.0\n 11\n{end[0]}\n 21\n{end[1]}\n 31\n0.0\n"
        )

    def outline(self, points: Iterable[tuple[float, float, float]], layer: str, *, close: bool) -> None:
        """One line of straight pieces and arcs (x, y, bulge); the old form knows only the old kind."""
        if self._is_old:
            self._old_outline(list(points), layer, close)
            return
        corners = [
            f" 10\n{x}\n 20\n{y}\n 42\n{bulge}\n" if bulge else f" 10\n{x}\n 20\n{y}\n"
            for x, y, bulge in points
        ]
        head = self._head("LWPOLYLINE", self._handle(), layer, "AcDbPolyline")
        self._tags.append(f"{head} 90\n{len(corners)}\n 70\n{int(close)}\n{''.join(corners)}")

    def _old_outline(self, points: list[tuple[float, float, float]], layer: str, close: bool) -> None:
        own, end = self._handle(), self._handle()
        head = self._head("POLYLINE", own, layer, "")
        corners = [
            f"{self._head('VERTEX', self._handle(), layer, '')} 10\n{x}\n 20\n{y}\n 30\n0.0\n"
            + (f" 42\n{bulge}\n 70\n0\n" if bulge else " 70\n0\n")
            for x, y, bulge in points
        ]
        self._tags.append(
            f"{head} 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n{int(close)}\n{''.join(corners)}"
            f"{self._head('SEQEND', end, layer, '')}"
        )

    def written(self, low: tuple[float, float], high: tuple[float, float]) -> bytes:
        """The whole file; ``low`` and ``high`` are what it calls its extent."""
        frame = self._frame
        text = "".join((frame.before, *self._tags, frame.after))
        for late in range(frame.late):
            text = text.replace(_LATE.format(late), f"{self._next + late:X}")
        for mark, value in zip(_BOX, (*low, *high), strict=True):
            text = text.replace(mark, str(value))
        return text.encode(frame.encoding, errors="dxfreplace")
