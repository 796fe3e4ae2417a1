"""``tube-template.pdf``: one wrap template a mitre, at true size, to cut out and wrap round the tube.

Each strip is as long as the tube is round and a lap more. Its straight edge stands square to
the tube; the curved (or stepped) edge is where to saw. The line in the middle is the outside
of the turn, where the tube is longest.
"""

from __future__ import annotations

import io
import math

from sumpwright.job.model import Job, JobResults
from sumpwright.kit.internals_model import TubeCut, TubePiece
from sumpwright.outputs.paper import PAPER_MM, Sheet, new_canvas
from sumpwright.outputs.words import UnitSystem, write_length, write_value

MARGIN = 12.0
LAP = 8.0  # of paper, to glue, mm
FOOT = 15.0  # from the straight edge to the lowest point of the cut, mm
HEAD = 38.0
BETWEEN = 14.0


def tube_template_pdf(job: Job, results: JobResults) -> bytes | None:
    """The templates as a PDF file; None where the tube has no mitre."""
    internals = None if results.kit is None else results.kit.internals
    if internals is None or internals.tube is None or not internals.tube.cuts:
        return None
    tube = internals.tube
    upright = PAPER_MM[job.paper]
    longest = max(cut.girth for cut in tube.cuts) * 1e3 + LAP + 2 * MARGIN
    # The page is taken on its side where a strip would not lie across it upright.
    width, height = upright if longest <= upright[0] else upright[::-1]
    buffer = io.BytesIO()
    canvas = new_canvas(buffer, width, height, f"{job.name}: tube templates, true size")
    sheet = Sheet(canvas, width, height)
    top = _head(sheet, job, width, height)
    for cut in tube.cuts:
        tall = FOOT + cut.rise * 1e3
        if top - tall - BETWEEN < MARGIN:
            canvas.showPage()
            sheet = Sheet(canvas, width, height)
            top = _head(sheet, job, width, height)
        _strip(sheet, cut, job.units, top - tall - 6.0)
        top -= tall + BETWEEN
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _head(sheet: Sheet, job: Job, width: float, height: float) -> float:
    """What stands on top of every page; the height below it."""
    y = height - MARGIN
    sheet.text(MARGIN, y - 4.0, f"{job.name}: pickup tube, wrap templates at true size", 12, bold=True)
    lines = (
        "Print at 100 %, check the bars with a rule. Wrap the straight edge square round the tube: its ends",
        "must meet on the glue line. Saw along the heavy line and file to it. Both tubes at a cut get the",
        "same template, its highest stretch on the outside of the turn; on a square tube turn it over for",
        "the second.",
    )
    for number, words in enumerate(lines):
        sheet.text(MARGIN, y - 9.0 - 3.8 * number, words, 8)
    for length, words, x in ((100.0, "100 mm", MARGIN), (101.6, "4 in", width - MARGIN - 101.6)):
        line = y - 27.0 if length == 100.0 else y - 32.5
        sheet.line(x, line, x + length, line, weight=0.4)
        sheet.line(x, line - 1.5, x, line + 1.5, weight=0.4)
        sheet.line(x + length, line - 1.5, x + length, line + 1.5, weight=0.4)
        sheet.text(x + length / 2, line + 0.8, words, 7, align="middle")
    return y - HEAD


def _strip(sheet: Sheet, cut: TubeCut, units: UnitSystem, y: float) -> None:
    """One template with its lower left corner at the margin and height ``y`` [mm]."""
    girth = cut.girth * 1e3
    curve = [(MARGIN + s * 1e3, y + FOOT + h * 1e3) for s, h in cut.curve]
    x_end = MARGIN + girth
    sheet.polyline(curve, weight=0.5)
    sheet.line(MARGIN, y, x_end + LAP, y, weight=0.25)
    sheet.line(MARGIN, y, MARGIN, curve[0][1], weight=0.25)
    sheet.line(x_end, y, x_end, curve[-1][1], weight=0.25)
    sheet.line(x_end + LAP, y, x_end + LAP, curve[-1][1], weight=0.25)
    sheet.line(x_end, curve[-1][1], x_end + LAP, curve[-1][1], weight=0.25)
    with sheet.dashed(2.0, 1.2):
        for fold in cut.folds:
            sheet.line(MARGIN + fold * 1e3, y, MARGIN + fold * 1e3, y + FOOT, weight=0.2)
    if not len(cut.folds):
        highest = max(cut.curve, key=lambda point: float(point[1]))
        middle = MARGIN + float(highest[0]) * 1e3
        sheet.line(middle, y, middle, y + FOOT + cut.rise * 1e3, weight=0.15)
        sheet.text(middle + 1.0, y + 4.5, "outside of the turn", 7)
    sheet.text(
        MARGIN + 1.5,
        y + 1.2,
        f"{cut.name}: turns {write_value(cut.turn, 'rad', 'angle', units, 1)}, saw at "
        f"{write_value(0.5 * cut.turn, 'rad', 'angle', units, 1)} off square; "
        f"round the tube {write_length(cut.girth, units, 1)}",
        7,
    )
    sheet.text(x_end + LAP / 2 + 1.0, y + 2.0, "glue", 6, align="middle")


def piece_words(piece: TubePiece, units: UnitSystem) -> tuple[str, ...]:
    """One row of the saw list: name, length on the middle, saw length, ends, twist, bends."""
    bends = "; ".join(
        f"{write_value(bend.angle, 'rad', 'angle', units, 1)} at {write_length(bend.along, units, 1)}, "
        f"radius {write_length(bend.radius, units, 1)}"
        + (f", plane turned {_twist(bend.twist, units)}" if number else "")
        for number, bend in enumerate(piece.bends)
    )
    turned = "" if "square" in (piece.start_cut, piece.end_cut) else _twist(piece.twist, units)
    return (
        piece.name,
        write_length(piece.length, units, 1),
        write_length(piece.longest, units, 1),
        f"{piece.start_cut} and {piece.end_cut}",
        turned,
        bends or "straight",
    )


def _twist(angle: float, units: UnitSystem) -> str:
    """An angle about the tube, looking along it from the mouth."""
    words = write_value(abs(angle), "rad", "angle", units, 1)
    if abs(angle) < math.radians(0.05):
        return "in line"
    return f"{words} {'clockwise' if angle > 0.0 else 'anticlockwise'}"
