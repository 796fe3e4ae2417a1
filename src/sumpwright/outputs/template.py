"""``template.pdf``: the rail and the flange at true size, on paper, to try on the engine.

Tiled over A4 or Letter pages with an overlap, crosses to join the pages by, and a
100 mm and a 4 in bar both ways on every page. Everything is seen from below, front to
the right, so that the engine's left points down the page; every page says so.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from sumpwright.job.model import Job, JobResults
from sumpwright.outputs.cautions import caution
from sumpwright.outputs.paper import BOLD, FONT, PAPER_MM, Sheet, new_canvas, text_width
from sumpwright.outputs.plan import PlanHole, RailPlan, rail_plan
from sumpwright.outputs.words import UnitSystem, write_length

MARGIN = 8.0  # no printer needs more, mm
STRIP = 12.5  # left and bottom, for the check bars
HEAD = 16.5  # top, for the words
OVERLAP = 15.0
ROOM = 6.0  # drawn beyond the outermost line

Place = Callable[[float, float], tuple[float, float]]
"""Page millimetres of a place in plan [mm]."""

SEEN = "Seen from BELOW, as you lie under the engine. Front to the RIGHT; engine's left points DOWN the page."


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's window on the plan [mm]; (u, v) is its upper left corner."""

    row: int
    column: int
    u: float
    v: float
    width: float
    height: float

    @property
    def name(self) -> str:
        """Column letter and row number: "A1" is at the rear, on the engine's right."""
        return f"{chr(ord('A') + self.column)}{self.row + 1}"

    def covers(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box (least u, v, greatest u, v) reaches into the window."""
        return (
            box[0] < self.u + self.width
            and box[2] > self.u
            and box[1] < self.v + self.height
            and box[3] > self.v
        )


@dataclass(frozen=True, slots=True)
class Tiling:
    """How the plan is spread over the pages [mm]."""

    page_width: float
    page_height: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]


def tiling(box: tuple[float, float, float, float], paper: str) -> Tiling:
    """The page grid with the fewest pages, upright or on the side; ``box`` in mm."""
    wanted_u, wanted_v = box[2] - box[0] + 2 * ROOM, box[3] - box[1] + 2 * ROOM
    upright = PAPER_MM[paper]
    best: Tiling | None = None
    for width, height in (upright, upright[::-1]):
        window_u = width - 2 * MARGIN - STRIP
        window_v = height - 2 * MARGIN - STRIP - HEAD
        columns = 1 + max(0, math.ceil((wanted_u - window_u) / (window_u - OVERLAP) - 1e-9))
        rows = 1 + max(0, math.ceil((wanted_v - window_v) / (window_v - OVERLAP) - 1e-9))
        # What is too much is shared out on all sides, so that the drawing stands in the middle.
        first_u = (box[0] + box[2]) / 2 - (columns * (window_u - OVERLAP) + OVERLAP) / 2
        first_v = (box[1] + box[3]) / 2 - (rows * (window_v - OVERLAP) + OVERLAP) / 2
        tiles = tuple(
            Tile(
                row,
                column,
                first_u + column * (window_u - OVERLAP),
                first_v + row * (window_v - OVERLAP),
                window_u,
                window_v,
            )
            for row in range(rows)
            for column in range(columns)
        )
        if best is None or rows * columns < best.rows * best.columns:
            best = Tiling(width, height, rows, columns, tiles)
    assert best is not None
    return best


def template_pdf(job: Job, results: JobResults) -> bytes | None:
    """The template as a PDF file; None where no holes are known."""
    plan = rail_plan(results)
    if plan is None:
        return None
    box = tuple(value * 1e3 for value in plan.box())
    grid = tiling((box[0], box[1], box[2], box[3]), job.paper)
    buffer = io.BytesIO()
    canvas = new_canvas(buffer, grid.page_width, grid.page_height, f"{job.name}: template, true size")
    drawn = [tile for tile in grid.tiles if any(tile.covers(piece) for piece in _pieces(plan))]
    total = len(drawn) + 1
    _cover(Sheet(canvas, grid.page_width, grid.page_height), job, results, plan, grid, drawn, total)
    canvas.showPage()
    for number, tile in enumerate(drawn, start=2):
        _page(Sheet(canvas, grid.page_width, grid.page_height), job, plan, grid, tile, drawn, number, total)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _pieces(plan: RailPlan) -> Iterator[tuple[float, float, float, float]]:
    """Boxes round every short piece of line and every hole [mm]: what makes a page worth printing."""
    for line in (*plan.outside, *plan.inside):
        for k in range(len(line)):
            (au, av), (bu, bv) = line[k] * 1e3, line[(k + 1) % len(line)] * 1e3
            steps = max(1, math.ceil(math.hypot(bu - au, bv - av) / 10.0))
            for step in range(steps):
                low, high = step / steps, (step + 1) / steps
                cu, cv = au + low * (bu - au), av + low * (bv - av)
                du, dv = au + high * (bu - au), av + high * (bv - av)
                yield min(cu, du), min(cv, dv), max(cu, du), max(cv, dv)
    for hole in plan.holes:
        reach = 0.5e3 * (hole.diameter or hole.thread)
        u, v = hole.u * 1e3, hole.v * 1e3
        yield u - reach, v - reach, u + reach, v + reach


def _page(
    sheet: Sheet,
    job: Job,
    plan: RailPlan,
    grid: Tiling,
    tile: Tile,
    drawn: list[Tile],
    number: int,
    total: int,
) -> None:
    left, bottom = MARGIN + STRIP, MARGIN + STRIP
    top = bottom + tile.height

    def place(u: float, v: float) -> tuple[float, float]:
        """Page millimetres of a place in plan [mm]."""
        return left + u - tile.u, top - (v - tile.v)

    _head(sheet, job, f"page {tile.name}", number, total)
    _little_grid(sheet, grid, drawn, tile, sheet.width - MARGIN - 30.0, top + 1.5, 30.0, 14.0)
    _check_bars(sheet, left, bottom)
    sheet.box(left, bottom, tile.width, tile.height, weight=0.15, grey=0.55)
    with sheet.within(left, bottom, tile.width, tile.height):
        sheet.text(
            left + tile.width / 2,
            bottom + tile.height / 2 - 3,
            "SEEN FROM BELOW",
            26,
            bold=True,
            align="middle",
            grey=0.86,
        )
        sheet.text(
            left + tile.width / 2,
            bottom + tile.height / 2 - 13,
            "front of the engine: to the right",
            13,
            align="middle",
            grey=0.8,
        )
        for line in plan.outside:
            sheet.polyline([place(u * 1e3, v * 1e3) for u, v in line], close=True, weight=0.3)
        for line in plan.inside:
            sheet.polyline([place(u * 1e3, v * 1e3) for u, v in line], close=True, weight=0.2)
        labels = _Labels(plan, job.units)
        for hole in plan.holes:
            if tile.covers(labels.box_of(hole)):
                _hole(sheet, hole, place, labels, job.units)
        _join_marks(sheet, grid, tile, drawn, place)


def _hole(
    sheet: Sheet,
    hole: PlanHole,
    place: Place,
    labels: _Labels,
    units: UnitSystem,
) -> None:
    x, y = place(hole.u * 1e3, hole.v * 1e3)
    radius = 0.5e3 * (hole.diameter if hole.diameter is not None else hole.thread)
    reach = radius + 2.0
    sheet.line(x - reach, y, x + reach, y, weight=0.1)
    sheet.line(x, y - reach, x, y + reach, weight=0.1)
    if hole.diameter is not None:
        sheet.circle(x, y, radius, weight=0.25)
    with sheet.dashed(0.8, 0.6):
        sheet.circle(x, y, 0.5e3 * hole.thread, weight=0.15)
    off = hole.off_by.long * 1e3
    if off >= 0.1:
        sheet.circle(x, y, off, weight=0.08)
    u, v = labels.place_of(hole)
    label_x, label_y = place(u, v)
    first, second = _hole_words(hole, units)
    sheet.text(label_x, label_y + 0.3, first, 7.5, bold=True, align="middle")
    sheet.text(label_x, label_y - 2.4, second, 5.5, align="middle")


def _hole_words(hole: PlanHole, units: UnitSystem) -> tuple[str, str]:
    off = f"±{write_length(hole.off_by.long, units, 2).split()[0]}"
    if hole.diameter is None:
        return hole.name, off
    return hole.name, f"Ø{write_length(hole.diameter, units, 2).split()[0]} {off}"


class _Labels:
    """Where each hole's words stand: along the flange, clear of holes and of each other."""

    def __init__(self, plan: RailPlan, units: UnitSystem) -> None:
        self._places: dict[str, tuple[float, float]] = {}
        centres = [
            (hole.u * 1e3, hole.v * 1e3, 0.5e3 * (hole.diameter or hole.thread)) for hole in plan.holes
        ]
        taken: list[tuple[float, float, float, float]] = [(u, v, r + 0.5, r + 0.5) for u, v, r in centres]
        for hole, (u, v, radius) in zip(plan.holes, centres, strict=True):
            first, second = _hole_words(hole, units)
            half_width = max(text_width(first, 7.5, BOLD), text_width(second, 5.5)) / 2 + 0.3
            half_height = 2.8
            options = [
                (u + radius + half_width + 1.0, v),
                (u - radius - half_width - 1.0, v),
                (u, v + radius + half_height + 2.0),
                (u, v - radius - half_height - 2.0),
            ]
            best = min(options, key=lambda at: (self._trouble(at, half_width, half_height, taken, plan), at))
            taken.append((*best, half_width, half_height))
            self._places[hole.name] = best

    def place_of(self, hole: PlanHole) -> tuple[float, float]:
        """Middle of the words [mm in plan]."""
        return self._places[hole.name]

    def box_of(self, hole: PlanHole) -> tuple[float, float, float, float]:
        """Box round the hole and its words (least u, v, greatest u, v) [mm in plan]."""
        u, v = hole.u * 1e3, hole.v * 1e3
        reach = 0.5e3 * (hole.diameter or hole.thread) + 2.0
        at_u, at_v = self._places[hole.name]
        return (
            min(u - reach, at_u - 12.0),
            min(v - reach, at_v - 3.0),
            max(u + reach, at_u + 12.0),
            max(v + reach, at_v + 3.0),
        )

    @staticmethod
    def _trouble(
        at: tuple[float, float],
        half_width: float,
        half_height: float,
        taken: list[tuple[float, float, float, float]],
        plan: RailPlan,
    ) -> float:
        total = 0.0
        for u, v, width, height in taken:
            over_u = half_width + width - abs(at[0] - u)
            over_v = half_height + height - abs(at[1] - v)
            if over_u > 0.0 and over_v > 0.0:
                total += over_u * over_v
        for line in (*plan.outside, *plan.inside):
            for k in range(len(line)):
                a, b = line[k] * 1e3, line[(k + 1) % len(line)] * 1e3
                steps = max(1, math.ceil(math.hypot(b[0] - a[0], b[1] - a[1])))
                if max(a[0], b[0]) < at[0] - half_width or min(a[0], b[0]) > at[0] + half_width:
                    continue
                if max(a[1], b[1]) < at[1] - half_height or min(a[1], b[1]) > at[1] + half_height:
                    continue
                for step in range(steps):
                    u, v = a + (b - a) * (step / steps)
                    if abs(u - at[0]) < half_width and abs(v - at[1]) < half_height:
                        total += 1.5
        return round(total, 6)


def _head(sheet: Sheet, job: Job, name: str, number: int, total: int) -> None:
    y = sheet.height - MARGIN
    sheet.text(MARGIN, y - 4.0, job.name, 11, bold=True)
    sheet.text(sheet.width - MARGIN - 34.0, y - 4.0, f"{name}, sheet {number} of {total}", 9, align="right")
    sheet.text(MARGIN, y - 8.2, SEEN, 7.0, bold=True)
    sheet.text(MARGIN, y - 11.8, "Print at 100 %, never 'fit to page'. Measure both bars on this page.", 7.0)
    unit = "inches" if job.units == "in" else "mm"
    sheet.text(
        MARGIN,
        y - 15.0,
        f"At each hole, in {unit}: cut diameter, ± how far the centre could be off."
        " Dashed: what goes through.",
        6.0,
    )


def _check_bars(sheet: Sheet, left: float, bottom: float) -> None:
    """A bar of 100 mm and one of 4 in, lying and standing."""
    for length, words, shift in ((100.0, "100 mm", 4.5), (101.6, "4 in", 10.0)):
        y = bottom - shift
        sheet.line(left, y, left + length, y, weight=0.35)
        for x in (left, left + length):
            sheet.line(x, y - 1.6, x, y + 1.6, weight=0.2)
        sheet.text(left + length + 2.0, y - 1.0, f"this bar is {words}", 7)
        x = left - shift
        sheet.line(x, bottom, x, bottom + length, weight=0.35)
        for y in (bottom, bottom + length):
            sheet.line(x - 1.6, y, x + 1.6, y, weight=0.2)
        sheet.text(x + 1.0, bottom + length + 2.0, f"this bar is {words}", 7, turn=90)


def _join_marks(sheet: Sheet, grid: Tiling, tile: Tile, drawn: list[Tile], place: Place) -> None:
    """Dashed line down the middle of each overlap, with crosses that lie on those of the next page."""
    there = {(other.row, other.column): other for other in drawn}
    for d_row, d_column in ((0, 1), (0, -1), (1, 0), (-1, 0)):
        other = there.get((tile.row + d_row, tile.column + d_column))
        if other is None:
            continue
        first, second = (tile, other) if d_row + d_column > 0 else (other, tile)
        if d_column:
            u = second.u + OVERLAP / 2
            ends = ((u, tile.v), (u, tile.v + tile.height))
            crosses = [(u, tile.v + tile.height * share) for share in (0.12, 0.5, 0.88)]
        else:
            v = second.v + OVERLAP / 2
            ends = ((tile.u, v), (tile.u + tile.width, v))
            crosses = [(tile.u + tile.width * share, v) for share in (0.12, 0.5, 0.88)]
        (x1, y1), (x2, y2) = (place(*end) for end in ends)
        with sheet.dashed(3.0, 1.5):
            sheet.line(x1, y1, x2, y2, weight=0.12, grey=0.35)
        for k, cross in enumerate(crosses, start=1):
            x, y = place(*cross)
            sheet.line(x - 5, y, x + 5, y, weight=0.15)
            sheet.line(x, y - 5, x, y + 5, weight=0.15)
            sheet.circle(x, y, 2.0, weight=0.15)
            words = f"{first.name}{second.name} {k}"
            if first is tile:
                sheet.text(x - 1.0, y + 2.6, words, 5.5, grey=0.2, align="right")
            else:
                sheet.text(x + 1.0, y + 2.6, words, 5.5, grey=0.2)


def _little_grid(
    sheet: Sheet,
    grid: Tiling,
    drawn: list[Tile],
    here: Tile | None,
    x: float,
    y: float,
    width: float,
    height: float,
    plan: RailPlan | None = None,
) -> None:
    """The page grid, small, with this page filled; with the plan in it where one is given."""
    first, last = grid.tiles[0], grid.tiles[-1]
    whole_u = last.u + last.width - first.u
    whole_v = last.v + last.height - first.v
    scale = min(width / whole_u, height / whole_v)
    x += (width - whole_u * scale) * (1.0 if plan is None else 0.5)

    def place(u: float, v: float) -> tuple[float, float]:
        return x + (u - first.u) * scale, y + (whole_v - (v - first.v)) * scale

    printed = {tile.name for tile in drawn}
    for tile in grid.tiles:
        low_x, low_y = place(tile.u, tile.v + tile.height)
        is_here = here is not None and tile.name == here.name
        if tile.name in printed:
            sheet.box(
                low_x,
                low_y,
                tile.width * scale,
                tile.height * scale,
                weight=0.2 if not is_here else 0.5,
                grey=0.3 if not is_here else 0.0,
                fill=0.8 if is_here else None,
            )
    if plan is not None:
        for line in (*plan.outside, *plan.inside):
            sheet.polyline([place(u * 1e3, v * 1e3) for u, v in line], close=True, weight=0.3)
        for hole in plan.holes:
            sheet.circle(
                *place(hole.u * 1e3, hole.v * 1e3), max(0.6, 0.5e3 * hole.thread * scale), weight=0.25
            )
    for tile in drawn:
        if plan is None:
            middle_x, middle_y = place(tile.u + tile.width / 2, tile.v + tile.height / 2)
            sheet.text(middle_x, middle_y - 0.9, tile.name, 7.0, bold=True, align="middle")
        else:
            # A third of the way to the middle of all pages, where the plan is open.
            share = 0.3 if grid.rows * grid.columns > 1 else 0.0
            middle_u = tile.u + tile.width / 2
            middle_v = tile.v + tile.height / 2
            middle_u += share * (first.u + whole_u / 2 - middle_u)
            middle_v += share * (first.v + whole_v / 2 - middle_v)
            x_here, y_here = place(middle_u, middle_v)
            sheet.text(x_here, y_here - 2.0, tile.name, 16.0, bold=True, align="middle", grey=0.35)


def _uneven_words(results: JobResults, units: UnitSystem) -> list[str]:
    """Warnings where paper, which is flat, does not lie as the flange will."""
    uneven = None if results.body is None else results.body.uneven
    if uneven is None:
        return []
    words = [
        f"PAPER IS FLAT, THE RAIL IS NOT: on the land {step.name} the flange lies "
        f"{write_length(-step.top, units, 1)} lower. Cut the paper where the riser stands and hold each "
        "piece to its own land."
        for step in uneven.steps
    ]
    for arch in uneven.arches:
        way = "hangs" if arch.hangs else "stands up"
        words.append(
            f"PAPER IS FLAT, THE RAIL IS NOT: at {arch.name} the block's round {way} "
            f"{write_length(abs(arch.crown), units, 1)}. Cut the paper out there; try the saddle by itself."
        )
    words += [
        f"PAPER IS FLAT, THE RAIL IS NOT: the land {each.land} {each.what}. No plate follows it: the flange "
        "is drawn flat there."
        for each in uneven.trouble
    ]
    return words


def _cover(
    sheet: Sheet, job: Job, results: JobResults, plan: RailPlan, grid: Tiling, drawn: list[Tile], total: int
) -> None:
    left, bottom = MARGIN + STRIP, MARGIN + STRIP
    _head(sheet, job, "cover", 1, total)
    _check_bars(sheet, left, bottom)
    y = sheet.height - MARGIN - HEAD - 8.0
    sheet.text(left, y, "Rail and flange at true size", 18, bold=True)
    y -= 8.0
    steps = [*_uneven_words(results, job.units), *_steps(plan, drawn, job.units)]
    for number, words in enumerate(steps, start=1):
        for k, line in enumerate(_wrapped(words, sheet.width - MARGIN - left - 8.0, 9.5)):
            if not k:
                sheet.text(left, y, f"{number}", 9.5, bold=True)
            sheet.text(left + 7.0, y, line, 9.5)
            y -= 4.8
        y -= 1.2
    y -= 1.0
    for line in _wrapped(
        f"CAUTION. {caution('under the engine')}", sheet.width - MARGIN - left - 6.0, 9.0, BOLD
    ):
        sheet.text(left + 3.0, y, line, 9.0, bold=True)
        y -= 4.6
    room = y - bottom - 8.0
    _little_grid(
        sheet,
        grid,
        drawn,
        None,
        left + 10.0,
        bottom + 4.0,
        sheet.width - MARGIN - left - 12.0,
        max(20.0, room),
        plan,
    )


def _steps(plan: RailPlan, drawn: list[Tile], units: UnitSystem) -> list[str]:
    steps = [
        "Print at 100 %. On every page measure the 100 mm bar and the 4 in bar, lying and standing. If one"
        f" is off by more than {write_length(0.0003, units, 1)}, find the printer's scaling and print again.",
    ]
    if len(drawn) > 1:
        steps.append(
            "Cut one page of each pair along the dashed line, lay it on the other so that the crosses"
            " with the same words meet, and tape."
        )
    checks = _longest_pairs(plan, units)
    if checks:
        steps.append("Measure across the joined pages, centre to centre: " + "; ".join(checks) + ".")
    steps.append(
        "Cut the holes, hold the template to the rail from below, front to the engine's front, and look"
        " at every hole. A hole that is out by more than its ± was measured wrong: measure it again."
    )
    steps.append("If the template only fits turned over, the pan would be mirrored: stop and set rail.side.")
    return steps


def _longest_pairs(plan: RailPlan, units: UnitSystem) -> list[str]:
    """The longest distance between two holes, and the longest that shares no hole with it."""
    holes = plan.holes
    pairs = sorted(
        (
            (math.hypot(a.u - b.u, a.v - b.v), i, j)
            for i, a in enumerate(holes)
            for j, b in enumerate(holes)
            if i < j
        ),
        key=lambda pair: (-round(pair[0], 9), pair[1], pair[2]),
    )
    chosen: list[tuple[float, int, int]] = []
    for pair in pairs:
        if len(chosen) < 2 and not any({pair[1], pair[2]} & {other[1], other[2]} for other in chosen):
            chosen.append(pair)
    return [
        f"{holes[i].name} to {holes[j].name} is {write_length(length, units, 1)}" for length, i, j in chosen
    ]


def _wrapped(words: str, width: float, size: float, font: str = FONT) -> list[str]:
    lines: list[str] = []
    for word in words.split():
        if lines and text_width(f"{lines[-1]} {word}", size, font) <= width:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines
