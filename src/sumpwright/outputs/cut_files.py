"""What the cutter gets: one DXF drawing a part, and nothing to guess.

Closed lines and arcs, round holes as circles, millimetres, true size (no kerf taken
off). Four layers in the default colour: ``cut``; ``etch`` for lines to mark on the
metal (match marks, the front arrow); ``words`` for letters to mark on the metal, as
single strokes; ``fold`` for bend lines. No live text, no splines, nothing outside the
part. Thickness, material and quantity stand in the file name.
"""

from __future__ import annotations

import re
import unicodedata

from sumpwright.geometry import Outline
from sumpwright.geometry.arcs import outline_box
from sumpwright.kit import FlatPart
from sumpwright.outputs.dxf_text import DxfText, Form
from sumpwright.outputs.words import write_number
from sumpwright.quantities.units import FloatArray

LAYERS = ("cut", "etch", "fold", "words")

_LAYER_OF_MARK = {
    "name": "words",
    "side": "words",
    "front": "etch",
    "match": "etch",
    "fold": "words",
    "place": "etch",
}


def file_word(text: str) -> str:
    """A text as part of a file name: plain letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9.]+", "-", plain).strip("-.") or "part"


def cut_file_names(parts: tuple[FlatPart, ...]) -> tuple[str, ...]:
    """One file name a part: "sump-floor_3mm_5052-H32_x1.dxf"; equal names get a number."""
    names: list[str] = []
    taken: set[str] = set()
    for part in parts:
        thickness = write_number(part.thickness * 1e3, 3).rstrip("0").rstrip(".")
        stem = file_word(part.name).lower()
        tail = f"_{thickness}mm_{file_word(part.material)}_x{part.quantity}.dxf"
        name, count = stem + tail, 1
        while name.lower() in taken:
            count += 1
            name = f"{stem}-{count}{tail}"
        taken.add(name.lower())
        names.append(name)
    return tuple(names)


def dxf_bytes(part: FlatPart, form: Form = "R2000") -> bytes:
    """The part as a DXF drawing; the same part gives the same bytes."""
    return drawing_bytes((part,), outline_box(part.outline), form)


def drawing_bytes(
    parts: tuple[FlatPart, ...], box: tuple[FloatArray, FloatArray], form: Form = "R2000"
) -> bytes:
    """Parts in one drawing, each where its own coordinates say; ``box`` is what the file calls its extent."""
    drawing = DxfText(form, LAYERS)
    for part in parts:
        _draw(part, drawing)
    low, high = box
    return drawing.written((_mm(low[0]), _mm(low[1])), (_mm(high[0]), _mm(high[1])))


def cutter_note(job_name: str, parts: tuple[FlatPart, ...]) -> bytes:
    """A page for whoever runs the machine: what each layer means and how the parts lie."""
    lines = [
        f"For the cutter: {job_name}",
        "",
        "Each DXF file is one part at true size. Units: millimetres. No kerf is taken off: the lines are",
        "the finished edge. The file name ends in thickness, material and quantity. A file named nest-...",
        "holds all parts of one sheet, its corner at 0, 0: cut either the nests or the single parts. The",
        "folder r12 holds the same parts in the old DXF form, for machines that read no other; that form",
        "names no units: millimetres.",
        "",
        "Layer cut    Cut through: the outline and everything inside it. Lead in from the scrap side.",
        "Layer etch   Mark only, do not cut: match marks and the arrow to the front.",
        "Layer words  Mark only, do not cut: letters, drawn as single lines.",
        "Layer fold   Do not cut: bend lines, with the direction written beside them.",
        "",
        "Mark the side that the drawing shows. Do not mirror or turn a part over. The burr belongs on the",
        "back and is taken off. The grain may run any way.",
        "",
        "Edges fresh from the machine are sharp: gloves and eye protection.",
        "",
        *(
            f"{part.quantity} x  {file}" + (f"  ({part.note})" if part.note else "")
            for part, file in zip(parts, cut_file_names(parts), strict=True)
        ),
    ]
    return ("\n".join(lines) + "\n").encode()


def _draw(part: FlatPart, drawing: DxfText) -> None:
    for outline in (part.outline, *part.cut_outs):
        drawing.outline([_point(outline, k) for k in range(len(outline.points))], "cut", close=True)
    for hole in part.holes:
        drawing.circle(_mm(hole.x), _mm(hole.y), _mm(hole.diameter / 2), "cut")
    for fold in part.folds:
        drawing.line((_mm(fold.start[0]), _mm(fold.start[1])), (_mm(fold.end[0]), _mm(fold.end[1])), "fold")
    for mark in part.marks:
        layer = _LAYER_OF_MARK[mark.kind]
        for stroke in mark.strokes:
            drawing.outline([(_mm(x), _mm(y), 0.0) for x, y in stroke.points], layer, close=False)


def _point(outline: Outline, k: int) -> tuple[float, float, float]:
    x, y = outline.points[k]
    return _mm(x), _mm(y), round(float(outline.bulges[k]), 12) + 0.0


def _mm(value: float) -> float:
    """Metres as millimetres to a thousandth of a micrometre, never minus nothing."""
    return round(float(value) * 1e3, 6) + 0.0
